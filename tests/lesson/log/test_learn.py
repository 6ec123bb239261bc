"""What the notes of a log say: which count, of what, and with how many behind it."""

import json
from dataclasses import replace
from math import exp
from typing import Any

import pytest

from moldgen.lesson.log.learn import experience_of, molds_of
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.stock import Sheet, load_shop
from moldgen.stock.experience import NO_NOTES, experience_from_words, experience_words
from moldgen.table.cycles_stood import MoldCycles
from moldgen.table.heat_up import heat_up
from moldgen.table.heating_record import TABLE_WITHIN

SHOP = load_shop(user_file=None)
TABLE = "classroom-450x300"
HIPS = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5)
COMPUTED_s = heat_up(HIPS, SHOP.machine(TABLE)).forming_s


def note(day=1, **values):
    """Return a note of a day in March."""
    usual: dict[str, Any] = {
        "noted": f"2026-03-{day:02d}T10:20", "job": "BOAT SHED", "machine": TABLE,
        "plastic": "HIPS", "thickness_mm": 1.5, "cycle": day,
    }  # fmt: skip
    return ShotNote(**(usual | values))


def learned(*notes):
    """Return what notes say of the table."""
    return experience_of(notes, SHOP).of(TABLE)


def test_without_notes_nothing_is_known():
    """No notes, or notes of a table that is not in stock, say nothing of any table."""
    assert experience_of([], SHOP) == NO_NOTES
    assert learned() is None
    assert experience_of([note(machine="barge")], SHOP) == NO_NOTES


def test_a_table_is_known_by_any_of_its_names():
    """Notes that call the table by its title count as those that call it by its name."""
    title = SHOP.machine(TABLE).title
    known = learned(note(1, heated_s=70.0), note(2, heated_s=70.0, machine=title.upper()))

    assert known.heating.n_notes == 2


@pytest.mark.parametrize("seen", ["web", "hole", "thin", "lumps", "marks"])
def test_a_time_with_heat_trouble_is_not_taken_for_right(seen):
    """A part that shows what wrong heat does tells no right time, good ones beside it do."""
    bad = note(2, heated_s=75.0, seen=(Outcome(seen),))

    assert learned(note(1, heated_s=70.0), bad).heating.n_notes == 1
    assert learned(bad).heating is None


def test_a_part_that_stuck_was_heated_rightly():
    """What sticks or softens the mold says nothing against the heating time."""
    seen = ((Outcome.STUCK,), (Outcome.SOFT_MOLD,))
    notes = [note(day, heated_s=70.0, seen=one) for day, one in enumerate(seen, start=1)]

    assert learned(*notes).heating.n_notes == 2


def test_times_are_held_against_what_is_computed_not_against_the_card():
    """What a corrected card told does not feed back into what is learned."""
    plain = learned(note(1, heated_s=1.2 * COMPUTED_s))
    told = learned(note(1, heated_s=1.2 * COMPUTED_s, told_heat_s=1.2 * COMPUTED_s))

    assert plain == told
    assert plain.heating.factor(HIPS).value > 1.15


def test_a_contradiction_is_named_by_day_job_and_what_it_says():
    """A time at twice the others is left out, and told as it was noted."""
    known = learned(note(1, heated_s=70.0), note(2, heated_s=72.0), note(3, heated_s=160.0))

    (one,) = known.left_out
    assert one.notes == ("2026-03-03 10:20, BOAT SHED: HIPS 1.5 mm, 2 min 40 s",)
    assert one.foretold_s == pytest.approx(71, rel=0.03)
    assert known.heating.n_notes == 2


def test_two_that_contradict_each_other_are_both_named():
    """Where nothing tells which of two is wrong, both are named and none counts."""
    known = learned(note(1, heated_s=70.0), note(2, heated_s=140.0))

    (one,) = known.left_out
    assert [words[:10] for words in one.notes] == ["2026-03-01", "2026-03-02"]
    assert one.foretold_s is None
    assert known.heating is None


def test_the_order_of_notes_does_not_matter():
    """The same notes in another order say the same."""
    notes = [
        note(day, heated_s=60.0 + 3 * day, cooled_s=20.0, told_cool_s=25.0) for day in (1, 2, 3)
    ]

    assert learned(*notes) == learned(*reversed(notes))


def test_a_timed_table_is_believed_more_than_a_guess():
    """On a table whose entry was timed, one other time moves less."""
    machine = SHOP.machine(TABLE)
    timed = replace(machine, sources={**machine.sources, "heater_share": "timed"})
    shop = replace(SHOP, machines=replace(SHOP.machines, entries=(timed,)))
    one = [note(1, heated_s=1.4 * COMPUTED_s)]

    own, guess = (experience_of(one, which).of(TABLE).heating for which in (shop, SHOP))
    assert own.factor(HIPS).value < guess.factor(HIPS).value - 0.05
    assert TABLE_WITHIN == pytest.approx(0.3, abs=0.001)


