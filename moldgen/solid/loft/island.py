"""The wall of one island of an outline: all that hangs together at its foot, wherever it stands.

It is built near the origin and kept, so that the same letter at another place is only moved there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.execution import checkpoint
from moldgen.memo import Memo, content_key
from moldgen.solid.loft.band import BandLimits
from moldgen.solid.loft.contour import GRID_MM, Contour, Loop, arc_steps_for, inset
from moldgen.solid.loft.corners import with_round_corners
from moldgen.solid.loft.narrow import (
    ON_OUTLINE_MM,
    Narrow,
    all_over,
    narrow_between,
    short_edged,
    with_ridge_steps,
)
from moldgen.solid.loft.surface import Steepest, Surface
from moldgen.solid.polygons import moved_by, near_origin

KEPT = Memo(2**26)
"""Walls of islands by outline and stations, whichever mold they were built for."""


@dataclass(frozen=True, slots=True, eq=False)
class LoftedWall:
    """A lofted wall.

    Attributes
    ----------
    outer, inner : Contour
        Where it leaves the parent's flat, and where its own flat begins.
    steepest : Steepest
        Its steepest triangle; slivers thinner than a micrometre are not judged.
    """

    outer: Contour
    inner: Contour
    steepest: Steepest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """How the wall of an outline runs.

    Attributes
    ----------
    d_mm, z_mm : ndarray, shape (n,)
        How far inward of the outline its level lines lie, and how high. [mm]
    steepest : float
        Greatest rise over run of a triangle. [-]
    floor_corner_mm : float
        Least radius of a corner at the last of them, seen from above; 0 for as it comes. [mm]
    """

    d_mm: NDArray[np.float64]
    z_mm: NDArray[np.float64]
    steepest: float
    floor_corner_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Island:
    """The wall of an island near the origin, its corners counted from 0."""

    points_mm: NDArray[np.float64]
    triangles: NDArray[np.int64]
    wall: LoftedWall


def add_island(surface: Surface, region: MultiPolygon, stations: Stations) -> LoftedWall:
    """Add the wall of an island, computed for its outline once wherever it stands. [mm]."""
    checkpoint()
    near, corner = near_origin(region)
    # On the grid of all corners, so that the same wall has the same triangles everywhere.
    corner = np.round(corner / GRID_MM) * GRID_MM
    key = content_key(near, stations)
    island = KEPT.get(key, lambda: _built(near, stations))
    first = surface.add_mesh(island.points_mm + np.append(corner, 0.0), island.triangles)
    return _moved(island.wall, corner, first)


def _built(region: MultiPolygon, stations: Stations) -> _Island:
    own = Surface()
    wall = _add_island(own, region, stations)
    points, triangles = own.gathered()
    return _Island(points_mm=points, triangles=triangles, wall=wall)


def _moved(wall: LoftedWall, corner_mm: NDArray[np.float64], first: int) -> LoftedWall:
    """Return a wall somewhere else, its corners counted from another number on."""
    x, y, z = wall.steepest.where_mm
    where = (x + float(corner_mm[0]), y + float(corner_mm[1]), z)
    return LoftedWall(
        _moved_contour(wall.outer, corner_mm, first),
        _moved_contour(wall.inner, corner_mm, first),
        replace(wall.steepest, where_mm=where),
    )


def _moved_contour(contour: Contour, corner_mm: NDArray[np.float64], first: int) -> Contour:
    pieces = tuple(
        tuple(Loop(loop.plan_mm + corner_mm, loop.z_mm, loop.first + first) for loop in piece)
        for piece in contour.pieces
    )
    return Contour(moved_by(contour.region, corner_mm), pieces)


def _add_island(surface: Surface, region: MultiPolygon, stations: Stations) -> LoftedWall:
    since = surface.mark()
    d_mm, steepest = stations.d_mm, stations.steepest
    narrow = narrow_between(region, d_mm[0], d_mm[-1])
    walled = _add_refined(surface, region, stations, narrow)
    if not steepest < walled.steepest.slope < np.inf:
        return walled
    first = surface.take_back(since)
    again = _add_refined(surface, region, stations, all_over(region, d_mm[0]))
    if again.steepest.slope < walled.steepest.slope:
        return again
    surface.take_back(since)
    surface.put_back(first)
    return walled


def _add_refined(
    surface: Surface, region: MultiPolygon, stations: Stations, narrow: Narrow
) -> LoftedWall:
    """Add the wall of an island, in finer steps where it is narrow."""
    since = surface.mark()
    d_mm, z_mm = stations.d_mm, stations.z_mm
    if narrow:
        d_mm, z_mm = with_ridge_steps(d_mm, z_mm, narrow)
    arc_steps = arc_steps_for(max(-d_mm[0], d_mm[-1]))
    levels = [inset(region, distance, arc_steps=arc_steps) for distance in d_mm]
    if stations.floor_corner_mm:
        levels = with_round_corners(region, levels, d_mm, z_mm, stations.floor_corner_mm)
    if narrow:
        levels = short_edged(levels, d_mm, narrow)
    outer, inner = _add_levels(surface, levels, replace(stations, d_mm=d_mm, z_mm=z_mm))
    eased = surface.ease(since, (outer, inner), limit=stations.steepest)
    return LoftedWall(outer, inner, eased)


def _add_levels(
    surface: Surface, levels: Sequence[MultiPolygon], stations: Stations
) -> tuple[Contour, Contour]:
    d_mm, z_mm = stations.d_mm, stations.z_mm
    first = contour = surface.add_contour(levels[0], z_mm[0])
    for k in range(1, len(levels)):
        before, run = contour, float(d_mm[k] - d_mm[k - 1])
        if run < 1e-9:
            contour = surface.add_copy(before, z_mm[k])
            surface.fill_upright(before, contour)
            continue
        contour = surface.add_contour(levels[k], z_mm[k])
        band = BandLimits(
            run_mm=run,
            rise_mm=float(z_mm[k] - z_mm[k - 1]),
            steepest=stations.steepest,
            outward=bool(d_mm[k] < ON_OUTLINE_MM),
            even=not stations.floor_corner_mm or d_mm[k] < ON_OUTLINE_MM,
        )
        surface.fill_band(before, contour, band)
    return first, contour
