"""A heating time corrected by what was timed: all its times, its band, and what stays."""

from math import log

import numpy as np
import pytest

from moldgen.stock import Sheet, load_shop
from moldgen.table.by_record import by_record, cooled_by_record, noted_clock
from moldgen.table.heat_up import heat_up, heating_clock
from moldgen.table.heating_record import TimedSheet, heating_record
from moldgen.table.printed_mold import printed_mold
from moldgen.table.ratio import ratio_estimate
from moldgen.table.stay import part_cooling, usual_run

SHOP = load_shop(user_file=None)
CLASS = SHOP.machine("classroom-450x300")
HIPS = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5)
THICK_PP = Sheet(plastic=SHOP.plastic("PP"), gauge_mm=4.0)
COMPUTED = heat_up(HIPS, CLASS)


def record(factor, n=7):
    """Return the record of a table that takes a factor of what is computed."""
    computed_s = COMPUTED.forming_s
    one = TimedSheet(sheet=HIPS, noted_s=factor * computed_s, computed_s=computed_s)
    return heating_record([one] * n)


def test_without_a_record_nothing_changes():
    """No record gives the very object back."""
    assert by_record(COMPUTED, None) is COMPUTED
    clock = heating_clock(HIPS, CLASS)
    assert noted_clock(clock, HIPS, None) is clock


def test_every_time_is_multiplied_and_no_temperature():
    """Window, edges and course go by the factor; what the sheet is like then stays."""
    known = record(1.3)
    factor = known.next_factor(HIPS).value
    noted = by_record(COMPUTED, known)

    assert 1.25 < factor < 1.3
    assert noted.forming_s == pytest.approx(factor * COMPUTED.forming_s)
    assert noted.window_s == pytest.approx(factor * COMPUTED.window_s)
    assert noted.mean_s == pytest.approx(factor * COMPUTED.mean_s)
    assert noted.corner_s == pytest.approx(factor * COMPUTED.corner_s)
    assert np.allclose(noted.course.times_s, factor * COMPUTED.course.times_s)
    assert (noted.front_degC, noted.back_degC) == (COMPUTED.front_degC, COMPUTED.back_degC)
    assert noted.noted.computed_s == COMPUTED.forming_s
    assert noted.noted.n_notes == 7


def test_the_band_is_that_of_the_next_sheet():
    """The band is the range of the next sheet, and the one doubt that is told makes it."""
    known = record(1.3)
    noted = by_record(COMPUTED, known)
    coming = known.next_factor(HIPS)

    assert noted.band_s == pytest.approx(
        (coming.low * COMPUTED.forming_s, coming.high * COMPUTED.forming_s)
    )
    (doubt,) = noted.doubts
    assert doubt.what == "7 notes of this table, and the next sheet"
    assert doubt.later == pytest.approx(log(coming.high / coming.value))
    computed_width = log(COMPUTED.band_s[1] / COMPUTED.band_s[0])
    assert log(noted.band_s[1] / noted.band_s[0]) < 0.6 * computed_width


def test_a_lower_heat_is_corrected_as_well():
    """Where only less heat has a window, its time is the corrected one."""
    heated = heat_up(THICK_PP, CLASS)
    assert heated.lower is not None
    known = record(1.3)
    lower = by_record(heated, known).lower

    assert lower.forming_s == pytest.approx(
        known.next_factor(THICK_PP).value * heated.lower.forming_s, rel=1e-3
    )
    assert lower.noted.computed_s == heated.lower.forming_s


def test_a_clock_alone_goes_as_the_whole():
    """What is told of other sheets goes by the same factor."""
    known = record(1.3)

    assert noted_clock(heating_clock(HIPS, CLASS), HIPS, known).forming_s == pytest.approx(
        by_record(COMPUTED, known).forming_s
    )


COOLED = part_cooling(usual_run(HIPS, CLASS, COMPUTED), printed_mold(SHOP.filament("PETG"), 20.0))
RATIO = ratio_estimate([1.3] * 6, within=0.26, scatter=0.2)


def test_cooling_goes_by_the_record():
    """The time is the factor's, its band that of the next part, its one doubt the notes'."""
    noted = cooled_by_record(COOLED, RATIO)

    assert noted.stiff_s == pytest.approx(RATIO.value * COOLED.stiff_s)
    assert noted.noted.computed_s == COOLED.stiff_s
    assert noted.band_s == pytest.approx(
        (RATIO.next.low * COOLED.stiff_s, RATIO.next.high * COOLED.stiff_s)
    )
    assert RATIO.next.low < RATIO.low
    assert RATIO.next.high > RATIO.high
    assert noted.doubts[0].what == "6 notes of this table, and the next sheet"
    assert noted.laid == COOLED.laid


def test_cooling_without_a_record_is_as_computed():
    """No record gives the very object back."""
    assert cooled_by_record(COOLED, None) is COOLED
