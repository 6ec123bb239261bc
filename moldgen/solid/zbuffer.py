"""One compiled loop that looks at triangles along an axis: heights, hidden places, pictures."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)  # type: ignore[untyped-decorator]
def zbuffer(
    corners: NDArray[np.float64], n_rows: int, n_columns: int
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Return, for every cell, the greatest height over its centre and the triangle there.

    Parameters
    ----------
    corners : ndarray, shape (m, 3, 3)
        Triangle corners as (column, row, height); the centre of cell (i, j) lies at
        column ``j + 0.5``, row ``i + 0.5``. A border shared by two triangles belongs to both.
    n_rows, n_columns : int
        Size of the picture.

    Returns
    -------
    heights : ndarray, shape (n_rows, n_columns)
        Greatest height over the cell centre; ``-inf`` where there is nothing.
    triangles : ndarray, shape (n_rows, n_columns)
        Index of the triangle seen; -1 where there is nothing.
    """
    heights = np.full((n_rows, n_columns), -np.inf)
    seen = np.full((n_rows, n_columns), -1, np.int32)
    for t in range(corners.shape[0]):
        ax, ay, az = corners[t, 0]
        bx, by, bz = corners[t, 1]
        cx, cy, cz = corners[t, 2]
        twice_area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if twice_area == 0.0:
            continue
        first_row = max(0, int(np.ceil(min(ay, by, cy) - 0.5)))
        last_row = min(n_rows - 1, int(np.floor(max(ay, by, cy) - 0.5)))
        first_column = max(0, int(np.ceil(min(ax, bx, cx) - 0.5)))
        last_column = min(n_columns - 1, int(np.floor(max(ax, bx, cx) - 0.5)))
        for i in range(first_row, last_row + 1):
            y = i + 0.5
            for j in range(first_column, last_column + 1):
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
    return heights, seen
