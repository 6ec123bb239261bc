"""The draft of a height field's triangles, not only of its nodes."""

from __future__ import annotations

from math import radians, tan

import numpy as np

from moldgen.arrays import Grid
from moldgen.compiling import njit

SPARE_DEG = 0.03
"""Lean a triangle may lack before a corner of it is raised. [°]."""

_MOST_TURNS = 400
"""Times each square may be looked at, on average, before the rest is left to the checks."""


def settled(heights_mm: Grid, *, cell_mm: float, draft_deg: float, floor_mm: float = 0.0) -> Grid:
    """Raise nodes until the triangles between them lean as their nodes do.

    Between the nodes of a field that leans enough, a triangle may still be steeper: at a corner
    seen from above it falls along both sides at once. Every square takes the better diagonal; what
    is still too steep is laid back about its highest corner.

    Parameters
    ----------
    heights_mm : ndarray, shape (ny, nx)
        Finite heights. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    draft_deg : float
        Least lean from the upright. [°]
    floor_mm : float
        Squares wholly below this are left alone. [mm]

    Returns
    -------
    ndarray, shape (ny, nx)
        Nowhere lower than before. [mm]
    """
    raised = np.array(heights_mm, dtype=np.float64)
    limit = cell_mm / tan(radians(draft_deg - SPARE_DEG))
    most = _MOST_TURNS * max(1, raised.size)
    _settle(raised, limit, floor_mm, most)
    return raised


@njit(cache=True, nogil=True, inline="always")
def steeper(a: float, b: float, c: float, d: float) -> tuple[float, float]:
    """Return the greater squared fall of the two triangles for diagonal a-d and for b-c.

    The corners of the square are a, b in the lower row and c, d in the upper.
    """
    low, high, left, right = (b - a) ** 2, (d - c) ** 2, (c - a) ** 2, (d - b) ** 2
    return max(low + right, left + high), max(low + left, high + right)


@njit(cache=True, nogil=True)
def _settle(heights: Grid, limit: float, floor: float, most: int) -> None:
    n_rows, n_columns = heights.shape[0] - 1, heights.shape[1] - 1
    waiting = np.zeros((n_rows, n_columns), np.bool_)
    queue = np.empty(n_rows * n_columns + 1, np.int64)
    head = tail = 0
    square = limit * limit
    for i in range(n_rows):
        for j in range(n_columns):
            if _too_steep(heights, i, j, square, floor):
                queue[tail] = i * n_columns + j
                tail += 1
                waiting[i, j] = True
    turns = 0
    while head != tail and turns < most:
        turns += 1
        i, j = divmod(queue[head], n_columns)
        head = (head + 1) % len(queue)
        waiting[i, j] = False
        _lay_back(heights, i, j, limit)
        for p in range(max(0, i - 1), min(n_rows, i + 2)):
            for q in range(max(0, j - 1), min(n_columns, j + 2)):
                if not waiting[p, q] and _too_steep(heights, p, q, square, floor):
                    waiting[p, q] = True
                    queue[tail] = p * n_columns + q
                    tail = (tail + 1) % len(queue)


@njit(cache=True, nogil=True)
def _too_steep(heights: Grid, i: int, j: int, square: float, floor: float) -> bool:
    a, b = heights[i, j], heights[i, j + 1]
    c, d = heights[i + 1, j], heights[i + 1, j + 1]
    if max(a, b, c, d) <= floor:
        return False
    one, other = steeper(a, b, c, d)
    return bool(min(one, other) > square * (1 + 1e-9))


@njit(cache=True, nogil=True)
def _lay_back(heights: Grid, i: int, j: int, limit: float) -> None:
    one, other = steeper(heights[i, j], heights[i, j + 1], heights[i + 1, j], heights[i + 1, j + 1])
    # Each triangle: its right-angled corner, then the ends of its two legs.
    if one <= other:
        _lay_one_back(heights, i, j + 1, i, j, i + 1, j + 1, limit)
        _lay_one_back(heights, i + 1, j, i, j, i + 1, j + 1, limit)
    else:
        _lay_one_back(heights, i, j, i, j + 1, i + 1, j, limit)
        _lay_one_back(heights, i + 1, j + 1, i, j + 1, i + 1, j, limit)


@njit(cache=True, nogil=True)
def _lay_one_back(
    heights: Grid, i: int, j: int, k: int, m: int, p: int, q: int, limit: float
) -> None:
    """Raise the lowest corner of a triangle; where it would pass the next one, raise both.

    No corner is ever raised above the highest, so no new peak comes about.
    """
    here, one, other = heights[i, j], heights[k, m], heights[p, q]
    if (one - here) ** 2 + (other - here) ** 2 <= limit * limit:
        return
    if one < other:
        low, high = one, other
    else:
        low, high = other, one
    if here <= low:
        # The right-angled corner is the lowest.
        spare = 2 * limit * limit - (high - low) ** 2
        raised = (high + low - np.sqrt(spare)) / 2 if spare > 0 else low
        here = max(here, raised if raised <= low else high - limit)
        low = max(low, min(here, high - limit)) if raised > low else low
    else:
        spare = limit * limit - (high - here) ** 2
        raised = here - np.sqrt(spare) if spare > 0 else np.inf
        if here >= high:
            # Both ends of the legs lie below it.
            low = max(low, raised if raised <= high else here - limit / np.sqrt(2.0))
            high = max(high, low) if raised > high else high
        elif raised <= here:
            low = max(low, raised)
        else:
            here = max(here, high - limit)
            low = max(low, high - limit)
    heights[i, j] = here
    if one < other:
        heights[k, m], heights[p, q] = low, high
    else:
        heights[k, m], heights[p, q] = high, low