def test_cooling_counts_parts_that_came_off_well():
    """Time on the mold over what was told; a part that stuck tells none."""
    good = [note(day, cooled_s=30.0, told_cool_s=20.0) for day in range(1, 9)]
    stuck = note(9, cooled_s=200.0, told_cool_s=20.0, seen=(Outcome.STUCK,))
    known = learned(*good, stuck, note(10, cooled_s=30.0))

    assert known.cooling.n_notes == 8
    assert 1.35 < known.cooling.value < 1.5
    assert known.cooling.low < known.cooling.value < known.cooling.high


def test_readings_of_one_part_count_as_one():
    """Places of one part are averaged, and those that nothing was computed for are passed over."""
    places = tuple(
        CaliperReading(place=place, thickness_mm=one, computed_mm=1.0)
        for place, one in (("top", 0.8), ("wall", 0.8 * 0.8))
    )
    bare = CaliperReading(place="rim", thickness_mm=3.0)
    known = learned(*(note(day, readings=(*places, bare)) for day in range(1, 31)))

    assert known.thickness.n_notes == 30
    assert known.thickness.value == pytest.approx((0.8 * 0.64) ** 0.5, rel=0.03)
    assert learned(note(1, readings=(bare,))).thickness is None


def test_a_print_counts_once_however_often_it_is_formed_on():
    """Hours of printing are those of a mold, not of each shot on it."""
    shots = [note(day, printed_h=6.0, told_print_h=4.0) for day in (1, 2, 3)]
    other = note(4, printed_h=6.0, told_print_h=4.0, mold="second")

    assert learned(*shots).printing.n_notes == 1
    assert learned(*shots, other).printing.n_notes == 2
    assert 1 < learned(*shots).printing.value < 1.5


def test_molds_are_told_apart_by_job_word_and_end():
    """After a mold was given up the next note is of another print; others still stand."""
    notes = [
        note(1, cycle=1), note(2, cycle=9, mold_ended=True), note(3, cycle=1), note(4, cycle=4),
        note(5, cycle=2, mold="second"), note(6, cycle=7, job="PIER"),
    ]  # fmt: skip

    assert sorted((one.cycles, one.ended) for one in molds_of(notes)) == [
        (2, False), (4, False), (7, False), (9, True),
    ]  # fmt: skip
    assert molds_of([]) == ()


def test_lives_are_by_filament_and_molds_alive_do_not_lower_them():
    """A mold that still stands raises the life of its filament, and is counted."""
    ended = [
        note(day, job=f"PIER {day}", cycle=12, mold_ended=True, filament="ABS") for day in (1, 2)
    ]
    alive = note(3, job="PIER 3", cycle=6, filament="ABS")
    other = note(4, job="PIER 4", cycle=3, filament="PETG")
    (before,) = learned(*ended).lives
    after, petg = learned(*ended, alive, other).lives

    assert (before.filament, before.n_ended, before.cycles.n_notes) == ("ABS", 2, 2)
    assert (after.n_ended, after.cycles.n_notes) == (2, 3)
    assert after.cycles.value == pytest.approx(before.cycles.value + 2)
    assert (petg.filament, petg.n_ended) == ("PETG", 0)
    assert molds_of([alive]) == (MoldCycles(cycles=6, ended=False),)


def test_what_is_told_to_a_mold_is_all_that_counts():
    """Of all that is known, molds go without what is not counted; a table of that alone is out."""
    whole = experience_of([note(1, heated_s=70.0, cooled_s=20.0, told_cool_s=20.0)], SHOP)
    doubtful = experience_of([note(1, heated_s=70.0), note(2, heated_s=140.0)], SHOP)

    assert whole.of_molds == whole
    assert doubtful.of(TABLE).left_out
    assert doubtful.of_molds == NO_NOTES
    assert exp(0) == whole.of(TABLE).cooling.value


EVERYTHING = (
    note(1, heated_s=70.0, cooled_s=20.0, told_cool_s=16.0, printed_h=6.0, told_print_h=5.0,
         readings=(CaliperReading(place="thinnest", thickness_mm=0.4, computed_mm=0.5),),
         filament="PETG", printer="medium", mold_ended=True),
    note(2, printed_h=6.0, told_print_h=4.0, mold="other"),
)  # fmt: skip


