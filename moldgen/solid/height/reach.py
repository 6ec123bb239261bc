"""The highest of many cones or balls over every node of a grid, exactly and fast."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Grid, Indices
from moldgen.compiling import njit
from moldgen.solid.zbuffer import in_bands

CONE, BALL, SKIRTED = 0, 1, 2

MOST_SWEPT = 2500
"""Nodes under a ball up to which all of them are tried in turn: faster than looking for the few
that can win, and with the same result."""

SKIRT_CELLS = 2.0
"""How far a skirt goes on: some node lies close to any direction within it. [cells]."""


def highest(heights: Grid, kind: int, size: float, *, fall: float = 0.0) -> Grid:
    """Return the highest cone or ball that stands on any node, node by node.

    For a cone that is ``max over y of heights[y] - size |x - y|``, for a ball ``max over y within
    size of heights[y] + sqrt(size² - |x - y|²) - size``; ``|x - y|`` counts cells. A skirted ball
    goes on below, for `SKIRT_CELLS`, as the cone that touches it all round: over a field nowhere
    steeper than that cone it does what the ball does, but does not end between two nodes.

    Every block of the grid is left out whose greatest height, seen from its nearest node, cannot
    beat what is found already, so the result is that of the full search, to the last bit of the
    few operations that make a candidate. A neighbor's winner is tried first.

    Parameters
    ----------
    heights : ndarray, shape (ny, nx)
        Finite, or ``-inf`` where nothing stands. [any length]
    kind : int
        `CONE`, `BALL` or `SKIRTED`.
    size : float
        Fall of the cone per cell, or radius of the ball in cells and in the unit of heights: a
        ball is round only if heights are counted in cells too.
    fall : float
        Fall per cell of the skirt of a ball.
    """
    shape = np.array([kind, size, fall], dtype=np.float64)
    if kind == SKIRTED:
        # The skirt touches the ball where that falls as steeply.
        run = size * fall / np.sqrt(1 + fall * fall)
        shape = np.array([kind, size, fall, run, np.sqrt(size * size - run * run) - size])
    if kind != CONE:
        offsets, stands = _under(shape)
        if len(stands) <= MOST_SWEPT:
            return _swept(np.ascontiguousarray(heights, dtype=np.float64), offsets, stands)
    levels = _greatest(np.ascontiguousarray(heights, dtype=np.float64))
    flat = np.concatenate([level.ravel() for level in levels])
    shapes = np.array([level.shape for level in levels], dtype=np.int64)
    starts = np.concatenate([[0], np.cumsum(shapes.prod(axis=1))[:-1]]).astype(np.int64)
    out = np.empty_like(levels[0])
    in_bands(
        lambda first, end: _search(flat, starts, shapes, shape, out, first, end),
        len(out),
        threads=out.size > 10_000,
    )
    return out


def _under(shape: Grid) -> tuple[Indices, Grid]:
    """Return all nodes under a ball, from its middle, and how high it reaches there."""
    run = shape[1] if shape[0] == BALL else shape[3] + SKIRT_CELLS
    n = int(np.ceil(run)) + 1
    rows, columns = np.mgrid[-n : n + 1, -n : n + 1]
    offsets = np.column_stack([rows.ravel(), columns.ravel()]).astype(np.int64)
    squares = (offsets**2).sum(axis=1)
    # The nearest first: they win most often.
    offsets = offsets[np.argsort(squares, kind="stable")]
    stands = np.array([_stands(shape, float(a * a + b * b)) for a, b in offsets])
    return offsets[stands > -np.inf], stands[stands > -np.inf]


def _swept(heights: Grid, offsets: Indices, stands: Grid) -> Grid:
    """Return the highest of shifted copies of the heights, each lowered as the ball falls there."""
    out = np.empty_like(heights)
    in_bands(
        lambda first, end: _sweep(heights, offsets, stands, out, first, end),
        len(out),
        threads=out.size > 10_000,
    )
    return out


@njit(cache=True, nogil=True)
def _sweep(heights: Grid, offsets: Indices, stands: Grid, out: Grid, first: int, end: int) -> None:
    """Fill the rows from ``first`` to before ``end``."""
    n_rows, n_columns = heights.shape
    for i in range(first, end):
        row = out[i]
        row[:] = -np.inf
        for k in range(len(stands)):
            a, b = i + offsets[k, 0], offsets[k, 1]
            if 0 <= a < n_rows:
                _raise_row(row, heights[a], b, stands[k], n_columns)


@njit(cache=True, nogil=True)
def _raise_row(row: Grid, beside: Grid, shift: int, stands: float, n_columns: int) -> None:
    low, high = max(0, -shift), min(n_columns, n_columns - shift)
    if high <= low:
        return
    mine, other = row[low:high], beside[low + shift : high + shift]
    for j in range(high - low):
        value = other[j] + stands
        mine[j] = value if value > mine[j] else mine[j]


def _greatest(heights: Grid) -> list[Grid]:
    """Return the heights, then the greatest of every block of 2 x 2, 4 x 4, ... nodes."""
    levels = [heights]
    while max(levels[-1].shape) > 1:
        below = levels[-1]
        rows, columns = (n + n % 2 for n in below.shape)
        even = np.full((rows, columns), -np.inf)
        even[: below.shape[0], : below.shape[1]] = below
        levels.append(even.reshape(rows // 2, 2, columns // 2, 2).max(axis=(1, 3)))
    return levels


@njit(cache=True, nogil=True, inline="always")
def _stands(shape: Grid, square: float) -> float:
    """Return how high a cone or ball reaches at a squared distance, its top at 0."""
    size = float(shape[1])
    if shape[0] == 0.0:
        return float(-size * np.sqrt(square))
    if shape[0] == 2.0 and square > shape[3] * shape[3]:
        beyond = np.sqrt(square) - shape[3]
        return float(shape[4] - shape[2] * beyond if beyond <= SKIRT_CELLS else -np.inf)
    left = size * size - square
    return float(np.sqrt(left) - size if left >= 0.0 else -np.inf)


@njit(cache=True, nogil=True)
def _search(
    flat: Grid,
    starts: Indices,
    shapes: Indices,
    shape: Grid,
    out: Grid,
    first: int,
    end: int,
) -> None:
    """Fill the rows from ``first`` to before ``end``."""
    n_rows, n_columns = shapes[0]
    rows, columns = np.full(n_columns, -1), np.full(n_columns, -1)
    stack = np.empty((256, 3), np.int64)
    peak = flat[starts[-1]]
    for i in range(first, end):
        for j in range(n_columns):
            best, row, column = _guess(flat, shapes, shape, i, j, rows, columns)
            reach = _reach(shape, peak, best, n_rows + n_columns)
            if reach > 0.0:
                depth = _begin(shapes, i, j, reach, stack)
                best, row, column = _descend(
                    flat, starts, shapes, shape, i, j, stack, depth, best, row, column
                )
            out[i, j] = best
            rows[j], columns[j] = row, column


@njit(cache=True, nogil=True)
def _guess(
    flat: Grid,
    shapes: Indices,
    shape: Grid,
    i: int,
    j: int,
    rows: Indices,
    columns: Indices,
) -> tuple[float, int, int]:
    """Return the best of what stands here, the neighbors' winners, and places as far off as they.

    ``rows`` and ``columns`` hold the winners of the nodes to the left, and above those to the
    right.
    """
    n_rows, n_columns = shapes[0]
    best, row, column = flat[i * n_columns + j], i, j
    for k in range(4):
        beside = j - k // 2
        if beside < 0 or rows[beside] < 0:
            continue
        a = rows[beside] + (1 if k == 1 else 0)
        b = columns[beside] + (1 if k == 3 else 0)
        if a < n_rows and b < n_columns:
            square = float((a - i) ** 2 + (b - j) ** 2)
            value = flat[a * n_columns + b] + _stands(shape, square)
            if value > best:
                best, row, column = value, a, b
    return best, row, column


@njit(cache=True, nogil=True)
def _reach(shape: Grid, peak: float, best: float, farthest: int) -> float:
    """Return how far away the highest peak of all could still win. [cells]."""
    if shape[0] == 1.0:
        return float(shape[1])
    if best == -np.inf:
        return float(farthest)
    if shape[0] == 0.0:
        return float(max(0.0, (peak - best) / shape[1]))
    return float(shape[3] + SKIRT_CELLS if peak > best else 0.0)


@njit(cache=True, nogil=True)
def _begin(shapes: Indices, i: int, j: int, reach: float, stack: Indices) -> int:
    """Put the few blocks that cover all within reach on the stack; return how many."""
    level = 0
    while level < len(shapes) - 1 and (1 << level) < 2.0 * reach:
        level += 1
    block = float(1 << level)
    last_row = min(shapes[level, 0] - 1, int((i + reach) / block))
    last_column = min(shapes[level, 1] - 1, int((j + reach) / block))
    depth = 0
    for a in range(max(0, int((i - reach) / block)), last_row + 1):
        for b in range(max(0, int((j - reach) / block)), last_column + 1):
            stack[depth, 0], stack[depth, 1], stack[depth, 2] = level, a, b
            depth += 1
    return depth


@njit(cache=True, nogil=True)
def _descend(
    flat: Grid,
    starts: Indices,
    shapes: Indices,
    shape: Grid,
    i: int,
    j: int,
    stack: Indices,
    depth: int,
    best: float,
    row: int,
    column: int,
) -> tuple[float, int, int]:
    """Look into every block on the stack that can still win; return the winner."""
    while depth > 0:
        depth -= 1
        level, a, b = stack[depth]
        value = flat[starts[level] + a * shapes[level, 1] + b]
        if value <= best:
            continue
        value += _stands(shape, _square_to(shapes, level, a, b, i, j))
        if value <= best:
            continue
        if level == 0:
            best, row, column = value, a, b
        else:
            depth = _push_children(shapes, level - 1, 2 * a, 2 * b, i, j, stack, depth)
    return best, row, column


@njit(cache=True, nogil=True)
def _square_to(shapes: Indices, level: int, a: int, b: int, i: int, j: int) -> float:
    """Return the squared distance to the nearest node of a block. [cells²]."""
    low_i, low_j = a << level, b << level
    high_i = min(((a + 1) << level) - 1, shapes[0, 0] - 1)
    high_j = min(((b + 1) << level) - 1, shapes[0, 1] - 1)
    away_i = max(low_i - i, i - high_i, 0)
    away_j = max(low_j - j, j - high_j, 0)
    return float(away_i * away_i + away_j * away_j)


@njit(cache=True, nogil=True)
def _push_children(
    shapes: Indices, level: int, a: int, b: int, i: int, j: int, stack: Indices, depth: int
) -> int:
    """Put the four blocks that make a larger one on the stack, the nearest on top."""
    turn_i = 1 if i < (a + 1) << level else 0
    turn_j = 1 if j < (b + 1) << level else 0
    for k in range(4):
        c, d = a + ((k >> 1) ^ turn_i), b + ((k & 1) ^ turn_j)
        if c < shapes[level, 0] and d < shapes[level, 1]:
            stack[depth, 0], stack[depth, 1], stack[depth, 2] = level, c, d
            depth += 1
    return depth
