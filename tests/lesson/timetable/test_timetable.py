"""Timetables against lessons worked by hand, and against a general library of simulation."""

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

import pytest
import simpy
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import SpecError
from moldgen.job.lesson_spec import LessonSpec, Station, StationPlaces, stations_from
from moldgen.lesson.timetable.timetable import plan_lessons
from moldgen.lesson.timetable.timetable_text import time_text, timetable_text
from moldgen.lesson.timetable.work import PartWork, ShotWork
from moldgen.table.run import HANDLING_s

EXACT = LessonSpec(length_min=45, warm_up_min=10, clean_up_min=5, buffer=0.0, trim_places=2)


def shot(name, *people, **words):
    """Return a shot of 60 s of heat and 40 s of cooling, with a trim of 5 min."""
    trim_s, drill_s = words.pop("trim_s", 300.0), words.pop("drill_s", 0.0)
    parts = tuple(PartWork(person=who, trim_s=trim_s, drill_s=drill_s) for who in people)
    return ShotWork(name=name, parts=parts, **{"heat_s": 60.0, "cool_s": 40.0} | words)


def at(plan, station):
    """Return lesson, shot, start and end [s] of the work at a station."""
    return [
        (slot.lesson, slot.shot, slot.start_s, slot.end_s)
        for slot in plan.slots if slot.station is station
    ]  # fmt: skip


def test_two_shots_follow_each_other_and_both_are_trimmed():
    """By hand: 20 s handling + 60 + 40 = 120 s a shot, from minute 10 on; trims right after."""
    shots = [shot("a", "Ada"), shot("b", "Bo")]
    plan = plan_lessons(shots, EXACT)

    assert HANDLING_s == 20
    assert at(plan, Station.TABLE) == [(1, "a", 600, 720), (1, "b", 720, 840)]
    assert at(plan, Station.TRIM) == [(1, "a", 720, 1020), (1, "b", 840, 1140)]
    assert plan.ends_s == 1140
    assert timetable_text(plan) == (
        "2 shots in one lesson of 45 min: the last work ends after 19 min."
    )


def test_a_queue_at_the_trimming_places_holds_up_whoever_comes_last():
    """By hand: three parts at 720 s, two places, 300 s each: the third waits until 1020 s."""
    plan = plan_lessons([shot("a", "Ada", "Bo", "Cem")], EXACT)

    assert at(plan, Station.TRIM) == [
        (1, "a", 720, 1020),
        (1, "a", 720, 1020),
        (1, "a", 1020, 1320),
    ]


def test_a_mold_rests_while_another_is_used():
    """By hand: a rests 300 s after 720 s; b goes before its second use; then a waits no more."""
    one = shot("a 1", "Ada", "Di", molds=("a", "d"), rest_s=300.0)
    two = shot("a 2", "Bo", molds=("a",), rest_s=300.0)
    plan = plan_lessons([one, two, shot("b", "Cem", molds=("b",))], EXACT)

    assert [name for _, name, _, _ in at(plan, Station.TABLE)] == ["a 1", "b", "a 2"]
    # The mold is touched when the sheet is hot: 80 s after the shot begins.
    assert at(plan, Station.TABLE)[2][2] == 720 + 300 - 80


def test_what_does_not_end_in_time_goes_on_in_the_next_lesson():
    """By hand: 40 min end at 2400 s; from 600 s on 120 s a shot, 300 s to trim, one place."""
    shots = [shot(f"s{i}", f"P{i}", "Ada") for i in range(4)]
    plan = plan_lessons(shots, replace(EXACT, trim_places=1))

    # Four shots of 120 s: 1080 s. Trims end at 720 + 300 k: the fifth at 2220; work ends at 2400.
    assert [end for *_, end in at(plan, Station.TABLE)] == [720, 840, 960, 1080]
    assert [(lesson, end) for lesson, *_, end in at(plan, Station.TRIM)] == [
        *((1, 720 + 300 * k) for k in range(1, 6)), *((2, 300 * k) for k in range(1, 4)),
    ]  # fmt: skip
    # By hand: with two places Ada's own four parts are the longest way, 1080 + 300 at most after
    # three of hers; eight trims on two places end at 1920. One place takes 720 + 2400 = 3120 s,
    # and five minutes to tidy up: 57 min, so 60.
    assert timetable_text(plan) == (
        "4 shots take 2 lessons of 45 min. With 2 places to trim it is 1 lesson. "
        "One lesson of 60 min would do."
    )


