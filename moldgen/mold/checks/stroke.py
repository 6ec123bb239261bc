"""Whether gaps are wide enough for the sheet to go down between, and ribs for it to last.

Raised strokes are not asked: the sheet lands on their tops first and stays thickest there, as the
forming run shows. What stands between two recesses is drawn from both sides, and thins.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.checks.case import WITHIN, Case
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.widths import Widths, widths_across
from moldgen.solid.polygons import polygons_of

EXTRA_MM = 2.0
"""Least flat that is left on top of a stroke besides the two skins. [mm]."""

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


def least_stroke_mm(gauge_mm: float, height_mm: float) -> float:
    """Return the narrowest raised stroke that forms well. [mm]."""
    return max(2 * gauge_mm + EXTRA_MM, height_mm)


def least_gap_mm(gauge_mm: float, height_mm: float) -> float:
    """Return the narrowest gap between raised walls that forms without webs. [mm]."""
    return max(2 * gauge_mm, height_mm)


def check_stroke(case: Case) -> tuple[Finding, ...]:
    """Ask for the width of gaps and ribs, one finding per rule and feature.

    Gaps are looked for within a feature, such as inside a counter, and between features on the
    same level. What is sunk is asked as the counterpart: its opening is a gap, and what stands
    between two openings is a rib.
    """
    outlines = case.outlines
    gauge = case.sheet.gauge_mm
    findings: list[Finding] = []
    for outline in outlines:
        if not outline.raised:
            findings += _gap(case, outline, outline.region, 2 * gauge, inward=True)
    for level in _levels(outlines):
        findings += _between(case, level)
    return tuple(findings)


def _levels(outlines: tuple[Outline, ...]) -> list[list[Outline]]:
    """Group the outlines that stand side by side, raised and sunk ones apart."""
    levels: dict[tuple[str, bool], list[Outline]] = {}
    for outline in outlines:
        levels.setdefault((outline.parent, outline.raised), []).append(outline)
    return list(levels.values())


def _between(case: Case, level: list[Outline]) -> list[Finding]:
    region = polygons_of(shapely.union_all([outline.region for outline in level]))
    lowest = min(level, key=lambda outline: outline.height_mm)
    if len(level) > 1:  # what lies between two features belongs to what carries both
        lowest = replace(lowest, name=lowest.parent)
    gauge = case.sheet.gauge_mm
    if lowest.raised:
        return _gap(case, lowest, region, least_gap_mm(gauge, lowest.height_mm), inward=False)
    return _rib(case, lowest, region, 2 * gauge + EXTRA_MM)


def _rib(case: Case, outline: Outline, region: MultiPolygon, limit_mm: float) -> list[Finding]:
    narrow = widths_across(region, reach_mm=limit_mm, inward=False).below(WITHIN * limit_mm)
    return _finding(
        case, outline, narrow, limit_mm,
        code="rib-narrow",
        says="a rib between recesses is narrow, the sheet thins over it",
        basis=_RIB,
        advice=f"Move the recesses apart to leave {limit_mm:.3g} mm.",
        lower=False,
    )  # fmt: skip


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


def _gap(
    case: Case, outline: Outline, region: MultiPolygon, limit_mm: float, *, inward: bool
) -> list[Finding]:
    return _finding(
        case, outline, narrow_gaps(region, limit_mm, inward=inward), limit_mm,
        code="gap-narrow",
        says="gaps are narrow for their depth, the sheet webs across or does not reach the ground",
        basis=_GAP,
        advice=_gap_advice(case, outline, limit_mm),
        lower=not inward,
    )  # fmt: skip


def _gap_advice(case: Case, outline: Outline, limit_mm: float) -> str:
    """Return what opens a gap; a lower relief only if the relief asks for it."""
    wider = f"Open the gaps to {limit_mm:.3g} mm (wider spacing, larger letters)"
    by_sheet = limit_mm <= 2 * case.sheet.gauge_mm + 1e-9 or not outline.raised
    return (
        f"{wider}, or take a thinner sheet." if by_sheet else f"{wider} or make the relief lower."
    )


def _finding(
    case: Case,
    outline: Outline,
    narrow: Widths,
    limit_mm: float,
    *,
    code: str,
    says: str,
    basis: str,
    advice: str,
    lower: bool,
) -> list[Finding]:
    if narrow.shares_mm.sum() < SHORTEST_MM:
        return []
    x, y = narrow.middles_mm[narrow.least]
    return [
        Finding(
            code=code,
            severity=Severity.CAUTION,
            says=f"{says}; along {narrow.shares_mm.sum() / 2:.0f} mm, least",
            measured=float(narrow.widths_mm[narrow.least]),
            limit=limit_mm,
            unit="mm",
            where_mm=case.place(np.array([x, y, outline.z_mm])),
            subject=outline.name,
            basis=basis,
            advice=advice,
            cures=_cures(
                float(narrow.widths_mm[narrow.least]), limit_mm, case, outline, lower=lower
            ),
        )
    ]


def _cures(
    width_mm: float, limit_mm: float, case: Case, outline: Outline, *, lower: bool
) -> tuple[Cure, ...]:
    """Return what opens a gap or spares a rib, each by itself.

    Less relief helps where the sheet is not too thick for the gap, a thinner sheet where the relief
    is not too deep; where both are, only larger outlines do.
    """
    cures = [Cure(field=Remedy.SIZE, way=Way.HIGHER, least=limit_mm / width_mm)]
    spare_mm = 0.0 if lower else EXTRA_MM
    sheet_mm = 2 * case.sheet.gauge_mm + spare_mm
    relief_mm = outline.height_mm if lower else 0.0
    if lower and WITHIN * sheet_mm <= width_mm:
        cures.insert(0, Cure(field=Remedy.HEIGHT, way=Way.LOWER, least=width_mm))
    if width_mm < WITHIN * sheet_mm and WITHIN * relief_mm <= width_mm and width_mm > spare_mm:
        cures.append(Cure(field=Remedy.GAUGE, way=Way.LOWER, least=(width_mm - spare_mm) / 2))
    return tuple(cures)
