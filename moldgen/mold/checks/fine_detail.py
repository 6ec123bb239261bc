"""Whether the outline has detail that the sheet bridges instead of following."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.outlines import Outline

MOST_LOST = 0.5
"""Share of a gauge by which the sheet may stay away before it is told. [-]."""

_BASIS = (
    "common practice, no source: the sheet follows no hollow tighter than a radius of its gauge"
)


@dataclass(frozen=True, kw_only=True)
class UnfollowedDetail:
    """A notch, slot or hole of the outline that the sheet does not reach into.

    Attributes
    ----------
    depth_mm : float
        How deep the part of it is that the sheet leaves out. [mm]
    where_mm : tuple of two floats
        Its far end in plan. [mm]
    """

    depth_mm: float
    where_mm: tuple[float, float]


def measure_bridged(
    region: MultiPolygon, *, radius_mm: float, raised: bool
) -> list[UnfollowedDetail]:
    """Roll a disc along an outline, on the sheet's side, and return what it does not touch.

    Parameters
    ----------
    region : MultiPolygon
        The outline. [mm]
    radius_mm : float
        Radius of the disc: the tightest hollow that the sheet follows. [mm]
    raised : bool
        Whether the sheet comes from outside the outline (or, sunk, from inside).
    """
    away = radius_mm if raised else -radius_mm
    rolled = region.buffer(away, quad_segs=16).buffer(-away, quad_segs=16)
    lost = rolled.difference(region) if raised else region.difference(rolled)
    pieces = [piece for piece in shapely.get_parts(lost) if isinstance(piece, Polygon)]
    if not pieces:
        return []
    # Rolled borders are chords; a piece no thicker than their sagitta is nothing.
    pieces = [piece for piece in pieces if piece.area > 1e-3 * radius_mm**2]
    return [_bridged(piece, rolled.boundary) for piece in pieces]


def check_follow(case: Case) -> tuple[Finding, ...]:
    """Ask whether the sheet follows the outline, one finding per feature."""
    gauge = case.sheet.gauge_mm
    findings = []
    for outline in case.outlines:
        bridged = measure_bridged(outline.region, radius_mm=gauge, raised=outline.raised)
        lost = [spot for spot in bridged if spot.depth_mm > MOST_LOST * gauge]
        if lost:
            findings.append(_finding(case, outline, lost))
    return tuple(findings)


def _bridged(piece: Polygon, border: shapely.Geometry) -> UnfollowedDetail:
    corners = np.asarray(piece.exterior.coords)[:, :2]
    deep = shapely.distance(border, shapely.points(corners))
    far = int(np.argmax(deep))
    depth = float(deep[far])
    if deep.min() > 1e-6:  # a hole that vanishes altogether is as deep as it is wide
        depth = 2 * shapely.maximum_inscribed_circle(piece, tolerance=0.01).length
    x, y = (float(value) for value in corners[far])
    return UnfollowedDetail(depth_mm=float(depth), where_mm=(x, y))


def _finding(case: Case, outline: Outline, lost: list[UnfollowedDetail]) -> Finding:
    worst = max(lost, key=lambda spot: spot.depth_mm)
    places = f"{len(lost)} places of the outline" if len(lost) > 1 else "one place of the outline"
    gauge = case.sheet.gauge_mm
    return Finding(
        code="detail-fine",
        severity=Severity.NOTE,
        says=f"the sheet bridges {places} that it cannot reach into; deepest",
        measured=worst.depth_mm,
        limit=MOST_LOST * gauge,
        unit="mm",
        where_mm=case.place(np.array([*worst.where_mm, outline.z_mm])),
        subject=outline.name,
        basis=_BASIS,
        advice=(
            f"Round hollow corners to {gauge:g} mm and open slots to {2 * gauge:g} mm, or use a"
            " thinner sheet."
        ),
    )
