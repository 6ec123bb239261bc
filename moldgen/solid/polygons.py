"""Polygons and rings out of whatever an operation on regions returns."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
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


def touching_mm(geometry: shapely.Geometry) -> NDArray[np.float64]:
    """Return the corners in which a region touches itself, shape (n, 2). [mm].

    Rings pass such a corner more than once. A solid raised from the region has an edge of four
    triangles there, which no solid of matter has.
    """
    rings = [shapely.get_coordinates(ring)[:-1] for ring in rings_of(geometry)]
    corners = np.concatenate([np.empty((0, 2)), *rings])
    found, times = np.unique(corners, axis=0, return_counts=True)
    touching: NDArray[np.float64] = found[times > 1]
    return touching


def near_origin(region: MultiPolygon) -> tuple[MultiPolygon, NDArray[np.float64]]:
    """Return a region moved so that its bounds begin at 0, and where they began. [mm].

    Its corners are rounded to steps of 2**-24 mm, so that the same region from two places comes
    out as the same numbers, whatever was lost when it was moved there.
    """
    corner = np.array(region.bounds[:2])
    return shapely.transform(region, lambda at: np.round((at - corner) * 2.0**24) / 2.0**24), corner


def moved_by(region: MultiPolygon, by_mm: NDArray[np.float64]) -> MultiPolygon:
    """Return a region somewhere else. [mm]."""
    moved: MultiPolygon = shapely.transform(region, lambda at: at + by_mm)
    return moved
