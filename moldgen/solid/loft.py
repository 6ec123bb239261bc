"""Raise or sink an outline along a wall profile: a surface that closes by construction.

The outline is offset inward to stations on the profile, and the band between two neighbouring
contours is filled by a triangulation whose corners are just the two contours. Every corner keeps
its height and neighbouring bands share their corners, so the surface has no seams, its flats are
flat and its straight walls are plane. Letters split and vanish where they are too thin for the
wall without any special case.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from manifold3d import triangulate
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, STRtree

from moldgen.solid.mesh import Mesh
from moldgen.solid.profile import Profile

GRID_MM = 2.0**-14
"""Spacing to which plan positions are rounded: exact in single precision up to 1024 mm. [mm]."""

ARC_STEPS = 16
"""Chords per quarter turn of a rounded corner: they lean at most 0.12 % more than the wall."""

RIDGE_STEP_MM = 0.5
"""Height steps of a straight wall where a stroke ends in a ridge. [mm]."""

Ring = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A closed ring of corners in the surface's own numbering.

    Attributes
    ----------
    plan_mm : ndarray, shape (n, 2)
        Positions; counter-clockwise around material, clockwise around a hole. [mm]
    first : int
        Number of the first corner; the others follow.
    """

    plan_mm: Ring
    first: int

    @property
    def numbers(self) -> NDArray[np.int64]:
        """Corner numbers in ring order."""
        return np.arange(self.first, self.first + len(self.plan_mm))

    def turned(self) -> tuple[Ring, NDArray[np.int64]]:
        """Return positions and numbers run through the other way round."""
        return self.plan_mm[::-1], self.numbers[::-1]


@dataclass(frozen=True, slots=True, eq=False)
class Contour:
    """One level line of a wall: pieces, each an outer loop followed by its holes."""

    region: MultiPolygon
    pieces: tuple[tuple[Loop, ...], ...]

    @property
    def loops(self) -> Iterator[Loop]:
        """All loops, piece by piece."""
        return (loop for piece in self.pieces for loop in piece)


@dataclass(slots=True, eq=False)
class Surface:
    """Corners and triangles gathered while features are added one after another."""

    _plans: list[Ring] = field(default_factory=list)
    _heights: list[NDArray[np.float64]] = field(default_factory=list)
    _triangles: list[NDArray[np.int64]] = field(default_factory=list)
    n_points: int = 0

    def add_contour(self, region: MultiPolygon, z_mm: float) -> Contour:
        """Add the corners of a level line, all at one height."""
        pieces = tuple(
            tuple(self._add_loop(ring, z_mm) for ring in rings) for rings in _pieces(region)
        )
        return Contour(region, pieces)

    def add_copy(self, contour: Contour, z_mm: float) -> Contour:
        """Add the same corners again at another height: the far end of an upright wall."""
        pieces = tuple(
            tuple(self._add_loop(loop.plan_mm, z_mm) for loop in piece) for piece in contour.pieces
        )
        return Contour(contour.region, pieces)

    def fill_band(self, outside: Contour, inside: Contour) -> None:
        """Fill between two contours, the second within the first, facing up."""
        for piece, within in _nested(outside, inside):
            self.fill_flat(piece, within)

    def fill_upright(self, start: Contour, end: Contour) -> None:
        """Join two copies of one contour by an upright wall."""
        for a, b in zip(start.loops, end.loops, strict=True):
            i, k = a.numbers, b.numbers
            j, m = np.roll(i, -1), np.roll(k, -1)
            self._triangles.append(np.vstack([np.c_[i, j, m], np.c_[i, m, k]]))

    def fill_flat(
        self, piece: Sequence[Loop], cut_out: Sequence[Loop] = (), *, facing_down: bool = False
    ) -> None:
        """Fill one piece, less the loops to be cut out of it."""
        kept = [(loop.plan_mm, loop.numbers) for loop in piece]
        turned = [loop.turned() for loop in cut_out]
        rings = [plan for plan, _ in kept + turned]
        numbers = np.concatenate([number for _, number in kept + turned])
        faces = np.asarray(triangulate(rings), dtype=np.int64).reshape(-1, 3)
        filled = numbers[faces]
        self._triangles.append(filled[:, ::-1] if facing_down else filled)

    def mesh(self) -> Mesh:
        """Return all that was gathered as one mesh."""
        plan, heights = np.concatenate(self._plans), np.concatenate(self._heights)
        triangles = np.concatenate(self._triangles).astype(np.int32)
        return Mesh(np.column_stack([plan, heights]), triangles)

    def _add_loop(self, plan_mm: Ring, z_mm: float) -> Loop:
        loop = Loop(plan_mm, self.n_points)
        self._plans.append(plan_mm)
        self._heights.append(np.full(len(plan_mm), z_mm))
        self.n_points += len(plan_mm)
        return loop


@dataclass(frozen=True, slots=True, eq=False)
class Walled:
    """The two ends of a lofted wall: where it leaves the parent's flat, and its own flat."""

    outer: Contour
    inner: Contour


