"""Words along a curve: letters placed by arc length, each turned to the tangent."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, MultiPolygon
from shapely.affinity import affine_transform

from moldgen.arrays import Floats
from moldgen.solid.polygons import polygons_of

_ROUNDS = 4
"""How often a word is set anew so that its middle comes to the middle of its stretch."""
_NEAREST_MM = 0.01
_PUSHES = 12


def set_along(
    letters: Sequence[MultiPolygon], curve: LineString, middle_mm: float
) -> tuple[MultiPolygon, ...] | None:
    """Return letters set along a curve, or None if it is too short for them.

    Neighbors stand nowhere nearer to each other than they do in a straight line: where the curve
    is hollow and their tops would meet, they are moved apart.

    Parameters
    ----------
    letters : sequence of MultiPolygon
        Letters in a straight line, left to right, on the baseline y = 0. [mm]
    curve : LineString
        The baseline to follow, left to right; letters stand on its left. [mm]
    middle_mm : float
        Where on the curve the middle of the word shall be. [mm]
    """
    blocks = _blocks(letters)
    boxes = np.array([shapely.total_bounds([letters[k] for k in block]) for block in blocks])
    middles, halves = (boxes[:, 0] + boxes[:, 2]) / 2, (boxes[:, 2] - boxes[:, 0]) / 2
    start = middle_mm - (boxes[:, 0].min() + boxes[:, 2].max()) / 2
    placed: list[list[MultiPolygon]] = []
    for _ in range(_ROUNDS):
        placed, ats = _set_from(letters, blocks, curve, start + middles)
        off = middle_mm - (ats[0] - halves[0] + ats[-1] + halves[-1]) / 2
        if abs(off) < _NEAREST_MM:
            break
        start += off
    if ats[0] < halves[0] or ats[-1] > curve.length - halves[-1]:
        return None
    where = {k: region for block, parts in zip(blocks, placed, strict=True)
             for k, region in zip(block, parts, strict=True)}  # fmt: skip
    return tuple(where[k] for k in range(len(letters)))


def _blocks(letters: Sequence[MultiPolygon]) -> list[list[int]]:
    """Return letters by what is turned as one, left to right: joined scripts stay joined."""
    blocks: list[list[int]] = []
    for k in sorted(range(len(letters)), key=lambda k: letters[k].bounds[0]):
        if blocks and any(letters[j].intersects(letters[k]) for j in blocks[-1]):
            blocks[-1].append(k)
        else:
            blocks.append([k])
    return blocks


def _set_from(
    letters: Sequence[MultiPolygon], blocks: list[list[int]], curve: LineString, wanted: Floats
) -> tuple[list[list[MultiPolygon]], list[float]]:
    """Set block after block, each as far from the one before as it is in a straight line."""
    placed: list[list[MultiPolygon]] = []
    ats: list[float] = []
    for k, block in enumerate(blocks):
        straight = shapely.union_all([letters[j] for j in block])
        at = float(wanted[k]) if not ats else ats[-1] + float(wanted[k] - wanted[k - 1])
        if placed:
            before = shapely.union_all([letters[j] for j in blocks[k - 1]])
            gap_mm = float(before.distance(straight))
            at = _pushed(straight, curve, at, shapely.union_all(placed[-1]), gap_mm)
        ats.append(at)
        placed.append([_turned(letters[j], curve, at, straight) for j in block])
    return placed, ats


def _pushed(
    straight: shapely.Geometry,
    curve: LineString,
    at_mm: float,
    before: shapely.Geometry,
    gap_mm: float,
) -> float:
    """Return the first place from one on at which a block keeps its gap to the one before. [mm]."""
    for _ in range(_PUSHES):
        lack = gap_mm - float(before.distance(_turned(straight, curve, at_mm, straight)))
        if lack < _NEAREST_MM:
            break
        at_mm += lack + _NEAREST_MM / 2
    return at_mm


def _turned(
    region: shapely.Geometry, curve: LineString, at_mm: float, straight: shapely.Geometry
) -> MultiPolygon:
    """Return what stands in a straight line on the curve, turned to the chord under it."""
    x0, _, x1, _ = straight.bounds
    half = (x1 - x0) / 2
    a, b = (_point(curve, at_mm + side * half) for side in (-1, 1))
    cos, sin = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    middle, (x, y) = (x0 + x1) / 2, _point(curve, at_mm)
    matrix = [cos, -sin, sin, cos, x - cos * middle, y - sin * middle]
    return polygons_of(affine_transform(region, matrix))


def _point(curve: LineString, at_mm: float) -> Floats:
    point = curve.interpolate(float(np.clip(at_mm, 0.0, curve.length)))
    return np.array([point.x, point.y])


def upper_edge(region: shapely.Geometry, inset_mm: float, *, smooth_mm: float) -> LineString | None:
    """Return the upper half of a region's outline moved inward, left to right. [mm].

    Parameters
    ----------
    region : Polygon or MultiPolygon
        Of several pieces the largest counts; holes do not. [mm]
    inset_mm : float
        How far inside. [mm]
    smooth_mm : float
        Least radius of the curve, at corners that point outward and at hollow ones. [mm]
    """
    filled = _filled(region)
    inner = shapely.buffer(filled, -inset_mm - smooth_mm, quad_segs=32)
    inner = shapely.buffer(_filled(inner), 2 * smooth_mm, quad_segs=32)
    inner = _filled(shapely.buffer(inner, -smooth_mm, quad_segs=32))
    if inner.is_empty:
        return None
    ring = shapely.get_coordinates(shapely.orient_polygons(inner, exterior_cw=True).exterior)[:-1]
    first, last = int(np.argmin(ring[:, 0])), int(np.argmax(ring[:, 0]))
    chain = np.roll(ring, -first, axis=0)[: (last - first) % len(ring) + 1]
    return LineString(chain) if len(chain) > 1 else None


def inner_circle(region: shapely.Geometry, inset_mm: float) -> LineString | None:
    """Return an arc inside the largest circle in a region, over its top, left to right. [mm].

    Two thirds of a circle: below, letters would stand on their heads.
    """
    filled = _filled(region)
    if filled.is_empty:
        return None
    radius = shapely.maximum_inscribed_circle(filled, tolerance=filled.length / 5000)
    (x, y), _ = shapely.get_coordinates(radius)
    inner = float(radius.length) - inset_mm
    if inner <= 0:
        return None
    turns = np.radians(np.linspace(210.0, -30.0, 481))
    return LineString(np.column_stack([x + inner * np.cos(turns), y + inner * np.sin(turns)]))


def _filled(region: shapely.Geometry) -> shapely.Polygon:
    """Return the largest piece of a region without its holes."""
    pieces = polygons_of(region).geoms
    largest = max(pieces, key=lambda piece: float(piece.area), default=shapely.Polygon())
    return shapely.Polygon(largest.exterior)
