"""The strip of a wall between two neighboring contours, cut into triangles.

The strip's corners are those of the two contours. Where that leaves a triangle steeper than the
wall, or one that cuts across a crease, corners are added on the creases.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from moldgen.compiling import njit
from moldgen.solid.loft.contour import GRID_MM, Loop, Ring, twice_area
from moldgen.solid.loft.creases import crease_points
from moldgen.solid.loft.ease import gradient
from moldgen.solid.loft.flips import smoothed, twice_areas
from moldgen.solid.loft.patch import Patch, ladder_between, patch_between
from moldgen.solid.loft.splits import with_points

CREASE_MM = 0.002
"""Crease corners nearer than this to a level line or to each other are left out. [mm]."""

ROUNDS = (0, 1, 3, 8)
"""Rounds of crease corners: where edges run out (0), then crests so many times per run. [-]."""

LEAST_SPACING_MM = 0.02
"""Points from which crests are found are not nearer to each other than this. [mm]."""

MOST_SAMPLES = 6000
"""Points along the rings of a piece from which its crests are found, at most."""

OFF_MM = 0.005
"""A triangle that may lie farther than this from the wall has cut off a crease. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLimits:
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
    even : bool
        Whether the contours are everywhere so far apart as told; else that is the least, and
        where they are farther apart the wall leans more.
    """

    run_mm: float
    rise_mm: float
    steepest: float
    outward: bool
    even: bool = True

    @property
    def slope(self) -> float:
        """Rise over run of the wall itself."""
        return abs(self.rise_mm) / self.run_mm


def band_patch(piece: Sequence[Loop], within: Sequence[Loop], band: BandLimits) -> Patch:
    """Return the strip between a piece and the loops within it, creased where needed."""
    creases = _Creases(piece, within, band)
    patch = ladder_between(piece, within, even=band.even) if within else None
    if patch is not None and not len(_beyond(patch, creases)[0]):
        return patch
    patch = patch_between(piece, within)
    if not within or not band.even:
        return patch
    best, least = patch, np.inf
    for fineness in (*ROUNDS, None):
        beyond, worst = _beyond(patch, creases)
        if worst < least:
            best, least = patch, worst
        if not len(beyond) or fineness is None:
            break
        patch = _with_corners(patch, creases.near(patch, beyond, fineness))
    return best


def _beyond(patch: Patch, creases: _Creases) -> tuple[NDArray[np.int64], float]:
    """Return the triangles beyond a limit, and by what share of it the worst one is.

    Where rounding turned a triangle over no more can be done, and any other patch is better.
    """
    if twice_areas(patch.faces, patch.points_mm[:, :2]).min(initial=1.0) <= 0:
        return np.empty(0, np.int64), np.inf
    band = creases.band
    slope = band.slope if band.even else 0.0
    excess, unsure = _excess(patch.faces, patch.points_mm, slope, band.steepest)
    if band.even and unsure.any():
        middles = patch.points_mm[patch.faces[unsure]].mean(axis=1)
        excess[unsure] = np.maximum(excess[unsure], creases.off_mm(middles) / OFF_MM)
    return np.flatnonzero(excess > 1), float(excess.max(initial=0.0))


@njit(cache=True)
def _excess(
    faces: NDArray[np.int64], points: Ring, slope: float, limit: float
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return how steep or how far off the wall every triangle is, as a share of its limit.

    A triangle touches the wall at its corners; the wall can leave it by the lack of slope over
    the radius of the triangle's inner circle, and its middle by that over a third of its length.
    Where only the latter is much, one has to look: those triangles are told too.
    """
    excess = np.zeros(faces.shape[0])
    unsure = np.zeros(faces.shape[0], np.bool_)
    for t in range(faces.shape[0]):
        a, b, c = points[faces[t, 0]], points[faces[t, 1]], points[faces[t, 2]]
        x, y, twice = gradient(a, b, c)
        ab, bc = np.hypot(b[0] - a[0], b[1] - a[1]), np.hypot(c[0] - b[0], c[1] - b[1])
        ca = np.hypot(a[0] - c[0], a[1] - c[1])
        own = np.hypot(x, y)
        lack = max(slope - own, 0.0) / np.sqrt(1 + slope * slope)
        excess[t] = max(own / limit, lack * twice / (ab + bc + ca) / OFF_MM)
        amiss = abs(slope - own) / np.sqrt(1 + slope * slope)
        unsure[t] = excess[t] <= 1 and amiss * max(ab, bc, ca) / 3 > OFF_MM
    return excess, unsure