def test_what_is_advised_was_planned_out():
    """Single shots: the table is what takes long, so that no place to trim helps."""
    shots = [shot(f"s{i}", f"P{i}") for i in range(30)]
    plan = plan_lessons(shots, replace(EXACT, trim_places=60))

    # By hand: 30 min of table a lesson hold 15 shots of 2 min, of which the last is trimmed later.
    assert plan.n_lessons == 3
    assert timetable_text(plan) == (
        "30 shots take 3 lessons of 45 min. One lesson of 80 min would do. "
        "Single shots keep the table for 60 min: form several on a sheet."
    )


def test_the_station_that_holds_a_lesson_up_is_named():
    """By hand: six parts, 10 min each at one strip heater, from 1020 s on: two fit by 2400 s.

    Two more lessons then, as heaters are hot at 600 s: three fit into each. With two heaters four
    fit into the first lesson, and all with three; 1020 + 6 x 600 s and tidying up are 82 min.
    """
    stations = stations_from("workstations", ["strip heater 1 x 10 min"])
    shots = [shot("a", *"ABCDEF")]
    plan = plan_lessons(shots, replace(EXACT, trim_places=6, stations=stations))

    assert [lesson for lesson, *_ in at(plan, Station.STRIP)] == [1, 1, 2, 2, 2, 3]
    assert timetable_text(plan) == (
        "1 shot takes 3 lessons of 45 min. With 2 strip heaters it is 2 lessons. "
        "One lesson of 85 min would do."
    )


def test_molds_are_drilled_before_their_shot_while_the_heater_warms_up():
    """By hand: 200 s for each of two molds at one drill, 400 s; the heater is hot at 600 s."""
    plan = plan_lessons([shot("a", "Ada", "Bo", drill_s=200.0)], EXACT)
    late = plan_lessons(
        [shot("a", "Ada", "Bo", drill_s=400.0), shot("b", "Cem", drill_s=100.0)], EXACT
    )

    assert at(plan, Station.DRILL) == [(1, "a", 0, 200), (1, "a", 200, 400)]
    assert at(plan, Station.TABLE) == [(1, "a", 600, 720)]
    # The table is free from 600 s on, but the mold of b is drilled last, until 900 s.
    assert at(late, Station.TABLE) == [(1, "a", 800, 920), (1, "b", 920, 1040)]


def test_parts_are_bent_after_they_are_trimmed_and_people_draw_when_they_are_free():
    """By hand: trims end at 1020 s; one strip heater, 6 min each; who waits draws 15 min."""
    stations = stations_from("workstations", ["strip heater 1 x 6 min; drawing 3 x 15 min"])
    plan = plan_lessons([shot("a", "Ada", "Bo")], replace(EXACT, stations=stations))

    assert at(plan, Station.TRIM) == [(1, "a", 720, 1020)] * 2
    assert at(plan, Station.STRIP) == [(1, "a", 1020, 1380), (1, "a", 1380, 1740)]
    # Before the shot there are 600 s only: Ada draws after the strip heater, Bo after that too.
    assert at(plan, Station.DRAW) == [(1, "", 1380, 2280), (2, "", 0, 900)]
    early = replace(EXACT, stations=stations_from("workstations", ["drawing 1 x 5 min"]))
    assert at(plan_lessons([shot("a", "Ada", "Bo")], early), Station.DRAW) == [
        (1, "", 0, 300), (1, "", 300, 600),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("strip heater", 'like "strip heater 1 x 6 min'),
        ("strip heater 2", "told how long"),
        ("drilling 2 x 3 min", "without minutes for drilling"),
        ("painting 2 x 3 min", "strip heater, drawing or drilling"),
        ("drawing 0 x 3 min", "places must be at least 1"),
        ("drawing 2 x 3 min; drawing 1 x 1 min", "each workstation once"),
    ],
)
def test_a_station_that_cannot_be_is_refused(words, says):
    """One sentence with the field, the rule and what was typed."""
    with pytest.raises(SpecError, match=f"^workstations.*{says}"):
        stations_from("workstations", [words])


