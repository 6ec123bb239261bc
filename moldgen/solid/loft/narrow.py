"""Strokes and gaps of an outline that are too narrow for its wall, and stations for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, STRtree

from moldgen.solid.loft.contour import arc_steps_for, as_multi, inset
from moldgen.solid.polygons import polygons_of

ON_OUTLINE_MM = 0.01
"""A station nearer than this to the outline stands for the outline itself. [mm]."""

RIDGE_STEP_MM = 1.0
"""Height steps of a straight wall where a stroke ends in a ridge. [mm]."""

LEAST_STEP_MM = 0.05
"""Stations of a ridge are not nearer to each other than this. [mm]."""

RIDGE_EDGES = 1.0
"""Longest contour edge in such a step, as a multiple of the step's run. [-]."""

SOONER = 0.9
"""Walls are taken to meet at this share of the least depth at which they do. [-]."""

SHORT_EDGES = 3.0
"""Edges are cut short so far around a narrow place, as a multiple of their length. [-]."""

NECK_SHARES = (0.0, 0.05, 0.25, 0.5, 0.75)
"""Depths at which necks are looked for, as shares of the inset. [-]."""

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Narrow:
    """Gaps too narrow for the wall outside the outline, and strokes for that inside.

    Attributes
    ----------
    gaps, strokes : MultiPolygon
        Where they are. [mm]
    gap_depths_mm, stroke_depths_mm : ndarray, shape (n, 2)
        How far from the outline the two walls of each first meet, at the earliest, and where they
        have met all along. [mm]
    """

    gaps: MultiPolygon
    strokes: MultiPolygon
    gap_depths_mm: Line
    stroke_depths_mm: Line

    def __bool__(self) -> bool:
        return not (self.gaps.is_empty and self.strokes.is_empty)

    def met_between(self, first_mm: float, last_mm: float) -> list[Polygon]:
        """Return the places whose walls may have met by the deeper end of a band."""
        if last_mm < ON_OUTLINE_MM:
            places, depths, deepest = self.gaps, self.gap_depths_mm, -first_mm
        else:
            places, depths, deepest = self.strokes, self.stroke_depths_mm, last_mm
        met = depths[:, 0] * SOONER < deepest + ON_OUTLINE_MM
        return [place for place, there in zip(places.geoms, met, strict=True) if there]


def narrow_between(region: MultiPolygon, first_mm: float, last_mm: float) -> Narrow:
    """Return what is too narrow for contours from one distance inward to another. [mm]."""
    gaps = strokes = MultiPolygon()
    nearest, farthest = min(0.0, last_mm), max(0.0, first_mm)
    around = within = gaps
    if first_mm < -1e-9:
        frame = shapely.buffer(shapely.box(*region.bounds), 3 - 3 * first_mm, join_style="mitre")
        around = as_multi(shapely.difference(frame, inset(region, nearest)))
        gaps = too_narrow(around, nearest - first_mm)
    if last_mm > 1e-9:
        within = inset(region, farthest)
        strokes = too_narrow(within, last_mm - farthest)
    return Narrow(
        gaps,
        strokes,
        _meeting_depths(gaps, around) - nearest,
        _meeting_depths(strokes, within) + farthest,
    )


def all_over(region: MultiPolygon, first_mm: float) -> Narrow:
    """Return an outline as narrow everywhere: for a wall that is too steep at an unknown place."""
    place = MultiPolygon([shapely.box(*shapely.buffer(region, max(1.0, -2 * first_mm)).bounds)])
    depths = np.array([[0.0, np.inf]])
    return Narrow(place, place, depths, depths)


def _meeting_depths(places: MultiPolygon, region: MultiPolygon) -> Line:
    """Return how deep the walls of narrow places of a region first and last meet, shape (n, 2)."""
    if places.is_empty:
        return np.empty((0, 2))
    parts = shapely.get_parts(places)
    last = shapely.length(shapely.maximum_inscribed_circle(parts, tolerance=0.005)) - 0.01
    border = _Border(region)
    return np.column_stack([[_least_half_mm(part, border) for part in parts], last])


def _least_half_mm(part: Polygon, border: _Border) -> float:
    """Return half the least distance between two walls along a narrow place, 0 if in doubt."""
    walls = border.along(part, 1e-4)
    if len(walls) < 2:
        return 0.0
    one, other = np.triu_indices(len(walls), 1)
    return float(shapely.distance(walls[one], walls[other]).min()) / 2


