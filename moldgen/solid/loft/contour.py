"""Level lines of a wall: an outline moved inward or outward, as numbered loops of corners."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, STRtree

from moldgen.compiling import njit
from moldgen.solid.arcs import chords_for
from moldgen.solid.polygons import polygons_of

GRID_MM = 2.0**-14
"""Spacing to which plan positions are rounded: exact in single precision up to 1024 mm. [mm]."""

LEAST_EDGE_MM = 4 * GRID_MM
"""Rounding an edge shorter than this can turn a sharp tip inside out. [mm]."""

ARC_STEPS = 16
"""Least chords per quarter turn of a rounded corner: they lean at most 0.12 % more. [-]."""

SAGITTA_MM = 0.005
"""Farthest a chord of a rounded corner may stray from its arc. [mm]."""

Ring = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A closed ring of corners in the surface's own numbering.

    Attributes
    ----------
    plan_mm : ndarray, shape (n, 2)
        Positions; counter-clockwise around material, clockwise around a hole. [mm]
    z_mm : float
        Height of all of them. [mm]
    first : int
        Number of the first corner; the others follow.
    """

    plan_mm: Ring
    z_mm: float
    first: int

    @property
    def numbers(self) -> NDArray[np.int64]:
        """Corner numbers in ring order."""
        return np.arange(self.first, self.first + len(self.plan_mm))


@dataclass(frozen=True, slots=True, eq=False)
class Contour:
    """One level line of a wall: pieces, each an outer loop followed by its holes."""

    region: MultiPolygon
    pieces: tuple[tuple[Loop, ...], ...]

    @property
    def loops(self) -> Iterator[Loop]:
        """All loops, piece by piece."""
        return (loop for piece in self.pieces for loop in piece)

    @classmethod
    def together(cls, contours: Sequence[Contour]) -> Contour:
        """Return several contours of one height as one."""
        regions = [part for contour in contours for part in contour.region.geoms]
        return cls(MultiPolygon(regions), tuple(p for c in contours for p in c.pieces))


def inset(
    region: MultiPolygon, distance_mm: float, *, arc_steps: int | None = None
) -> MultiPolygon:
    """Return the outline moved inward by a distance (outward if negative). [mm].

    Rounded corners get enough chords for their radius, or as many per quarter turn as told.
    """
    if abs(distance_mm) < 1e-12:
        return as_multi(region)
    steps = arc_steps or arc_steps_for(abs(distance_mm))
    moved = as_multi(shapely.buffer(region, -distance_mm, quad_segs=steps))
    return _without_ghosts(moved, region, abs(distance_mm))


def _without_ghosts(moved: MultiPolygon, region: MultiPolygon, distance_mm: float) -> MultiPolygon:
    """Leave out pieces and holes nearer to the outline than they were moved.

    GEOS turns a small round piece inside out when it moves its border past the middle, and
    takes what comes out for a piece.
    """
    rings = shapely.get_rings(shapely.get_parts(moved))
    small = np.flatnonzero(shapely.area(shapely.polygons(rings)) < distance_mm**2)
    if not len(small):
        return moved
    border = region.boundary
    shapely.prepare(border)
    inner = shapely.point_on_surface(shapely.polygons(rings[small]))
    ghosts = small[shapely.dwithin(border, inner, 0.985 * distance_mm)]
    if not len(ghosts):
        return moved
    gone = {rings[k].wkb for k in ghosts}
    return MultiPolygon(
        [
            Polygon(part.exterior, [hole for hole in part.interiors if hole.wkb not in gone])
            for part in moved.geoms
            if part.exterior.wkb not in gone
        ]
    )


def arc_steps_for(radius_mm: float) -> int:
    """Return chords per quarter turn that keep within `SAGITTA_MM` of an arc of this radius.

    All contours of a wall take the same number: then the corners of concentric arcs face each
    other, and the strips between them keep the wall's slope.
    """
    return chords_for(radius_mm, pi / 2, chord_mm=SAGITTA_MM, at_least=ARC_STEPS)


def as_multi(geometry: shapely.Geometry) -> MultiPolygon:
    """Return the polygons of a geometry that are more than specks."""
    return polygons_of(geometry, speck_mm2=1e-5)


def clean_pieces(region: MultiPolygon) -> Iterator[list[Ring]]:
    """Yield the rings of every piece on the grid: the outer one first, then its holes."""
    for polygon in region.geoms:
        outer = _clean_ring(polygon.exterior, counter_clockwise=True)
        if outer is None:
            continue
        holes = (_clean_ring(hole, counter_clockwise=False) for hole in polygon.interiors)
        yield [outer, *(hole for hole in holes if hole is not None)]


def _clean_ring(ring: shapely.LinearRing, *, counter_clockwise: bool) -> Ring | None:
    """Return a ring on the grid without repeated corners, or None if nothing is left of it."""
    corners = np.round(shapely.get_coordinates(ring) / GRID_MM) * GRID_MM
    points = _without_spikes(_apart(corners[1:]))
    if len(points) < 3:
        return None
    twice = twice_area(points)
    if abs(twice) < 2e-5:
        return None
    return points if (twice > 0) == counter_clockwise else points[::-1]


@njit(cache=True)
def _apart(points: Ring) -> Ring:
    """Leave out corners nearer to the one kept before them than `LEAST_EDGE_MM`, all round."""
    kept = np.empty(len(points), np.int64)
    n = 0
    for k in range(len(points)):
        if n == 0 or _distance_mm(points[k], points[kept[n - 1]]) >= LEAST_EDGE_MM:
            kept[n] = k
            n += 1
    while n > 1 and _distance_mm(points[kept[0]], points[kept[n - 1]]) < LEAST_EDGE_MM:
        n -= 1
    return points[kept[:n]]


@njit(cache=True)
def _distance_mm(one: Ring, other: Ring) -> float:
    return float(np.hypot(one[0] - other[0], one[1] - other[1]))


def _without_spikes(points: Ring) -> Ring:
    """Leave out corners where a ring turns back onto itself: it was thinner than the grid there."""
    while len(points) > 2:
        before, after = points[np.arange(len(points)) - 1], np.concatenate([points[1:], points[:1]])
        spike = (before == after).all(axis=1)
        if not spike.any():
            break
        k = int(np.argmax(spike))
        points = np.delete(points, [k, (k + 1) % len(points)], axis=0)
    return points


def twice_area(ring: Ring) -> float:
    """Return twice the area of a ring, negative if it runs clockwise. [mm²]."""
    x, y = (ring - ring[0]).T
    return float(x[:-1] @ y[1:] - x[1:] @ y[:-1])


def nested(outside: Contour, inside: Contour) -> Iterator[tuple[Sequence[Loop], list[Loop]]]:
    """Pair every piece of the outer contour with the loops of the inner contour within it."""
    if len(outside.pieces) == 1:
        yield outside.pieces[0], list(inside.loops)
        return
    within: list[list[Loop]] = [[] for _ in outside.pieces]
    if inside.pieces:
        tree = STRtree([Polygon(p[0].plan_mm, [q.plan_mm for q in p[1:]]) for p in outside.pieces])
        starts = shapely.points([piece[0].plan_mm[0] for piece in inside.pieces])
        owner = tree.query_nearest(starts, all_matches=False)[1]
        for piece, number in zip(inside.pieces, owner, strict=True):
            within[number].extend(piece)
    yield from zip(outside.pieces, within, strict=True)
