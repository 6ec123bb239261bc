"""A height field as few triangles: large squares where it is flat, small ones where it bends."""

from __future__ import annotations

from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Flags, Grid
from moldgen.compiling import njit
from moldgen.solid.height.settle import SPARE_DEG, steeper

LARGEST = 7
"""Doublings of the cell up to the largest square."""

_LEAN_SPARE_DEG = 0.02
"""Lean that a large square may take from its triangles beyond what a small one may. [°]."""


def height_triangles(
    heights_mm: Grid, *, cell_mm: float, deviation_mm: float, draft_deg: float
) -> NDArray[np.int64]:
    """Return triangles between nodes of a grid that follow its heights.

    Parameters
    ----------
    heights_mm : ndarray, shape (ny, nx)
        Finite heights; squares without a height above 0 are left out. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    deviation_mm : float
        Greatest distance of any node from the triangles, square to them. [mm]
    draft_deg : float
        Lean of the steepest wall; large squares keep it too. [°]

    Returns
    -------
    ndarray, shape (m, 3)
        Nodes, counted row by row, counter-clockwise seen from above. Neighbors share whole edges.

    Notes
    -----
    A square of ``2^k`` cells is kept whole if all its nodes lie within half the deviation of one
    plane; any triangles between some of its nodes then stay within the deviation of all others.
    Squares that share a side differ by at most one doubling; the larger one gets a corner where the
    smaller ones meet, and triangles all around its middle.
    """
    n_rows, n_columns = (n - 1 for n in heights_mm.shape)
    side = 1 << min(LARGEST, int(np.ceil(np.log2(max(n_rows, n_columns, 2)))))
    pad = ((0, -n_rows % side), (0, -n_columns % side))
    # So far below that no square across the border counts as flat.
    padded = np.pad(heights_mm, pad, mode="constant", constant_values=-1e6)
    outside = np.pad(
        np.zeros((n_rows, n_columns), np.bool_), pad, mode="constant", constant_values=True
    )
    levels = _whole_levels(
        padded, outside, side=side, cell_mm=cell_mm, deviation_mm=deviation_mm, draft_deg=draft_deg
    )
    level = np.zeros(outside.shape, np.int8)
    for k, whole in enumerate(levels):
        level[whole.repeat(1 << k, axis=0).repeat(1 << k, axis=1)] = k
    count = _emit(padded, level, outside, np.empty((0, 3), np.int64), False)
    triangles = np.empty((count, 3), np.int64)
    _emit(padded, level, outside, triangles, True)
    row, column = np.divmod(triangles, padded.shape[1])
    return np.asarray(row * heights_mm.shape[1] + column)


def _whole_levels(
    heights: Grid,
    outside: Flags,
    *,
    side: int,
    cell_mm: float,
    deviation_mm: float,
    draft_deg: float,
) -> list[Flags]:
    """Return, for every size of square, which squares are whole at this size."""
    limit = 1 / tan(radians(draft_deg - SPARE_DEG - _LEAN_SPARE_DEG))
    levels = [np.ones(outside.shape, np.bool_)]
    k = 1
    while 1 << k <= side:
        below = levels[-1]
        whole = _all_four(below) & _neighbors_whole(below)
        _keep_flat(heights, whole, 1 << k, cell_mm, deviation_mm / 2, limit)
        levels.append(whole)
        k += 1
    return levels


def _neighbors_whole(below: Flags) -> Flags:
    """Return for each square of 2 x 2 blocks whether the eight blocks beside it are whole too."""
    framed = np.pad(below, 1, constant_values=True)
    up, down = framed[2:, 1:-1], framed[:-2, 1:-1]
    left, right = framed[1:-1, :-2], framed[1:-1, 2:]
    return _all_four(up) & _all_four(down) & _all_four(left) & _all_four(right)


def _all_four(flags: Flags) -> Flags:
    """Return for each square of 2 x 2 blocks whether all four are flagged."""
    return flags[::2, ::2] & flags[1::2, ::2] & flags[::2, 1::2] & flags[1::2, 1::2]


@njit(cache=True, nogil=True)
def _keep_flat(
    heights: Grid, whole: Flags, side: int, cell: float, half: float, limit: float
) -> None:
    """Clear the squares that are not flat enough."""
    for p in range(whole.shape[0]):
        for q in range(whole.shape[1]):
            if whole[p, q]:
                whole[p, q] = _flat(heights, p * side, q * side, side, cell, half, limit)


