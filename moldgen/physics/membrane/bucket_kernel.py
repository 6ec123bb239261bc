"""Compiled loops: the faces of a mold, and the square cells of the plan that each is in."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit

_SLACK = 1e-6
"""Widening of every face's box, as a share of a cell. [-]."""
_ROOM = 1 << 16
"""Pairs of a face and a cell that there is room for at first; more is made as it is needed."""


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def column_of(x: float, corner: float, per_cell: float, n: int) -> int:
    """Return the column, or row, of cells that a place is in; those beyond count to the last."""
    return min(max(int((x - corner) * per_cell), 0), n - 1)


@njit(cache=True, nogil=True, error_model="numpy")
def faces_of(corners: Floats, floor_mm: float, thin: float) -> tuple[Floats, Floats]:
    """Return the triangles that have an area and rise above the floor, and their planes.

    Parameters
    ----------
    corners : ndarray, shape (m, 3, 3)
        [mm]
    floor_mm : float
    thin : float
        Twice the area of a triangle over its longest side squared, below which it is left out.

    Returns
    -------
    faces : ndarray, shape (k, 3, 3)
        [mm]
    planes : ndarray, shape (k, 12)
        See `moldgen.physics.membrane.touch.Buckets`.
    """
    faces, planes, n = np.empty_like(corners), np.empty((len(corners), 12)), 0
    for e in range(len(corners)):
        ax, ay, az = corners[e, 0, 0], corners[e, 0, 1], corners[e, 0, 2]
        ux, uy, uz = corners[e, 1, 0] - ax, corners[e, 1, 1] - ay, corners[e, 1, 2] - az
        vx, vy, vz = corners[e, 2, 0] - ax, corners[e, 2, 1] - ay, corners[e, 2, 2] - az
        wx, wy, wz = vx - ux, vy - uy, vz - uz
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        squared = nx * nx + ny * ny + nz * nz
        longest = max(
            ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz, wx * wx + wy * wy + wz * wz
        )
        sunk = max(az, corners[e, 1, 2], corners[e, 2, 2]) <= floor_mm
        if sunk or not np.sqrt(squared) > thin * longest:
            continue
        over, per = 1.0 / np.sqrt(squared), 1.0 / squared
        planes[n, 0], planes[n, 1], planes[n, 2] = nx * over, ny * over, nz * over
        planes[n, 4] = (vy * nz - vz * ny) * per
        planes[n, 5] = (vz * nx - vx * nz) * per
        planes[n, 6] = (vx * ny - vy * nx) * per
        planes[n, 8] = (ny * uz - nz * uy) * per
        planes[n, 9] = (nz * ux - nx * uz) * per
        planes[n, 10] = (nx * uy - ny * ux) * per
        for d in range(0, 12, 4):
            planes[n, d + 3] = planes[n, d] * ax + planes[n, d + 1] * ay + planes[n, d + 2] * az
        for c in range(3):
            for d in range(3):
                faces[n, c, d] = corners[e, c, d]
        n += 1
    return faces[:n].copy(), planes[:n].copy()


