"""Round props under a mold, where a channel is wider than the printer bridges."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.solid.polygons import polygons_of, touching_mm

FIN_MM = 0.8
"""Thinnest wall and narrowest slit kept in the underside: two printed lines. [mm]."""

PROPS_MM = (3.0, 2.0, 1.5, 1.0)
"""Radius of the round props that are tried where a channel is too wide to bridge. [mm]."""

ROOM_MM = 6.0
"""How far from its middle a prop can make a channel too narrow to keep. [mm]."""

MOST_ROUNDS = 30
"""Rounds in which props are set; in one round, none near another."""

Tiles = NDArray[np.object_]
_TILE_MM = 40.0
_STEP = 2.0**-10
_MOST_OPENINGS = 8


def grown(region: Any, by_mm: float) -> Any:
    """Return regions grown or shrunk, their corners as round as a nozzle lays them. [mm]."""
    return shapely.buffer(region, by_mm, quad_segs=4)


def printable(region: shapely.Geometry) -> MultiPolygon:
    """Return a region without fins of plastic or slits that no printer lays, corners apart."""
    closed = grown(grown(region, FIN_MM / 2), -FIN_MM)
    opened = grown(closed, FIN_MM / 2)
    return corners_apart(polygons_of(shapely.set_precision(shapely.simplify(opened, 0.05), _STEP)))


def corners_apart(region: MultiPolygon) -> MultiPolygon:
    """Open a passage where a region touches itself in a corner, as rounding to steps leaves it."""
    for _ in range(_MOST_OPENINGS):
        places = touching_mm(region)
        if not len(places):
            break
        passages = shapely.buffer(shapely.points(places), FIN_MM / 2, quad_segs=4)
        region = polygons_of(shapely.set_precision(shapely.union_all([region, *passages]), _STEP))
    return region


def propped(channels: MultiPolygon, mouths: shapely.Geometry, bridge_mm: float) -> MultiPolygon:
    """Set round props where a channel is wider than the printer bridges.

    Parameters
    ----------
    channels : MultiPolygon
        What is open under a mold. [mm]
    mouths : Geometry
        Bores, over which nothing is bridged and under which nothing may stand. [mm]
    bridge_mm : float
        Diameter of the largest circle that may fit between what holds a bridge. [mm]
    """
    before, tiles = channels, _tiles(channels, bridge_mm)
    for _ in range(MOST_ROUNDS):
        tiles, circles = _wide_circles(channels, mouths, tiles, bridge_mm)
        tried = [_prop(channels, middle, mouths) for middle in _apart(circles)]
        props = [prop for prop in tried if prop is not None]
        if not props:
            break
        channels = _without(channels, props)
    return channels if channels is before else printable(channels)


def _tiles(channels: MultiPolygon, bridge_mm: float) -> Tiles:
    """Return squares over channels that reach over one another by more than a wide circle."""
    if channels.is_empty:
        return np.empty(0, dtype=object)
    x0, y0, x1, y1 = channels.bounds
    x, y = np.meshgrid(np.arange(x0, x1, _TILE_MM), np.arange(y0, y1, _TILE_MM))
    low_x, low_y, reach = x.ravel(), y.ravel(), bridge_mm
    return np.asarray(
        shapely.box(
            low_x - reach, low_y - reach, low_x + _TILE_MM + reach, low_y + _TILE_MM + reach
        )
    )


def _wide_circles(
    channels: MultiPolygon, mouths: shapely.Geometry, tiles: Tiles, bridge_mm: float
) -> tuple[Tiles, list[shapely.LineString]]:
    """Return the squares in which a circle wider than a bridge fits, and a radius of the widest."""
    ceilings = shapely.intersection(shapely.difference(channels, mouths), tiles)
    parts = [polygons_of(ceiling) for ceiling in ceilings]
    some = np.array([not part.is_empty for part in parts], dtype=bool)
    circles = shapely.maximum_inscribed_circle(
        [part for part in parts if not part.is_empty], tolerance=0.05
    )
    wide = 2 * shapely.length(circles) > bridge_mm
    return tiles[some][wide], list(circles[wide])


def _apart(circles: list[shapely.LineString]) -> Iterator[shapely.Point]:
    """Yield the middles of circles, the widest first, that are far from those before."""
    chosen: list[shapely.Point] = []
    for circle in sorted(circles, key=shapely.length, reverse=True):
        middle = shapely.get_point(circle, 0)
        if all(middle.distance(other) > 6 * ROOM_MM for other in chosen):
            chosen.append(middle)
            yield middle


def _prop(
    channels: MultiPolygon, middle: shapely.Point, mouths: shapely.Geometry
) -> shapely.Geometry | None:
    """Return a prop with the slits beside it that no printer leaves open; None without room.

    It stands near the place, clear of bores, and closes no channel.
    """
    around = polygons_of(shapely.intersection(channels, _square(middle, 3 * ROOM_MM)))
    room = shapely.difference(around, shapely.buffer(mouths, FIN_MM))
    for radius in PROPS_MM:
        free = shapely.buffer(room, -radius)
        if free.is_empty or free.distance(middle) > 2.0:
            continue
        spot = shapely.Point(shapely.shortest_line(free, middle).coords[0])
        # The border of a square is cleaned like a wall: only what lies well within counts.
        within = shapely.intersection(around, _square(spot, 2 * ROOM_MM))
        open_still = printable(
            shapely.difference(within, shapely.buffer(spot, radius, quad_segs=6))
        )
        near = shapely.intersection(around, _square(spot, ROOM_MM))
        prop = shapely.difference(near, open_still)
        if len(_without(around, [prop]).geoms) <= len(around.geoms):
            return prop
    return None


def _without(channels: MultiPolygon, props: list[shapely.Geometry]) -> MultiPolygon:
    """Return channels that props stand in.

    Cleaning all of a wide underside after every prop would take most of the time spent on it.
    """
    return polygons_of(shapely.difference(channels, shapely.union_all(props)))


def _square(middle: shapely.Point, half_mm: float) -> shapely.Polygon:
    x, y = middle.x, middle.y
    return shapely.box(x - half_mm, y - half_mm, x + half_mm, y + half_mm)
