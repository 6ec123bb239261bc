"""Strips between loops that are not everywhere equally far apart, joined where they run parallel.

Where two level lines turn together, the surface between them that bends least is made of straight
lines, each from one to the other where both have the same direction. Joined nearest to nearest
instead, a corner that gets rounder on the way down would have ridges across it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit
from moldgen.solid.loft.flips import LEAST_MM2, Faces, twice_areas

Plan = NDArray[np.float64]
Turns = NDArray[np.float64]

PARALLEL_RAD = 0.05
"""Edges whose directions differ by less may face each other. [rad]."""


def parallel_rungs(outer: Sequence[Plan], inner: Sequence[Plan]) -> Faces | None:
    """Return the strip between loops that run alike, cut into triangles.

    Parameters
    ----------
    outer, inner : sequence of ndarray, shape (n, 2)
        Loops around a piece and around what is cut out of it, one for one in the same order, all
        with material to their left. [mm]

    Returns
    -------
    ndarray, shape (m, 3), or None
        Corner numbers, the outer loops first; None if the loops do not run alike, or a triangle
        would be turned over or have next to no area.
    """
    if len(outer) != len(inner):
        return None
    first_inner = sum(map(len, outer))
    first_outer, strips = 0, []
    for around, within in zip(outer, inner, strict=True):
        start = _parallel(around, within)
        if start is None:
            return None
        faces = _walked(_turns(around, start[0]), _turns(within, start[1]))
        numbers = np.concatenate(
            [
                first_outer + (start[0] + np.arange(len(around))) % len(around),
                first_inner + (start[1] + np.arange(len(within))) % len(within),
            ]
        )
        strips.append(numbers[faces])
        first_outer, first_inner = first_outer + len(around), first_inner + len(within)
    faces = np.concatenate(strips)
    sound = twice_areas(faces, np.concatenate([*outer, *inner])).min() >= LEAST_MM2
    return faces if sound else None


def _parallel(outer: Plan, inner: Plan) -> tuple[int, int] | None:
    """Return the inner loop's longest edge, and the outer one beside it that runs alike."""
    along, beside = (np.roll(ring, -1, axis=0) - ring for ring in (outer, inner))
    longest = int(np.argmax(np.hypot(*beside.T)))
    angles = np.arctan2(*along.T[::-1]) - np.arctan2(*beside[longest][::-1])
    alike = np.flatnonzero(np.abs(_wrapped(angles)) < PARALLEL_RAD)
    if not len(alike):
        return None
    middles = outer[alike] + along[alike] / 2
    middle = inner[longest] + beside[longest] / 2
    return int(alike[np.argmin(np.hypot(*(middles - middle).T))]), longest


def _wrapped(angles_rad: Turns) -> Turns:
    return np.asarray((angles_rad + np.pi) % (2 * np.pi) - np.pi)


def _turns(ring: Plan, first: int) -> Turns:
    """Return the direction of each edge from a first one on, without jumps. [rad]."""
    edges = np.roll(np.roll(ring, -1, axis=0) - ring, -first, axis=0)
    angles = np.arctan2(edges[:, 1], edges[:, 0])
    turns = np.concatenate([angles[:1], _wrapped(np.diff(angles))])
    # Counted from what both loops have in common: the direction in which they are walked.
    return np.ascontiguousarray(np.cumsum(turns))


@njit(cache=True)
def _walked(outer: Turns, inner: Turns) -> Faces:
    """Walk along both loops at once, always the edge that turns less from the last one."""
    n, m = len(outer), len(inner)
    faces = np.empty((n + m, 3), np.int64)
    i = j = 0
    heading = inner[0]
    for k in range(n + m):
        along_outer = j == m
        if i < n and j < m:
            along_outer = abs(outer[i] - heading) <= abs(inner[j] - heading)
        faces[k, 0], faces[k, 2] = i % n, n + j % m
        if along_outer:
            heading = outer[i]
            i += 1
            faces[k, 1] = i % n
        else:
            heading = inner[j]
            j += 1
            faces[k, 1] = n + j % m
    return faces
