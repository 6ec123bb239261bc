"""Bitmaps of the plane as whole numbers: which cells an outline touches, where two would meet.

The bit of the cell in column x and row y has the number ``x * stride + y``, so that moving a bitmap
is one shift, and joining two is one ``or``, of numbers with some ten thousand digits. The lowest
bit is the leftmost place and of those the lowest. A column's upper rows, beyond the area, stay
free for what moves across its edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats

Cells = NDArray[np.bool_]
_SLACK = 1e-6
"""What an edge may reach into a cell and not touch it, over the cell. [-]."""


def touched_cells(ring_mm: Floats, *, cell_mm: float) -> Cells:
    """Return the cells of which a closed outline covers a part, shape (columns, rows).

    Parameters
    ----------
    ring_mm : ndarray, shape (n, 2)
        Its corners, the first one again at the end; none below 0. [mm]
    cell_mm : float
        Side of a cell. [mm]

    Notes
    -----
    A cell that no edge runs through lies inside or outside as its middle does.
    """
    corners = ring_mm / cell_mm
    shape = np.maximum(np.ceil(corners.max(axis=0) - _SLACK).astype(int), 1)
    cells = _covered_middles(corners, (int(shape[0]), int(shape[1])))
    column, low, high = _edges_by_column(corners)
    first = np.floor(low + _SLACK).astype(int)
    last = np.minimum(np.ceil(high - _SLACK).astype(int), shape[1])
    _mark(cells, column, np.maximum(first, 0), last)
    return cells


def _edges_by_column(corners: Floats) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Return each edge cut at the columns: its column, its least and its greatest row."""
    start, end = corners[:-1], corners[1:]
    swap = start[:, 0] > end[:, 0]
    start, end = np.where(swap[:, None], end, start), np.where(swap[:, None], start, end)
    first = np.floor(start[:, 0] + _SLACK).astype(int)
    spans = np.maximum(np.ceil(end[:, 0] - _SLACK).astype(int) - first, 0)
    edge = np.repeat(np.arange(len(start)), spans)
    column = first[edge] + np.arange(spans.sum()) - np.repeat(np.cumsum(spans) - spans, spans)
    run = np.maximum((end - start)[edge, 0], 1e-12)
    shares = [np.clip((column + k - start[edge, 0]) / run, 0.0, 1.0) for k in (0, 1)]
    upright = (end - start)[edge, 0] < 1e-9
    shares = [np.where(upright, k, share) for k, share in enumerate(shares)]
    rows = [start[edge, 1] + share * (end - start)[edge, 1] for share in shares]
    return column, np.minimum(*rows), np.maximum(*rows)


def _mark(cells: Cells, column: NDArray[np.int64], first: NDArray[np.int64],
          last: NDArray[np.int64]) -> None:  # fmt: skip
    """Set the cells of columns from a first row until before a last one."""
    real = (last > first) & (column >= 0) & (column < cells.shape[0])
    steps = np.zeros((cells.shape[0], cells.shape[1] + 1), np.int64)
    np.add.at(steps, (column[real], first[real]), 1)
    np.add.at(steps, (column[real], last[real]), -1)
    cells |= np.cumsum(steps, axis=1)[:, :-1] > 0


def _covered_middles(corners: Floats, shape: tuple[int, int]) -> Cells:
    """Return the cells whose middle lies inside: even-odd along each column's middle line."""
    start, end = corners[:-1], corners[1:]
    low, high = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    first, last = (np.ceil(side - 0.5).astype(int) for side in (low, high))
    spans = np.maximum(last - first, 0)
    edge = np.repeat(np.arange(len(start)), spans)
    column = first[edge] + np.arange(spans.sum()) - np.repeat(np.cumsum(spans) - spans, spans)
    share = (column + 0.5 - start[edge, 0]) / (end - start)[edge, 0]
    rows = start[edge, 1] + share * (end - start)[edge, 1]
    row = np.clip(np.ceil(rows - 0.5).astype(int), 0, shape[1])
    swaps = np.zeros((shape[0], shape[1] + 1), np.int64)
    np.add.at(swaps, (column, row), 1)
    return np.asarray(np.cumsum(swaps, axis=1)[:, :-1] % 2 == 1)


@dataclass(frozen=True, slots=True, eq=False)
class Bitmap:
    """Cells of an outline, in a box that begins at its least column and row.

    Attributes
    ----------
    bits : int
        The cells, by ``x * stride + y``.
    columns, rows : int
        Size of the box.
    runs : tuple of (column, first row, length)
        The same cells as upright runs.
    """

    bits: int
    columns: int
    rows: int
    runs: tuple[tuple[int, int, int], ...]


def bitmap_of(cells: Cells, *, stride: int) -> Bitmap:
    """Return cells as a bitmap."""
    columns, rows = cells.shape
    padded = np.zeros((columns, stride), np.bool_)
    padded[:, :rows] = cells
    packed = np.packbits(padded.ravel(), bitorder="little").tobytes()
    bits = int.from_bytes(packed, "little")
    edges = np.diff(np.pad(cells.astype(np.int8), ((0, 0), (1, 1))), axis=1)
    starts, ends = np.argwhere(edges == 1), np.argwhere(edges == -1)
    runs = tuple(
        (int(column), int(row), int(end - row))
        for (column, row), (_, end) in zip(starts, ends, strict=True)
    )
    return Bitmap(bits, columns, rows, runs)


def meeting_places(fixed: Bitmap, moved: Bitmap, *, stride: int) -> int:
    """Return where a moved outline would share a cell with a fixed one.

    Returns
    -------
    int
        A bitmap of places of the moved one's box, of which the first column and row are those
        where its last column and row meet the first of the fixed one.
    """
    wide = [fixed.bits]  # each holds twice as long upright runs as the one before
    for k in range(max(length for _, _, length in moved.runs).bit_length() - 1):
        wide.append(wide[-1] | wide[-1] << (1 << k))
    places = 0
    for column, row, length in moved.runs:
        k = length.bit_length() - 1
        run = wide[k] | wide[k] << (length - (1 << k))
        places |= run << ((moved.columns - 1 - column) * stride + moved.rows - row - length)
    return places
