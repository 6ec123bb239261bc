"""By record: times that are computed, corrected by what was timed on the table."""

from __future__ import annotations

from dataclasses import replace

from moldgen.stock.experience import HeatingRecord, NoteEstimate
from moldgen.stock.plastic import Sheet
from moldgen.table.cool import Cooling
from moldgen.table.doubt import band_s
from moldgen.table.forming_window import Clock
from moldgen.table.heat_up import HeatUp
from moldgen.table.noted import NotedFactor


def by_record(heated: HeatUp, record: HeatingRecord | None) -> HeatUp:
    """Return how a sheet is heated, with all times as the table's record says.

    Temperatures stay: the sheet is right when it was, only sooner or later. The band is that of
    the next sheet, in nine cases of ten.

    Parameters
    ----------
    heated : HeatUp
        As computed.
    record : HeatingRecord or None
        Of its table; nothing changes without.
    """
    if record is None:
        return heated
    factor = record.next_factor(heated.sheet)
    clock = _clock_by(heated.clock, factor.value)
    noted = NotedFactor(factor=factor, computed_s=heated.clock.forming_s)
    course = replace(heated.course, times_s=heated.course.times_s * factor.value)
    return replace(
        heated,
        clock=clock,
        band_s=band_s(clock.forming_s, [noted.doubt]),
        doubts=(noted.doubt,),
        mean_s=_times(heated.mean_s, factor.value),
        corner_s=_times(heated.corner_s, factor.value),
        course=course,
        lower=None if heated.lower is None else by_record(heated.lower, record),
        noted=noted,
    )  # fmt: skip


def noted_clock(clock: Clock, sheet: Sheet, record: HeatingRecord | None) -> Clock:
    """Return when things happen to a sheet, as the table's record says."""
    return clock if record is None else _clock_by(clock, record.next_factor(sheet).value)


def _clock_by(clock: Clock, factor: float) -> Clock:
    return Clock(
        opens_s=_times(clock.opens_s, factor),
        aim_s=_times(clock.aim_s, factor),
        closes_s=_times(clock.closes_s, factor),
        brief_s=_times(clock.brief_s, factor),
    )


def _times(time_s: float | None, factor: float) -> float | None:
    return None if time_s is None else time_s * factor


def cooled_by_record(cooled: Cooling, record: NoteEstimate | None) -> Cooling:
    """Return how long a part stays on the mold, as the table's record says.

    The band is that of the next part, in nine cases of ten.

    Parameters
    ----------
    cooled : Cooling
        As computed.
    record : NoteEstimate or None
        Time on the mold over what is computed, of its table; nothing changes without. [-]
    """
    if record is None:
        return cooled
    noted = NotedFactor(factor=record.next, computed_s=cooled.stiff_s)
    return replace(cooled, stiff_s=record.value * cooled.stiff_s, noted=noted)
