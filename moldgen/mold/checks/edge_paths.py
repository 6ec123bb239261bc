"""Straight paths over a surface: how tightly it turns square to each of its edges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats, Indices
from moldgen.compiling import njit
from moldgen.solid.mesh import Mesh
from moldgen.solid.zbuffer import in_bands

Surface = tuple[Floats, Indices, Indices, Indices, Floats]

_MOST_CROSSED = 48
# Fewer paths than this are walked before a second thread has started.
_WORTH_THREADS = 2_000


def tightest(
    mesh: Mesh,
    pairs: Indices,
    points: Indices,
    *,
    turns_rad: Floats,
    open_triangles: NDArray[np.bool_],
    chosen: Indices,
    reach_mm: float,
    telling_deg: float,
    sharp_deg: float,
    alone_deg: float,
    facet_mm: float,
) -> Floats:
    """Return the tightest radius on the path square to each chosen edge. [mm].

    Parameters
    ----------
    pairs, points : ndarray, shape (k, 2)
        Triangles and ends of every shared edge.
    turns_rad : ndarray, shape (k,)
        Turn at every shared edge, signed. [rad]
    open_triangles : ndarray, shape (m,)
        Triangles that a path may enter.
    chosen : ndarray, shape (n,)
        Edges to start from.
    reach_mm : float
        Length of the path to either side. [mm]
    telling_deg, sharp_deg, alone_deg : float
        Least turn of a stretch that counts, of a single edge that may be sharp, and of one that
        is if it turns alone. [°]
    facet_mm : float
        Greatest stand-off of a chord that still belongs to a round. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Radius; 0 for a sharp edge, inf where the path does not turn that much. [mm]
    """
    beside = np.full((len(mesh.triangles), 3), -1, np.int64)
    sides = np.empty((len(pairs), 2), np.int64)
    for k in (0, 1):
        corner = mesh.triangles[pairs[:, k]]
        # The first triangle runs the edge forward, the second backward.
        sides[:, k] = np.argmax(corner == points[:, k, None], axis=1)
        beside[pairs[:, k], sides[:, k]] = np.arange(len(pairs))
    rules = np.array(
        [reach_mm, np.radians(telling_deg), np.radians(sharp_deg), facet_mm, np.radians(alone_deg)]
    )
    surface = (_unfolded(mesh), beside, np.ascontiguousarray(pairs), sides, turns_rad)
    radii = np.full(len(chosen), np.inf)
    in_bands(
        lambda first, end: _tightest(
            surface, open_triangles, chosen[first:end], rules, radii[first:end]
        ),
        len(chosen),
        threads=len(chosen) > _WORTH_THREADS,
    )
    return radii


def _unfolded(mesh: Mesh) -> Floats:
    """Lay every triangle flat on each of its sides, shape (m, 3, 3).

    For side k: its length, and the third corner along and across it. [mm].
    """
    flat = np.empty((len(mesh.triangles), 3, 3))
    for k in range(3):
        start = mesh.corners_mm[:, k]
        side = mesh.corners_mm[:, (k + 1) % 3] - start
        apex = mesh.corners_mm[:, (k + 2) % 3] - start
        # Coordinate by coordinate: along rows of three numpy takes several times as long.
        x, y, z = side.T
        length = np.sqrt(x**2 + y**2 + z**2)
        flat[:, k, 0] = length
        flat[:, k, 1] = np.einsum("ij,ij->i", side, apex) / np.maximum(length, 1e-300)
        flat[:, k, 2] = 2 * mesh.areas_mm2 / np.maximum(length, 1e-300)
    return flat


@njit(cache=True)
def _walk(
    surface: Surface,
    enter: NDArray[np.bool_],
    edge: int,
    side: int,
    reach: float,
    at: Floats,
    turned: Floats,
) -> int:
    """Walk from the middle of an edge into one of its triangles; note where it turns.

    The path is kept in the triangle laid flat on the side it was entered by: x along that side,
    heading (hx, hy) with hy across it.
    """
    flat, beside, pairs, sides, turns = surface
    t, k = pairs[edge, side], sides[edge, side]
    x, hx, hy, gone = flat[t, k, 0] / 2, 0.0, 1.0, 0.0
    for n in range(at.shape[0]):
        length, ax, ay = flat[t, k]
        if ay < 1e-12:
            return n
        right = hx * ay - hy * (ax - x) > 0
        corner = length if right else 0.0
        ex = ax - corner
        cross = hx * ay - hy * ex
        if cross == 0.0:
            return n
        step = (corner - x) * ay / cross
        gone += max(step, 0.0)
        left = (k + (1 if right else 2)) % 3
        crossed = beside[t, left]
        if gone > reach or crossed < 0:
            return n
        other = 1 if pairs[crossed, 0] == t else 0
        # Neither the foot nor the rim of a vent is an edge of the part.
        if not enter[pairs[crossed, other]]:
            return n
        at[n], turned[n] = gone, turns[crossed]
        share = min(max(step * hy / ay, 0.0), 1.0)
        away = (hx * ex + hy * ay) / flat[t, left, 0]
        x = ((1 - share) if right else share) * flat[t, left, 0]
        hx = -away if right else away
        hy = np.sqrt(max(1.0 - hx * hx, 0.0))
        t, k = pairs[crossed, other], sides[crossed, other]
    return int(at.shape[0])


@njit(cache=True)
def _single(
    turn: float, sign: float, before: tuple[Floats, Floats, int], after: tuple[Floats, Floats, int],
    rules: Floats,
) -> float:  # fmt: skip
    """Radius told by one edge alone: half way to the next edge that turns likewise."""
    gap, sides = 0.0, 0
    for at, turned, n in (before, after):
        for i in range(n):
            if sign * turned[i] > turn / 3:
                gap += at[i]
                sides += 1
                break
    if sides == 0:
        return 0.0 if turn > rules[4] else np.inf
    radius = gap / sides / (2 * np.tan(turn / 2))
    if turn > rules[2] and radius * (1 - np.cos(turn / 2)) > rules[3]:
        return 0.0
    return float(radius)


@njit(cache=True)
def _stretch(
    turn: float, sign: float, before: tuple[Floats, Floats, int], after: tuple[Floats, Floats, int],
    telling: float,
) -> float:  # fmt: skip
    """Tightest radius of a stretch between two crossed edges, each of which counts half."""
    best = np.inf
    behind, first, back = 0.0, turn, 0.0
    for i in range(-1, before[2]):
        if i >= 0:
            first, back = sign * before[1][i], before[0][i]
            behind += first
        ahead = turn + behind - first / 2
        for j in range(after[2]):
            last = sign * after[1][j]
            stretch = ahead + last / 2
            ahead += last
            if stretch >= telling and first > 0 and last > 0:
                best = min(best, (back + after[0][j]) / stretch)
                break
    return best


@njit(cache=True, nogil=True)
def _tightest(
    surface: Surface, enter: NDArray[np.bool_], chosen: Indices, rules: Floats, radii: Floats
) -> None:
    turns = surface[4]
    at = np.empty((2, _MOST_CROSSED))
    turned = np.empty((2, _MOST_CROSSED))
    crossed = np.empty(2, np.int64)
    for c in range(len(chosen)):
        edge = chosen[c]
        sign = 1.0 if turns[edge] > 0 else -1.0
        turn = abs(turns[edge])
        for side in range(2):
            crossed[side] = _walk(surface, enter, edge, side, rules[0], at[side], turned[side])
        before, after = (at[0], turned[0], crossed[0]), (at[1], turned[1], crossed[1])
        if turn >= rules[1]:
            radii[c] = _single(turn, sign, before, after, rules)
        radii[c] = min(
            radii[c],
            _stretch(turn, sign, before, after, rules[1]),
            _stretch(turn, sign, after, before, rules[1]),
        )
