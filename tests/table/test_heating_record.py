"""The heating of a table learned from a stop-watch: found again, its range, contradictions."""

from dataclasses import replace
from functools import cache
from math import exp, log
from statistics import median

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.stock import Sheet, load_shop
from moldgen.table.forming_window import clocks
from moldgen.table.heat_doubts import GAUGE_WITHIN, TIMED_WITHIN
from moldgen.table.heat_up import heating_s
from moldgen.table.heating_record import (
    EXPONENT_WITHIN,
    PLASTIC_WITHIN,
    SHEET_WITHIN,
    TABLE_WITHIN,
    TimedSheet,
    _is_twice,
    contradictions,
    heating_record,
)
from moldgen.table.surroundings import middle_view
from moldgen.table.trial import Trial

SHOP = load_shop(user_file=None)
CLASS = SHOP.machine("classroom-450x300")
N_LOGS = 500


def sheet(plastic, gauge_mm):
    """Return a sheet of the stock."""
    return Sheet(plastic=SHOP.plastic(plastic), gauge_mm=gauge_mm)


THIN, USUAL, THICK, CLEAR = (
    sheet("HIPS", 0.75), sheet("HIPS", 1.5), sheet("HIPS", 3.0), sheet("PETG", 1.0)
)  # fmt: skip
SHEETS = (USUAL, THIN, THICK, CLEAR)


@cache
def computed_s(one):
    """Return what is computed for a sheet on the table as stock has it. [s]."""
    return heating_s(one, CLASS)


def timed(one, factor):
    """Return a sheet that took a factor of what is computed."""
    return TimedSheet(sheet=one, noted_s=computed_s(one) * factor, computed_s=computed_s(one))


def covered(estimate, truth):
    """Tell whether a range holds the truth."""
    return estimate.low <= truth <= estimate.high


def planted(rng):
    """Return the true factor of each sheet on a table drawn as the widths state."""
    table, exponent = rng.normal(0, TABLE_WITHIN), rng.normal(0, EXPONENT_WITHIN)
    plastics = {name: rng.normal(0, PLASTIC_WITHIN) for name in ("HIPS", "PETG")}
    return {
        one: exp(table + plastics[one.plastic.name] + exponent * log(one.gauge_mm / 1.5))
        for one in SHEETS
    }


@pytest.mark.parametrize("n_notes", [1, 3, 12, 40])
def test_nine_of_ten_ranges_hold_the_truth(n_notes):
    """Of simulated logs the range of a sheet, timed or not, holds its factor in 90 % ± 4 %."""
    rng = np.random.default_rng(n_notes)
    held = {one: 0 for one in (USUAL, CLEAR)}
    coming = 0
    for _ in range(N_LOGS):
        truth = planted(rng)
        seen = [SHEETS[k] for k in rng.integers(0, 3, n_notes)]
        record = heating_record(
            [timed(one, truth[one] * exp(rng.normal(0, SHEET_WITHIN))) for one in seen]
        )
        for one in held:
            held[one] += covered(record.factor(one), truth[one])
        coming += covered(
            record.next_factor(USUAL), truth[USUAL] * exp(rng.normal(0, SHEET_WITHIN))
        )

    for count in (*held.values(), coming):
        assert count / N_LOGS == pytest.approx(0.90, abs=0.04)


@cache
def heaters():
    """Return true times of the sheets on many heaters, shape (sheets, heaters). [s]."""
    rng = np.random.default_rng(11)
    elements = rng.normal(CLASS.heater_degC, 20.0, N_LOGS)
    shares = np.exp(rng.normal(0, 0.2, N_LOGS))
    views = np.full(N_LOGS, middle_view(CLASS))
    return np.array(
        [
            [
                clock.forming_s
                for clock in clocks(
                    Trial(sheet=one, machine=CLASS).course(
                        views, element_degC=elements, shares=shares
                    ),
                    one.plastic,
                )
            ]
            for one in (USUAL, THIN, THICK)
        ]
    )


