"""Filled areas of a DXF drawing: read where nothing else is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely import LinearRing

from moldgen.dxf_library import dxf_library
from moldgen.outline.curves import Points, bezier_points
from moldgen.outline.region import FillRule, filled, united

FILLS = ("SOLID", "TRACE", "3DFACE", "HATCH", "MPOLYGON")
"""Entities that paint an area."""


def borders_painted(entity: Any, *, chord: float) -> list[Points]:
    """Return the closed borders of what an entity paints, seen from above, in its own unit.

    Raises
    ------
    OutlineError
        If a curve is so large that it takes too many chords.
    """
    if entity.dxftype() not in {"HATCH", "MPOLYGON"}:
        return [np.array([tuple(corner)[:2] for corner in entity.wcs_vertices()])]
    paths = dxf_library("ezdxf.path").from_hatch(entity)
    borders = [_points(one, chord) for path in paths for one in path.sub_paths()]
    return [points for points in borders if len(points) > 2]


def _points(path: Any, chord: float) -> Points:
    """Return a path of straight lines and Bézier curves as points."""
    runs, start = [np.array([tuple(path.start)[:2]])], path.start
    for end, *controls in path.commands():
        corners = [tuple(at)[:2] for at in (start, *controls, end)]
        runs.append(bezier_points(corners, chord=chord)[1:])
        start = end
    return np.concatenate(runs)


def area_within(borders: Sequence[Points]) -> shapely.MultiPolygon:
    """Return what one entity paints within its borders: what is inside an odd number of them."""
    return filled(borders, rule=FillRule.EVEN_ODD, what="a filled area")


def borders_of(areas: Sequence[shapely.MultiPolygon]) -> list[Points]:
    """Return the borders of areas together, each closed by its first point.

    Raises
    ------
    OutlineError
        If they cross each other too often.
    """
    whole = shapely.get_parts(united(areas, what="the drawing"))
    rings: list[LinearRing] = list(shapely.get_rings(whole))
    return [shapely.get_coordinates(ring) for ring in rings]
