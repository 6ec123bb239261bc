"""What closed curves enclose together, however they cross."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import GEOSException, MultiPolygon
from shapely.geometry.base import BaseGeometry

Ring = NDArray[np.float64]

_GRID = 1e-9
"""A picometer, in millimeters."""


class FillRule(StrEnum):
    """Which side of several closed curves counts as inside."""

    EVEN_ODD = "even-odd"
    """Inside where a line to far away crosses the curves an odd number of times."""
    NONZERO = "nonzero"
    """Inside where the curves wind round the point, in balance, at least once."""


def wound_area(curves: Sequence[Ring], rule: FillRule) -> BaseGeometry:
    """Return the area inside closed curves, each of shape (n, 2), n at least 3.

    The curves are cut at every crossing, the faces between them counted for how often
    they are wound round, and those inside united. Corners keep their exact coordinates,
    unless lines run so nearly together that they must be laid on a grid of a picometer.
    """
    if not curves:
        return MultiPolygon()
    starts = np.concatenate(curves)
    ends = np.concatenate([np.roll(curve, -1, axis=0) for curve in curves])
    # Next to zero, doubles reach far below any size the geometry engine can divide by.
    starts[np.abs(starts) < _GRID] = 0.0
    ends[np.abs(ends) < _GRID] = 0.0
    try:
        return _united_faces(starts, ends, rule, grid=None)
    except GEOSException:
        return _united_faces(starts, ends, rule, grid=_GRID)


def _united_faces(starts: Ring, ends: Ring, rule: FillRule, *, grid: float | None) -> BaseGeometry:
    lines = shapely.linestrings(np.stack([starts, ends], axis=1))
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(lines, grid_size=grid)]))
    turns = _winding(shapely.point_on_surface(faces), starts, ends, lines)
    inside = turns % 2 != 0 if rule is FillRule.EVEN_ODD else turns != 0
    return shapely.coverage_union_all(faces[inside])


def _winding(
    points: NDArray[np.object_], starts: Ring, ends: Ring, lines: NDArray[np.object_]
) -> NDArray[np.int64]:
    """Return how often directed segments wind round each point, counted along a ray to +x.

    Method: D. Sunday's winding number by signed upward and downward crossings, from memory.
    """
    turns = np.zeros(len(points), dtype=np.int64)
    if not len(points):
        return turns
    spots = shapely.get_coordinates(points)
    far = np.column_stack([np.full(len(spots), starts[:, 0].max() + 1.0), spots[:, 1]])
    point, segment = shapely.STRtree(lines).query(
        shapely.linestrings(np.stack([spots, far], axis=1))
    )
    p, a, b = spots[point], starts[segment], ends[segment]
    side = (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (p[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    up = (a[:, 1] <= p[:, 1]) & (b[:, 1] > p[:, 1]) & (side > 0)
    down = (a[:, 1] > p[:, 1]) & (b[:, 1] <= p[:, 1]) & (side < 0)
    np.add.at(turns, point, up.astype(np.int64) - down)
    return turns
