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
from math import ceil, radians, tan

import numpy as np
import shapely
from manifold3d import triangulate
from numpy.typing import NDArray
from shapely import MultiLineString, MultiPolygon, Polygon, STRtree

from moldgen.solid.creases import crease_points
from moldgen.solid.flips import smoothed, steepness, with_points
from moldgen.solid.mesh import Mesh
from moldgen.solid.profile import Profile

GRID_MM = 2.0**-14
"""Spacing to which plan positions are rounded: exact in single precision up to 1024 mm. [mm]."""

ARC_STEPS = 16
"""Chords per quarter turn of a rounded corner: they lean at most 0.12 % more than the wall."""

CREASE_MM = 0.002
"""Crease corners nearer than this to a level line or to each other are left out. [mm]."""

ON_OUTLINE_MM = 0.01
"""A station nearer than this to the outline stands for the outline itself. [mm]."""

SLACK_DEG = 0.05
"""How much less than the draft a triangle may lean before its band is cut more carefully. [°]."""

MOST_SAMPLES = 3000
"""Points along the rings of a piece from which its creases are found, at most."""

RIDGE_STEP_MM = 1.0
"""Height steps of a straight wall where a stroke ends in a ridge. [mm]."""

LEAST_STEP_MM = 0.05
"""Stations of a ridge are not nearer to each other than this. [mm]."""

RIDGE_EDGES = 1.0
"""Longest contour edge in such a step, as a multiple of the step's run."""

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


