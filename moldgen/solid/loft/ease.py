"""Settle the heights of a wall's corners so that no triangle is steeper than allowed.

Where strokes run out into ridges, corners on the exact wall can still span a triangle steeper than
the wall. The heights nearest to the given ones that lean enough everywhere are found by projecting
them onto one broken limit after another; each limit is a convex set, so this ends where all of them
meet.

References
----------
.. [1] H. H. Bauschke, J. M. Borwein, "On projection algorithms for solving convex feasibility
   problems," SIAM Review 38, 1996.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit
from moldgen.solid.loft.flips import Faces

Points = NDArray[np.float64]

SLIVER_MM = 1e-3
"""Triangles thinner than this are not judged. [mm]."""

UPRIGHT_MM2 = 1e-12
"""A triangle of less than half this plan area is upright. [mm²]."""

MOST_ROUNDS = 2000
"""Projections per triangle that breaks its limit, at most. [-]."""


def steepest(faces: Faces, points_mm: Points) -> tuple[float, int]:
    """Return the greatest rise over run of triangles that are no slivers.

    Parameters
    ----------
    faces : ndarray, shape (m, 3)
    points_mm : ndarray, shape (n, 3)

    Returns
    -------
    float, int
        Rise over run and the triangle's number; (0, -1) if there is nothing to judge.
    """
    slope, number = _steepest(faces, points_mm)
    return float(slope), int(number)


def eased(faces: Faces, points_mm: Points, held: NDArray[np.bool_], limit: float) -> Points:
    """Return the corners with the nearest heights whose triangles rise at most as the limit.

    Parameters
    ----------
    faces : ndarray, shape (m, 3)
    points_mm : ndarray, shape (n, 3)
    held : ndarray, shape (n,)
        Corners whose heights stay.
    limit : float
        Greatest rise over run.

    Returns
    -------
    ndarray, shape (n, 3)
        The same array if no triangle was too steep, or none could be made less so. [mm]
    """
    before, _ = _steepest(faces, points_mm)
    if before <= limit:
        return points_mm
    settled = points_mm.copy()
    order = np.argsort(faces.ravel(), kind="stable")
    starts = np.searchsorted(faces.ravel()[order], np.arange(len(points_mm) + 1))
    _settle(faces, settled, held, limit, order // 3, starts)
    return settled if _steepest(faces, settled)[0] < before else points_mm


@njit(cache=True)
def gradient(a: Points, b: Points, c: Points) -> tuple[float, float, float]:
    """Return the slope along x and y of a triangle, and twice its plan area.

    Slivers have no slope, and an upright triangle has an infinite one.
    """
    ux, uy, u = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, v = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    twice = ux * vy - uy * vx
    across_x, across_y = u * vy - v * uy, v * ux - u * vx
    longest = max(
        ux * ux + uy * uy + u * u,
        vx * vx + vy * vy + v * v,
        (ux - vx) ** 2 + (uy - vy) ** 2 + (u - v) ** 2,
    )
    if across_x**2 + across_y**2 + twice**2 < SLIVER_MM**2 * longest:
        return 0.0, 0.0, twice
    if twice < UPRIGHT_MM2:
        return np.inf, 0.0, twice
    return across_x / twice, across_y / twice, twice


@njit(cache=True)
def _steepest(faces: Faces, points: Points) -> tuple[float, int]:
    worst, number = 0.0, -1
    for t in range(faces.shape[0]):
        x, y, _ = gradient(points[faces[t, 0]], points[faces[t, 1]], points[faces[t, 2]])
        slope = np.hypot(x, y)
        if slope > worst:
            worst, number = slope, t
    return worst, number


@njit(cache=True)
def _settle(
    faces: Faces,
    points: Points,
    held: NDArray[np.bool_],
    limit: float,
    around: NDArray[np.int64],
    starts: NDArray[np.int64],
) -> None:
    """Lower and lift free corners, triangle by triangle, until none is too steep."""
    n = faces.shape[0]
    queue, queued = np.empty(n, np.int64), np.zeros(n, np.bool_)
    first, waiting = 0, 0
    low, high = points[:, 2].min(), points[:, 2].max()
    for t in range(n):
        x, y, _ = gradient(points[faces[t, 0]], points[faces[t, 1]], points[faces[t, 2]])
        if np.hypot(x, y) > limit:
            queue[waiting], queued[t] = t, True
            waiting += 1
    left = MOST_ROUNDS * waiting + 20_000
    while waiting > 0 and left > 0:
        t = queue[first]
        first, waiting, left = (first + 1) % n, waiting - 1, left - 1
        queued[t] = False
        if not _project(faces[t], points, held, limit, low, high):
            continue
        for i in range(3):
            corner = faces[t, i]
            if held[corner]:
                continue
            for k in range(starts[corner], starts[corner + 1]):
                if not queued[around[k]]:
                    queue[(first + waiting) % n], queued[around[k]] = around[k], True
                    waiting += 1


@njit(cache=True)
def _project(
    face: NDArray[np.int64],
    points: Points,
    held: NDArray[np.bool_],
    limit: float,
    low: float,
    high: float,
) -> bool:
    """Move free corners just so far that the triangle keeps the limit; tell whether any did."""
    x, y, twice = gradient(points[face[0]], points[face[1]], points[face[2]])
    slope = np.hypot(x, y)
    if slope <= limit or twice < UPRIGHT_MM2:
        return False
    shares, total = np.zeros(3), 0.0
    for i in range(3):
        if held[face[i]]:
            continue
        a, b = points[face[(i + 1) % 3]], points[face[(i + 2) % 3]]
        shares[i] = (x * (a[1] - b[1]) + y * (b[0] - a[0])) / (twice * slope)
        total += shares[i] ** 2
    if total == 0.0:
        return False
    step = (slope - limit * (1 - 1e-4)) / total
    for i in range(3):
        points[face[i], 2] = min(max(points[face[i], 2] - step * shares[i], low), high)
    return True
