"""The join tree of a field: its pockets, and where each was cut off from the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit
from moldgen.errors import SpecError


@dataclass(frozen=True, slots=True, kw_only=True)
class Hill:
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


def pockets_of(field: NDArray[np.float64], *, floor: float) -> tuple[Hill, ...]:
    """Return every pocket of a field above its floor, latest first.

    Cells are taken from the greatest value down and joined to their eight neighbors by
    union-find; whenever two hills meet, the lesser one ends as a pocket.

    Parameters
    ----------
    field : ndarray, shape (ny, nx)
        Finite values; greater is later.
    floor : float
        Cells at or below the floor belong to no pocket.

    Raises
    ------
    SpecError
        If a value of the field is not finite.

    References
    ----------
    .. [1] H. Carr, J. Snoeyink, U. Axen, "Computing contour trees in all dimensions,"
       Computational Geometry 24, 2003: the join tree by union-find.
    """
    flat, order = _above(field, floor)
    peaks, saddles, held = _sweep(flat, order, field.shape[1], floor)
    cells = [divmod(int(peak), field.shape[1]) for peak in peaks]
    pockets = [
        Hill(cell=cell, peak=float(field[cell]), saddle=float(saddle), held=float(volume))
        for cell, saddle, volume in zip(cells, saddles, held, strict=True)
    ]
    return tuple(sorted(pockets, key=lambda pocket: (-pocket.peak, pocket.cell)))


def _above(
    field: NDArray[np.float64], floor: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the field in one row, and its cells above the floor, greatest first."""
    flat = np.ascontiguousarray(field, dtype=np.float64).ravel()
    if not np.isfinite(flat).all():
        raise SpecError("field", "finite everywhere", "nan or inf", "Fill the gaps first.")
    order = np.argsort(-flat, kind="stable")
    return flat, order[: int(np.count_nonzero(flat > floor))]


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
        # The greatest hill around takes the cell; every lesser one ends with what it held so far.
        greatest = _greatest_around(flat, parent, peak, cell, n_columns)
        for i in range(max(0, row - 1), min(n_rows, row + 2)):
            for j in range(max(0, column - 1), min(n_columns, column + 2)):
                other = i * n_columns + j
                if parent[other] < 0:
                    continue
                root = _root(parent, other)
                if root == greatest:
                    continue
                if root != cell:
                    peaks[n], saddles[n], held[n] = peak[root], flat[cell], volume[root]
                    n += 1
                parent[root] = greatest
                volume[greatest] += volume[root]
    for cell in order:
        if parent[cell] == cell:
            peaks[n], saddles[n], held[n] = peak[cell], floor, volume[cell]
            n += 1
    return peaks[:n], saddles[:n], held[:n]


@njit(cache=True)
def _greatest_around(
    flat: NDArray[np.float64],
    parent: NDArray[np.int64],
    peak: NDArray[np.int64],
    cell: int,
    n_columns: int,
) -> int:
    """Return the root of the latest hill that touches a cell, or the cell if none does."""
    row, column = cell // n_columns, cell % n_columns
    greatest = cell
    for i in range(max(0, row - 1), min(flat.size // n_columns, row + 2)):
        for j in range(max(0, column - 1), min(n_columns, column + 2)):
            other = i * n_columns + j
            if parent[other] >= 0 and other != cell:
                root = _root(parent, other)
                if greatest == cell or _later(flat, peak[root], peak[greatest]):
                    greatest = root
    return greatest


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


def region_sums(field: NDArray[np.float64], *, floor: float) -> NDArray[np.float64]:
    """Return, for every cell above the floor, the sum of the field over its connected region.

    Cells at or below the floor get 0. Regions are connected through all eight neighbors.
    """
    flat = field.ravel()
    order = np.flatnonzero(flat > floor)
    region = _regions(order, flat.size, field.shape[1])
    sums = np.zeros(flat.size)
    sums[order] = np.bincount(region[order], weights=flat[order], minlength=flat.size)[
        region[order]
    ]
    return sums.reshape(field.shape)


def region_numbers(field: NDArray[np.float64], *, floor: float) -> NDArray[np.int64]:
    """Return, for every cell above the floor, the number of its connected region; -1 elsewhere.

    Regions are connected through all eight neighbors.
    """
    order = np.flatnonzero(field.ravel() > floor)
    return _regions(order, field.size, field.shape[1]).reshape(field.shape)


def cover_cells(
    field: NDArray[np.float64], *, floor: float, taken: NDArray[np.int64], reach: float
) -> NDArray[np.int64]:
    """Return cells, greatest first, so that every cell above the floor is near one.

    Near means within ``reach`` cells, in the same connected region above the floor.

    Parameters
    ----------
    field : ndarray, shape (ny, nx)
        Finite values.
    floor : float
        Cells at or below the floor need no cover.
    taken : ndarray, shape (k, 2)
        Cells already chosen.
    reach : float
        Greatest distance, in cells.

    Raises
    ------
    SpecError
        If a value of the field is not finite.

    Returns
    -------
    ndarray, shape (n, 2)
        Rows and columns of the further cells.
    """
    flat, order = _above(field, floor)
    region = _regions(order, flat.size, field.shape[1])
    chosen = np.empty((len(taken) + order.size, 2), np.int64)
    chosen[: len(taken)] = taken
    n = _cover(order, region, chosen, len(taken), field.shape[1], reach)
    return chosen[len(taken) : n]


@njit(cache=True)
def _regions(order: NDArray[np.int64], size: int, n_columns: int) -> NDArray[np.int64]:
    """Return a number for the connected region of each listed cell; -1 elsewhere."""
    n_rows = size // n_columns
    parent = np.full(size, -1, np.int64)
    for cell in order:
        parent[cell] = cell
        row, column = cell // n_columns, cell % n_columns
        for i in range(max(0, row - 1), min(n_rows, row + 2)):
            for j in range(max(0, column - 1), min(n_columns, column + 2)):
                other = i * n_columns + j
                if parent[other] >= 0 and other != cell:
                    parent[_root(parent, other)] = _root(parent, cell)
    for cell in order:
        parent[cell] = _root(parent, cell)
    return parent


@njit(cache=True)
def _cover(
    order: NDArray[np.int64],
    region: NDArray[np.int64],
    chosen: NDArray[np.int64],
    n: int,
    n_columns: int,
    reach: float,
) -> int:
    """Write cells behind the first n chosen ones until all are near one; return how many now."""
    for cell in order:
        row, column = cell // n_columns, cell % n_columns
        near = False
        for k in range(n):
            distance = np.hypot(chosen[k, 0] - row, chosen[k, 1] - column)
            same = region[chosen[k, 0] * n_columns + chosen[k, 1]] == region[cell]
            if same and distance <= reach:
                near = True
                break
        if not near:
            chosen[n, 0], chosen[n, 1] = row, column
            n += 1
    return n
