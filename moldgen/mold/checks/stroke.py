"""Whether strokes are wide enough to stand, and gaps for the sheet to go down between."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.widths import Widths, widths_across
from moldgen.solid.polygons import polygons_of

EXTRA_MM = 2.0
"""Least flat that is left on top of a stroke besides the two skins. [mm]."""

_STROKE = "common practice, no source: stroke at least 2 gauges and 2 mm, and the relief"
_GAP = "common practice, no source: gap at least 2 gauges, and the relief, else webs"


def least_stroke_mm(gauge_mm: float, height_mm: float) -> float:
    """Return the narrowest raised stroke that forms well. [mm]."""
    return max(2 * gauge_mm + EXTRA_MM, height_mm)


def least_gap_mm(gauge_mm: float, height_mm: float) -> float:
    """Return the narrowest gap between raised walls that forms without webs. [mm]."""
    return max(2 * gauge_mm, height_mm)


def carried_height_mm(region: MultiPolygon, *, most_mm: float) -> float:
    """Return the height up to which every stroke and gap of an outline is wide enough. [mm].

    Parameters
    ----------
    region : MultiPolygon
        The outline, its corners rounded. [mm]
    most_mm : float
        More is not looked for. [mm]
    """
    widths = [
        widths_across(region, reach_mm=most_mm, inward=inward).widths_mm for inward in (True, False)
    ]
    return float(min(most_mm, *np.concatenate(widths))) if any(map(len, widths)) else most_mm


def check_stroke(case: Case) -> tuple[Finding, ...]:
    """Ask for the width of strokes and gaps, one finding per rule and feature.

    Gaps are looked for within a feature, such as inside a counter, and between features on the
    same level. What is sunk is asked as the counterpart: its opening is a gap, and what stands
    between two openings is a stroke.
    """
    outlines = case.outlines
    gauge = case.sheet.gauge_mm
    findings: list[Finding] = []
    for outline in outlines:
        if outline.raised:
            findings += _stroke(case, outline, least_stroke_mm(gauge, outline.height_mm))
        else:
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


def _stroke(case: Case, outline: Outline, limit_mm: float) -> list[Finding]:
    narrow = widths_across(outline.region, reach_mm=limit_mm, inward=True).below(0.98 * limit_mm)
    return _finding(
        case, outline, narrow, limit_mm,
        code="stroke-narrow",
        says="strokes are narrow for their height, the sheet thins over them and may not follow",
        basis=_STROKE,
        advice=(
            f"Widen strokes to {limit_mm:.3g} mm (heavier or larger letters) or make the relief"
            " lower."
        ),
    )  # fmt: skip


def _rib(case: Case, outline: Outline, region: MultiPolygon, limit_mm: float) -> list[Finding]:
    narrow = widths_across(region, reach_mm=limit_mm, inward=False).below(0.98 * limit_mm)
    return _finding(
        case, outline, narrow, limit_mm,
        code="rib-narrow",
        says="a rib between recesses is narrow, the sheet thins over it",
        basis=_STROKE,
        advice=f"Move the recesses apart to leave {limit_mm:.3g} mm.",
    )  # fmt: skip


def _gap(
    case: Case, outline: Outline, region: MultiPolygon, limit_mm: float, *, inward: bool
) -> list[Finding]:
    narrow = widths_across(region, reach_mm=limit_mm, inward=inward).below(0.98 * limit_mm)
    return _finding(
        case, outline, narrow, limit_mm,
        code="gap-narrow",
        says="gaps are narrow for their depth, the sheet webs across or does not reach the ground",
        basis=_GAP,
        advice=f"Open the gaps to {limit_mm:.3g} mm (wider spacing) or make the relief lower.",
    )  # fmt: skip


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
) -> list[Finding]:
    if not len(narrow.widths_mm):
        return []
    x, y = narrow.middles_mm[narrow.least]
    z = outline.z_mm + (outline.height_mm if code == "stroke-narrow" else 0.0)
    return [
        Finding(
            code=code,
            severity=Severity.CAUTION,
            says=f"{says}; along {narrow.shares_mm.sum():.0f} mm of outline, least",
            measured=float(narrow.widths_mm[narrow.least]),
            limit=limit_mm,
            unit="mm",
            where_mm=case.place(np.array([x, y, z])),
            subject=outline.name,
            basis=basis,
            advice=advice,
        )
    ]
