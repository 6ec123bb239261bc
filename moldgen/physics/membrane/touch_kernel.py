"""Compiled loops: where a path first meets the mold, and how deep a place lies in it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit
from moldgen.physics.membrane.bucket_kernel import column_of
from moldgen.physics.membrane.touch import Buckets

_EDGE = 1e-6
"""Widening of every triangle, as a share of it, so that no path slips between two."""
_ON_FACE_MM = 1e-9
"""How far behind a face a path may begin and still count as beginning on it."""
_MISSED = 2.0


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def room_mm(x: float, y: float, z: float, rooms: Floats, frame: Floats) -> float:
    """Return a way that a place can go in any direction before it can meet anything. [mm]."""
    levels, rows, columns = rooms.shape
    j = column_of(x, frame[0], frame[4], columns)
    i = column_of(y, frame[1], frame[4], rows)
    most, way_mm = 0.0, (1.0 - _EDGE) * frame[2]
    for level in range(levels):
        most = max(most, min(way_mm, z - rooms[level, i, j]))
        way_mm *= 2.0
    return most


@njit(cache=True, nogil=True, error_model="numpy")
def first_hit(
    px: float,
    py: float,
    pz: float,
    qx: float,
    qy: float,
    qz: float,
    planes: Floats,
    starts: NDArray[np.int64],
    members: NDArray[np.int32],
    tops: Floats,
    frame: Floats,
) -> tuple[float, bool]:
    """Return the share of the path from p to q at which it first enters mold or floor.

    The arrays are those of `Buckets`, one by one: to take them out of it would count who holds
    them, in memory that two processors would fight for at every path.

    Returns
    -------
    share : float
        0 to 1, or 2 where it meets nothing.
    on_floor : bool
        Whether it is the floor that it meets.
    """
    share, on_floor = _MISSED, False
    if qz < frame[3]:
        drop = pz - qz
        share = max(0.0, (pz - frame[3]) / drop) if drop > 0.0 else 0.0
        on_floor = True
    rows, columns = tops.shape
    lowest = min(pz, qz)
    for i in range(
        column_of(min(py, qy), frame[1], frame[4], rows),
        column_of(max(py, qy), frame[1], frame[4], rows) + 1,
    ):
        for j in range(
            column_of(min(px, qx), frame[0], frame[4], columns),
            column_of(max(px, qx), frame[0], frame[4], columns) + 1,
        ):
            if lowest > tops[i, j]:
                continue
            cell = i * columns + j
            for k in range(starts[cell], starts[cell + 1]):
                here = _share(px, py, pz, qx, qy, qz, planes, members[k])
                if here < share:
                    share, on_floor = here, False
    return share, on_floor


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _share(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float, planes: Floats, m: int
) -> float:
    """Return the share of a path at which it enters one triangle, or 2."""
    a, b, c, d = planes[m, 0], planes[m, 1], planes[m, 2], planes[m, 3]
    dq = a * qx + b * qy + c * qz - d
    if dq >= 0.0:
        return _MISSED
    dp = a * px + b * py + c * pz - d
    if dp < -_ON_FACE_MM:
        return _MISSED
    t = max(dp, 0.0) / (max(dp, 0.0) - dq)
    x, y, z = px + t * (qx - px), py + t * (qy - py), pz + t * (qz - pz)
    u = planes[m, 4] * x + planes[m, 5] * y + planes[m, 6] * z - planes[m, 7]
    v = planes[m, 8] * x + planes[m, 9] * y + planes[m, 10] * z - planes[m, 11]
    if u < -_EDGE or v < -_EDGE or u + v > 1.0 + 2 * _EDGE:
        return _MISSED
    return float(t)


@njit(cache=True, nogil=True, error_model="numpy")
def land(
    old: Floats,
    new: Floats,
    start: int,
    stop: int,
    rooms: Floats,
    traveled_mm: float,
    planes: Floats,
    starts: NDArray[np.int64],
    members: NDArray[np.int32],
    tops: Floats,
    frame: Floats,
    landed: NDArray[np.int64],
) -> int:
    """Find which of a few points met mold or floor in a step, and put them where they met it.

    Parameters
    ----------
    old, new : ndarray, shape (4 n,)
        Rows of four: where the points were, and where they would go.
    start, stop : int
        Which points.
    rooms : ndarray, shape (n,)
        A point that has not traveled as far as its room cannot have met anything. [mm]
    planes, starts, members, tops, frame : ndarray
        As for `first_hit`.
    landed : ndarray of int64
        Gets twice the number of each point that landed, and 1 more if on the floor.

    Returns
    -------
    int
        How many have landed.
    """
    n = 0
    for k in range(start, stop):
        if rooms[k] > traveled_mm:
            continue
        at = 4 * k
        share, on_floor = first_hit(
            old[at], old[at + 1], old[at + 2], new[at], new[at + 1], new[at + 2],
            planes, starts, members, tops, frame,
        )  # fmt: skip
        if share <= 1.0:
            for d in range(at, at + 3):
                new[d] = old[d] + share * (new[d] - old[d])
            landed[n] = 2 * k + on_floor
            n += 1
    return n


@njit(cache=True, nogil=True, error_model="numpy")
def heights_under(
    places_mm: NDArray[np.float64], top_mm: float, buckets: Buckets
) -> NDArray[np.float64]:
    """Return the height of mold or floor under each place of the plan, shape (k,). [mm]."""
    heights = np.empty(len(places_mm))
    planes, starts, members, tops, _, frame = buckets
    floor_mm = frame[3]
    length = top_mm - floor_mm + 1.0
    for k in range(len(places_mm)):
        x, y = places_mm[k]
        share, _ = first_hit(
            x, y, top_mm, x, y, floor_mm - 1.0, planes, starts, members, tops, frame
        )
        heights[k] = top_mm - share * length
    return heights
