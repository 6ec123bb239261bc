"""The holes of the forming table under a mold, wherever on the table it is put down."""

from __future__ import annotations

from math import ceil, pi

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.execution import checkpoint


def unserved_share(
    region: MultiPolygon, *, pitch_mm: float, hole_mm: float, least_mm2: float | None = None
) -> float:
    """Return the share of all placings on the table at which too little of its holes is free.

    Parameters
    ----------
    region : MultiPolygon
        Open to the table from above. [mm]
    pitch_mm, hole_mm : float
        Spacing and diameter of the table's holes. [mm]
    least_mm2 : float, optional
        Open area that is enough; a quarter of one hole if left out. [mm²]
    """
    free = free_holes_mm2(region, pitch_mm=pitch_mm, hole_mm=hole_mm)
    return unserved_share_of(free, hole_mm=hole_mm, least_mm2=least_mm2)


def unserved_share_of(
    free_mm2: NDArray[np.float64], *, hole_mm: float, least_mm2: float | None = None
) -> float:
    """Return the share of placings, from `free_holes_mm2`, at which too little is free. [-]."""
    enough = pi / 16 * hole_mm**2 if least_mm2 is None else least_mm2
    return float((free_mm2 < enough).mean())


def free_holes_mm2(region: MultiPolygon, *, pitch_mm: float, hole_mm: float) -> NDArray[np.float64]:
    """Return the area of the table's holes that lies free under a region, for many placings.

    The region is folded onto one cell of the hole grid (a torus), and the folded picture is
    convolved with one hole: every place of the result is one placing of the mold.

    Parameters
    ----------
    region : MultiPolygon
        Open to the table from above. [mm]
    pitch_mm, hole_mm : float
        Spacing and diameter of the table's holes. [mm]

    Returns
    -------
    ndarray, shape (n, n)
        Free area with the mold shifted by a step of the cell in y and x. [mm²]
    """
    n = min(96, max(32, ceil(pitch_mm / 0.25)))
    if region.is_empty:
        return np.zeros((n, n))
    step = pitch_mm / n
    folded = np.fft.rfft2(_folded(region, pitch_mm, n))
    hole = np.fft.rfft2(_hole(n, hole_mm / step))
    return np.asarray(np.maximum(np.fft.irfft2(folded * hole, s=(n, n)), 0.0) * step**2)


def _folded(region: shapely.Geometry, pitch_mm: float, n: int) -> NDArray[np.float64]:
    """Return how often each of ``n x n`` places of a grid cell has some of the region over it."""
    x0, y0, x1, y1 = region.bounds
    columns, rows = ceil((x1 - x0) / pitch_mm), ceil((y1 - y0) / pitch_mm)
    step = pitch_mm / n
    x = x0 + (np.arange(columns * n) + 0.5) * step
    edges = _edges_of(region)
    folded = np.zeros((n, n))
    # Row by row of holes: all at once would not fit a large mold over a fine grid.
    for row in range(rows):
        checkpoint()
        y = y0 + (np.arange(row * n, (row + 1) * n) + 0.5) * step
        folded += _inside(edges, x, y).reshape(n, columns, n).sum(axis=1)
    return folded


def _inside(
    edges: tuple[NDArray[np.float64], NDArray[np.float64]],
    x_mm: NDArray[np.float64],
    y_mm: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Return which places of an even raster lie in a region, shape (ny, nx).

    Every edge is cut with the rows it spans; to the right of each cut, inside and outside swap.
    """
    step = float(x_mm[1] - x_mm[0])
    start, end = edges
    first = np.searchsorted(y_mm, np.minimum(start[:, 1], end[:, 1]), side="left")
    last = np.searchsorted(y_mm, np.maximum(start[:, 1], end[:, 1]), side="left")
    spans = last - first
    edge = np.repeat(np.arange(len(start)), spans)
    row = first[edge] + np.arange(spans.sum()) - np.repeat(np.cumsum(spans) - spans, spans)
    a, b = start[edge], end[edge]
    cut = a[:, 0] + (y_mm[row] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    column = np.clip(np.ceil((cut - x_mm[0]) / step), 0, len(x_mm)).astype(np.int64)
    swaps = np.zeros((len(y_mm), len(x_mm) + 1), np.int64)
    np.add.at(swaps, (row, column), 1)
    return np.asarray(np.cumsum(swaps, axis=1)[:, :-1] % 2 == 1)


def _edges_of(region: shapely.Geometry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return start and end of every edge of all rings, shape (m, 2) each. [mm]."""
    rings = shapely.get_rings(shapely.get_parts(region))
    places, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return places[:-1][same], places[1:][same]


def _hole(n: int, diameter_cells: float) -> NDArray[np.float64]:
    """Return a disc around place (0, 0) of a torus of ``n x n`` cells; its sum is its area."""
    away = np.minimum(np.arange(n), n - np.arange(n))
    cover = np.clip(diameter_cells / 2 + 0.5 - np.hypot(away[:, None], away), 0.0, 1.0)
    return np.asarray(cover * (pi / 4 * diameter_cells**2 / cover.sum()))