@dataclass(slots=True, eq=False)
class Surface:
    """Corners and triangles gathered while features are added one after another."""

    _points: list[NDArray[np.float64]] = field(default_factory=list)
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

    def fill_band(self, outside: Contour, inside: Contour, band: Band) -> None:
        """Fill between two contours, the second within the first, facing up.

        Where a triangle would rise too steeply, corners are added on the creases of the wall
        between the two contours: first where edges run out, then all along the creases.
        """
        for piece, within in _nested(outside, inside):
            patch = _patch(piece, within)
            if within and patch.steepest > band.steepest:
                patch = min(_creased(patch, piece, within, band), key=lambda p: p.steepest)
            numbers = np.concatenate([patch.numbers, self._add(patch.extra_mm)])
            self._triangles.append(numbers[patch.faces])

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
        patch = _patch(piece, cut_out)
        filled = patch.numbers[patch.faces]
        self._triangles.append(filled[:, ::-1] if facing_down else filled)

    def mesh(self) -> Mesh:
        """Return all that was gathered as one mesh."""
        triangles = np.concatenate(self._triangles).astype(np.int32)
        return Mesh(np.concatenate(self._points), triangles)

    def _add_loop(self, plan_mm: Ring, z_mm: float) -> Loop:
        numbers = self._add(np.column_stack([plan_mm, np.full(len(plan_mm), z_mm)]))
        return Loop(plan_mm, z_mm, int(numbers[0]))

    def _add(self, points_mm: NDArray[np.float64]) -> NDArray[np.int64]:
        first = self.n_points
        self._points.append(points_mm)
        self.n_points += len(points_mm)
        return np.arange(first, self.n_points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What a band between two contours must keep to.

    Attributes
    ----------
    run_mm : float
        Distance between the two contours. [mm]
    steepest : float
        Greatest rise over run a triangle may have.
    outward : bool
        Whether the wall is measured outward from the inner contour (outside the outline), rather
        than inward from the outer one.
    """

    run_mm: float
    steepest: float
    outward: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Patch:
    """A region between loops, cut into triangles that count its own corners from 0.

    Corners on the loops come first, with their ``numbers`` on the surface; ``extra_mm`` follow.
    """

    faces: NDArray[np.int64]
    points_mm: NDArray[np.float64]
    numbers: NDArray[np.int64]

    @property
    def extra_mm(self) -> NDArray[np.float64]:
        return self.points_mm[len(self.numbers) :]

    @property
    def steepest(self) -> float:
        return float(
            steepness(self.faces, self.points_mm[:, :2], self.points_mm[:, 2]).max(initial=0.0)
        )


def _patch(piece: Sequence[Loop], cut_out: Sequence[Loop]) -> _Patch:
    rings = [loop.plan_mm for loop in piece] + [loop.plan_mm[::-1] for loop in cut_out]
    numbers = [loop.numbers for loop in piece] + [loop.numbers[::-1] for loop in cut_out]
    heights = [np.full(len(loop.plan_mm), loop.z_mm) for loop in (*piece, *cut_out)]
    faces = np.asarray(triangulate(rings), dtype=np.int64).reshape(-1, 3)
    points = np.column_stack([np.concatenate(rings), np.concatenate(heights)])
    return _Patch(faces, points, np.concatenate(numbers))


def _creased(
    patch: _Patch, piece: Sequence[Loop], within: Sequence[Loop], band: Band
) -> Iterator[_Patch]:
    """Yield the patch with more and more crease corners, until one keeps to the band's limit."""
    start, end = (within, piece) if band.outward else (piece, within)
    rings = [loop.plan_mm[::-1] if band.outward else loop.plan_mm for loop in start]
    events = np.concatenate([crease_points(ring, band.run_mm)[:, :2] for ring in rings])
    for fineness in (0, 1, 3):
        crests = _crest_places(rings, band.run_mm / fineness) if fineness else np.empty((0, 2))
        extra = _on_the_wall(np.concatenate([events, crests]), start, end, band)
        plan = np.concatenate([patch.points_mm[:, :2], extra[:, :2]])
        heights = np.concatenate([patch.points_mm[:, 2], extra[:, 2]])
        faces = with_points(patch.faces, plan, extra[:, :2], len(patch.numbers))
        faces = smoothed(faces, plan, heights)
        better = _Patch(faces, np.column_stack([plan, heights]), patch.numbers)
        yield better
        if better.steepest <= band.steepest:
            return


def _on_the_wall(
    places_mm: Ring, start: Sequence[Loop], end: Sequence[Loop], band: Band
) -> NDArray[np.float64]:
    """Return those places that lie well inside the band, with their heights on the wall."""
    places = np.round(places_mm / GRID_MM) * GRID_MM
    first = np.unique(np.round(places / CREASE_MM), axis=0, return_index=True)[1]
    places = places[np.sort(first)]
    points = shapely.points(places)
    gone = shapely.distance(points, _lines(start))
    free = shapely.distance(points, _lines(end)) > CREASE_MM
    outer, inner = (end, start) if band.outward else (start, end)
    region = _filled(outer).difference(_filled(inner))
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
    shells = [Polygon(loop.plan_mm) for loop in loops if _twice_area(loop.plan_mm) > 0]
    holes = [Polygon(loop.plan_mm) for loop in loops if _twice_area(loop.plan_mm) < 0]
    return shapely.difference(shapely.union_all(shells), shapely.union_all(holes))


def _twice_area(ring: Ring) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _closed(ring: Ring) -> Ring:
    return np.concatenate([ring, ring[:1]])


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
    d, z = profile.stations(chord_mm=chord_mm)
    if sunk:
        # The raised wall of the recess's plug, seen from its mouth: distances run the other way.
        d, z = -d[::-1], (z - profile.height_mm)[::-1]
    d, z = _with_outline(d, z + z_mm)
    steepest = 1 / tan(radians(max(profile.draft_deg - SLACK_DEG, 1e-3)))
    walls = [_add_island(surface, part, d, z, steepest) for part in _islands(region, d[0])]
    return Walled(_together([wall.outer for wall in walls]), _together([w.inner for w in walls]))


def _with_outline(
    d_mm: NDArray[np.float64], z_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Add the outline itself as a station, so that no band lies on both sides of it."""
    if d_mm[0] > -ON_OUTLINE_MM or d_mm[-1] < ON_OUTLINE_MM:
        return d_mm, z_mm
    if np.abs(d_mm).min() < ON_OUTLINE_MM:
        return d_mm, z_mm
    k = int(np.searchsorted(d_mm, 0.0))
    return np.insert(d_mm, k, 0.0), np.insert(z_mm, k, np.interp(0.0, d_mm, z_mm))


def _islands(region: MultiPolygon, first_mm: float) -> list[MultiPolygon]:
    """Return the groups of an outline's parts that share one piece of the first contour."""
    pieces = list(inset(region, first_mm).geoms)
    if len(pieces) == 1:
        return [region]
    inner = shapely.point_on_surface(shapely.get_parts(region))
    owner = STRtree(pieces).query_nearest(inner, all_matches=False)[1]
    parts = shapely.get_parts(region)
    groups = [MultiPolygon(parts[owner == number].tolist()) for number in range(len(pieces))]
    return [group for group in groups if not group.is_empty]


def _together(contours: Sequence[Contour]) -> Contour:
    regions = [part for contour in contours for part in contour.region.geoms]
    return Contour(MultiPolygon(regions), tuple(p for c in contours for p in c.pieces))


def _add_island(
    surface: Surface,
    region: MultiPolygon,
    d_mm: NDArray[np.float64],
    z_mm: NDArray[np.float64],
    steepest: float,
) -> Walled:
    narrow = _narrow_places(region, d_mm[0], d_mm[-1])
    if any(not places.is_empty for places in narrow):
        d_mm, z_mm = _with_ridge_steps(d_mm, z_mm, narrow)
    levels = [inset(region, distance) for distance in d_mm]
    if any(not places.is_empty for places in narrow):
        levels = _short_edged(levels, d_mm, narrow)
    return _add_levels(surface, levels, d_mm, z_mm, steepest)


def _add_levels(
    surface: Surface,
    levels: Sequence[MultiPolygon],
    d_mm: NDArray[np.float64],
    z_mm: NDArray[np.float64],
    steepest: float,
) -> Walled:
    contours = [surface.add_contour(levels[0], z_mm[0])]
    for k in range(1, len(levels)):
        run = float(d_mm[k] - d_mm[k - 1])
        if run < 1e-9:
            contours.append(surface.add_copy(contours[-1], z_mm[k]))
            surface.fill_upright(contours[-2], contours[-1])
        else:
            contours.append(surface.add_contour(levels[k], z_mm[k]))
            band = Band(run_mm=run, steepest=steepest, outward=d_mm[k] < ON_OUTLINE_MM)
            surface.fill_band(contours[-2], contours[-1], band)
    return Walled(contours[0], contours[-1])


def narrow_places(region: MultiPolygon, profile: Profile) -> tuple[MultiPolygon, MultiPolygon]:
    """Return the gaps and the strokes of a raised outline that are too narrow for its wall. [mm]."""
    return _narrow_places(region, profile.foot_mm, profile.inset_mm)


def _narrow_places(
    region: MultiPolygon, first_mm: float, last_mm: float
) -> tuple[MultiPolygon, MultiPolygon]:
    """Return gaps too narrow for the wall outside the outline, and strokes for that inside."""
    gaps = strokes = MultiPolygon()
    if first_mm < -1e-9:
        frame = shapely.buffer(shapely.box(*region.bounds), 3 - 3 * first_mm, join_style="mitre")
        around = _as_multi(shapely.difference(frame, inset(region, min(0.0, last_mm))))
        gaps = too_narrow(around, min(0.0, last_mm) - first_mm)
    if last_mm > 1e-9:
        strokes = too_narrow(inset(region, max(0.0, first_mm)), last_mm - max(0.0, first_mm))
    return gaps, strokes


def _with_ridge_steps(
    d_mm: NDArray[np.float64],
    z_mm: NDArray[np.float64],
    narrow: tuple[MultiPolygon, MultiPolygon],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cut long bands into steps where strokes or gaps run out, one of them just short of each."""
    steps = [np.empty(0)]
    for places, sign, base in zip(
        narrow, (-1.0, 1.0), (min(0.0, d_mm[-1]), max(0.0, d_mm[0])), strict=True
    ):
        if places.is_empty:
            continue
        circles = shapely.maximum_inscribed_circle(shapely.get_parts(places), tolerance=0.005)
        ends = base + sign * (shapely.length(circles) - 0.01)
        own = np.flatnonzero(
            (d_mm[1:] < ON_OUTLINE_MM) if sign < 0 else (d_mm[:-1] > -ON_OUTLINE_MM)
        )
        for k in own:
            n = ceil(abs(z_mm[k + 1] - z_mm[k]) / RIDGE_STEP_MM)
            steps.append(np.linspace(d_mm[k], d_mm[k + 1], n + 1)[1:-1])
            steps.append(ends[(ends > d_mm[k]) & (ends < d_mm[k + 1])])
    extra = np.unique(np.round(np.concatenate(steps), 2))
    near = np.abs(extra[:, None] - d_mm).min(axis=1, initial=np.inf)
    extra = extra[near > LEAST_STEP_MM]
    apart = np.diff(extra, prepend=-np.inf) > LEAST_STEP_MM
    extra = extra[apart]
    every = np.union1d(d_mm, extra)
    if len(every) != len(d_mm) + len(extra):  # an upright wall: two stations at one distance
        return d_mm, z_mm
    return every, np.interp(every, d_mm, z_mm)


def _short_edged(
    levels: list[MultiPolygon],
    d_mm: NDArray[np.float64],
    narrow: tuple[MultiPolygon, MultiPolygon],
) -> list[MultiPolygon]:
    """Cut the contours of bands in which strokes or gaps run out into short edges.

    There a long edge would be joined to a corner nearly in line with it, and the sliver between
    them would stand steeper than the wall.
    """
    short = np.full(len(levels), np.inf)
    for k, run in enumerate(np.diff(d_mm)):
        places = narrow[0] if d_mm[k + 1] < ON_OUTLINE_MM else narrow[1]
        if run > 1e-9 and not places.is_empty:
            short[k : k + 2] = np.minimum(short[k : k + 2], max(RIDGE_EDGES * run, 0.2))
    return [
        _as_multi(shapely.segmentize(level, length)) if np.isfinite(length) else level
        for level, length in zip(levels, short, strict=True)
    ]


def inset(region: MultiPolygon, distance_mm: float) -> MultiPolygon:
    """Return the outline moved inward by a distance (outward if negative), on the grid. [mm]."""
    if abs(distance_mm) < 1e-12:
        moved = region
    else:
        moved = shapely.buffer(region, -distance_mm, quad_segs=ARC_STEPS)
    return _as_multi(moved)


def too_narrow(region: MultiPolygon, inset_mm: float) -> MultiPolygon:
    """Return the parts of an outline that an inset of this much swallows. [mm].

    Convex corners lose only their tips to rounding, which is not counted.
    """
    core = shapely.buffer(region, -inset_mm, quad_segs=ARC_STEPS)
    regrown = shapely.buffer(
        core, inset_mm * (1 + 1e-6) + 1e-6, join_style="mitre", mitre_limit=6.0
    )
    if not shapely.is_valid(regrown):  # GEOS's mitred offsets now and then cross themselves
        regrown = shapely.buffer(regrown, 0)
    lost = shapely.difference(region, regrown, grid_size=1e-6)
    wide = shapely.buffer(lost, -min(0.02, inset_mm / 4))
    parts = [
        part
        for part in shapely.get_parts(lost)
        if part.geom_type == "Polygon" and shapely.intersects(part, wide)
    ]
    return MultiPolygon([part for part in parts if _between_walls(part, region)])


def _between_walls(part: Polygon, region: MultiPolygon) -> bool:
    """Tell a stroke or a neck from the flank of a sharp corner, which only has one wall."""
    shared = shapely.intersection(part.exterior, shapely.buffer(region.boundary, 1e-4))
    walls = [line for line in shapely.get_parts(shapely.line_merge(shared)) if line.length > 0.05]
    return len(walls) > 1 or sum(line.length for line in walls) > 0.62 * part.exterior.length


def _as_multi(geometry: shapely.Geometry) -> MultiPolygon:
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
    twice_area = _twice_area(points)
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
