"""Bridges: level ceilings, how far each spans from support to support, or sticks out from one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numba import njit
from shapely import MultiPolygon, Polygon

from moldgen.arrays import Flags, Floats, Indices
from moldgen.printing.turn import Direction, place_before
from moldgen.solid.edges import Edges
from moldgen.solid.mesh import Mesh
from moldgen.solid.polygons import polygons_of
from moldgen.solid.topology import groups

BORE_MM = 6.0
"""A hole in a ceiling no wider than this does not part its bridges (common practice). [mm]."""
_ON_RING_MM = 1e-3
_LEAST_CEILING_MM2 = 0.1
_WAYS = 36
_CORNER_MM = 0.01
_MOST_CORNERS = 40
_MOST_LOOKS = 600_000
_PLACES = (60, 400)
_BORDER_POINTS = 3000
_FINE_MM = 0.5
_TOUCH = 1.05
_HALF_ROUND_DEG = 190.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bridge:
    """One level ceiling.

    Attributes
    ----------
    span_mm : float
        Longest way from support to support, each place bridged along its shortest way; nan for a
        ceiling that nothing holds on two sides. [mm]
    reach_mm : float
        How far it sticks out from its nearest support where only one side holds it; 0 if it is
        bridged everywhere, infinite if nothing holds it. [mm]
    area_mm2 : float
        Area. [mm²]
    where_mm : tuple of three floats
        Where the span, or the reach, is greatest; on the solid as it was given. [mm]
    triangles : ndarray, shape (k,)
        Its triangles.
    """

    span_mm: float
    reach_mm: float
    area_mm2: float
    where_mm: Direction
    triangles: Indices


def bridges_of(mesh: Mesh, level: Flags, edges: Edges, turn: Floats) -> tuple[Bridge, ...]:
    """Measure every level ceiling, the widest first.

    Parameters
    ----------
    mesh : Mesh
        The solid as it is printed, joined at its points. [mm]
    level : ndarray, shape (m,)
        The triangles that are level ceilings.
    edges : Edges
        How its triangles hang together.
    turn : ndarray, shape (3, 3)
        The rotation that brought it upright; places are told from before it.
    """
    member = np.flatnonzero(level)
    if not len(member):
        return ()
    patch = np.full(len(level), -1)
    patch[member] = patches_of(level, edges)
    borders = _borders(mesh, patch, edges)
    bridges = []
    for number, own in enumerate(_members(patch)):
        if mesh.areas_mm2[own].sum() > _LEAST_CEILING_MM2:
            bridges.append(_bridge(mesh, own, *borders[number], turn))
    return tuple(sorted(bridges, key=_width, reverse=True))


def _width(bridge: Bridge) -> tuple[float, float]:
    return max(bridge.reach_mm, float(np.nan_to_num(bridge.span_mm))), bridge.area_mm2


def _members(patch: Indices) -> list[Indices]:
    """Triangles of every patch."""
    order = np.argsort(patch, kind="stable")
    order = order[patch[order] >= 0]
    return np.split(order, np.flatnonzero(np.diff(patch[order])) + 1)


def _borders(mesh: Mesh, patch: Indices, edges: Edges) -> dict[int, tuple[Floats, Flags]]:
    """Border edges in plan of every patch, shape (k, 2, 2), and which of them are held.

    An edge is held if the solid goes on downward beside it: the face across it lies lower.
    """
    sides = patch[edges.triangles]
    rim = sides[:, 0] != sides[:, 1]
    ends = mesh.points_mm[edges.points[rim]]
    middles = mesh.corners_mm.mean(axis=1)[edges.triangles[rim]]
    level = ends[:, :, 2].mean(axis=1)
    numbers = np.concatenate([sides[rim, 0], sides[rim, 1]])
    # The face across the edge is the second one for the first side, and the other way round.
    held = np.concatenate([middles[:, 1, 2] < level - 1e-9, middles[:, 0, 2] < level - 1e-9])
    plan = np.concatenate([ends[:, :, :2], ends[:, :, :2]])
    order = np.argsort(numbers, kind="stable")
    order = order[numbers[order] >= 0]
    starts = np.flatnonzero(np.diff(numbers[order], prepend=-1))
    return {int(numbers[own[0]]): (plan[own], held[own]) for own in np.split(order, starts[1:])}


def _bridge(mesh: Mesh, own: Indices, border: Floats, held: Flags, turn: Floats) -> Bridge:
    corners = mesh.corners_mm[own]
    z = float(corners[..., 2].mean())
    region = _region_of(corners[:, :, :2])
    region, border, held = _without_bores(region, border, held)
    places = _places(region, len(border))
    spans = np.minimum(_chords(places, border, held), _circles(places, border, held))
    bridged = np.isfinite(spans)
    widest = float(spans[bridged].max()) if bridged.any() else float("nan")
    if bridged.all():
        reach, at = 0.0, places[int(np.argmax(spans))]
    else:
        reach, at = _farthest(places[~bridged], border, held)
    return Bridge(
        span_mm=widest,
        reach_mm=reach,
        area_mm2=float(mesh.areas_mm2[own].sum()),
        where_mm=place_before(np.array([*at, z]), turn),
        triangles=own,
    )


def _region_of(triangles: Floats) -> shapely.Geometry:
    """Return what triangles beside each other cover."""
    tiles = shapely.polygons(triangles)
    region = shapely.coverage_union_all(tiles)
    if region.is_valid and np.isclose(region.area, shapely.area(tiles).sum(), rtol=1e-9):
        return region
    return shapely.union_all(tiles, grid_size=1e-6)


def _without_bores(
    region: shapely.Geometry, border: Floats, held: Flags
) -> tuple[MultiPolygon, Floats, Flags]:
    """Return a ceiling without the small holes that go on upward: a bridge is laid round them."""
    parts = polygons_of(region)
    holes = [ring for part in parts.geoms for ring in part.interiors if _small(ring)]
    if not holes:
        return parts, border, held
    at = shapely.points(border.mean(axis=1))
    own = (shapely.distance(shapely.union_all(holes), at) < _ON_RING_MM) & ~held
    filled = [Polygon(p.exterior, [r for r in p.interiors if not _small(r)]) for p in parts.geoms]
    return MultiPolygon(filled), border[~own], held[~own]


def _small(ring: shapely.LinearRing) -> bool:
    x0, y0, x1, y1 = ring.bounds
    return bool(max(x1 - x0, y1 - y0) <= BORE_MM)


def _farthest(loose: Floats, border: Floats, held: Flags) -> tuple[float, Floats]:
    """Return how far a ceiling sticks out from what holds it, and where. [mm]."""
    if not held.any():
        return float("inf"), loose[0]
    free = border[~held].mean(axis=1)
    spots = np.concatenate([loose, free])
    away = shapely.distance(_lines(border[held]), shapely.points(spots))
    return float(away.max()), spots[int(np.argmax(away))]


def _places(region: shapely.Geometry, n_edges: int) -> Floats:
    """Return where a ceiling is widest: middles of circles that touch its border all round.

    They are the corners of the cells around points of the border (the medial axis).
    """
    parts = polygons_of(region)
    if parts.is_empty:
        return np.array(shapely.get_coordinates(region.centroid))
    hearts = shapely.maximum_inscribed_circle(shapely.get_parts(parts), tolerance=1e-3)
    border = shapely.boundary(parts)
    fine = shapely.segmentize(border, max(_FINE_MM, border.length / _BORDER_POINTS))
    points = shapely.multipoints(np.unique(shapely.get_coordinates(fine), axis=0))
    cells = shapely.get_coordinates(shapely.voronoi_polygons(points, only_edges=True))
    inside = cells[shapely.contains_xy(parts, cells)]
    inside = np.unique(np.round(inside, 4), axis=0)
    room = shapely.distance(border, shapely.points(inside))
    widest = np.argsort(-room, kind="stable")[: int(np.clip(_MOST_LOOKS // n_edges, *_PLACES))]
    near = _just_inside(list(parts.geoms))
    return np.concatenate(
        [shapely.get_coordinates(shapely.get_point(hearts, 0)), inside[widest], near]
    )


def _just_inside(parts: list[Polygon]) -> Floats:
    """Return places close to the corners, where a bridge may be widest."""
    inner = shapely.buffer(np.array(parts), -_CORNER_MM, join_style="mitre")
    corners = shapely.get_coordinates(shapely.simplify(inner, _CORNER_MM))
    return np.asarray(corners[:: max(1, len(corners) // _MOST_CORNERS)])


def _chords(places: Floats, border: Floats, held: Flags) -> Floats:
    """Return the shortest way between held edges through each place; inf for none. [mm]."""
    runs = border[:, 1] - border[:, 0]
    long = runs[np.argsort(-np.hypot(*runs.T))[:8]]
    square = np.arctan2(long[:, 0], -long[:, 1]) % np.pi
    ways = np.unique(np.round(np.concatenate([np.arange(_WAYS) * np.pi / _WAYS, square]), 9))
    return _shortest(places, border, held, np.cos(ways), np.sin(ways))


@njit(cache=True)
def _shortest(
    places: Floats, border: Floats, held: Flags, cosines: Floats, sines: Floats
) -> Floats:
    """Return the shortest line through each place whose first borders ahead and behind are held."""
    spans = np.full(len(places), np.inf)
    for k in range(len(places)):
        for x, y in zip(cosines, sines):  # noqa: B905 (the compiler knows no strict)
            fore, back, fore_held, back_held = np.inf, np.inf, False, False
            for e in range(len(border)):
                run_x, run_y = border[e, 1, 0] - border[e, 0, 0], border[e, 1, 1] - border[e, 0, 1]
                to_x, to_y = border[e, 0, 0] - places[k, 0], border[e, 0, 1] - places[k, 1]
                across = x * run_y - y * run_x
                if across == 0:
                    continue
                share = (to_x * y - to_y * x) / across
                if share < -1e-9 or share > 1 + 1e-9:
                    continue
                along = (to_x * run_y - to_y * run_x) / across
                if 0 <= along < fore:
                    fore, fore_held = along, held[e]
                elif 0 < -along < back:
                    back, back_held = -along, held[e]
            if fore_held and back_held:
                spans[k] = min(spans[k], fore + back)
    return spans


def _circles(places: Floats, border: Floats, held: Flags) -> Floats:
    """Return the width of the widest circle round each place that is held all round; inf for none.

    Between pads a line that is drawn straight may slip past many of them, but what sags is no
    wider than the largest circle that fits between them.
    """
    reach, all_round = _contacts(places, border, held)
    round_ = np.flatnonzero(all_round)
    apart = np.hypot(*np.moveaxis(places[:, None] - places[None, round_], -1, 0))
    within = apart <= reach[round_] + 1e-9
    widths = np.where(within, 2 * reach[round_], -np.inf).max(axis=1, initial=-np.inf)
    return np.where(np.isfinite(widths), widths, np.inf)


def _contacts(places: Floats, border: Floats, held: Flags) -> tuple[Floats, Flags]:
    """Return the distance to the border, and whether held edges alone touch that circle all round.

    All round means that no half of the circle is without a touch.
    """
    start, run = border[:, 0], border[:, 1] - border[:, 0]
    long = np.maximum((run**2).sum(axis=1), 1e-18)
    to = places[:, None] - start[None]
    share = np.clip((to * run).sum(axis=2) / long, 0, 1)
    away = share[..., None] * run - to
    distance = np.hypot(away[..., 0], away[..., 1])
    reach = distance.min(axis=1)
    touch = distance <= _TOUCH * reach[:, None] + _FINE_MM / 4
    angles = np.sort(np.where(touch, np.arctan2(away[..., 1], away[..., 0]), np.nan), axis=1)
    least, most = np.nanmin(angles, axis=1), np.nanmax(angles, axis=1)
    between = np.nanmax(np.diff(angles, axis=1), axis=1, initial=0.0)
    gap = np.maximum(np.where(np.isnan(between), 0.0, between), 2 * np.pi - (most - least))
    free = (touch & ~held[None]).any(axis=1)
    return reach, ~free & (gap <= np.radians(_HALF_ROUND_DEG))


def _lines(border: Floats) -> shapely.MultiLineString:
    return shapely.multilinestrings(list(shapely.linestrings(border)))


def patches_of(chosen: Flags, edges: Edges) -> Indices:
    """Return the number of the connected patch of each chosen triangle, in their order."""
    member = np.flatnonzero(chosen)
    own = np.full(len(chosen), -1)
    own[member] = np.arange(len(member))
    pairs = own[edges.triangles]
    return groups(len(member), pairs[(pairs >= 0).all(axis=1)])
