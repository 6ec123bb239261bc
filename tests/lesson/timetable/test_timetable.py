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
from moldgen.job.lesson_spec import LessonSpec
from moldgen.lesson.timetable.timetable import (
    ShotWork,
    Station,
    plan_lessons,
    time_text,
)
from moldgen.lesson.timetable.timetable_text import timetable_text
from moldgen.table.run import HANDLING_s

EXACT = LessonSpec(length_min=45, warm_up_min=10, clean_up_min=5, buffer=0.0, trim_places=2)


def shot(name, *people, **words):
    """Return a shot of 60 s of heat and 40 s of cooling, with a trim of 5 min."""
    usual = {"heat_s": 60.0, "cool_s": 40.0, "trim_s": 300.0}
    return ShotWork(name=name, people=people, **usual | words)


def at(plan, station):
    """Return lesson, shot, start and end [s] of the work at a station."""
    return [
        (slot.lesson, slot.shot, slot.start_s, slot.end_s)
        for slot in plan.slots if slot.station is station
    ]  # fmt: skip


def test_two_shots_follow_each_other_and_both_are_trimmed():
    """By hand: 20 s handling + 60 + 40 = 120 s a shot, from minute 10 on; trims right after."""
    plan = plan_lessons([shot("a", "Ada"), shot("b", "Bo")], EXACT)

    assert HANDLING_s == 20
    assert at(plan, Station.TABLE) == [(1, "a", 600, 720), (1, "b", 720, 840)]
    assert at(plan, Station.TRIM) == [(1, "a", 720, 1020), (1, "b", 840, 1140)]
    assert plan.ends_s == 1140
    assert timetable_text(plan) == (
        "2 shots in one lesson of 45 min: the last part is trimmed after 19 min."
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
    one, two = shot("a 1", "Ada", mold="a", rest_s=300.0), shot("a 2", "Bo", mold="a", rest_s=300.0)
    plan = plan_lessons([one, two, shot("b", "Cem", mold="b")], EXACT)

    assert [name for _, name, _, _ in at(plan, Station.TABLE)] == ["a 1", "b", "a 2"]
    # The mold is touched when the sheet is hot: 80 s after the shot begins.
    assert at(plan, Station.TABLE)[2][2] == 720 + 300 - 80


def test_what_does_not_end_in_time_goes_on_in_the_next_lesson():
    """By hand: 40 min end at 2400 s; from 600 s on 120 s a shot, 300 s to trim, one place."""
    spec = replace(EXACT, trim_places=1)
    plan = plan_lessons([shot(f"s{i}", f"P{i}") for i in range(7)], spec)

    # Trims end at 720 + 300 k; 2400 is reached by the fifth (2220), the sixth would end at 2520.
    assert [(lesson, name) for lesson, name, _, _ in at(plan, Station.TABLE)] == [
        *((1, f"s{i}") for i in range(5)), (2, "s5"), (2, "s6"),
    ]  # fmt: skip
    assert plan.n_lessons == 2
    # Two places end the seventh trim at 1920 s; one place ends it at 2820 s, of 3300 s in 60 min.
    assert timetable_text(plan) == (
        "7 shots take 2 lessons of 45 min. With 2 places to trim: 1 lesson. "
        "With lessons of 60 min: 1 lesson. More molds on a sheet make it fewer."
    )


def test_places_to_trim_are_no_advice_where_the_table_holds_it_up():
    """By hand: 12 shots end their trim within 40 min, and 20 within 55 min, however many trim."""
    plan = plan_lessons([shot(f"s{i}", f"P{i}") for i in range(30)], replace(EXACT, trim_places=8))

    assert timetable_text(plan) == (
        "30 shots take 3 lessons of 45 min. With lessons of 60 min: 2 lessons. "
        "More molds on a sheet make it fewer."
    )


def test_what_would_do_it_is_not_asked_of_a_whole_school(monkeypatch):
    """Hundreds of shots are planned once; many to a sheet already is no advice."""
    from moldgen.lesson.timetable import timetable_text as words

    plan = plan_lessons([shot(f"s{i}", f"P{i}", f"Q{i}") for i in range(70)], EXACT)
    monkeypatch.setattr(words, "plan_lessons", None)

    assert words.timetable_text(plan) == f"70 shots take {plan.n_lessons} lessons of 45 min."


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
        people=st.lists(st.sampled_from("ABCDEF"), min_size=1, max_size=3).map(tuple),
        heat_s=st.integers(10, 300).map(float),
        cool_s=st.integers(5, 200).map(float),
        trim_s=st.integers(30, 600).map(float),
        mold=st.sampled_from(["x", "y", "z"]),
        rest_s=st.integers(0, 400).map(float),
    ),
    min_size=1,
    max_size=12,
).map(lambda shots: [replace(one, name=f"s{i}") for i, one in enumerate(shots)])


@settings(max_examples=100)
@given(SHOTS, st.integers(1, 4))
def test_nobody_and_no_place_is_in_two_places(shots, n_places):
    """Work of one place, one person, one mold never overlaps; every shot is planned once."""
    plan = plan_lessons(shots, replace(EXACT, trim_places=n_places))
    by_owner: defaultdict[tuple[object, ...], list[tuple[float, float]]] = defaultdict(list)
    for slot in some([*plan.slots, *plan.slots]) if plan.slots else ():
        by_owner[slot.lesson, slot.station, slot.place].append((slot.start_s, slot.end_s))
        for person in set(slot.people):
            by_owner[slot.lesson, person].append((slot.start_s, slot.end_s))
    formed = [slot.shot for slot in plan.slots if slot.station is Station.TABLE]

    assert sorted([*formed, *plan.left_out]) == sorted(one.name for one in shots)
    assert all(slot.end_s <= plan.lesson.last_s + 1e-6 for slot in plan.slots)
    for times in by_owner.values():
        apart = sorted(set(times))
        for (_, end), (start, _) in pairwise(apart):
            assert start >= end - 1e-9
    works = {one.name: one for one in shots}
    for mold in ("x", "y", "z"):
        used = [
            slot for slot in plan.slots
            if slot.station is Station.TABLE and works[slot.shot].mold == mold
        ]  # fmt: skip
        for before, after in pairwise(used):
            if before.lesson == after.lesson:
                touched = after.start_s + HANDLING_s + works[after.shot].heat_s
                assert touched >= before.end_s + works[before.shot].rest_s - 1e-6


@settings(max_examples=60)
@given(SHOTS, st.integers(1, 4))
def test_a_lesson_runs_as_a_simulation_of_it_does(shots, n_places):
    """simpy, told only the order at the table, comes to the same times for every piece of work.

    Everybody has one part here, and molds do not rest: what waits then is table and places.
    """
    shots = [
        replace(one, people=(f"{one.name} person",), rest_s=0.0, mold=one.name) for one in shots
    ]
    spec = replace(EXACT, length_min=600, trim_places=n_places)
    plan = plan_lessons(shots, spec)
    world, ends = simpy.Environment(), {}
    table, places = simpy.Resource(world, 1), simpy.Resource(world, n_places)

    def work(one):
        with table.request() as turn:
            yield turn
            yield world.timeout(one.table_s)
        with places.request() as turn:
            yield turn
            yield world.timeout(one.trim_s)
        ends[one.name] = world.now

    def lesson():
        yield world.timeout(spec.first_s)
        for one in shots:
            world.process(work(one))

    world.process(lesson())
    world.run()

    planned = {slot.shot: slot.end_s for slot in plan.slots if slot.station is Station.TRIM}
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
