"""Where the edges of a contour run out while it moves inward: the corners of the wall's creases.

Between two level lines of a wall every edge carries a plane face, and neighboring faces meet in
creases. Where a short edge runs out between the two levels, three creases meet in a point that
lies on neither line; without it the faces around cannot keep their slope.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit

Plan = NDArray[np.float64]


def crease_points(ring_mm: Plan, run_mm: float) -> NDArray[np.float64]:
    """Return where edges of a ring run out on its way inward.

    Edges move inward in parallel and are cut or prolonged to meet their neighbors (the edge
    events of the straight skeleton). Encounters with far parts of the outline are not followed:
    check the points against the true distance.

    Parameters
    ----------
    ring_mm : ndarray, shape (n, 2)
        Corners with the material to the left. [mm]
    run_mm : float
        How far the ring moves. [mm]

    Returns
    -------
    ndarray, shape (k, 3)
        x, y and the distance moved when the edge ran out. [mm]

    References
    ----------
    .. [1] O. Aichholzer, F. Aurenhammer, "Straight skeletons for general polygonal figures in the
       plane," COCOON 1996.
    """
    if len(ring_mm) < 4:
        return np.empty((0, 3))
    along = np.roll(ring_mm, -1, axis=0) - ring_mm
    length = np.hypot(*along.T)
    normals = np.column_stack([-along[:, 1], along[:, 0]]) / length[:, None]
    levels = (normals * ring_mm).sum(axis=1)
    return _edge_events(normals, levels, length, run_mm)


@njit(cache=True)
def _edge_events(
    normals: Plan, levels: NDArray[np.float64], length: NDArray[np.float64], run: float
) -> NDArray[np.float64]:
    n = len(levels)
    before = (np.arange(n) - 1) % n
    after = (np.arange(n) + 1) % n
    version = np.zeros(n, np.int64)
    gone = np.zeros(n, np.bool_)
    found = np.empty((n, 3))
    count = 0
    queue = [(np.inf, 0, 0)]
    for i in range(n):
        x, y, h = _meeting(normals, levels, before[i], i, after[i])
        if -1e-9 < h <= run:
            queue.append((h, i, 0))
    heapify(queue)
    left = n
    now = 0.0
    while len(queue) > 1 and left > 3:
        h, i, stamp = heappop(queue)
        if gone[i] or stamp != version[i]:
            continue
        now = max(now, h)
        p, q = before[i], after[i]
        x, y, h = _meeting(normals, levels, p, i, q)
        found[count, 0], found[count, 1], found[count, 2] = x, y, h
        count += 1
        gone[i] = True
        left -= 1
        after[p], before[q] = q, p
        for edge in (p, q):
            version[edge] += 1
            x, y, h = _meeting(normals, levels, before[edge], edge, after[edge])
            if now - 1e-9 <= h <= run:
                heappush(queue, (h, edge, version[edge]))
    return found[:count]


@njit(cache=True)
def _meeting(
    normals: Plan, levels: NDArray[np.float64], p: int, i: int, q: int
) -> tuple[float, float, float]:
    """Return where and when three edges that move inward together meet: (x, y, distance)."""
    a, b = normals[p, 0] - normals[i, 0], normals[p, 1] - normals[i, 1]
    c, d = normals[q, 0] - normals[i, 0], normals[q, 1] - normals[i, 1]
    e, f = levels[p] - levels[i], levels[q] - levels[i]
    determinant = a * d - b * c
    if abs(determinant) < 1e-14:
        return 0.0, 0.0, np.inf
    x, y = (e * d - b * f) / determinant, (a * f - e * c) / determinant
    return x, y, normals[i, 0] * x + normals[i, 1] * y - levels[i]
