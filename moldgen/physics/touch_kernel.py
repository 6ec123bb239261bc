"""Compiled loops: where a path first meets the mold, and how deep a place lies in it."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.physics.touch import Buckets

_EDGE = 1e-6
"""Widening of every triangle, as a share of it, so that no path slips between two."""
_ON_FACE_MM = 1e-9
"""How far behind a face a path may begin and still count as beginning on it."""
_ONWARD = 1e-3
"""Share of a way after which a further face is looked for."""
_MISSED = 2.0


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _column(x: float, corner: float, per_cell: float, n: int) -> int:
    return min(max(int((x - corner) * per_cell), 0), n - 1)


@njit(cache=True, nogil=True, error_model="numpy")
def is_clear(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float, buckets: Buckets
) -> bool:
    """Tell cheaply that a short path passes above everything; False means: look closer."""
    tops, frame = buckets.tops_mm, buckets.frame
    rows, columns = tops.shape
    j = _column(px, frame[0], frame[4], columns)
    i = _column(py, frame[1], frame[4], rows)
    if j != _column(qx, frame[0], frame[4], columns) or i != _column(qy, frame[1], frame[4], rows):
        return False
    return bool(min(pz, qz) > tops[i, j])


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def room_mm(x: float, y: float, z: float, buckets: Buckets) -> float:
    """Return a way that a place can go in any direction before it can meet anything. [mm]."""
    frame, rooms = buckets.frame, buckets.rooms_mm
    levels, rows, columns = rooms.shape
    j = _column(x, frame[0], frame[4], columns)
    i = _column(y, frame[1], frame[4], rows)
    most, way_mm = 0.0, (1.0 - _EDGE) * frame[2]
    for level in range(levels):
        most = max(most, min(way_mm, z - rooms[level, i, j]))
        way_mm *= 2.0
    return most


@njit(cache=True, nogil=True, error_model="numpy")
def first_hit(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float, buckets: Buckets
) -> tuple[float, bool]:
    """Return the share of the path from p to q at which it first enters mold or floor.

    Returns
    -------
    share : float
        0 to 1, or 2 where it meets nothing.
    on_floor : bool
        Whether it is the floor that it meets.
    """
    share, on_floor = _MISSED, False
    if qz < buckets.frame[3]:
        drop = pz - qz
        share = max(0.0, (pz - buckets.frame[3]) / drop) if drop > 0.0 else 0.0
        on_floor = True
    tops, frame, starts = buckets.tops_mm, buckets.frame, buckets.starts
    rows, columns = tops.shape
    lowest = min(pz, qz)
    for i in range(
        _column(min(py, qy), frame[1], frame[4], rows),
        _column(max(py, qy), frame[1], frame[4], rows) + 1,
    ):
        for j in range(
            _column(min(px, qx), frame[0], frame[4], columns),
            _column(max(px, qx), frame[0], frame[4], columns) + 1,
        ):
            if lowest > tops[i, j]:
                continue
            cell = i * columns + j
            for k in range(starts[cell], starts[cell + 1]):
                here = _share(px, py, pz, qx, qy, qz, buckets.planes[buckets.members[k]])
                if here < share:
                    share, on_floor = here, False
    return share, on_floor


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _share(
    px: float,
    py: float,
    pz: float,
    qx: float,
    qy: float,
    qz: float,
    plane: NDArray[np.float64],
) -> float:
    """Return the share of a path at which it enters one triangle, or 2."""
    dq = plane[0] * qx + plane[1] * qy + plane[2] * qz - plane[3]
    if dq >= 0.0:
        return _MISSED
    dp = plane[0] * px + plane[1] * py + plane[2] * pz - plane[3]
    if dp < -_ON_FACE_MM:
        return _MISSED
    t = max(dp, 0.0) / (max(dp, 0.0) - dq)
    x, y, z = px + t * (qx - px), py + t * (qy - py), pz + t * (qz - pz)
    u = plane[4] * x + plane[5] * y + plane[6] * z - plane[7]
    v = plane[8] * x + plane[9] * y + plane[10] * z - plane[11]
    if u < -_EDGE or v < -_EDGE or u + v > 1.0 + 2 * _EDGE:
        return _MISSED
    return float(t)


@njit(cache=True, nogil=True, error_model="numpy")
def depths_along(
    places: NDArray[np.float64], ways: NDArray[np.float64], buckets: Buckets
) -> NDArray[np.float64]:
    """Return how far each place lies behind the last face on its way in, 0 if before it.

    Parameters
    ----------
    places : ndarray, shape (k, 3)
        Where it is looked. [mm]
    ways : ndarray, shape (k, 3)
        The path that leads to each place from outside. [mm]
    buckets : Buckets
        The mold.

    Returns
    -------
    ndarray, shape (k,)
        [mm]
    """
    depths = np.zeros(len(places))
    for k in range(len(places)):
        qx, qy, qz = places[k]
        wx, wy, wz = ways[k]
        length = np.sqrt(wx * wx + wy * wy + wz * wz)
        # From face to face, until there is no further one.
        share, _ = first_hit(qx - wx, qy - wy, qz - wz, qx, qy, qz, buckets)
        while share <= 1.0:
            depths[k] = (1.0 - share) * length
            onward = min(1.0, share + _ONWARD)
            if onward >= 1.0:
                break
            back = 1.0 - onward
            share, _ = first_hit(
                qx - back * wx, qy - back * wy, qz - back * wz, qx, qy, qz, buckets
            )
            if share <= 1.0:
                share = onward + share * back
    return depths


@njit(cache=True, nogil=True, error_model="numpy")
def heights_under(
    places_mm: NDArray[np.float64], top_mm: float, buckets: Buckets
) -> NDArray[np.float64]:
    """Return the height of mold or floor under each place of the plan, shape (k,). [mm]."""
    heights = np.empty(len(places_mm))
    floor_mm = buckets.frame[3]
    length = top_mm - floor_mm + 1.0
    for k in range(len(places_mm)):
        x, y = places_mm[k]
        share, _ = first_hit(x, y, top_mm, x, y, floor_mm - 1.0, buckets)
        heights[k] = top_mm - share * length
    return heights
