"""Corners added inside a triangulation, each of them splitting the triangles it lies in."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit
from moldgen.solid.loft.flips import Faces, Plan, cross, join, neighbors_of

ON_EDGE_MM = 2e-4
"""A new point nearer than this to an edge splits the edge. [mm]."""

Line = NDArray[np.float64]


def with_points(faces: Faces, plan_mm: Plan, points_mm: Plan, first: int) -> Faces:
    """Split the triangle under each point into three, or the two on either side of its edge.

    Parameters
    ----------
    faces : ndarray, shape (m, 3)
        Counter-clockwise triangles.
    plan_mm : ndarray, shape (n, 2)
        Positions of all corners, the new points included. [mm]
    points_mm : ndarray, shape (k, 2)
        The new points, which lie well inside the border; they count from ``first`` on. [mm]
    """
    if not len(points_mm):
        return faces
    grown = np.empty((len(faces) + 2 * len(points_mm), 3), np.int64)
    beyond = np.full_like(grown, -1)
    grown[: len(faces)], beyond[: len(faces)] = faces, neighbors_of(faces)
    across = int(np.argmax(np.ptp(points_mm, axis=0)))
    order = np.argsort(points_mm[:, across], kind="stable")
    under = _under(faces, plan_mm, points_mm, order, points_mm[order, across], across)
    return grown[: _split(grown, beyond, len(faces), plan_mm, points_mm, first, under)]


@njit(cache=True)
def _under(
    faces: Faces, plan: Plan, points: Plan, order: Faces, sorted_mm: Line, across: int
) -> Faces:
    """Return the triangle under each point, which are told in their order along one axis."""
    best, under = np.full(len(points), -np.inf), np.zeros(len(points), np.int64)
    for t in range(len(faces)):
        a, b, c = plan[faces[t, 0]], plan[faces[t, 1]], plan[faces[t, 2]]
        low = min(a[across], b[across], c[across]) - ON_EDGE_MM
        high = max(a[across], b[across], c[across]) + ON_EDGE_MM
        for place in range(np.searchsorted(sorted_mm, low), len(points)):
            if sorted_mm[place] > high:
                break
            k = order[place]
            side, _ = _nearest_side(faces, plan, t, points[k])
            if side > best[k]:
                best[k], under[k] = side, t
    return under


@njit(cache=True)
def _nearest_side(faces: Faces, plan: Plan, t: int, point: Line) -> tuple[float, int]:
    """Return how far within a triangle a point lies (negative outside), and its nearest edge."""
    least, edge = np.inf, 0
    for i in range(3):
        a, b = plan[faces[t, i]], plan[faces[t, (i + 1) % 3]]
        ux, uy = b[0] - a[0], b[1] - a[1]
        side = (ux * (point[1] - a[1]) - uy * (point[0] - a[0])) / np.sqrt(ux * ux + uy * uy)
        if side < least:
            least, edge = side, i
    return least, edge


@njit(cache=True)
def _split(
    faces: Faces, beyond: Faces, n: int, plan: Plan, points: Plan, first: int, under: Faces
) -> int:
    """Add points one after another; those still to come move on into the parts of a triangle."""
    head, after = np.full(len(faces), -1), np.empty(len(points), np.int64)
    for k in range(len(points) - 1, -1, -1):
        after[k], head[under[k]] = head[under[k]], k
    for k in range(len(points)):
        t = under[k]
        beside, i = _nearest_side(faces, plan, t, points[k])
        other = beyond[t, (i + 2) % 3] if beside <= ON_EDGE_MM else -1
        if other >= 0:
            a, b, d = faces[t, i], faces[t, (i + 1) % 3], faces[other // 3, other % 3]
            if not _sees(plan, first + k, a, d, b):
                other = -1
        if other < 0:
            parts = _into_three(faces, beyond, t, i, first + k, n)
        else:
            parts = _into_four(faces, beyond, t, i, other, first + k, n)
        n += 2
        _hand_on(faces, plan, points, parts, k, head, after, under)
    return n


@njit(cache=True)
def _into_three(faces: Faces, beyond: Faces, t: int, i: int, p: int, n: int) -> Faces:
    a, b, c = faces[t, i], faces[t, (i + 1) % 3], faces[t, (i + 2) % 3]
    past_bc, past_ca, past_ab = beyond[t, i], beyond[t, (i + 1) % 3], beyond[t, (i + 2) % 3]
    parts = np.array([t, n, n + 1])
    _around(faces, beyond, parts, p, np.array([b, c, a]), np.array([past_bc, past_ca, past_ab]))
    return parts


@njit(cache=True)
def _into_four(faces: Faces, beyond: Faces, t: int, i: int, other: int, p: int, n: int) -> Faces:
    u, j = other // 3, other % 3
    a, b, c = faces[t, i], faces[t, (i + 1) % 3], faces[t, (i + 2) % 3]
    past = np.array(
        [beyond[t, i], beyond[t, (i + 1) % 3], beyond[u, (j + 1) % 3], beyond[u, (j + 2) % 3]]
    )
    parts = np.array([t, n, u, n + 1])
    _around(faces, beyond, parts, p, np.array([b, c, a, faces[u, j]]), past)
    return parts


@njit(cache=True)
def _around(faces: Faces, beyond: Faces, parts: Faces, p: int, corners: Faces, past: Faces) -> None:
    """Write the triangles around a new corner, which is the last one of each."""
    count = len(parts)
    for k in range(count):
        t, follows = parts[k], parts[(k + 1) % count]
        faces[t, 0], faces[t, 1], faces[t, 2] = corners[k], corners[(k + 1) % count], p
        join(beyond, t, 2, past[k])
        join(beyond, t, 0, 3 * follows + 1)


@njit(cache=True)
def _hand_on(
    faces: Faces,
    plan: Plan,
    points: Plan,
    parts: Faces,
    done: int,
    head: Faces,
    after: Faces,
    under: Faces,
) -> None:
    """Give the points waiting in triangles that were split to the parts they lie in."""
    waiting = np.array([head[t] for t in parts])
    head[parts] = -1
    for first in waiting:
        k = first
        while k >= 0:
            follows = after[k]
            if k > done:
                best = -np.inf
                for t in parts:
                    side, _ = _nearest_side(faces, plan, t, points[k])
                    if side > best:
                        best, under[k] = side, t
                after[k], head[under[k]] = head[under[k]], k
            k = follows


@njit(cache=True)
def _sees(plan: Plan, p: int, a: int, d: int, b: int) -> bool:
    """Tell whether a point just across the edge from ``a`` to ``b`` sees both sides at ``d``."""
    return bool(cross(plan, a, d, p) > 0 and cross(plan, d, b, p) > 0)
