"""Filled areas of a DXF drawing: read where nothing else is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely import LinearRing

from moldgen.outline.curves import Points
from moldgen.outline.region import FillRule, filled

FILLS = ("SOLID", "TRACE", "3DFACE", "HATCH", "MPOLYGON")
"""Entities that paint an area."""


def area_of(entity: Any, *, chord: float) -> shapely.MultiPolygon:
    """Return what an entity paints, seen from above, in the drawing's own unit."""
    if entity.dxftype() in {"HATCH", "MPOLYGON"}:
        return filled(_paths(entity, chord), rule=FillRule.EVEN_ODD, what="hatching")
    corners = np.array([tuple(corner)[:2] for corner in entity.wcs_vertices()])
    return filled([corners], rule=FillRule.NONZERO, what="a filled area")


def _paths(hatch: Any, chord: float) -> list[Points]:
    """Return the closed borders of a hatching."""
    from ezdxf.path import from_hatch

    paths = ([tuple(at)[:2] for at in path.flattening(chord)] for path in from_hatch(hatch))
    return [np.array(points) for points in paths if len(points) > 2]


def borders_of(areas: Sequence[shapely.MultiPolygon]) -> list[Points]:
    """Return the borders of areas together, each closed by its first point."""
    whole = shapely.get_parts(shapely.union_all(list(areas)))
    rings: list[LinearRing] = list(shapely.get_rings(whole))
    return [shapely.get_coordinates(ring) for ring in rings]
