"""Polygons and rings out of whatever an operation on regions returns."""

from __future__ import annotations

import shapely
from shapely import MultiPolygon


def polygons_of(geometry: shapely.Geometry, *, speck_mm2: float | None = None) -> MultiPolygon:
    """Return the polygons of any geometry as one region, in their order.

    Parameters
    ----------
    geometry : Geometry
        What an intersection, a buffer or a reader returned; its lines and points are left out. [mm]
    speck_mm2 : float, optional
        Polygons of no more than this area are left out too. [mm²]
    """
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type == "Polygon"]
    least = -1.0 if speck_mm2 is None else speck_mm2
    return MultiPolygon([part for part in parts if part.area > least])


def rings_of(geometry: shapely.Geometry) -> list[shapely.LinearRing]:
    """Return the rings of every polygon of a geometry: each outer one, then its holes."""
    return list(shapely.get_rings(shapely.get_parts(geometry)))