@njit(cache=True, nogil=True, error_model="numpy")
def sort_out(
    faces: Floats, planes: Floats, frame: Floats, tops: Floats
) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Return where each cell's faces begin, and the faces cell by cell; raise the cells' tops.

    Parameters
    ----------
    faces, planes : ndarray
        As from `faces_of`.
    frame, tops : ndarray
        See `moldgen.physics.membrane.touch.Buckets`; ``tops`` begins as the floor.
    """
    rows, columns = tops.shape
    starts = np.zeros(rows * columns + 1, dtype=np.int64)
    cells, owners, n = np.empty(_ROOM, dtype=np.int64), np.empty(_ROOM, dtype=np.int64), 0
    edges, box = np.empty((3, 4)), np.empty(5)
    slack_mm = _SLACK * frame[2]
    half_mm = 0.5 * frame[2] + slack_mm
    for e in range(len(faces)):
        _lay_out(faces, e, half_mm, edges, box)
        j0 = column_of(box[0] - slack_mm, frame[0], frame[4], columns)
        j1 = column_of(box[2] + slack_mm, frame[0], frame[4], columns)
        i0 = column_of(box[1] - slack_mm, frame[1], frame[4], rows)
        i1 = column_of(box[3] + slack_mm, frame[1], frame[4], rows)
        if n + (j1 - j0 + 1) * (i1 - i0 + 1) > len(cells):
            room = 2 * len(cells) + (j1 - j0 + 1) * (i1 - i0 + 1)
            cells, owners = _longer(cells, room), _longer(owners, room)
        for i in range(i0, i1 + 1):
            y = frame[1] + (i + 0.5) * frame[2]
            for j in range(j0, j1 + 1):
                x = frame[0] + (j + 0.5) * frame[2]
                if _is_beside(x, y, edges):
                    continue
                tops[i, j] = max(tops[i, j], _top_in(x, y, half_mm, planes, e, box[4]))
                cells[n], owners[n] = i * columns + j, e
                starts[i * columns + j] += 1
                n += 1
    for cell in range(1, len(starts)):
        starts[cell] += starts[cell - 1]
    members = np.empty(n, dtype=np.int32)
    for k in range(n - 1, -1, -1):
        starts[cells[k]] -= 1
        members[starts[cells[k]]] = owners[k]
    return starts, members


@njit(cache=True, nogil=True, error_model="numpy")
def _longer(numbers: NDArray[np.int64], room: int) -> NDArray[np.int64]:
    """Return room for more numbers, the first of them as they were."""
    longer = np.empty(room, dtype=numbers.dtype)
    for k in range(len(numbers)):
        longer[k] = numbers[k]
    return longer


@njit(cache=True, nogil=True, error_model="numpy")
def _lay_out(faces: Floats, e: int, half_mm: float, edges: Floats, box: Floats) -> None:
    """Work out a face's box, and for each edge the strip of the plan in which middles of cells lie.

    A row of ``edges`` is the normal of the edge, and least and greatest product with it of the
    middle of a cell that the face may reach into.
    """
    box[0] = min(faces[e, 0, 0], faces[e, 1, 0], faces[e, 2, 0])
    box[1] = min(faces[e, 0, 1], faces[e, 1, 1], faces[e, 2, 1])
    box[2] = max(faces[e, 0, 0], faces[e, 1, 0], faces[e, 2, 0])
    box[3] = max(faces[e, 0, 1], faces[e, 1, 1], faces[e, 2, 1])
    box[4] = max(faces[e, 0, 2], faces[e, 1, 2], faces[e, 2, 2])
    for c in range(3):
        d = (c + 1) % 3
        nx, ny = faces[e, d, 1] - faces[e, c, 1], faces[e, c, 0] - faces[e, d, 0]
        p = nx * faces[e, c, 0] + ny * faces[e, c, 1]
        d = (c + 2) % 3
        q = nx * faces[e, d, 0] + ny * faces[e, d, 1]
        reach = (abs(nx) + abs(ny)) * half_mm
        edges[c, 0], edges[c, 1] = nx, ny
        edges[c, 2], edges[c, 3] = min(p, q) - reach, max(p, q) + reach


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _is_beside(x: float, y: float, edges: Floats) -> bool:
    """Tell whether a cell lies wholly on the far side of one of a face's edges."""
    for c in range(3):
        along = edges[c, 0] * x + edges[c, 1] * y
        if along < edges[c, 2] or along > edges[c, 3]:
            return True
    return False


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _top_in(x: float, y: float, half_mm: float, planes: Floats, e: int, top_mm: float) -> float:
    """Return a height that a face does not exceed within a cell. [mm]."""
    a, b, c = planes[e, 0], planes[e, 1], planes[e, 2]
    if c <= 0.0:
        return top_mm
    middle = planes[e, 3] - a * x - b * y
    return float(min(top_mm, (middle + (abs(a) + abs(b)) * half_mm) / c))
