"""A triangulation cut along a ring: what of it lies inside, its edge on the ring."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit

Mask = NDArray[np.bool_]
Triangles = NDArray[np.int64]
_NEAR = 0.3
"""Points nearer to the ring than this share of their shortest side are moved onto it."""
_SHARP_DEG = 20.0
"""Turn of the ring from which on it is a corner. [°]."""


def cut_by_ring(
    points: Floats, triangles: Triangles, ring: Floats
) -> tuple[Floats, Triangles, Mask]:
    """Return what of a triangulation lies in a ring, with the points on the ring marked.

    Points near the ring are moved onto it first, so that no slivers are cut off; the ring's
    corners take the nearest point if it is near enough, and are cut off by less than a side
    otherwise.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Corners of triangles that cover the ring. [mm]
    triangles : ndarray, shape (m, 3)
        Counter-clockwise.
    ring : ndarray, shape (k, 2)
        Counter-clockwise, not repeated at its end. [mm]
    """
    inside, nearest = _inside_mm(points, ring)
    side = _shortest_side(points, triangles)
    points, inside = points.copy(), inside.copy()
    _take_corners(points, inside, ring, side)
    near = (np.abs(inside) < _NEAR * side) & (inside != 0.0)
    points[near], inside[near] = nearest[near], 0.0
    crossing = _crossed_edges(triangles, inside)
    share = inside[crossing[:, 0]] / (inside[crossing[:, 0]] - inside[crossing[:, 1]])
    cuts = points[crossing[:, 0]] + share[:, None] * (
        points[crossing[:, 1]] - points[crossing[:, 0]]
    )
    cuts = _inside_mm(cuts, ring)[1]
    all_points = np.concatenate([points, cuts])
    kept = _kept(triangles, inside, crossing, all_points)
    middles = all_points[kept].mean(axis=1)
    on_ring = np.concatenate([inside == 0.0, np.ones(len(cuts), dtype=bool)])
    bridging = on_ring[kept].all(axis=1)
    kept = kept[~bridging | (_inside_mm(middles, ring)[0] > 0.0)]
    used, renamed = np.unique(kept, return_inverse=True)
    return all_points[used], renamed.reshape(-1, 3), on_ring[used]


@njit(cache=True, nogil=True, error_model="numpy")
def _inside_mm(places: Floats, ring: Floats) -> tuple[Floats, Floats]:
    """Return how far each place lies inside a ring, outside less than 0, and the ring nearest."""
    distances, nearest = np.empty(len(places)), np.empty((len(places), 2))
    for k in range(len(places)):
        x, y = places[k]
        least, within = np.inf, False
        ax, ay = ring[-1]
        for side in range(len(ring)):
            bx, by = ring[side]
            ux, uy = bx - ax, by - ay
            share = ((x - ax) * ux + (y - ay) * uy) / (ux * ux + uy * uy)
            share = min(max(share, 0.0), 1.0)
            fx, fy = ax + share * ux, ay + share * uy
            squared = (x - fx) ** 2 + (y - fy) ** 2
            if squared < least:
                least, nearest[k, 0], nearest[k, 1] = squared, fx, fy
            if (ay > y) != (by > y) and x < ax + (y - ay) / uy * ux:
                within = not within
            ax, ay = bx, by
        distances[k] = np.sqrt(least) if within else -np.sqrt(least)
    return distances, nearest


def _shortest_side(points: Floats, triangles: Triangles) -> Floats:
    """Return the shortest side at every point. [mm]."""
    shortest = np.full(len(points), np.inf)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        a, b = triangles[:, i], triangles[:, j]
        lengths = np.linalg.norm(points[a] - points[b], axis=1)
        np.minimum.at(shortest, a, lengths)
        np.minimum.at(shortest, b, lengths)
    return shortest


def _take_corners(points: Floats, inside: Floats, ring: Floats, side: Floats) -> None:
    """Move the nearest point onto every corner of the ring that has one near enough."""
    back, ahead = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.arctan2(
        back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0], np.sum(back * ahead, axis=1)
    )
    for corner in ring[np.abs(turn) > np.deg2rad(_SHARP_DEG)]:
        away = np.linalg.norm(points - corner, axis=1)
        nearest = int(np.argmin(away))
        if away[nearest] < 1.5 * _NEAR * side[nearest] and inside[nearest] != 0.0:
            points[nearest], inside[nearest] = corner, 0.0


def _crossed_edges(triangles: Triangles, inside: Floats) -> Triangles:
    """Return the sides whose ends lie on different sides of the ring, each once."""
    sides = np.sort(
        np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1
    )
    crossed = inside[sides[:, 0]] * inside[sides[:, 1]] < 0.0
    return np.unique(sides[crossed], axis=0).reshape(-1, 2)


def _kept(triangles: Triangles, inside: Floats, crossing: Triangles, points: Floats) -> Triangles:
    """Return triangles that lie inside, and the inner parts of those that are crossed."""
    n = len(inside)
    keys = crossing[:, 0] * n + crossing[:, 1]
    within, beyond = inside[triangles] > 0.0, inside[triangles] < 0.0
    whole = triangles[~beyond.any(axis=1)]
    parts = [whole]
    mixed = within.any(axis=1) & beyond.any(axis=1)
    for turn in range(3):
        turned = np.roll(triangles[mixed], -turn, axis=1)
        signs = np.sign(inside[turned])
        a, b, c = turned.T
        ab, bc, ca = (_cut(keys, n, p, q) for p, q in ((a, b), (b, c), (c, a)))
        alone = (signs == [1, -1, -1]).all(axis=1)
        parts.append(np.column_stack([a, ab, ca])[alone])
        left = (signs == [1, 0, -1]).all(axis=1)
        parts.append(np.column_stack([a, b, ca])[left])
        right = (signs == [1, -1, 0]).all(axis=1)
        parts.append(np.column_stack([a, ab, c])[right])
        two = (signs == [1, 1, -1]).all(axis=1)
        quads = np.column_stack([a, b, bc, ca])[two]
        first = np.linalg.norm(points[quads[:, 0]] - points[quads[:, 2]], axis=1)
        second = np.linalg.norm(points[quads[:, 1]] - points[quads[:, 3]], axis=1)
        short = first <= second
        parts += [quads[short][:, [0, 1, 2]], quads[short][:, [0, 2, 3]]]
        parts += [quads[~short][:, [0, 1, 3]], quads[~short][:, [1, 2, 3]]]
    return np.concatenate(parts)


def _cut(keys: Triangles, n: int, p: Triangles, q: Triangles) -> Triangles:
    """Return the index of the point that cuts each side, whatever where there is none."""
    wanted = np.minimum(p, q) * n + np.maximum(p, q)
    found: Triangles = n + np.minimum(np.searchsorted(keys, wanted), max(len(keys) - 1, 0))
    return found
