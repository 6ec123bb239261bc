"""Evidence: what a mold's own numbers and a note say for or against a cause."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.finding import Severity, counted, sentence
from moldgen.lesson.log.trouble_case import TroubleCase
from moldgen.table.sticking import sticks
from moldgen.wording import clock_text

_CLEARLY = 0.25
"""So much longer or shorter than told is clear; common practice, no source. [-]."""
_THIN = 0.5
"""Mean thickness over the gauge below which thin places are to be expected; common practice, no
source. [-]."""
_LOW_DRAFT_deg = 3.0
"""Less lean than this releases badly from a printed wall; common practice, no source. [°]."""
_WEIGHT = {Severity.NOTE: 0.5, Severity.CAUTION: 0.8, Severity.STOP: 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What speaks for a cause.

    Attributes
    ----------
    strength : float
        From 0, nothing, to 1; less than 0 if something speaks against it. [-]
    because : str
        In numbers, a clause.
    """

    strength: float
    because: str


NONE = Evidence(strength=0.0, because="nothing that was noted or computed speaks for it")
AGAINST = Evidence(strength=-1.0, because=NONE.because)
"""What was noted or computed speaks against it."""


def too_long(case: TroubleCase) -> Evidence:
    """Return what speaks for a sheet that was too hot: heated longer than told."""
    return _heated(case, sign=1)


def too_short(case: TroubleCase) -> Evidence:
    """Return what speaks for a sheet that was too cool: heated less long than told."""
    return _heated(case, sign=-1)


def left_on(case: TroubleCase) -> Evidence:
    """Return what speaks for a part that shrank onto its mold: left on longer than told."""
    return _cooled(case, sign=1)


def taken_off(case: TroubleCase) -> Evidence:
    """Return what speaks for a part that was still soft: taken off sooner than told."""
    return _cooled(case, sign=-1)


def _heated(case: TroubleCase, *, sign: int) -> Evidence:
    noted_s, told_s, usual_s = case.note.heated_s, case.told_heat_s, case.table_heat_s
    if noted_s is None or (told_s or usual_s) is None:
        return NONE
    if told_s is not None:
        because = f"it was heated {clock_text(noted_s)}, told were {clock_text(told_s)}"
        return _time(sign * (noted_s / told_s - 1), because)
    assert usual_s is not None
    because = f"it was heated {clock_text(noted_s)}, this table takes {clock_text(usual_s)}"
    return _time(sign * (noted_s / usual_s - 1), because)


def _cooled(case: TroubleCase, *, sign: int) -> Evidence:
    noted_s, told_s = case.note.cooled_s, case.told_cool_s
    if noted_s is None or told_s is None:
        return NONE
    because = f"it cooled on the mold {clock_text(noted_s)}, told were {clock_text(told_s)}"
    return _time(sign * (noted_s / told_s - 1), because)


def _time(off: float, because: str) -> Evidence:
    """Return what speaks from a share by which a time is off, in the direction asked about."""
    if off <= 0.05:
        return AGAINST
    return Evidence(strength=min(1.0, off / _CLEARLY), because=because)


def found(case: TroubleCase, *codes: str) -> Evidence:
    """Return what speaks for a cause that a check of the mold has found."""
    finding = case.found(*codes)
    if finding is None:
        return NONE
    told = sentence(finding).removesuffix(finding.advice).strip().rstrip(".")
    return Evidence(strength=_WEIGHT[finding.severity], because=told)


def drawn_thin(case: TroubleCase) -> Evidence:
    """Return what speaks for a draw that is deep for this sheet."""
    by_check = found(case, "formed-thin", "draw-areal", "draw-depth", "draw-linear")
    ratio, mean_mm = case.number("areal_draw_ratio"), case.number("mean_thickness_mm")
    if by_check.strength or ratio is None or mean_mm is None:
        return by_check
    share = mean_mm / case.note.thickness_mm
    if share >= 0.9:
        return AGAINST
    return Evidence(
        strength=min(1.0, (1 - share) / (1 - _THIN)) * 0.8,
        because=f"draw ratio {ratio:.2g}, mean thickness {mean_mm:.2g} mm",
    )