@pytest.mark.parametrize("n_notes", [2, 20])
def test_heaters_of_the_physics_are_held_as_often(n_notes):
    """Heaters of other heat and temperature, which the model knows nothing of, are held as well."""
    rng = np.random.default_rng(3)
    times_s = heaters()
    held = 0
    for which in range(N_LOGS):
        seen = rng.integers(0, 2, n_notes)
        notes = [
            TimedSheet(
                sheet=(USUAL, THIN)[k], computed_s=computed_s((USUAL, THIN)[k]),
                noted_s=times_s[k, which] * exp(rng.normal(0, SHEET_WITHIN)),
            )
            for k in seen
        ]  # fmt: skip
        truth = times_s[0, which] / computed_s(USUAL)
        held += covered(heating_record(notes).factor(USUAL), truth)

    assert 0.86 <= held / N_LOGS <= 0.97


def test_many_notes_find_a_planted_heater():
    """Fifty noisy notes of three gauges find the times of a weaker heater to 5 %."""
    rng = np.random.default_rng(4)
    weaker = replace(CLASS, heater_share=0.7)
    notes = [
        TimedSheet(
            sheet=one, computed_s=computed_s(one),
            noted_s=heating_s(one, weaker) * exp(rng.normal(0, SHEET_WITHIN)),
        )
        for one in (THIN, USUAL, THICK, USUAL, THIN) * 10
    ]  # fmt: skip
    record = heating_record(notes)

    for one in (THIN, USUAL, THICK):
        truth = heating_s(one, weaker) / computed_s(one)
        assert truth > 1.2
        assert record.factor(one).value == pytest.approx(truth, rel=0.05)


def test_one_note_moves_its_own_sheet_most():
    """One time of factor 1.5 is shrunk a little, and more for another gauge or plastic."""
    record = heating_record([timed(THIN, 1.5)])

    assert 1.35 < record.factor(THIN).value < 1.5
    assert record.factor(CLEAR).value < record.factor(THIN).value
    assert covered(record.factor(THICK), 1.5)
    width = [log(one.high / one.low) for one in map(record.factor, (THIN, THICK))]
    assert width[1] > width[0]
    assert record.n_notes == record.factor(THIN).n_notes == 1


def test_two_honest_times_of_a_strange_table_are_believed():
    """Times of a table three times as slow as its entry are followed, where no heater fits."""
    record = heating_record([timed(THIN, 3.0), timed(USUAL, 3.1)])

    assert contradictions([timed(THIN, 3.0), timed(USUAL, 3.1)]) == ()
    assert record.factor(USUAL).value == pytest.approx(3.0, rel=0.1)


def test_the_next_sheet_is_less_certain_than_the_factor():
    """The next sheet of many scatters as its gauge and the day do; the mean of them does not."""
    record = heating_record([timed(USUAL, 1.2 + 0.1 * (-1) ** k) for k in range(30)])
    mean, coming = record.factor(USUAL), record.next_factor(USUAL)

    assert log(mean.high / mean.low) < 0.5 * log(coming.high / coming.low)
    assert mean.value == coming.value


def test_a_note_that_contradicts_the_rest_is_found():
    """One time of a sheet at twice the others is named, whichever place it has."""
    right = [timed(USUAL, 1.2), timed(USUAL, 1.25), timed(THIN, 1.15)]
    for place in range(4):
        notes = [*right[:place], timed(USUAL, 2.5), *right[place:]]
        assert contradictions(notes) == ((place,),)


def test_of_another_gauge_a_contradiction_is_found_by_the_model():
    """A time of a gauge nobody else timed is named where the others foretell another."""
    notes = [timed(USUAL, 1.2), timed(USUAL, 1.25), timed(USUAL, 1.18), timed(THIN, 2.4)]

    assert contradictions(notes) == ((3,),)
    assert contradictions(notes[:3]) == ()


