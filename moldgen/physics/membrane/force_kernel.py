"""Compiled loops of the forming run: forces and energy of the triangles.

Points are rows of four numbers, the last of them 0, and so are forces; see
`moldgen.physics.membrane.rows`. Triangles are taken in batches, so that the arithmetic between
fetching their corners and handing out their forces is done for several at once by the processor.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit
from moldgen.physics.membrane.rows import give_pulls, take_sides

Indices = NDArray[np.uint32]
AT_ONCE = 64
_SIXTH = 1.0 / 6.0
LOOSE = {"reassoc", "contract", "arcp", "nsz"}
"""Sums may be packed and quotients turned over, always the same way in the same program."""
SHUT = 130.0
"""One over the squared cosine of 95°: sheet that hangs over that far bears no pressure."""

SPARE_POINTS = np.array([[0.0, 0, 0, 0], [1, 0, 0, 0], [0, 1, 0, 0]])
SPARE_METRIC = np.array([0.5, 0.0, 0.5, 2.0])
"""A triangle at the end that nothing hangs on fills the last batch up."""

FREE, ON_MOLD, ON_FLOOR, HELD = 0, 1, 2, 3


class SheetConstants(NamedTuple):
    """What does not change along a run.

    Attributes
    ----------
    triangles : ndarray of uint32, shape (m, 3)
    metric : ndarray, shape (m, 4)
        Flat area times the three entries of the inverse of the metric of two sides, and one
        over that area.
    law : ndarray, shape (4,)
        c1, c2, the stretch the sheet was clamped with, and 1 if air gets into folds, else 0.
    """

    triangles: Indices
    metric: Floats
    law: Floats


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def pull(
    corners: Indices, metric: Floats, law: Floats, points: Floats, pulls: Floats, areas: Floats
) -> None:
    """Add up the forces and facing areas of triangles in rows of their corners.

    Parameters
    ----------
    corners : ndarray of uint32, shape (AT_ONCE k, 3)
    metric : ndarray, shape (k, 4, AT_ONCE)
    law : ndarray, shape (4,)
    points, pulls, areas : ndarray, shape (n, 4)
    """
    sides, pushes = np.empty((6, AT_ONCE)), np.empty((9, AT_ONCE))
    for start in range(0, len(corners), AT_ONCE):
        for k in range(0, AT_ONCE, 4):
            take_sides(points, corners, start + k, sides, k)
        _push(sides, metric, start // AT_ONCE, law, pushes)
        for k in range(0, AT_ONCE, 4):
            give_pulls(pulls, areas, corners, start + k, pushes, k)


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _push(sides: Floats, metric: Floats, at: int, law: Floats, pushes: Floats) -> None:
    """Work out what pulls at two corners, and a third of the area, for a batch of triangles.

    With the sides u and v and the inverse H of their flat metric, trace and determinant of the
    Cauchy-Green tensor are those of H times the metric of u and v now; the pull at a corner is
    how the energy grows with its side.
    """
    c1, c2, taut2, least = law[0], law[1], law[2] * law[2], law[3]
    for k in range(AT_ONCE):
        ux, uy, uz = sides[0, k], sides[1, k], sides[2, k]
        vx, vy, vz = sides[3, k], sides[4, k], sides[5, k]
        h_uu, h_uv, h_vv, per = (
            metric[at, 0, k],
            metric[at, 1, k],
            metric[at, 2, k],
            metric[at, 3, k],
        )
        uu = ux * ux + uy * uy + uz * uz
        uv = ux * vx + uy * vy + uz * vz
        vv = vx * vx + vy * vy + vz * vz
        trace = (h_uu * uu + 2.0 * h_uv * uv + h_vv * vv) * per * taut2
        quarter = 0.25 * per * taut2 * taut2
        inverse = 1.0 / ((uu * vv - uv * uv) * quarter * per)
        by_trace = (c1 + c2 * inverse) * taut2
        by_det = (c2 - (c1 + c2 * trace) * inverse * inverse) * quarter
        s_uu = -by_trace * h_uu - by_det * vv
        s_uv = by_det * uv - by_trace * h_uv
        s_vv = -by_trace * h_vv - by_det * uu
        pushes[0, k], pushes[3, k] = s_uu * ux + s_uv * vx, s_uv * ux + s_vv * vx
        pushes[1, k], pushes[4, k] = s_uu * uy + s_uv * vy, s_uv * uy + s_vv * vy
        pushes[2, k], pushes[5, k] = s_uu * uz + s_uv * vz, s_uv * uz + s_vv * vz
        away, side, down = uz * vy - uy * vz, ux * vz - uz * vx, uy * vx - ux * vy
        # Air does not get into a fold, where the sheet lies on itself.
        over = SHUT * down * down / (away * away + side * side + down * down)
        share = 1.0 - over
        share = share if share > least else least
        share = _SIXTH * (share if down > 0.0 else 1.0)
        pushes[6, k] = away * share
        pushes[7, k] = side * share
        pushes[8, k] = down * share


@njit(cache=True, nogil=True, error_model="numpy")
def energy_mm2(sheet: SheetConstants, points: Floats) -> float:
    """Return the energy stored in the sheet, over modulus and gauge. [mm²]."""
    triangles, metric = sheet.triangles, sheet.metric
    c1, c2, taut2 = sheet.law[0], sheet.law[1], sheet.law[2] ** 2
    stored = 0.0
    for e in range(len(triangles)):
        i, j, l = triangles[e, 0], triangles[e, 1], triangles[e, 2]  # noqa: E741
        uu = uv = vv = 0.0
        for d in range(3):
            u, v = points[j, d] - points[i, d], points[l, d] - points[i, d]
            uu += u * u
            uv += u * v
            vv += v * v
        per = metric[e, 3]
        trace = (metric[e, 0] * uu + 2.0 * metric[e, 1] * uv + metric[e, 2] * vv) * per * taut2
        det = (uu * vv - uv * uv) * 0.25 * per * per * taut2 * taut2
        stored += 0.5 * (c1 * (trace + 1.0 / det - 3.0) + c2 * (trace / det + det - 3.0)) / per
    return stored


@njit(cache=True, nogil=True, error_model="numpy")
def lengths_of_parts(
    corners: Indices, metric: Floats, law: Floats, points: Floats, pressure: float, n: int
) -> float:
    """Return the lengths of the forces at the corners of all triangles of the first n points."""
    sides, pushes, parts = np.empty((6, AT_ONCE)), np.empty((9, AT_ONCE)), 0.0
    for start in range(0, len(corners), AT_ONCE):
        for k in range(0, AT_ONCE, 4):
            take_sides(points, corners, start + k, sides, k)
        _push(sides, metric, start // AT_ONCE, law, pushes)
        for k in range(AT_ONCE):
            if corners[start + k, 0] < n:
                parts += _pulls(pushes, k, pressure)
    return parts


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _pulls(pushes: Floats, k: int, pressure: float) -> float:
    """Return the lengths of a triangle's forces at its corners, pressure's too, together."""
    jj = ll = both = aa = 0.0
    for d in range(3):
        jj += pushes[d, k] ** 2
        ll += pushes[3 + d, k] ** 2
        both += (pushes[d, k] + pushes[3 + d, k]) ** 2
        aa += pushes[6 + d, k] ** 2
    return float(np.sqrt(jj) + np.sqrt(ll) + np.sqrt(both) + 3.0 * pressure * np.sqrt(aa))