def measured_thin(case: TroubleCase) -> Evidence:
    """Return what speaks for a part thinner than computed: its own readings."""
    pairs = [
        (one.thickness_mm / one.computed_mm, one)
        for one in case.note.readings
        if one.computed_mm is not None
    ]
    share, thinnest = min(pairs, key=lambda pair: pair[0], default=(1.0, None))
    if thinnest is None or share >= 0.85:
        return NONE
    return Evidence(
        strength=min(1.0, (1 - share) / 0.5),
        because=f"{thinnest.place} measures {thinnest.thickness_mm:.2g} mm, computed are "
        f"{thinnest.computed_mm:.2g} mm",
    )


def low_draft(case: TroubleCase) -> Evidence:
    """Return what speaks for walls that lean too little."""
    undercuts = case.number("undercuts")
    if undercuts:
        return Evidence(strength=1.0, because=f"it has {counted(int(undercuts), 'undercut')}")
    draft_deg = case.number("least_draft_deg")
    if draft_deg is None or draft_deg >= _LOW_DRAFT_deg:
        by_check = found(case, "release-hard", "undercut", "print-layer-grooves")
        return AGAINST if draft_deg is not None and by_check is NONE else by_check
    return Evidence(
        strength=min(1.0, 0.4 + (_LOW_DRAFT_deg - draft_deg) / _LOW_DRAFT_deg),
        because=f"the least draft is {draft_deg:.2g}°",
    )


def hard_release(case: TroubleCase) -> Evidence:
    """Return what speaks for more force than the mold is lifted with."""
    force_N, holds_N = case.number("release_N"), case.number("release_holds_N")
    if force_N is None or not holds_N:
        return NONE
    if force_N < 0.7 * holds_N:
        return AGAINST
    return Evidence(
        strength=min(1.0, force_N / holds_N),
        because=f"release takes {force_N:.0f} N, and {holds_N:.0f} N are there",
    )


def same_polymer(case: TroubleCase) -> Evidence:
    """Return what speaks for sheet and mold that weld."""
    plastic, filament = case.plastic, case.filament
    if plastic is None or filament is None:
        return NONE
    if not sticks(plastic, filament):
        return AGAINST
    return Evidence(
        strength=0.9, because=f"hot {plastic.name} welds to a warm mold of {filament.name}"
    )


def worn(case: TroubleCase) -> Evidence:
    """Return what speaks for a mold that has more cycles behind it than are computed in a row."""
    cycle, stands = case.note.cycle, case.number("cycles_in_a_row")
    if stands is None:
        return NONE
    if cycle <= 0.7 * stands:
        return AGAINST
    return Evidence(
        strength=min(1.0, cycle / max(1.0, stands)),
        because=f"cycle {cycle}, computed are {stands:.0f} in a row",
    )


def edges_soften(case: TroubleCase) -> Evidence:
    """Return what speaks for edges that round before the top sinks."""
    stands = case.number("cycles_before_edges_round")
    if stands is None:
        return NONE
    if case.note.cycle <= stands:
        return AGAINST
    if not stands:
        return Evidence(strength=0.6, because="its edges soften in every cycle, as computed")
    return Evidence(
        strength=0.6, because=f"cycle {case.note.cycle}, computed are {stands:.0f} until they do"
    )


def slow_air(case: TroubleCase) -> Evidence:
    """Return what speaks for air that is still under the sheet when it is stiff."""
    by_check = found(case, "vacuum-slow", "pocket-slow", "no-vents", "counter-without-way")
    down_s, stiff_s = case.number("slowest_pocket_s"), case.number("cool_thinnest_s")
    if by_check.strength or down_s is None or not stiff_s:
        return by_check
    if down_s < 0.3 * stiff_s:
        return AGAINST
    return Evidence(
        strength=min(1.0, down_s / stiff_s),
        because=f"the slowest pocket empties in {down_s:.1f} s, the sheet is stiff after "
        f"{stiff_s:.0f} s",
    )
