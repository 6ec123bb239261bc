"""Bridges: level ceilings, how far each spans from support to support, or sticks out from one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import GEOSException, MultiPolygon, Polygon

from moldgen.arrays import Flags, Floats, Indices
from moldgen.printing.bridge_span import spans_mm, widest_places
from moldgen.printing.turn import Direction, place_before
from moldgen.solid.edges import Edges
from moldgen.solid.mesh import Mesh
from moldgen.solid.polygons import polygons_of
from moldgen.solid.topology import groups

BORE_MM = 6.0
"""A hole in a ceiling no wider than this does not part its bridges (common practice). [mm]."""
_ON_RING_MM = 1e-3
_LEAST_CEILING_MM2 = 0.1


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
    places = widest_places(region, len(border))
    spans = spans_mm(places, border, held)
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
    try:
        region = shapely.coverage_union_all(tiles)
    except GEOSException:  # a corner beside an edge that should run through it
        region = MultiPolygon()
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


def _lines(border: Floats) -> shapely.MultiLineString:
    return shapely.multilinestrings(list(shapely.linestrings(border)))


def patches_of(chosen: Flags, edges: Edges) -> Indices:
    """Return the number of the connected patch of each chosen triangle, in their order."""
    member = np.flatnonzero(chosen)
    own = np.full(len(chosen), -1)
    own[member] = np.arange(len(member))
    pairs = own[edges.triangles]
    return groups(len(member), pairs[(pairs >= 0).all(axis=1)])