def test_where_nothing_tells_which_is_wrong_both_are_left_out():
    """Two times of a sheet, one twice the other, leave each other out; less than twice does not."""
    assert contradictions([timed(USUAL, 1.0), timed(USUAL, 2.0)]) == ((0, 1),)
    assert contradictions([timed(USUAL, 1.3), timed(USUAL, 2.6)]) == ((0, 1),)
    assert contradictions([timed(USUAL, 1.0), timed(USUAL, 1.5)]) == ()
    assert contradictions([timed(USUAL, 1.0), timed(USUAL, 0.5)]) == ((0, 1),)
    assert contradictions([timed(USUAL, 2.9)]) == ()
    assert contradictions([timed(USUAL, one) for one in (1.0, 2.2, 1.05, 2.3)]) == ((0, 1, 2, 3),)


def test_another_gauge_tells_which_of_two_is_wrong():
    """Of two times of a sheet that contradict each other, those of another gauge tell which."""
    pair = [timed(USUAL, 1.2), timed(USUAL, 2.4)]

    assert contradictions([*pair, *[timed(THIN, 1.2)] * 2]) == ((1,),)
    assert contradictions([*pair, *[timed(THIN, 2.4)] * 2]) == ((0,),)


def test_in_a_scattered_log_half_and_twice_the_others_are_found():
    """Where notes scatter so much that nothing is far from them, half and twice still are."""
    scattered = [timed(USUAL, 1.2 * exp(0.3 * (-1) ** k)) for k in range(20)]

    assert contradictions(scattered) == ()
    assert contradictions([*scattered, timed(USUAL, 1.2 * 0.48)]) == ((20,),)
    assert contradictions([*scattered, timed(USUAL, 1.2 * 2.08)]) == ((20,),)
    assert contradictions([*scattered, timed(USUAL, 1.2 * 1.9)]) == ()


def test_two_wrong_notes_are_found_one_after_the_other():
    """Among twelve honest notes two wrong ones are named, and only these."""
    notes = [timed(USUAL, 1.2 + 0.05 * (-1) ** k) for k in range(12)]
    notes[3], notes[8] = timed(USUAL, 3.0), timed(USUAL, 0.5)

    assert sorted(contradictions(notes)) == [(3,), (8,)]


def test_honest_logs_lose_no_notes():
    """Of simulated notes fewer than one in five hundred is taken for a contradiction."""
    rng = np.random.default_rng(8)
    lost = 0
    for _ in range(100):
        truth = planted(rng)
        notes = [
            timed(SHEETS[k], truth[SHEETS[k]] * exp(rng.normal(0, SHEET_WITHIN)))
            for k in rng.integers(0, 4, 20)
        ]
        lost += sum(map(len, contradictions(notes)))

    assert lost < 4


def test_scatter_is_that_of_gauge_and_day():
    """One time scatters as a sheet's gauge and a timed machine do, read as nine cases of ten."""
    assert 1.645 * SHEET_WITHIN == pytest.approx(
        (GAUGE_WITHIN**2 + TIMED_WITHIN**2 + 0.05**2) ** 0.5, rel=1e-3
    )
    assert TABLE_WITHIN == pytest.approx(log(1.35))


def plain_twice(off, same):
    """Whether a time is twice or half the middle of the others, as it is said."""
    others = list(same)
    others.remove(off)
    return bool(others) and abs(off - median(others)) >= log(2) - 1e-9


@given(st.lists(st.sampled_from([-0.7, -0.1, 0.0, 0.05, 0.6, 0.7, 1.4]), min_size=1, max_size=9))
def test_twice_the_others_is_told_from_times_in_order(offs):
    """With one other or many, an odd number or an even one, and of equals."""
    same = sorted(offs)

    told = [_is_twice(off, same) for off in same]

    assert told == [plain_twice(off, same) for off in same]
