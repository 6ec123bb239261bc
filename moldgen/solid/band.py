"""The strip of a wall between two neighbouring contours, cut into triangles.

The strip's corners are those of the two contours. Where that leaves a triangle steeper than the
wall, or one that cuts across a crease, corners are added on the creases.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from manifold3d import triangulate
from numba import njit
from numpy.typing import NDArray
from shapely import MultiLineString, Polygon

from moldgen.solid.contour import GRID_MM, Loop, Ring, twice_area
from moldgen.solid.creases import crease_points
from moldgen.solid.ease import steepest
from moldgen.solid.flips import LEAST_MM2, delaunay, smoothed, twice_areas, with_points

CREASE_MM = 0.002
"""Crease corners nearer than this to a level line or to each other are left out. [mm]."""

MOST_SAMPLES = 3000
"""Points along the rings of a piece from which its creases are found, at most."""

OFF_MM = 0.008
"""A triangle that may lie farther than this from the wall has cut off a crease. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What a band between two contours must keep to.

    Attributes
    ----------
    run_mm : float
        Distance between the two contours. [mm]
    rise_mm : float
        Height between them. [mm]
    steepest : float
        Greatest rise over run a triangle may have.
    outward : bool
        Whether the wall is measured outward from the inner contour (outside the outline), rather
        than inward from the outer one.
    """

    run_mm: float
    rise_mm: float
    steepest: float
    outward: bool


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """A region between loops, cut into triangles that count its own corners from 0.

    Corners on the loops come first, with their ``numbers`` on the surface; ``extra_mm`` follow.
    """

    faces: NDArray[np.int64]
    points_mm: NDArray[np.float64]
    numbers: NDArray[np.int64]

    @property
    def extra_mm(self) -> NDArray[np.float64]:
        """Corners that lie on none of the loops, shape (k, 3). [mm]."""
        return self.points_mm[len(self.numbers) :]


def patch_between(piece: Sequence[Loop], cut_out: Sequence[Loop]) -> Patch:
    """Return the region within a piece, less some loops, cut into triangles over their corners."""
    rings = [loop.plan_mm for loop in piece] + [loop.plan_mm[::-1] for loop in cut_out]
    numbers = [loop.numbers for loop in piece] + [loop.numbers[::-1] for loop in cut_out]
    heights = [np.full(len(loop.plan_mm), loop.z_mm) for loop in (*piece, *cut_out)]
    faces = np.asarray(triangulate(rings), dtype=np.int64).reshape(-1, 3)
    plan = np.concatenate(rings)
    if twice_areas(faces, plan).min(initial=np.inf) < LEAST_MM2:
        faces = delaunay(faces, plan)
    points = np.column_stack([plan, np.concatenate(heights)])
    return Patch(faces, points, np.concatenate(numbers))


def band_patch(piece: Sequence[Loop], within: Sequence[Loop], band: Band) -> Patch:
    """Return the strip between a piece and the loops within it, creased where needed."""
    patch = patch_between(piece, within)
    if not within or _excess(patch, band) <= 1:
        return patch
    return min(_creased(patch, piece, within, band), key=lambda each: _excess(each, band))


def _excess(patch: Patch, band: Band) -> float:
    """Return how steep or how far off the wall the worst triangle is, as a share of its limit."""
    slope, _ = steepest(patch.faces, patch.points_mm)
    off = _cut_off_mm(patch.faces, patch.points_mm, abs(band.rise_mm) / band.run_mm)
    return max(slope / band.steepest, off / OFF_MM)


@njit(cache=True)
def _cut_off_mm(faces: NDArray[np.int64], points: Ring, slope: float) -> float:
    """Return how far a triangle less steep than the wall may lie beside it, at most. [mm].

    It touches the wall at its corners; the wall can leave it by the lack of slope over the
    radius of the triangle's inner circle.
    """
    most = 0.0
    for t in range(faces.shape[0]):
        a, b, c = points[faces[t, 0]], points[faces[t, 1]], points[faces[t, 2]]
        ux, uy, u = b[0] - a[0], b[1] - a[1], b[2] - a[2]
        vx, vy, v = c[0] - a[0], c[1] - a[1], c[2] - a[2]
        twice = ux * vy - uy * vx
        around = np.hypot(ux, uy) + np.hypot(vx, vy) + np.hypot(ux - vx, uy - vy)
        lean = np.hypot(u * vy - v * uy, v * ux - u * vx)
        most = max(most, (slope * twice - lean) / around)
    return most / np.sqrt(1 + slope * slope)


def _creased(
    patch: Patch, piece: Sequence[Loop], within: Sequence[Loop], band: Band
) -> Iterator[Patch]:
    """Yield the patch with more and more crease corners, until one keeps to the band's limits."""
    yield patch
    start = within if band.outward else piece
    rings = [loop.plan_mm[::-1] if band.outward else loop.plan_mm for loop in start]
    events = np.concatenate([crease_points(ring, band.run_mm)[:, :2] for ring in rings])
    for fineness in (0, 1, 3):
        crests = _crest_places(rings, band.run_mm / fineness) if fineness else np.empty((0, 2))
        extra = _on_the_wall(np.concatenate([events, crests]), piece, within, band)
        better = _with_corners(patch, extra)
        yield better
        if _excess(better, band) <= 1:
            return


