"""The join tree of a field: its pockets, and where each was cut off from the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Pocket:
    """One hill of the field: a place that is reached later than all around it.

    Attributes
    ----------
    cell : tuple of int
        Row and column of its greatest value.
    peak, saddle : float
        The greatest value, and the value at which the hill joins a greater one (the floor of the
        field, if it is the greatest of its island).
    held : float
        Sum of the field over the hill's cells at the moment it was cut off.
    """

    cell: tuple[int, int]
    peak: float
    saddle: float
    held: float


def pockets_of(field: NDArray[np.float64], *, floor: float) -> tuple[Pocket, ...]:
    """Return every pocket of a field above its floor, latest first.

    Cells are taken from the greatest value down and joined to their eight neighbours by
    union-find; whenever two hills meet, the lesser one ends as a pocket.

    Parameters
    ----------
    field : ndarray, shape (ny, nx)
        Finite values; greater is later.
    floor : float
        Cells at or below the floor belong to no pocket.

    References
    ----------
    .. [1] H. Carr, J. Snoeyink, U. Axen, "Computing contour trees in all dimensions,"
       Computational Geometry 24, 2003: the join tree by union-find.
    """
    flat = field.ravel()
    order = np.argsort(-flat, kind="stable")
    order = order[: int(np.count_nonzero(flat > floor))]
    peaks, saddles, held = _sweep(flat, order, field.shape[1], floor)
    cells = [divmod(int(peak), field.shape[1]) for peak in peaks]
    found = [
        Pocket(cell=cell, peak=float(field[cell]), saddle=float(saddle), held=float(volume))
        for cell, saddle, volume in zip(cells, saddles, held, strict=True)
    ]
    return tuple(sorted(found, key=lambda pocket: (-pocket.peak, pocket.cell)))


@njit(cache=True)
def _sweep(
    flat: NDArray[np.float64], order: NDArray[np.int64], n_columns: int, floor: float
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    n_rows = flat.size // n_columns
    parent = np.full(flat.size, -1, np.int64)
    peak = np.empty(flat.size, np.int64)
    volume = np.zeros(flat.size)
    peaks = np.empty(order.size, np.int64)
    saddles = np.empty(order.size)
    held = np.empty(order.size)
    n = 0
    for cell in order:
        parent[cell] = cell
        peak[cell] = cell
        volume[cell] = flat[cell]
        row, column = cell // n_columns, cell % n_columns
        for i in range(max(0, row - 1), min(n_rows, row + 2)):
            for j in range(max(0, column - 1), min(n_columns, column + 2)):
                other = i * n_columns + j
                if parent[other] < 0 or other == cell:
                    continue
                a, b = _root(parent, cell), _root(parent, other)
                if a == b:
                    continue
                if _later(flat, peak[b], peak[a]):
                    a, b = b, a
                if peak[b] != cell:
                    peaks[n], saddles[n], held[n] = peak[b], flat[cell], volume[b]
                    n += 1
                parent[b] = a
                volume[a] += volume[b]
    for cell in order:
        if parent[cell] == cell:
            peaks[n], saddles[n], held[n] = peak[cell], floor, volume[cell]
            n += 1
    return peaks[:n], saddles[:n], held[:n]


@njit(cache=True)
def _root(parent: NDArray[np.int64], cell: int) -> int:
    while parent[cell] != cell:
        parent[cell] = parent[parent[cell]]
        cell = parent[cell]
    return cell


@njit(cache=True)
def _later(flat: NDArray[np.float64], a: int, b: int) -> bool:
    """Tell whether cell ``a`` is reached after cell ``b``; the earlier in the file breaks ties."""
    return flat[a] > flat[b] or (flat[a] == flat[b] and a < b)