def test_stations_are_written_as_people_write_them():
    """Colon, decimal comma, capitals."""
    assert stations_from("workstations", ["Strip heater: 2 x 6,5 min", "drilling 3"]) == (
        StationPlaces(station=Station.STRIP, places=2, each_min=6.5),
        StationPlaces(station=Station.DRILL, places=3),
    )


def test_thirty_single_shots_take_longer_than_ten_to_a_sheet():
    """By hand: 30 shots of 2 min keep the table for an hour, three shots of ten for 6 min."""
    spec = LessonSpec(length_min=90, buffer=0.0, trim_places=10)
    single = plan_lessons([shot(f"s{i}", f"P{i}") for i in range(30)], spec)
    people = [f"P{i}" for i in range(30)]
    tens = plan_lessons([shot(f"t{k}", *people[10 * k : 10 * k + 10]) for k in range(3)], spec)

    assert max(end for _, _, _, end in at(single, Station.TABLE)) == 600 + 30 * 120
    assert max(end for _, _, _, end in at(tens, Station.TABLE)) == 600 + 3 * 120
    assert tens.ends_s == 600 + 120 + 3 * 300


def test_a_shot_longer_than_a_lesson_is_left_out_and_the_others_go_on():
    """It is named; nothing is planned for it."""
    plan = plan_lessons([shot("long", "Ada", heat_s=3000.0), shot("b", "Bo")], EXACT)

    assert plan.left_out == ("long",)
    assert [name for _, name, _, _ in at(plan, Station.TABLE)] == ["b"]
    assert timetable_text(plan).endswith(" Longer than a lesson, and so in none: long.")
    none = plan_lessons([shot("long", "Ada", heat_s=3000.0)], EXACT)
    assert timetable_text(none) == "Nothing fits into a lesson of this length."


def test_everything_takes_longer_by_the_buffer():
    """A quarter more, at table and trimming alike."""
    plan = plan_lessons([shot("a", "Ada")], replace(EXACT, buffer=0.25))

    assert at(plan, Station.TABLE) == [(1, "a", 600, 750)]
    assert at(plan, Station.TRIM) == [(1, "a", 750, 1125)]


SHOTS = st.lists(
    st.builds(
        ShotWork,
        name=st.just(""),
        parts=st.lists(
            st.builds(
                PartWork,
                person=st.sampled_from("ABCDEF"),
                trim_s=st.integers(30, 600).map(float),
                drill_s=st.sampled_from([0.0, 0.0, 60.0, 300.0]),
            ),
            min_size=1,
            max_size=3,
        ).map(tuple),
        heat_s=st.integers(10, 300).map(float),
        cool_s=st.integers(5, 200).map(float),
        molds=st.sampled_from([("x",), ("y",), ("x", "y"), ("z",)]),
        rest_s=st.integers(0, 400).map(float),
    ),
    min_size=1,
    max_size=12,
).map(lambda shots: [replace(one, name=f"s{i}") for i, one in enumerate(shots)])