def _with_corners(patch: Patch, extra_mm: NDArray[np.float64]) -> Patch:
    points = np.concatenate([patch.points_mm, extra_mm])
    plan, heights = points[:, :2].copy(), points[:, 2].copy()
    faces = with_points(patch.faces, plan, extra_mm[:, :2].copy(), len(patch.numbers))
    return Patch(smoothed(faces, plan, heights), points, patch.numbers)


def _on_the_wall(
    places_mm: Ring, piece: Sequence[Loop], within: Sequence[Loop], band: Band
) -> NDArray[np.float64]:
    """Return those places that lie well inside the band, with their heights on the wall."""
    start, end = (within, piece) if band.outward else (piece, within)
    places = np.round(places_mm / GRID_MM) * GRID_MM
    first = np.unique(np.round(places / CREASE_MM), axis=0, return_index=True)[1]
    places = places[np.sort(first)]
    points = shapely.points(places)
    gone = shapely.distance(points, _lines(start))
    free = shapely.distance(points, _lines(end)) > CREASE_MM
    region = _filled(piece).difference(_filled(within))
    shapely.prepare(region)
    inside = shapely.contains_xy(region, places[:, 0], places[:, 1])
    kept = inside & free & (gone > CREASE_MM) & (gone < band.run_mm - CREASE_MM)
    z, z_end = start[0].z_mm, end[0].z_mm
    heights = z + (z_end - z) * gone[kept] / band.run_mm
    return np.column_stack([places[kept], heights])


def _crest_places(rings: Sequence[Ring], apart_mm: float) -> Ring:
    """Return places on the creases: corners of the Voronoi diagram of points along the rings."""
    closed = [shapely.LineString(_closed(ring)) for ring in rings]
    spacing = max(apart_mm / 2, 0.05, sum(line.length for line in closed) / MOST_SAMPLES)
    lines = [shapely.segmentize(line, spacing) for line in closed]
    samples = shapely.MultiPoint(shapely.get_coordinates(lines))
    return shapely.get_coordinates(shapely.voronoi_polygons(samples, only_edges=True))


def _lines(loops: Sequence[Loop]) -> MultiLineString:
    return MultiLineString([_closed(loop.plan_mm) for loop in loops])


def _filled(loops: Sequence[Loop]) -> shapely.Geometry:
    """Return the region that loops enclose, outer ones counter-clockwise, holes clockwise."""
    shells = [Polygon(loop.plan_mm) for loop in loops if twice_area(loop.plan_mm) > 0]
    holes = [Polygon(loop.plan_mm) for loop in loops if twice_area(loop.plan_mm) < 0]
    return shapely.difference(shapely.union_all(shells), shapely.union_all(holes))


def _closed(ring: Ring) -> Ring:
    return np.concatenate([ring, ring[:1]])
