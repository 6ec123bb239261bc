"""One compiled loop that looks at triangles along an axis: heights, hidden places, pictures."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit
from moldgen.execution import threads_now

_N_BANDS = 4
# Below this many cells and triangles one thread is done before a second has started.
_WORTH_THREADS = 20_000


def zbuffer(
    corners: NDArray[np.float64],
    n_rows: int,
    n_columns: int,
    triangles: NDArray[np.int32] | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Return, for every cell, the greatest height over its center and the triangle there.

    Parameters
    ----------
    corners : ndarray, shape (m, 3, 3) or (n, 3)
        Triangle corners as (column, row, height); the center of cell (i, j) lies at
        column ``j + 0.5``, row ``i + 0.5``. A border shared by two triangles belongs to both.
    n_rows, n_columns : int
        Size of the picture.
    triangles : ndarray, shape (m, 3), optional
        Which corners make a triangle, if ``corners`` lists every point once.

    Returns
    -------
    heights : ndarray, shape (n_rows, n_columns)
        Greatest height over the cell center; ``-inf`` where there is nothing.
    triangles : ndarray, shape (n_rows, n_columns)
        Index of the triangle seen, the first of those equally high; -1 where there is nothing.
    """
    points = np.ascontiguousarray(corners, dtype=np.float64).reshape(-1, 3)
    if triangles is None:
        triangles = np.arange(len(points), dtype=np.int32).reshape(-1, 3)
    # Those of a mesh cannot be written to: one kind of array for all, compiled once.
    triangles = triangles.view()
    triangles.flags.writeable = False
    heights = np.full((n_rows, n_columns), -np.inf)
    seen = np.full((n_rows, n_columns), -1, np.int32)
    in_bands(
        lambda first, end: _fill(points, triangles, heights, seen, first, end),
        n_rows,
        threads=n_rows * n_columns + len(triangles) > _WORTH_THREADS,
    )
    return heights, seen


def in_bands(work: Callable[[int, int], object], n_rows: int, *, threads: bool = True) -> None:
    """Call ``work(first_row, end_row)`` for bands of rows, side by side.

    The work must write to its own rows only and let go of Python's lock (``nogil``); the
    result then does not depend on the number of processors.
    """
    n_threads = threads_now()
    if not threads or n_threads == 1:
        work(0, n_rows)
        return
    edges = [n_rows * band // _N_BANDS for band in range(_N_BANDS + 1)]
    with ThreadPoolExecutor(min(n_threads, _N_BANDS)) as pool:
        for done in [pool.submit(work, first, end) for first, end in pairwise(edges)]:
            done.result()


@njit(cache=True, nogil=True, error_model="numpy")
def _fill(
    points: NDArray[np.float64],
    triangles: NDArray[np.int32],
    heights: NDArray[np.float64],
    seen: NDArray[np.int32],
    first: int,
    end: int,
) -> None:
    """Fill the rows from ``first`` to before ``end``."""
    n_columns = heights.shape[1]
    for t in range(len(triangles)):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        ax, ay, az = points[a, 0], points[a, 1], points[a, 2]
        bx, by, bz = points[b, 0], points[b, 1], points[b, 2]
        cx, cy, cz = points[c, 0], points[c, 1], points[c, 2]
        twice_area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if twice_area == 0.0:
            continue
        first_row = max(first, int(np.ceil(min(ay, by, cy) - 0.5)))
        last_row = min(end - 1, int(np.floor(max(ay, by, cy) - 0.5)))
        left, right = min(ax, bx, cx), max(ax, bx, cx)
        # What lies below all that is seen needs no closer look; a hair above, for rounding.
        top = max(az, bz, cz)
        top += 1e-9 * (abs(az) + abs(bz) + abs(cz))
        ab = _column_per_row(ax, ay, bx, by)
        bc = _column_per_row(bx, by, cx, cy)
        ca = _column_per_row(cx, cy, ax, ay)
        for i in range(first_row, last_row + 1):
            y = i + 0.5
            # Long narrow triangles fill little of their box: walk from side to side only, and
            # from one cell before to one cell behind, for rounding.
            low, high = right, left
            low, high = _crossed(low, high, ax, ay, by, ab, y)
            low, high = _crossed(low, high, bx, by, cy, bc, y)
            low, high = _crossed(low, high, cx, cy, ay, ca, y)
            first_column = max(0, int(np.ceil(max(low - 1.0, left) - 0.5)))
            last_column = min(n_columns - 1, int(np.floor(min(high + 1.0, right) - 0.5)))
            for j in range(first_column, last_column + 1):
                if heights[i, j] > top:
                    continue
                x = j + 0.5
                u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / twice_area
                v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / twice_area
                w = 1.0 - u - v
                if u < -1e-12 or v < -1e-12 or w < -1e-12:
                    continue
                z = u * az + v * bz + w * cz
                if z > heights[i, j]:
                    heights[i, j] = z
                    seen[i, j] = t


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _column_per_row(ax: float, ay: float, bx: float, by: float) -> float:
    """Return how far a side moves along the columns from one row to the next."""
    return (bx - ax) / (by - ay) if ay != by else 0.0


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _crossed(
    low: float, high: float, px: float, py: float, qy: float, per_row: float, y: float
) -> tuple[float, float]:
    """Widen a span of columns to where the side from ``p`` to ``q`` crosses row ``y``."""
    if (py - y) * (qy - y) > 0.0 or py == qy:
        return low, high
    x = px + per_row * (y - py)
    return min(low, x), max(high, x)