@settings(max_examples=100)
@given(SHOTS, st.integers(1, 4))
def test_nobody_and_no_place_is_in_two_places(shots, n_places):
    """Work of one place, one person, one mold never overlaps; every shot is planned once."""
    stations = stations_from("workstations", ["strip heater 1 x 2 min; drawing 2 x 4 min"])
    plan = plan_lessons(shots, replace(EXACT, trim_places=n_places, stations=stations))
    by_owner: defaultdict[tuple[object, ...], list[tuple[float, float]]] = defaultdict(list)
    for slot in some([*plan.slots, *plan.slots]) if plan.slots else ():
        by_owner[slot.lesson, slot.station, slot.place].append((slot.start_s, slot.end_s))
        for person in set(slot.people):
            by_owner[slot.lesson, person].append((slot.start_s, slot.end_s))
    formed = [slot.shot for slot in plan.slots if slot.station is Station.TABLE]

    assert sorted([*formed, *plan.left_out]) == sorted(one.name for one in shots)
    assert all(slot.end_s <= plan.lesson.last_s + 1e-6 for slot in plan.slots)
    for one in formed:
        when = {
            station: [
                (slot.lesson, time)
                for slot in plan.slots
                for time in (slot.start_s, slot.end_s)
                if (slot.shot, slot.station) == (one, station)
            ]
            for station in Station
        }  # fmt: skip
        assert max(when[Station.DRILL], default=(0, 0)) <= min(when[Station.TABLE])
        assert max(when[Station.TABLE]) <= min(when[Station.TRIM]) < min(when[Station.STRIP])
    for times in by_owner.values():
        apart = sorted(set(times))
        for (_, end), (start, _) in pairwise(apart):
            assert start >= end - 1e-9
    works = {one.name: one for one in shots}
    for mold in ("x", "y", "z"):
        used = [
            slot for slot in plan.slots
            if slot.station is Station.TABLE and mold in works[slot.shot].molds
        ]  # fmt: skip
        for before, after in pairwise(used):
            if before.lesson == after.lesson:
                touched = after.start_s + HANDLING_s + works[after.shot].heat_s
                assert touched >= before.end_s + works[before.shot].rest_s - 1e-6


@settings(max_examples=60)
@given(SHOTS, st.integers(1, 4))
def test_a_lesson_runs_as_a_simulation_of_it_does(shots, n_places):
    """simpy, told only the order at the table, comes to the same times for every piece of work.

    Everybody has one part here, which is bent at the end, and no mold is drilled or rests: what
    waits then is table and places.
    """
    shots = [
        replace(
            one, rest_s=0.0, molds=(one.name,),
            parts=(replace(one.parts[0], person=f"{one.name} person", drill_s=0.0),),
        )
        for one in shots
    ]  # fmt: skip
    stations = stations_from("workstations", ["strip heater 1 x 2 min"])
    spec = replace(EXACT, length_min=600, trim_places=n_places, stations=stations)
    plan = plan_lessons(shots, spec)
    world, ends = simpy.Environment(), {}
    table, places = simpy.Resource(world, 1), simpy.Resource(world, n_places)
    heater = simpy.Resource(world, 1)

    def work(one):
        with table.request() as turn:
            yield turn
            yield world.timeout(one.table_s)
        with places.request() as turn:
            yield turn
            yield world.timeout(one.parts[0].trim_s)
        with heater.request() as turn:
            yield turn
            yield world.timeout(120.0)
        ends[one.name] = world.now

    def lesson():
        yield world.timeout(spec.first_s)
        for one in shots:
            world.process(work(one))

    world.process(lesson())
    world.run()

    planned = {slot.shot: slot.end_s for slot in plan.slots if slot.station is Station.STRIP}
    assert planned == pytest.approx(ends)


def test_a_lesson_without_time_for_work_is_refused():
    """One sentence."""
    with pytest.raises(SpecError, match="length_min must be longer than warming up"):
        LessonSpec(length_min=15, warm_up_min=10, clean_up_min=5)


def test_a_year_of_lessons_is_refused():
    """What to do is said."""
    with pytest.raises(SpecError, match="Arrange more molds on a sheet"):
        plan_lessons([shot(f"s{i}", f"P{i}", heat_s=1000.0) for i in range(150)], EXACT)


def test_times_are_written_as_a_clock():
    """Minutes and seconds from the beginning."""
    assert [time_text(s) for s in (0, 59.6, 725)] == ["0:00", "1:00", "12:05"]
