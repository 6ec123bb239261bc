"""Edge flips inside a band between two level lines, so that no triangle is steeper than it must be.

A band can be cut into triangles in many ways, and a bad cut joins corners that lie nearly in line:
such a sliver stands steeper than the wall. Flipping edges until the triangulation is Delaunay gives
the smoothest surface over the given corners; a second pass then flips whatever still lowers the
steeper of two neighbors.

References
----------
.. [1] C. L. Lawson, "Software for C1 surface interpolation," in Mathematical Software III, 1977:
   the local optimization procedure.
.. [2] S. Rippa, "Minimal roughness property of the Delaunay triangulation," Computer Aided
   Geometric Design 7, 1990.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit

Faces = NDArray[np.int64]
Plan = NDArray[np.float64]

LEAST_MM2 = 1e-7
"""A triangle of less than half this area has corners in line. [mm²]."""

MOST_FLIPS = 64
"""Flips per edge, at most: far more than are ever wanted, a bound against rounding. [-]."""


def smoothed(faces: Faces, plan_mm: Plan, heights_mm: Plan) -> Faces:
    """Return the same region cut into triangles that are as little steep as flips can make them.

    Parameters
    ----------
    faces : ndarray, shape (m, 3)
        Counter-clockwise triangles; edges that belong to one triangle only are never flipped.
    plan_mm : ndarray, shape (n, 2)
        Corner positions. [mm]
    heights_mm : ndarray, shape (n,)
        Corner heights. [mm]
    """
    if len(faces) < 2:
        return faces
    faces = np.ascontiguousarray(faces)
    neighbors = neighbors_of(faces)
    _flip(faces, neighbors, plan_mm, heights_mm, False)
    _flip(faces, neighbors, plan_mm, heights_mm, True)
    return faces


def delaunay(faces: Faces, plan_mm: Plan) -> Faces:
    """Return the same region in the Delaunay triangulation of its corners, borders kept.

    Triangles whose corners lie in line are gone after it, unless they lie on the border.
    """
    faces = np.ascontiguousarray(faces)
    _flip(faces, neighbors_of(faces), plan_mm, np.zeros(len(plan_mm)), False)
    return faces


def twice_areas(faces: Faces, plan_mm: Plan) -> Plan:
    """Return twice the signed plan area of every triangle, shape (m,). [mm²]."""
    corners = plan_mm[faces]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.asarray(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])


def neighbors_of(faces: Faces) -> Faces:
    """Return, for the edge opposite each corner, ``3 * triangle + corner`` beyond it, or -1."""
    starts, ends = faces[:, [1, 2, 0]].ravel(), faces[:, [2, 0, 1]].ravel()
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    keys = low * (int(faces.max()) + 1) + high
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    same = np.flatnonzero(ordered[1:] == ordered[:-1])
    beyond = np.full(len(keys), -1, np.int64)
    beyond[order[same]], beyond[order[same + 1]] = order[same + 1], order[same]
    return beyond.reshape(-1, 3)


@njit(cache=True)
def _flip(faces: Faces, neighbors: Faces, plan: Plan, heights: Plan, by_slope: bool) -> None:
    """Flip edges in place until none asks for it; a bound on the work guards against rounding."""
    n = 3 * faces.shape[0]
    queue, queued = np.arange(n), np.ones(n, np.bool_)
    first, waiting, left = 0, n, MOST_FLIPS * n
    while waiting > 0 and left > 0:
        edge = queue[first]
        queued[edge] = False
        first, waiting = (first + 1) % n, waiting - 1
        other = neighbors[edge // 3, edge % 3]
        if other < 0 or not _wanted(faces, plan, heights, edge, other, by_slope):
            continue
        t, u = edge // 3, other // 3
        _swap(faces, neighbors, t, edge % 3, u, other % 3)
        left -= 1
        for again in (3 * t + 1, 3 * t + 2, 3 * u + 1, 3 * u + 2):
            if not queued[again]:
                queue[(first + waiting) % n], queued[again] = again, True
                waiting += 1


@njit(cache=True)
def _wanted(faces: Faces, plan: Plan, heights: Plan, edge: int, other: int, by_slope: bool) -> bool:
    """Tell whether the edge between two triangles is better turned into their other diagonal."""
    t, i = edge // 3, edge % 3
    a, b, c = faces[t, i], faces[t, (i + 1) % 3], faces[t, (i + 2) % 3]
    d = faces[other // 3, other % 3]
    then = min(cross(plan, a, b, d), cross(plan, a, d, c))
    if then <= 1e-12:
        return False
    now = min(cross(plan, a, b, c), cross(plan, d, c, b))
    if min(now, then) < LEAST_MM2:
        return bool(then > now)
    if by_slope:
        return bool(_less_steep(plan, heights, a, b, c, d))
    return bool(_in_circle(plan, a, b, c, d))


@njit(cache=True)
def _swap(faces: Faces, neighbors: Faces, t: int, i: int, u: int, j: int) -> None:
    """Turn the diagonal of two triangles: (a, b, c) and (d, c, b) become (c, a, d) and (b, d, a).

    The new diagonal lies opposite the first corner of either triangle.
    """
    a, b, c = faces[t, i], faces[t, (i + 1) % 3], faces[t, (i + 2) % 3]
    d = faces[u, j]
    beyond_ca, beyond_ab = neighbors[t, (i + 1) % 3], neighbors[t, (i + 2) % 3]
    beyond_bd, beyond_dc = neighbors[u, (j + 1) % 3], neighbors[u, (j + 2) % 3]
    faces[t, 0], faces[t, 1], faces[t, 2] = c, a, d
    faces[u, 0], faces[u, 1], faces[u, 2] = b, d, a
    join(neighbors, t, 0, 3 * u)
    join(neighbors, t, 1, beyond_dc)
    join(neighbors, t, 2, beyond_ca)
    join(neighbors, u, 0, 3 * t)
    join(neighbors, u, 1, beyond_ab)
    join(neighbors, u, 2, beyond_bd)


@njit(cache=True)
def join(neighbors: Faces, t: int, corner: int, beyond: int) -> None:
    """Note what lies beyond the edge opposite a corner, on both sides of it."""
    neighbors[t, corner] = beyond
    if beyond >= 0:
        neighbors[beyond // 3, beyond % 3] = 3 * t + corner


@njit(cache=True)
def cross(plan: Plan, a: int, b: int, c: int) -> float:
    """Return twice the signed plan area of three corners. [mm²]."""
    ux, uy = plan[b, 0] - plan[a, 0], plan[b, 1] - plan[a, 1]
    return float(ux * (plan[c, 1] - plan[a, 1]) - (plan[c, 0] - plan[a, 0]) * uy)


@njit(cache=True)
def _in_circle(plan: Plan, a: int, b: int, c: int, d: int) -> bool:
    """Tell whether ``d`` lies clearly within the circle through ``a``, ``b`` and ``c``."""
    ax, ay = plan[a, 0] - plan[d, 0], plan[a, 1] - plan[d, 1]
    bx, by = plan[b, 0] - plan[d, 0], plan[b, 1] - plan[d, 1]
    cx, cy = plan[c, 0] - plan[d, 0], plan[c, 1] - plan[d, 1]
    a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    first, second = a2 * (bx * cy - cx * by), b2 * (cx * ay - ax * cy)
    third = c2 * (ax * by - bx * ay)
    size = abs(first) + abs(second) + abs(third)
    return bool(first + second + third > 1e-9 * size)


@njit(cache=True)
def _less_steep(plan: Plan, heights: Plan, a: int, b: int, c: int, d: int) -> bool:
    """Tell whether the other diagonal clearly lowers the steeper of the two triangles."""
    now = max(_slope(plan, heights, a, b, c), _slope(plan, heights, d, c, b))
    then = max(_slope(plan, heights, c, a, d), _slope(plan, heights, b, d, a))
    return then < now * (1 - 1e-6)


@njit(cache=True)
def _slope(plan: Plan, heights: Plan, a: int, b: int, c: int) -> float:
    """Return rise over run of a triangle."""
    ux, uy = plan[b, 0] - plan[a, 0], plan[b, 1] - plan[a, 1]
    vx, vy = plan[c, 0] - plan[a, 0], plan[c, 1] - plan[a, 1]
    u, v = heights[b] - heights[a], heights[c] - heights[a]
    across = np.hypot(u * vx - v * ux, u * vy - v * uy)
    if across == 0.0:
        return 0.0
    return float(across / max(ux * vy - uy * vx, 1e-300))