def add_wall(
    surface: Surface,
    region: MultiPolygon,
    profile: Profile,
    *,
    z_mm: float,
    sunk: bool = False,
    chord_mm: float = 0.01,
) -> Walled:
    """Add the wall of a raised or sunk outline to a surface.

    Parameters
    ----------
    surface : Surface
        Gathers the corners and triangles.
    region : MultiPolygon
        The outline at the profile's reading height. [mm]
    profile : Profile
        For a sunk outline the profile is read from the floor up, like any other: its root is at
        the floor of the recess and its rim at the mouth.
    z_mm : float
        Height of the flat that the wall leaves: its foot if raised, its mouth if sunk. [mm]
    sunk : bool
        Whether the wall goes down.
    chord_mm : float
        Greatest distance between the profile and its chords. [mm]

    Returns
    -------
    Walled
        The contours at either end; the caller fills the flats.
    """
    inward, rise = wall_stations(region, profile, sunk=sunk, chord_mm=chord_mm)
    contours = [surface.add_contour(inset(region, inward[0]), z_mm)]
    for k in range(1, len(inward)):
        upright = abs(inward[k] - inward[k - 1]) < 1e-9
        level = z_mm + rise[k]
        if upright:
            contours.append(surface.add_copy(contours[-1], level))
            surface.fill_upright(contours[-2], contours[-1])
        else:
            contours.append(surface.add_contour(inset(region, inward[k]), level))
            surface.fill_band(contours[-2], contours[-1])
    return Walled(contours[0], contours[-1])


def wall_stations(
    region: MultiPolygon, profile: Profile, *, sunk: bool, chord_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return insets and rises from the parent's flat to the own flat, ridges resolved.

    A sunk wall is the raised one of the recess's plug, seen from its mouth: the distance from the
    outline runs the other way and so does the height.
    """
    d, z = profile.stations(chord_mm=chord_mm)
    if sunk:
        d, z = -d[::-1], (z - profile.height_mm)[::-1]
    steps = np.hypot(np.diff(d), np.diff(z))
    straight = int(np.argmax(steps))
    if abs(d[straight + 1] - d[straight]) < 1e-9 or not _ends_in_ridge(region, d, straight):
        return d, z
    n_steps = max(2, int(np.ceil(abs(z[straight + 1] - z[straight]) / RIDGE_STEP_MM)))
    extra = np.linspace(0, 1, n_steps + 1)[1:-1]
    return (
        np.insert(d, straight + 1, d[straight] + extra * (d[straight + 1] - d[straight])),
        np.insert(z, straight + 1, z[straight] + extra * (z[straight + 1] - z[straight])),
    )


def inset(region: MultiPolygon, distance_mm: float) -> MultiPolygon:
    """Return the outline moved inward by a distance (outward if negative), on the grid. [mm]."""
    if abs(distance_mm) < 1e-12:
        moved = region
    else:
        moved = shapely.buffer(region, -distance_mm, quad_segs=ARC_STEPS)
    return _on_grid(moved)


def too_narrow(region: MultiPolygon, inset_mm: float) -> MultiPolygon:
    """Return the parts of an outline that an inset of this much swallows. [mm].

    Convex corners lose only their tips to rounding, which is not counted.
    """
    core = shapely.buffer(region, -inset_mm, quad_segs=ARC_STEPS)
    regrown = shapely.buffer(
        core, inset_mm * (1 + 1e-6) + 1e-6, join_style="mitre", mitre_limit=6.0
    )
    lost = shapely.difference(region, regrown)
    wide = shapely.buffer(lost, -min(0.02, inset_mm / 4))
    parts = [
        part
        for part in shapely.get_parts(lost)
        if part.geom_type == "Polygon" and shapely.intersects(part, wide)
    ]
    return MultiPolygon(parts)


def _ends_in_ridge(region: MultiPolygon, d: NDArray[np.float64], straight: int) -> bool:
    """Tell whether some stroke runs out along the straight part of the wall."""
    start, end = inset(region, d[straight]), inset(region, d[straight + 1])
    return not too_narrow(start, d[straight + 1] - d[straight]).is_empty or end.is_empty


def _on_grid(geometry: shapely.Geometry) -> MultiPolygon:
    polygons = [part for part in shapely.get_parts(geometry) if part.geom_type == "Polygon"]
    return MultiPolygon([part for part in polygons if part.area > 1e-5])


def _pieces(region: MultiPolygon) -> Iterator[list[Ring]]:
    for polygon in region.geoms:
        outer = _clean_ring(polygon.exterior, counter_clockwise=True)
        if outer is None:
            continue
        holes = (_clean_ring(hole, counter_clockwise=False) for hole in polygon.interiors)
        yield [outer, *(hole for hole in holes if hole is not None)]


def _clean_ring(ring: shapely.LinearRing, *, counter_clockwise: bool) -> Ring | None:
    """Return a ring on the grid without repeated corners, or None if nothing is left of it."""
    points = np.round(shapely.get_coordinates(ring)[:-1] / GRID_MM) * GRID_MM
    keep = (points != np.roll(points, 1, axis=0)).any(axis=1)
    points = points[keep]
    if len(points) < 3:
        return None
    x, y = points.T
    twice_area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    if abs(twice_area) < 2e-5:
        return None
    return points if (twice_area > 0) == counter_clockwise else points[::-1]


def _nested(outside: Contour, inside: Contour) -> Iterator[tuple[Sequence[Loop], list[Loop]]]:
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