def test_what_a_worker_is_told_is_what_was_learned():
    """All that is known comes back from words as JSON has them."""
    whole = experience_of(EVERYTHING, SHOP)
    known = whole.of(TABLE)

    assert all((known.heating, known.cooling, known.thickness, known.printing, known.lives))
    assert whole.printers
    assert experience_from_words(json.loads(json.dumps(experience_words(whole)))) == whole


def test_what_the_log_corrected_does_not_feed_on_itself():
    """Times and hours are held against what was computed, where the card told what notes say."""
    plain = learned(note(1, cooled_s=30.0, told_cool_s=20.0, printed_h=6.0, told_print_h=4.0))
    told = learned(note(
        1, cooled_s=30.0, told_cool_s=28.0, computed_cool_s=20.0,
        printed_h=6.0, told_print_h=5.5, computed_print_h=4.0,
    ))  # fmt: skip

    assert plain == told


def test_hours_of_printing_are_those_of_the_printer():
    """A printer that notes name goes by these, whatever table they are of; others by the rest."""
    slow = [note(day, job=f"PIER {day}", printed_h=8.0, told_print_h=4.0, printer="large")
            for day in (1, 2, 3)]  # fmt: skip
    unnamed = note(4, job="BUOY", printed_h=4.2, told_print_h=4.0)
    known = experience_of([*slow, unnamed], SHOP)

    assert known.printing(SHOP.printer("large").name, "any").n_notes == 3
    assert known.printing(SHOP.printer("large").name, "any").value > 1.5
    assert known.printing(SHOP.printer("medium").name, TABLE).n_notes == 1
    assert known.printing(SHOP.printer("medium").name, TABLE).value < 1.05
    assert known.printing(SHOP.printer("medium").name, "any") is None


FAR: dict[str, Any] = {
    "cooling": (
        {"cooled_s": 30.0, "told_cool_s": 28.0}, {"cooled_s": 300.0, "told_cool_s": 28.0},
        "HIPS 1.5 mm, 5 min", "foretold_s", 30.0,
    ),
    "thickness": (
        {"readings": (CaliperReading(place="foot", thickness_mm=0.5, computed_mm=0.5),)},
        {"readings": (CaliperReading(place="foot", thickness_mm=5.0, computed_mm=0.5),)},
        "HIPS 1.5 mm, foot 5 mm", "foretold_mm", 0.5,
    ),
    "printing": (
        {"printed_h": 4.0, "told_print_h": 4.0}, {"printed_h": 40.0, "told_print_h": 4.0},
        "HIPS 1.5 mm, 40 h", "foretold_s", 4 * 3600,
    ),
}  # fmt: skip


@pytest.mark.parametrize("printer", ["", "medium"])
@pytest.mark.parametrize("what", FAR)
def test_a_note_far_from_the_others_is_named_and_does_not_count(what, printer):
    """Of each ratio the note that contradicts is told as it was noted, and the others count."""
    right, wrong, words, field, foretold = FAR[what]
    notes = [note(day, job=f"PIER {day}", printer=printer, **right) for day in (1, 2, 3)]
    known = experience_of([*notes, note(4, job="BUOY", printer=printer, **wrong)], SHOP)
    of_table = known.of(TABLE)
    told = known.printing(printer, TABLE) if what == "printing" else getattr(of_table, what)

    (one,) = of_table.left_out
    assert one.notes == (f"2026-03-04 10:20, BUOY: {words}",)
    assert one.about == what
    assert getattr(one, field) == pytest.approx(foretold, rel=0.05)
    assert told.n_notes == 3
    assert told.value == pytest.approx(1.0, abs=0.08)


@pytest.mark.parametrize("what", FAR)
def test_two_ratios_that_contradict_each_other_are_both_named(what):
    """Where nothing tells which of two notes is wrong, none counts."""
    right, wrong, words, *_ = FAR[what]
    known = learned(note(1, job="PIER", **right), note(2, job="BUOY", **wrong))

    (one,) = known.left_out
    assert [text.endswith(words) for text in one.notes] == [False, True]
    assert getattr(known, what) is None


def test_a_mold_of_far_more_cycles_than_the_others_is_named():
    """Thousands of cycles where the others were given up at a dozen are a slip of the pen."""
    ended = [
        note(day, job=f"PIER {day}", cycle=12, mold_ended=True, filament="ABS")
        for day in range(1, 9)
    ]
    slip = note(9, job="BUOY", cycle=1200, filament="ABS")
    known = learned(*ended, slip)

    (one,) = known.left_out
    assert one.notes == ("2026-03-09 10:20, BUOY: HIPS 1.5 mm, ABS, 1200",)
    assert (one.about, one.foretold_cycles) == ("mold life", known.lives[0].cycles.value)
    assert known.lives == learned(*ended).lives
    assert not learned(*ended, note(9, job="BUOY", cycle=40, filament="ABS")).left_out