@dataclass(frozen=True, eq=False)
class _Creases:
    """Places on the creases of a band, and what is needed to tell their heights."""

    piece: Sequence[Loop]
    within: Sequence[Loop]
    band: BandLimits

    @cached_property
    def ends(self) -> tuple[Sequence[Loop], Sequence[Loop]]:
        """The loops from which the wall is measured, and those to which it goes."""
        ends = self.piece, self.within
        return ends[::-1] if self.band.outward else ends

    @cached_property
    def rings(self) -> list[Ring]:
        """Corners of the loops from which the wall is measured, the band to their left."""
        step = -1 if self.band.outward else 1
        return [loop.plan_mm[::step] for loop in self.ends[0]]

    @cached_property
    def region(self) -> shapely.Geometry:
        """The band in plan."""
        region = _filled(self.piece).difference(_filled(self.within))
        shapely.prepare(region)
        return region

    @cached_property
    def start(self) -> STRtree:
        """Edges from which the wall is measured."""
        return _edge_tree(self.ends[0])

    @cached_property
    def end(self) -> STRtree:
        """Edges to which the wall goes."""
        return _edge_tree(self.ends[1])

    def off_mm(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far points lie from the wall, shape (n,). [mm]."""
        z = self._z_mm(_distances(self.start, points_mm[:, :2]))
        return np.asarray(np.abs(points_mm[:, 2] - z) / np.hypot(1.0, self.band.slope))

    def _z_mm(self, gone_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        z, z_end = (loops[0].z_mm for loops in self.ends)
        return np.asarray(z + (z_end - z) * np.minimum(gone_mm / self.band.run_mm, 1.0))

    def near(self, patch: Patch, beyond: NDArray[np.int64], fineness: int) -> NDArray[np.float64]:
        """Return corners on the creases near some triangles of a patch, shape (k, 3). [mm]."""
        around = STRtree(shapely.polygons(patch.points_mm[patch.faces[beyond], :2]))
        if fineness == 0:
            run = self.band.run_mm
            places = np.concatenate([crease_points(ring, run)[:, :2] for ring in self.rings])
        else:
            places = self._crests(around, self.band.run_mm / fineness)
        places = np.round(places / GRID_MM) * GRID_MM
        places = _close_to(around, places, self.band.run_mm / 2)
        places = places[shapely.contains_xy(self.region, places[:, 0], places[:, 1])]
        return self._on_the_wall(_apart(places, patch.extra_mm[:, :2]))

    def _crests(self, around: STRtree, apart_mm: float) -> Ring:
        """Return places on the creases: corners of the Voronoi diagram of points on the rings."""
        spacing = max(apart_mm / 2, LEAST_SPACING_MM)
        reach = 2 * self.band.run_mm
        samples = np.concatenate([_samples(ring, around, reach, spacing) for ring in self.rings])
        if len(samples) > MOST_SAMPLES:
            samples = samples[:: ceil(len(samples) / MOST_SAMPLES)]
        diagram = shapely.voronoi_polygons(shapely.MultiPoint(samples), only_edges=True)
        return np.asarray(shapely.get_coordinates(diagram))

    def _on_the_wall(self, places_mm: Ring) -> NDArray[np.float64]:
        """Return those places that lie well inside the band, with their heights on the wall."""
        if not len(places_mm):
            return np.empty((0, 3))
        gone, left = _distances(self.start, places_mm), _distances(self.end, places_mm)
        run = self.band.run_mm
        kept = (left > CREASE_MM) & (gone > CREASE_MM) & (gone < run - CREASE_MM)
        return np.column_stack([places_mm[kept], self._z_mm(gone[kept])])


def _with_corners(patch: Patch, extra_mm: NDArray[np.float64]) -> Patch:
    points = np.concatenate([patch.points_mm, extra_mm])
    plan, heights = points[:, :2].copy(), points[:, 2].copy()
    faces = with_points(patch.faces, plan, extra_mm[:, :2].copy(), len(patch.points_mm))
    return Patch(smoothed(faces, plan, heights), points, patch.numbers)


def _apart(places_mm: Ring, taken_mm: Ring) -> Ring:
    """Return the places that are not nearer than `CREASE_MM` to each other or to taken ones."""
    every = np.concatenate([taken_mm, places_mm])
    for shift in (0.0, 0.5):  # cells of two grids: neighbors across one's border share the other's
        cells = np.round(every / CREASE_MM + shift)
        every = every[np.sort(np.unique(cells, axis=0, return_index=True)[1])]
    return every[len(taken_mm) :]


def _samples(ring: Ring, around: STRtree, reach_mm: float, spacing_mm: float) -> Ring:
    """Return points along those edges of a ring that come near some triangles."""
    ends = np.roll(ring, -1, axis=0)
    edges = shapely.linestrings(np.stack([ring, ends], axis=1))
    near = np.unique(around.query(edges, predicate="dwithin", distance=reach_mm)[0])
    lines = shapely.segmentize(edges[near], spacing_mm)
    points = shapely.points(shapely.get_coordinates(lines))
    close = np.unique(around.query(points, predicate="dwithin", distance=reach_mm)[0])
    return np.unique(shapely.get_coordinates(points[close]), axis=0)


def _close_to(around: STRtree, places_mm: Ring, reach_mm: float) -> Ring:
    points = shapely.points(places_mm)
    close = np.unique(around.query(points, predicate="dwithin", distance=reach_mm)[0])
    return np.asarray(places_mm[close])


def _edge_tree(loops: Sequence[Loop]) -> STRtree:
    edges = [np.stack([q.plan_mm, np.roll(q.plan_mm, -1, axis=0)], axis=1) for q in loops]
    return STRtree(shapely.linestrings(np.concatenate(edges)))


def _distances(tree: STRtree, places_mm: Ring) -> NDArray[np.float64]:
    found = tree.query_nearest(shapely.points(places_mm), return_distance=True, all_matches=False)
    return np.asarray(found[1])


def _filled(loops: Sequence[Loop]) -> shapely.Geometry:
    """Return the region that loops enclose, outer ones counter-clockwise, holes clockwise."""
    shells = [_sound(Polygon(loop.plan_mm)) for loop in loops if twice_area(loop.plan_mm) > 0]
    holes = [_sound(Polygon(loop.plan_mm)) for loop in loops if twice_area(loop.plan_mm) < 0]
    return shapely.difference(shapely.union_all(shells), shapely.union_all(holes))


def _sound(polygon: Polygon) -> shapely.Geometry:
    """Return a polygon as a valid one: rounding may have made it touch or cross itself."""
    return polygon if polygon.is_valid else shapely.buffer(polygon, 0)
