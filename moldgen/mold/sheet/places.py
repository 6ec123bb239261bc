"""Where places of a formed sheet lie: in which region of the plan, in which feature."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moldgen.arrays import Floats
from moldgen.mold.features import FeaturePlan
from moldgen.mold.sheet.clusters import Mask

CELL_MM = 2.0
"""Cell of the raster by which most places are told to lie in a region or not. [mm]."""


def middles_of(values: Floats, triangles: NDArray[np.int32]) -> Floats:
    """Return the mean of what the three points of each triangle have, shape (m, ...)."""
    # Three times as quick as to gather all at once.
    middles: Floats = values.take(triangles[:, 0], axis=0)
    middles += values.take(triangles[:, 1], axis=0)
    middles += values.take(triangles[:, 2], axis=0)
    middles /= 3.0
    return middles


def owner_of(places_mm: Floats, plans: Sequence[FeaturePlan]) -> NDArray[np.int64]:
    """Return for each place the number of the innermost feature it lies in, -1 for none."""
    owner = np.full(len(places_mm), -1)
    # Parents come before their children, so the innermost is the last to claim a place.
    for number, plan in enumerate(plans):
        owner[within(plan.outer, places_mm)] = number
    return owner


def within(region: BaseGeometry, places_mm: Floats) -> Mask:
    """Return which places lie in a region of the plan, shape (k,)."""
    shapely.prepare(region)
    x, y = (np.ascontiguousarray(column) for column in places_mm.T[:2])
    x0, y0, x1, y1 = region.bounds
    near = np.flatnonzero((x >= x0) & (x <= x1) & (y >= y0) & (y <= y1))
    x, y = x[near], y[near]
    known = _known_inside(region, rows=_cells(y, y0), columns=_cells(x, x0))
    told = known > 0
    open_ = np.flatnonzero(known < 0)
    told[open_] = shapely.contains_xy(region, x[open_], y[open_])
    inside = np.zeros(len(places_mm), dtype=np.bool_)
    inside[near] = told
    return inside


def _cells(places_mm: Floats, low_mm: float) -> NDArray[np.int64]:
    """Return the cells in which places lie, numbered from 1."""
    return ((places_mm - low_mm) / CELL_MM).astype(np.int64) + 1


def _known_inside(
    region: BaseGeometry, *, rows: NDArray[np.int64], columns: NDArray[np.int64]
) -> NDArray[np.int8]:
    """Return for places in cells of a region's bounds 1 inside, 0 outside, -1 near its border."""
    x0, y0, x1, y1 = region.bounds
    edge = shapely.get_coordinates(shapely.segmentize(region.boundary, CELL_MM / 2))
    known = np.zeros(
        (_cells(np.array([y1]), y0)[0] + 2, _cells(np.array([x1]), x0)[0] + 2), np.int8
    )
    at = _cells(edge[:, 1], y0), _cells(edge[:, 0], x0)
    # Between two of its points, half a cell apart, the border stays in or beside their cells.
    for down, right in np.ndindex(3, 3):
        known[at[0] + down - 1, at[1] + right - 1] = -1
    y, x = np.nonzero(known == 0)
    middle = CELL_MM * (np.stack([x, y]) - 0.5)
    known[y, x] = shapely.contains_xy(region, middle[0] + x0, middle[1] + y0)
    return known[rows, columns]