def too_narrow(region: MultiPolygon, inset_mm: float) -> MultiPolygon:
    """Return the parts of an outline that an inset of this much swallows. [mm].

    Convex corners lose only their tips to rounding, which is not counted.
    """
    core = shapely.buffer(shapely.get_parts(region), -inset_mm, quad_segs=arc_steps_for(inset_mm))
    regrown = shapely.buffer(
        shapely.union_all(core), inset_mm * (1 + 1e-6) + 1e-6, join_style="mitre", mitre_limit=6.0
    )
    if not shapely.is_valid(regrown):  # GEOS's mitred offsets now and then cross themselves
        regrown = shapely.buffer(regrown, 0)
    found = _wide_parts(region, regrown, min(0.02, inset_mm / 4))
    border = _Border(region)
    found = [part for part in found if _between_walls(part, border)]
    return MultiPolygon([*found, *_necks(region, core, inset_mm, MultiPolygon(found))])


def _wide_parts(region: shapely.Geometry, kept: shapely.Geometry, least_mm: float) -> list[Polygon]:
    """Return the parts of a region that are not kept, specks and slivers left out."""
    lost = shapely.difference(region, kept, grid_size=1e-6)
    wide = shapely.buffer(lost, -least_mm)
    return [part for part in polygons_of(lost).geoms if shapely.intersects(part, wide)]


def _necks(
    region: MultiPolygon, core: NDArray[np.object_], inset_mm: float, found: MultiPolygon
) -> list[Polygon]:
    """Return the parts lost where an inset splits a piece or opens a hole, but not those found.

    Mitred tips of the two sides can meet across a neck, so that little of it seems lost.
    """
    taken: shapely.Geometry = found
    necks: list[Polygon] = []
    for piece, left in zip(region.geoms, core, strict=True):
        if len(shapely.get_rings(left)) and _n_rings(left) == _n_rings(piece):
            continue
        for share in NECK_SHARES:
            part = _lost_deeper(piece, left, inset_mm, share * inset_mm)
            part = [each for each in part if not shapely.intersects(each, taken)]
            necks += part
            taken = shapely.union_all([taken, *part]) if part else taken
    return necks


def _lost_deeper(
    piece: Polygon, left: shapely.Geometry, inset_mm: float, depth_mm: float
) -> list[Polygon]:
    """Return necks that are seen some way in: nearer the walls, either side's end reaches over."""
    inner = as_multi(inset(MultiPolygon([piece]), depth_mm))
    back = inset_mm - depth_mm
    regrown = shapely.buffer(left, back + ON_OUTLINE_MM, quad_segs=arc_steps_for(back))
    parts = _wide_parts(inner, regrown, min(0.02, inset_mm / 4) / 4)
    border = _Border(inner)
    parts = [part for part in parts if len(border.along(part, 2 * ON_OUTLINE_MM)) > 1]
    grown = [shapely.intersection(shapely.buffer(part, depth_mm), piece) for part in parts]
    return [part for each in grown for part in as_multi(each).geoms]


def _n_rings(geometry: shapely.Geometry) -> tuple[int, int]:
    """Return how many pieces and how many holes a region has."""
    pieces = shapely.get_num_geometries(geometry)
    return int(pieces), len(shapely.get_rings(shapely.get_parts(geometry))) - int(pieces)


def _between_walls(part: Polygon, border: _Border) -> bool:
    """Tell a stroke or a neck from the flank of a sharp corner, which only has one wall."""
    lengths = shapely.length(border.along(part, 1e-4))
    walls = lengths[lengths > 0.05]
    return len(walls) > 1 or float(walls.sum()) > 0.62 * part.exterior.length


@dataclass(frozen=True, eq=False)
class _Border:
    """The border of a region, of which only the edges near a place are looked at."""

    region: MultiPolygon

    @cached_property
    def edges(self) -> STRtree:
        """All edges, ring by ring."""
        rings = shapely.get_rings(shapely.get_parts(self.region))
        corners, ring = shapely.get_coordinates(rings, return_index=True)
        edges = np.stack([corners[:-1], corners[1:]], axis=1)[ring[:-1] == ring[1:]]
        return STRtree(shapely.linestrings(edges))

    def along(self, part: Polygon, within_mm: float) -> NDArray[np.object_]:
        """Return the stretches of a part's border that lie along this one."""
        window = shapely.buffer(shapely.box(*part.bounds), 1.0)
        found = self.edges.geometries[np.sort(self.edges.query(window))]
        near = shapely.line_merge(shapely.multilinestrings(found))
        shared = shapely.intersection(part.exterior, shapely.buffer(near, within_mm))
        return np.asarray(shapely.get_parts(shapely.line_merge(shared)))


