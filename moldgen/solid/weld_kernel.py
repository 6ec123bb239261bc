"""Compiled loops: points at one place made one, and the order of edges by their ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats, Indices
from moldgen.compiling import njit

SHARED, OPEN, CROWDED, CLASHING = range(4)
"""Edges of two triangles that agree, of one, of more than two, of two that disagree."""
_AT_ONCE = 32
"""Corners whose places are looked up together."""
_LEAST_ROOM = 1 << 7
"""Places that a table has room for at least; it is doubled before it is more than half full."""
_MIX = (-7046029254386353131, -4417276706812531889, 1609587929392839161)
_TURN = 29
"""Odd factors and a shift that spread the bits of three numbers over a table's slots."""


@njit(cache=True, nogil=True)
def numbered(points: Floats, corners: NDArray[np.int32]) -> tuple[NDArray[np.int32], Indices]:
    """Return the number of each corner's place, in the order in which places first come up.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        -0.0 and 0.0 are one place.
    corners : ndarray, shape (k,)
        Points, by number.

    Returns
    -------
    numbers : ndarray, shape (k,)
        The place of every corner.
    firsts : ndarray
        One point at every place.
    """
    size = _LEAST_ROOM
    while 3 * size < len(corners):  # six corners meet at a point, in most meshes
        size *= 2
    table, firsts = np.full(size, -1, dtype=np.int32), np.empty(size, dtype=np.int64)
    numbers, n = np.empty(len(corners), dtype=np.int32), 0
    place = np.empty(3)
    bits = place.view(np.int64)
    slots, stand = np.empty(_AT_ONCE, dtype=np.int64), np.empty(_AT_ONCE, dtype=np.int64)
    for start in range(0, len(corners), _AT_ONCE):
        stop = min(start + _AT_ONCE, len(corners))
        # All the far looks into the table first: they wait for memory side by side.
        for k in range(start, stop):
            slots[k - start] = _slot(points, corners[k], place, bits, size)
        for k in range(start, stop):
            seen = table[slots[k - start]]
            stand[k - start] = firsts[seen] if seen >= 0 else -1
        for k in range(start, stop):
            i, slot = corners[k], slots[k - start]
            if stand[k - start] >= 0 and _are_one(points, stand[k - start], i):
                numbers[k] = table[slot]
                continue
            while table[slot] >= 0 and not _are_one(points, firsts[table[slot]], i):
                slot = (slot + 1) & (size - 1)
            if table[slot] < 0:
                table[slot], firsts[n] = n, i
                n += 1
            numbers[k] = table[slot]
        if 2 * (n + _AT_ONCE) > size:
            size *= 2
            firsts = _longer(firsts, n, size)
            table = _spread(points, firsts, int(n), place, bits, size)
    return numbers, firsts[:n].copy()


@njit(cache=True, nogil=True, inline="always")
def _are_one(points: Floats, i: int, j: int) -> bool:
    """Tell whether two points are at one place."""
    return bool(
        points[i, 0] == points[j, 0]
        and points[i, 1] == points[j, 1]
        and points[i, 2] == points[j, 2]
    )


@njit(cache=True, nogil=True, inline="always")
def _slot(points: Floats, i: int, place: Floats, bits: Indices, size: int) -> int:
    """Return where in a table a place is looked for first."""
    mixed = np.int64(0)
    for d in range(3):
        place[d] = points[i, d] + 0.0
        mixed = (mixed ^ bits[d]) * _MIX[d]
        mixed ^= mixed >> _TURN
    return int(mixed & (size - 1))


@njit(cache=True, nogil=True, inline="always")
def _longer(firsts: Indices, n: int, size: int) -> Indices:
    """Return room for more numbers, that begins with the first n."""
    longer = np.empty(size, dtype=np.int64)
    for k in range(n):
        longer[k] = firsts[k]
    return longer


@njit(cache=True, nogil=True)
def _spread(
    points: Floats, firsts: Indices, n: int, place: Floats, bits: Indices, size: int
) -> NDArray[np.int32]:
    """Return a table of a size with the first n places in it."""
    table = np.full(size, -1, dtype=np.int32)
    for k in range(n):
        slot = _slot(points, firsts[k], place, bits, size)
        while table[slot] >= 0:
            slot = (slot + 1) & (size - 1)
        table[slot] = k
    return table


@njit(cache=True, nogil=True)
def edges_in_order(triangles: NDArray[np.int32], n_points: int) -> Indices:
    """Return the sides of triangles by their lower and then by their higher point, stable.

    A side has the number 3 t + c of its triangle and first corner. Triangles that use a point
    twice are left out.
    """
    counts, n = np.zeros((2, n_points + 1), dtype=np.int64), 0
    for t in range(len(triangles)):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        if a == b or b == c or c == a:
            continue
        n += 3
        for i, j in ((a, b), (b, c), (c, a)):
            counts[0, max(i, j) + 1] += 1
            counts[1, min(i, j) + 1] += 1
    for turn in range(2):
        for i in range(n_points):
            counts[turn, i + 1] += counts[turn, i]
    by_high, order = np.empty(n, dtype=np.int64), np.empty(n, dtype=np.int64)
    for t in range(len(triangles)):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        if a == b or b == c or c == a:
            continue
        for corner, (i, j) in enumerate(((a, b), (b, c), (c, a))):
            high = max(i, j)
            by_high[counts[0, high]] = 3 * t + corner
            counts[0, high] += 1
    for k in range(n):
        side = by_high[k]
        low = min(triangles[side // 3, side % 3], triangles[side // 3, (side + 1) % 3])
        order[counts[1, low]] = side
        counts[1, low] += 1
    return order


@njit(cache=True, nogil=True)
def paired(
    triangles: NDArray[np.int32], order: Indices
) -> tuple[Indices, Indices, NDArray[np.int8]]:
    """Return the edges that sides in order make, k in all.

    Returns
    -------
    points : ndarray, shape (k, 2)
        The ends, in the way of the first triangle.
    owners : ndarray, shape (k, 2)
        The first two triangles; the first twice if there is but one.
    kinds : ndarray of int8, shape (k,)
    """
    n, room = 0, len(order)
    points, owners = np.empty((room, 2), dtype=np.int64), np.empty((room, 2), dtype=np.int64)
    kinds = np.empty(room, dtype=np.int8)
    count = 0
    for k in range(len(order)):
        t, c = order[k] // 3, order[k] % 3
        start, end = triangles[t, c], triangles[t, (c + 1) % 3]
        same_way = n > 0 and start == points[n - 1, 0] and end == points[n - 1, 1]
        if same_way or (n > 0 and end == points[n - 1, 0] and start == points[n - 1, 1]):
            count += 1
            if count == 2:
                owners[n - 1, 1] = t
                kinds[n - 1] = CLASHING if same_way else SHARED
            else:
                kinds[n - 1] = CROWDED
        else:
            points[n, 0], points[n, 1] = start, end
            owners[n, 0] = owners[n, 1] = t
            kinds[n], count = OPEN, 1
            n += 1
    return points[:n], owners[:n], kinds[:n]