@njit(cache=True, nogil=True)
def _flat(heights: Grid, i: int, j: int, side: int, cell: float, half: float, limit: float) -> bool:
    a, b = heights[i, j], heights[i, j + side]
    c, d = heights[i + side, j], heights[i + side, j + side]
    across = (b + d - a - c) / (2 * side)
    along = (c + d - a - b) / (2 * side)
    middle = (a + b + c + d) / 4
    slope = np.sqrt(across * across + along * along) / cell
    least, most = np.inf, -np.inf
    highest = -np.inf
    for p in range(side + 1):
        for q in range(side + 1):
            z = heights[i + p, j + q]
            off = z - middle - across * (q - side / 2) - along * (p - side / 2)
            least, most, highest = min(least, off), max(most, off), max(highest, z)
    if highest <= 0.0:
        return True
    # The plane may lie anywhere between the nodes farthest above and below.
    off = (most - least) / 2
    if off > half * np.sqrt(1 + slope * slope):
        return False
    # Legs of half a side turn a triangle by no more than this.
    return bool(slope + 5.7 * off / (side * cell) <= limit)


@njit(cache=True, nogil=True)
def _emit(
    heights: Grid,
    level: NDArray[np.int8],
    outside: Flags,
    triangles: NDArray[np.int64],
    write: bool,
) -> int:
    """Write the triangles of every square, or only count them."""
    n_rows, n_columns = level.shape
    wide = heights.shape[1]
    ring = np.empty(8, np.int64)
    n = 0
    for i in range(n_rows):
        for j in range(n_columns):
            side = 1 << level[i, j]
            if outside[i, j] or i % side or j % side or not _above(heights, i, j, side):
                continue
            corners = _ring_of(level, i, j, wide, ring)
            if write and corners == 4:
                _write_two(heights, ring, i, j, side, triangles, n)
            elif write:
                middle = (i + side // 2) * wide + j + side // 2
                _write_fan(middle, ring[:corners], triangles, n)
            n += 2 if corners == 4 else corners
    return n


@njit(cache=True, nogil=True)
def _ring_of(level: NDArray[np.int8], i: int, j: int, wide: int, ring: NDArray[np.int64]) -> int:
    """Write the corners of a square counter-clockwise, and the middles of the sides it shares.

    A side that it shares with smaller squares has a corner in its middle.
    """
    side = 1 << level[i, j]
    corners = 0
    row, column, up, right = i, j, 0, 1
    for _ in range(4):
        ring[corners] = row * wide + column
        corners += 1
        # The cell across the first half of this side.
        over_i = row - (1 if right == 1 or up == -1 else 0)
        over_j = column - (1 if right == -1 or up == -1 else 0)
        if _is_smaller(level, over_i, over_j, level[i, j]):
            ring[corners] = (row + up * side // 2) * wide + column + right * side // 2
            corners += 1
        row, column = row + up * side, column + right * side
        up, right = right, -up
    return corners


@njit(cache=True, nogil=True)
def _is_smaller(level: NDArray[np.int8], i: int, j: int, than: int) -> bool:
    inside = 0 <= i < level.shape[0] and 0 <= j < level.shape[1]
    return bool(inside and level[i, j] < than)


@njit(cache=True, nogil=True)
def _write_fan(middle: int, ring: NDArray[np.int64], triangles: NDArray[np.int64], n: int) -> None:
    """Write triangles all around the middle of a square."""
    for k in range(len(ring)):
        triangles[n + k, 0] = middle
        triangles[n + k, 1] = ring[k]
        triangles[n + k, 2] = ring[(k + 1) % len(ring)]


@njit(cache=True, nogil=True)
def _above(heights: Grid, i: int, j: int, side: int) -> bool:
    for p in range(side + 1):
        for q in range(side + 1):
            if heights[i + p, j + q] > 0.0:
                return True
    return False


@njit(cache=True, nogil=True)
def _write_two(
    heights: Grid,
    ring: NDArray[np.int64],
    i: int,
    j: int,
    side: int,
    triangles: NDArray[np.int64],
    n: int,
) -> None:
    """Write a square as two triangles along the diagonal that leaves them the less steep."""
    one, other = steeper(
        heights[i, j], heights[i, j + side], heights[i + side, j], heights[i + side, j + side]
    )
    first = 0 if one <= other else 1
    for t in range(2):
        triangles[n + t, 0] = ring[first]
        triangles[n + t, 1] = ring[(first + 1 + t) % 4]
        triangles[n + t, 2] = ring[(first + 2 + t) % 4]