def with_outline(d_mm: Line, z_mm: Line) -> tuple[Line, Line]:
    """Add the outline itself as a station, so that no band lies on both sides of it."""
    if d_mm[0] > -ON_OUTLINE_MM or d_mm[-1] < ON_OUTLINE_MM:
        return d_mm, z_mm
    if np.abs(d_mm).min() < ON_OUTLINE_MM:
        return d_mm, z_mm
    k = int(np.searchsorted(d_mm, 0.0))
    return np.insert(d_mm, k, 0.0), np.insert(z_mm, k, np.interp(0.0, d_mm, z_mm))


def with_ridge_steps(d_mm: Line, z_mm: Line, narrow: Narrow) -> tuple[Line, Line]:
    """Cut long bands into steps where strokes or gaps run out, one of them just short of each."""
    extra = np.unique(np.round(np.concatenate(list(_ridge_steps(d_mm, z_mm, narrow))), 2))
    near = np.abs(extra[:, None] - d_mm).min(axis=1, initial=np.inf)
    extra = extra[near > LEAST_STEP_MM]
    extra = extra[np.diff(extra, prepend=-np.inf) > LEAST_STEP_MM]
    every = np.union1d(d_mm, extra)
    if len(every) != len(d_mm) + len(extra):  # an upright wall: two stations at one distance
        return d_mm, z_mm
    return every, np.interp(every, d_mm, z_mm)


def _ridge_steps(d_mm: Line, z_mm: Line, narrow: Narrow) -> Iterator[Line]:
    ends = np.concatenate([-narrow.gap_depths_mm[:, 1], narrow.stroke_depths_mm[:, 1]])
    yield ends[(ends > d_mm[0]) & (ends < d_mm[-1])]
    for k in range(len(d_mm) - 1):
        if narrow.met_between(d_mm[k], d_mm[k + 1]):
            n = ceil(abs(z_mm[k + 1] - z_mm[k]) / RIDGE_STEP_MM)
            yield np.linspace(d_mm[k], d_mm[k + 1], n + 1)[1:-1]


def short_edged(levels: list[MultiPolygon], d_mm: Line, narrow: Narrow) -> list[MultiPolygon]:
    """Cut the contours of bands in which strokes or gaps run out into short edges there.

    A long edge would be joined to a corner nearly in line with it, and the sliver between them
    would stand steeper than the wall.
    """
    short = np.full(len(levels), np.inf)
    near: list[dict[Polygon, None]] = [{} for _ in levels]  # a set without a chance order
    for k, run in enumerate(np.diff(d_mm)):
        places = narrow.met_between(d_mm[k], d_mm[k + 1])
        if run > 1e-9 and places:
            short[k : k + 2] = np.minimum(short[k : k + 2], max(RIDGE_EDGES * run, 0.2))
            near[k].update(dict.fromkeys(places))
            near[k + 1].update(dict.fromkeys(places))
    return [
        _cut_near(level, list(places), length) if places else level
        for level, places, length in zip(levels, near, short, strict=True)
    ]


def _cut_near(level: MultiPolygon, places: Sequence[Polygon], length_mm: float) -> MultiPolygon:
    """Cut the edges of a contour into short ones where they run near some places."""
    around = shapely.buffer(MultiPolygon(places), SHORT_EDGES * length_mm, quad_segs=4)
    shapely.prepare(around)
    return MultiPolygon(
        [
            Polygon(
                _cut_within(part.exterior, around, length_mm),
                [_cut_within(hole, around, length_mm) for hole in part.interiors],
            )
            for part in level.geoms
        ]
    )


def _cut_within(ring: shapely.LinearRing, around: shapely.Geometry, length_mm: float) -> Line:
    """Return the corners of a ring with more of them along its edges within a region."""
    corners = shapely.get_coordinates(ring)
    along = np.diff(corners, axis=0)
    edges = shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))
    cuts = np.ceil(np.hypot(*along.T) / length_mm).astype(np.int64)
    cuts[~shapely.intersects(around, edges)] = 1
    edge = np.repeat(np.arange(len(along)), cuts)
    cut = np.arange(len(edge)) - np.repeat(np.cumsum(cuts) - cuts, cuts)
    points = corners[edge] + along[edge] * (cut / cuts[edge])[:, None]
    kept = (cut == 0) | shapely.contains_xy(around, points[:, 0], points[:, 1])
    return np.asarray(points[kept])
