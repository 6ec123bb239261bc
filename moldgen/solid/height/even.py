"""A field of heights averaged over a bell, which makes nothing steeper."""

from __future__ import annotations

from math import ceil

import numpy as np

from moldgen.arrays import Grid
from moldgen.compiling import njit
from moldgen.solid.zbuffer import in_bands


def evened(heights: Grid, *, spread_cells: float) -> Grid:
    """Return heights averaged over a bell.

    A mean of shifted copies is nowhere steeper than the field. Bare nodes (``-inf``) stay bare and
    take no part.

    Parameters
    ----------
    heights : ndarray, shape (ny, nx)
        Finite or ``-inf``. [any length]
    spread_cells : float
        Standard deviation of the bell; 0 changes nothing. [cells]
    """
    if not spread_cells > 0:
        return np.array(heights, dtype=np.float64)
    n = ceil(3 * spread_cells)
    bell = np.exp(-0.5 * (np.arange(-n, n + 1) / spread_cells) ** 2)
    bell /= bell.sum()
    there = np.isfinite(heights)
    if there.all():
        framed = np.pad(heights, n, mode="edge")
        return np.ascontiguousarray(_blurred(framed, bell)[n:-n, n:-n])
    share = _blurred(there.astype(np.float64), bell)
    mean = _blurred(np.where(there, heights, 0.0), bell) / np.maximum(share, 1e-12)
    return np.where(there, mean, -np.inf)


def _blurred(grid: Grid, bell: Grid) -> Grid:
    across = _rows(np.ascontiguousarray(grid), bell)
    return np.asarray(_rows(np.ascontiguousarray(across.T), bell).T)


def _rows(grid: Grid, bell: Grid) -> Grid:
    out = np.empty_like(grid)
    in_bands(
        lambda first, end: _blur_rows(grid, bell, out, first, end),
        len(grid),
        threads=grid.size > 100_000,
    )
    return out


@njit(cache=True, nogil=True)
def _blur_rows(grid: Grid, bell: Grid, out: Grid, first: int, end: int) -> None:
    """Average along the rows from ``first`` to before ``end``; beyond the border nothing counts."""
    n, n_columns = len(bell) // 2, grid.shape[1]
    for i in range(first, end):
        mean, row = out[i], grid[i]
        mean[:] = 0.0
        # One shift after another: a plain sum of two rows is packed, a sum over shifts is not.
        for k in range(-n, n + 1):
            share = bell[k + n]
            for j in range(max(0, -k), min(n_columns, n_columns - k)):
                mean[j] += row[j + k] * share
