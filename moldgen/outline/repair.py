"""Mending of drawings, with an account of every change.

Nothing here runs by itself: a way in calls it, and hands the findings on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from moldgen.finding import Finding, Severity
from moldgen.outline.chains import note
from moldgen.outline.crossing import crossings
from moldgen.outline.region import FillRule, Ring, as_region, as_ring, filled, place
from moldgen.solid.polygons import polygons_of, rings_of

GAP_MM = 0.1
"""Outlines closer than this are joined: no sheet goes between them."""
SLIVER_MM = 0.05
"""Thinner spikes and slivers are cut off."""
SPECK_MM2 = 0.05
"""Smaller islands and pinholes are noise of a drawing; common practice, no source."""
_REPEATED_MM = 1e-3
_SPIKE_COS = -cos(radians(0.5))
_MOST_PLACES = 20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OutlineRepair:
    """A mended outline.

    Attributes
    ----------
    region : MultiPolygon
        The outline in normal form. [mm]
    changes : tuple of Finding
        What was changed, where and by how much; empty if nothing was.
    """

    region: MultiPolygon
    changes: tuple[Finding, ...]


def repair_outline(
    drawing: BaseGeometry | Sequence[ArrayLike],
    *,
    rule: FillRule = FillRule.EVEN_ODD,
    speck_mm2: float = SPECK_MM2,
    what: str = "the outline",
) -> OutlineRepair:
    """Mend a drawing and tell what was mended.

    Parameters
    ----------
    drawing : Polygon, MultiPolygon or sequence of array_like, shape (n, 2)
        Areas, perhaps invalid, or closed curves in any order. [mm]
    rule : FillRule
        What counts as inside where curves cross.
    speck_mm2 : float
        Islands and pinholes smaller than this are dropped. [mm²]
    what : str
        What the error sentence calls it.

    Raises
    ------
    OutlineError
        If nothing is left, or `as_region` refuses what is left.
    """
    rings = _rings_of(drawing) if isinstance(drawing, BaseGeometry) else list(drawing)
    cleaned = [_without_repeats(as_ring(ring, what=what)) for ring in rings]
    pruned = [_without_spikes(ring) for ring, _ in cleaned]
    changes = [finding for _, findings in (*cleaned, *pruned) for finding in findings]
    curves = [ring for ring, _ in pruned]
    changes += _crossings(curves)
    region: BaseGeometry = filled(curves, rule=rule, what=what)
    for step, limit in (
        (_without_specks, speck_mm2),
        (_without_slivers, SLIVER_MM),
        (_without_slits, GAP_MM),
        (_without_specks, speck_mm2),
    ):
        region, findings = step(region, limit)
        changes += findings
    return OutlineRepair(region=as_region(region, what=what), changes=tuple(changes))


def _rings_of(drawing: BaseGeometry) -> list[Ring]:
    return [shapely.get_coordinates(ring)[:-1] for ring in rings_of(drawing)]


# --- along one curve ---------------------------------------------------------------------------


def _without_repeats(ring: Ring) -> tuple[Ring, list[Finding]]:
    if len(ring) < 2:
        return ring, []
    steps_mm = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    repeated = steps_mm <= _REPEATED_MM
    if not repeated.any() or repeated.all():
        return ring, []
    where = ring[np.flatnonzero(repeated)[0]]
    count = float(repeated.sum())
    says = "repeated points are removed"
    return ring[~repeated], [note("points-repeated", says, where, measured=count, unit="points")]


def _without_spikes(ring: Ring) -> tuple[Ring, list[Finding]]:
    """Cut off vertices at which the line goes out and comes straight back."""
    findings: list[Finding] = []
    while len(ring) > 3:
        to, on = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        lengths = np.hypot(*to.T) * np.hypot(*on.T)
        turning = (to * on).sum(axis=1) / np.where(lengths > 0, lengths, 1.0)
        sharp = np.flatnonzero((turning < _SPIKE_COS) | (lengths == 0))
        if not len(sharp):
            break
        tip = sharp[0]
        length = min(float(np.hypot(*to[tip])), float(np.hypot(*on[tip])))
        if length > 0:
            says = "a spike that goes out and straight back is cut off"
            findings.append(note("spike-removed", says, ring[tip], measured=length))
        ring = np.delete(ring, tip, axis=0)
    return ring, findings


def _crossings(curves: Sequence[Ring]) -> list[Finding]:
    """Tell where curves cross themselves or each other; the fill rule does the mending."""
    points = crossings([curve for curve in curves if len(curve) > 2])
    says = "the outline crosses itself or another outline; the crossing is resolved"
    findings = [_crossing(says, point) for point in points[:_MOST_PLACES]]
    rest = len(points) - _MOST_PLACES
    if rest > 0:
        findings.append(_crossing(f"{rest} further crossings are resolved", points[_MOST_PLACES]))
    return findings


def _crossing(says: str, point: ArrayLike) -> Finding:
    return note("crossing-mended", says, point, severity=Severity.CAUTION)


# --- on the area -------------------------------------------------------------------------------


def _without_specks(region: BaseGeometry, speck_mm2: float) -> tuple[BaseGeometry, list[Finding]]:
    findings, kept = [], []
    for part in shapely.get_parts(region):
        if part.area < speck_mm2:
            says = "an island too small to form is left out"
            findings.append(_area_note("island-dropped", says, part, speck_mm2))
            continue
        holes = [Polygon(ring) for ring in part.interiors]
        pinholes = [hole for hole in holes if hole.area < speck_mm2]
        says = "a pinhole is filled"
        findings += [_area_note("pinhole-filled", says, hole, speck_mm2) for hole in pinholes]
        open_holes = [hole.exterior for hole in holes if hole.area >= speck_mm2]
        kept.append(Polygon(part.exterior, open_holes))
    return MultiPolygon(kept), findings


def _without_slivers(region: BaseGeometry, sliver_mm: float) -> tuple[BaseGeometry, list[Finding]]:
    """Cut off what an opening removes, but leave corners as they are."""
    thin = _long_pieces(region, _offset(_offset(region, -sliver_mm / 2), sliver_mm / 2), sliver_mm)
    says = "a sliver thinner than any wall is cut off"
    findings = [_width_note("sliver-removed", says, piece, sliver_mm) for piece in thin]
    if not thin:
        return region, []
    cut = shapely.difference(region, _swollen(thin))
    return _smooth_areas(cut), findings


def _without_slits(region: BaseGeometry, gap_mm: float) -> tuple[BaseGeometry, list[Finding]]:
    """Fill what a closing fills, but leave corners as they are."""
    slits = _long_pieces(_offset(_offset(region, gap_mm / 2), -gap_mm / 2), region, gap_mm)
    says = "a gap too narrow for the sheet is filled"
    findings = [_width_note("slit-filled", says, piece, gap_mm) for piece in slits]
    if not slits:
        return region, []
    return _smooth_areas(shapely.union(region, _swollen(slits))), findings


def _swollen(pieces: Sequence[Polygon]) -> BaseGeometry:
    """Return the pieces grown by a nanometer, so that no skin is left along the cut."""
    return shapely.union_all(shapely.buffer(pieces, 1e-6, join_style="mitre"))


def _offset(region: BaseGeometry, by_mm: float) -> BaseGeometry:
    # The geometry engine leaves floating-point flags behind, which mean nothing here.
    with np.errstate(all="ignore"):
        return shapely.buffer(region, by_mm, join_style="mitre", mitre_limit=5.0)


def _long_pieces(whole: BaseGeometry, rest: BaseGeometry, width_mm: float) -> list[Polygon]:
    """Return the pieces of a difference that are longer than the crumbs at sharp corners.

    A mitre cut at five times the offset leaves a crumb below 5 widths long; offsetting
    itself is only good to a hundredth of the width.
    """
    pieces = shapely.get_parts(shapely.difference(whole, rest))
    return [
        piece
        for piece in pieces
        if isinstance(piece, Polygon)
        and piece.length / 2 > 12 * width_mm
        and mean_width_mm(piece) > 0.1 * width_mm
    ]


def mean_width_mm(piece: Polygon) -> float:
    """Return the mean width of a long thin piece: its area over half its edge."""
    return float(piece.area / (piece.length / 2))


def _smooth_areas(geometry: BaseGeometry) -> MultiPolygon:
    """Return the areas of a geometry, without the nanometer steps that swelling leaves."""
    return polygons_of(shapely.simplify(geometry, 1e-5))


def _area_note(code: str, says: str, piece: Polygon, limit_mm2: float) -> Finding:
    return note(code, says, place(piece), measured=piece.area, limit=limit_mm2, unit="mm²")


def _width_note(code: str, says: str, piece: Polygon, limit_mm: float) -> Finding:
    return note(code, says, place(piece), measured=mean_width_mm(piece), limit=limit_mm)
