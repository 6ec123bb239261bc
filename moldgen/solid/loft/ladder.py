"""Pairs of loops that run side by side, joined by rungs into a ring of triangles.

Most bands of a wall lie between loops that face each other, one for one. Walking along both at
once takes a fraction of the time of a triangulation that must expect anything.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from moldgen.compiling import njit
from moldgen.solid.loft.flips import LEAST_MM2

Plan = NDArray[np.float64]
Faces = NDArray[np.int64]


def rungs(outer: Sequence[Plan], inner: Sequence[Plan]) -> Faces | None:
    """Return the strip between loops that face each other, cut into triangles.

    If all triangles turn counter-clockwise they cover the strip just once: together they go round
    every place as often as the loops do.

    Parameters
    ----------
    outer, inner : sequence of ndarray, shape (n, 2)
        Loops around a piece and around what is cut out of it: the border first, then holes, all
        with material to their left. [mm]

    Returns
    -------
    ndarray, shape (m, 3), or None
        Corner numbers, the outer loops first; None if the loops do not face each other so, or a
        triangle would be turned over or have next to no area.
    """
    if len(outer) != len(inner):
        return None
    counts = np.array([len(ring) for ring in (*outer, *inner)])
    first = np.cumsum(counts) - counts
    strips = []
    for k, other in enumerate(_partners(outer, inner)):
        # In one layout, for which alone the loops are compiled.
        around, within = np.ascontiguousarray(outer[k]), np.ascontiguousarray(inner[other])
        faces, sound = _strip(around, within, first[k], first[len(outer) + other])
        if not sound:
            return None
        strips.append(faces)
    return np.concatenate(strips) if strips else None


def _partners(outer: Sequence[Plan], inner: Sequence[Plan]) -> list[int]:
    """Return the inner loop that faces each outer one; borders come first, holes by their place."""
    if len(outer) <= 2:
        return list(range(len(outer)))
    middles = [
        np.array([(q.min(axis=0) + q.max(axis=0)) / 2 for q in rings[1:]])
        for rings in (outer, inner)
    ]
    nearest = 1 + STRtree(shapely.points(middles[1])).nearest(shapely.points(middles[0]))
    return [0, *nearest.tolist()] if len(np.unique(nearest)) == len(nearest) else []


@njit(cache=True)
def _strip(outer: Plan, inner: Plan, first_outer: int, first_inner: int) -> tuple[Faces, bool]:
    """Walk along two loops side by side, taking the step whose triangle is the rounder."""
    n, m = len(outer), len(inner)
    faces = np.empty((n + m, 3), np.int64)
    i0, j0 = _facing(outer, inner)
    i = j = 0
    for k in range(n + m):
        p, q = outer[(i0 + i) % n], inner[(j0 + j) % m]
        after_p, after_q = outer[(i0 + i + 1) % n], inner[(j0 + j + 1) % m]
        ahead, beside = _twice(p, after_p, q), _twice(p, after_q, q)
        along_outer = ahead >= LEAST_MM2
        if along_outer and beside >= LEAST_MM2:
            along_outer = not _within_circle(p, after_p, q, after_q)
        if i == n or j == m:
            along_outer = j == m
        if (ahead if along_outer else beside) < LEAST_MM2:
            return faces[:0], False
        faces[k, 0] = first_outer + (i0 + i) % n
        faces[k, 2] = first_inner + (j0 + j) % m
        if along_outer:
            i += 1
            faces[k, 1] = first_outer + (i0 + i) % n
        else:
            j += 1
            faces[k, 1] = first_inner + (j0 + j) % m
    return faces, True


@njit(cache=True)
def _facing(outer: Plan, inner: Plan) -> tuple[int, int]:
    """Return two corners that are each other's nearest of the two loops."""
    i, j = 0, _nearest(inner, outer[0])
    for _ in range(len(outer)):
        k = _nearest(outer, inner[j])
        if k == i:
            break
        i, j = k, _nearest(inner, outer[k])
    return i, j


@njit(cache=True)
def _nearest(ring: Plan, place: Plan) -> int:
    best, where = np.inf, 0
    for k in range(len(ring)):
        square = (ring[k, 0] - place[0]) ** 2 + (ring[k, 1] - place[1]) ** 2
        if square < best:
            best, where = square, k
    return where


@njit(cache=True)
def _twice(a: Plan, b: Plan, c: Plan) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))


@njit(cache=True)
def _within_circle(a: Plan, b: Plan, c: Plan, d: Plan) -> bool:
    """Tell whether ``d`` lies within the circle through three corners that turn left."""
    ax, ay, bx, by = a[0] - d[0], a[1] - d[1], b[0] - d[0], b[1] - d[1]
    cx, cy = c[0] - d[0], c[1] - d[1]
    a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    return bool(a2 * (bx * cy - cx * by) + b2 * (cx * ay - ax * cy) + c2 * (ax * by - bx * ay) > 0)
