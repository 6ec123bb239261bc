"""Whether gaps are wide enough for the sheet to go down between, and ribs for it to last.

Raised strokes are not asked: the sheet lands on their tops first and stays thickest there, as the
forming run shows. What stands between two recesses is drawn from both sides, and thins.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.checks.case import WITHIN, Case
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.widths import Widths, widths_across
from moldgen.mold.width_rule import EXTRA_MM, least_gap_mm
from moldgen.solid.polygons import polygons_of

PARALLEL = -0.97
"""Cosine between two outward directions from which borders are a gap, not a notch: 14°."""

SHORTEST_MM = 2.0
"""What is too narrow along less than this is no matter. [mm]."""

LONG = 1.5
"""A gap shorter than so many times its width is filled from its ends. [-]."""

_RIB = "common practice, no source: what stands between recesses at least 2 gauges and 2 mm"
_GAP = (
    "common practice, no source: gap at least 2 gauges, and the relief, else webs, along more than "
    "one and a half times its width"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NarrowPlace:
    """A gap or a rib that is narrower than the sheet asks for.

    Attributes
    ----------
    outline : Outline
        What it is told of.
    widths : Widths
        How wide it is where it is too narrow.
    limit_mm : float
        How wide it should be. [mm]
    rib : bool
        Whether it stands between two recesses; else it is a gap.
    inward : bool
        Whether it is the opening of a recess.
    """

    outline: Outline
    widths: Widths
    limit_mm: float
    rib: bool = False
    inward: bool = False

    @property
    def least_mm(self) -> float:
        """Width of it where it is narrowest. [mm]."""
        return float(self.widths.widths_mm[self.widths.least])

    @property
    def thickest_mm(self) -> float:
        """Thickest sheet for which it would be wide enough, be there no relief. [mm]."""
        return (self.least_mm / WITHIN - (EXTRA_MM if self.rib else 0.0)) / 2


def check_stroke(case: Case) -> tuple[Finding, ...]:
    """Ask for the width of gaps and ribs, one finding per rule and feature."""
    narrow = narrow_places(case.outlines, case.sheet.gauge_mm)
    return tuple(_finding(case, one) for one in narrow)


def narrow_places(outlines: Sequence[Outline], gauge_mm: float) -> Iterator[NarrowPlace]:
    """Yield what is too narrow for a sheet, one per rule and feature.

    Gaps are looked for within a feature, such as inside a counter, and between features on the
    same level. What is sunk is asked as the counterpart: its opening is a gap, and what stands
    between two openings is a rib.
    """
    every = [
        *(_opening(outline, gauge_mm) for outline in outlines if not outline.raised),
        *(_between(level, gauge_mm) for level in _levels(outlines)),
    ]
    yield from (one for one in every if one.widths.shares_mm.sum() >= SHORTEST_MM)


def _opening(outline: Outline, gauge_mm: float) -> NarrowPlace:
    limit_mm = 2 * gauge_mm
    widths = narrow_gaps(outline.region, limit_mm, inward=True)
    return NarrowPlace(outline=outline, widths=widths, limit_mm=limit_mm, inward=True)


def _levels(outlines: Sequence[Outline]) -> list[list[Outline]]:
    """Group the outlines that stand side by side, raised and sunk ones apart."""
    levels: dict[tuple[str, bool], list[Outline]] = {}
    for outline in outlines:
        levels.setdefault((outline.parent, outline.raised), []).append(outline)
    return list(levels.values())


def _between(level: list[Outline], gauge_mm: float) -> NarrowPlace:
    region = polygons_of(shapely.union_all([outline.region for outline in level]))
    lowest = min(level, key=lambda outline: outline.height_mm)
    if len(level) > 1:  # what lies between two features belongs to what carries both
        lowest = replace(lowest, name=lowest.parent)
    if lowest.raised:
        limit_mm = least_gap_mm(gauge_mm, lowest.height_mm)
        widths = narrow_gaps(region, limit_mm, inward=False)
    else:
        limit_mm = 2 * gauge_mm + EXTRA_MM
        widths = widths_across(region, reach_mm=limit_mm, inward=False).below(WITHIN * limit_mm)
    return NarrowPlace(outline=lowest, widths=widths, limit_mm=limit_mm, rib=not lowest.raised)


def narrow_gaps(region: MultiPolygon, limit_mm: float, *, inward: bool) -> Widths:
    """Return the gaps in and between raised outlines that are narrower than a limit, and long.

    Parameters
    ----------
    region : MultiPolygon
        The outlines. [mm]
    limit_mm : float
        Width that is wanted; what is under 5 % short of it counts as reaching it. [mm]
    inward : bool
        True if the region is sunk: its openings are the gaps.
    """
    across = widths_across(region, reach_mm=limit_mm, inward=inward, facing=PARALLEL)
    return across.below(WITHIN * limit_mm).long(LONG)


def _gap_advice(gauge_mm: float, narrow: NarrowPlace) -> str:
    """Return what opens a gap; a lower relief only if the relief asks for it."""
    wider = f"Open the gaps to {narrow.limit_mm:.3g} mm (wider spacing, larger letters)"
    by_sheet = narrow.limit_mm <= 2 * gauge_mm + 1e-9 or not narrow.outline.raised
    return (
        f"{wider}, or take a thinner sheet." if by_sheet else f"{wider} or make the relief lower."
    )


def _finding(case: Case, narrow: NarrowPlace) -> Finding:
    widths, gauge_mm = narrow.widths, case.sheet.gauge_mm
    x, y = widths.middles_mm[widths.least]
    says = "gaps are narrow for their depth, the sheet webs across or does not reach the ground"
    advice = _gap_advice(gauge_mm, narrow)
    if narrow.rib:
        says = "a rib between recesses is narrow, the sheet thins over it"
        advice = f"Move the recesses apart to leave {narrow.limit_mm:.3g} mm."
    return Finding(
        code="rib-narrow" if narrow.rib else "gap-narrow",
        severity=Severity.CAUTION,
        says=f"{says}; along {widths.shares_mm.sum() / 2:.0f} mm, least",
        measured=narrow.least_mm,
        limit=narrow.limit_mm,
        unit="mm",
        where_mm=case.place(np.array([x, y, narrow.outline.z_mm])),
        subject=narrow.outline.name,
        basis=_RIB if narrow.rib else _GAP,
        advice=advice,
        cures=_cures(narrow, gauge_mm),
    )


def _cures(narrow: NarrowPlace, gauge_mm: float) -> tuple[Cure, ...]:
    """Return what opens a gap or spares a rib, each by itself.

    Less relief helps where the sheet is not too thick for the gap, a thinner sheet where the relief
    is not too deep; where both are, only larger outlines do.
    """
    width_mm = narrow.least_mm
    lower = not (narrow.rib or narrow.inward)
    cures = [Cure(field=Remedy.SIZE, way=Way.HIGHER, least=narrow.limit_mm / width_mm)]
    spare_mm = 0.0 if lower else EXTRA_MM
    sheet_mm = 2 * gauge_mm + spare_mm
    relief_mm = narrow.outline.height_mm if lower else 0.0
    if lower and WITHIN * sheet_mm <= width_mm:
        cures.insert(0, Cure(field=Remedy.HEIGHT, way=Way.LOWER, least=width_mm))
    if width_mm < WITHIN * sheet_mm and WITHIN * relief_mm <= width_mm and width_mm > spare_mm:
        cures.append(Cure(field=Remedy.GAUGE, way=Way.LOWER, least=(width_mm - spare_mm) / 2))
    return tuple(cures)
