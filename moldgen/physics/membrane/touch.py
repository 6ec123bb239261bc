"""The mold as the sheet feels it: triangles, a floor, and where a path first meets them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.errors import SpecError

_MOST_CELLS = 1_000_000
_LEAST_CELL_MM = 0.25
_N_ROOMS = 4
_THIN = 1e-9
"""Twice the area of a triangle over its longest side squared, below which it has no face."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldFaces:
    """Everything under the sheet, as triangles and a floor, in the mold's own heights.

    Attributes
    ----------
    corners_mm : ndarray, shape (m, 3, 3)
        Corners of the triangles, counter-clockwise seen from outside; several molds on one table
        are one list. Only what can be reached from above or from the side is ever touched. [mm]
    floor_mm : float
        Height of the table, which the sheet touches wherever no triangle is above it. [mm]
    clamp_mm : float
        Height of the clamp plane when the sheet is sealed. A mold that stands above it rises
        through the sheet first; a mold that lies below it (a cavity) does not. [mm]
    """

    corners_mm: Floats
    floor_mm: float = 0.0
    clamp_mm: float = 0.0

    def __post_init__(self) -> None:
        corners = self.corners_mm
        if corners.ndim != 3 or corners.shape[1:] != (3, 3) or not len(corners):
            raise SpecError("corners_mm", "shaped (m, 3, 3)", str(corners.shape))
        if not np.isfinite(corners).all():
            raise SpecError("corners_mm", "finite", "nan or inf", "Repair the mold's mesh.")
        if not self.floor_mm <= self.clamp_mm:
            rule = f"at least the floor, {self.floor_mm:g} mm"
            raise SpecError("clamp_mm", rule, f"{self.clamp_mm:g} mm")
        corners.setflags(write=False)

    @property
    def top_mm(self) -> float:
        """Greatest height of the mold. [mm]."""
        return float(self.corners_mm[:, :, 2].max())


class Buckets(NamedTuple):
    """The mold's triangles sorted into square cells of the plan, as the compiled loops read it.

    Attributes
    ----------
    planes : ndarray, shape (m, 12)
        Three rows of four for every triangle: distance in front of it, and two of its three
        shares at a place; each is the first three numbers times the place, less the fourth.
    starts : ndarray, shape (cells + 1,)
        Where each cell's triangles begin in ``members``.
    members : ndarray
        Indices of triangles, cell by cell.
    tops_mm : ndarray, shape (rows, columns)
        Greatest height in each cell, floor included. [mm]
    rooms_mm : ndarray, shape (k, rows, columns)
        The same within 1, 2, 4 ... cells of each cell. [mm]
    frame : ndarray, shape (5,)
        Least x, least y, side of a cell, height of the floor [mm]; cells per length [1/mm].
    """

    planes: Floats
    starts: NDArray[np.int64]
    members: NDArray[np.int32]
    tops_mm: Floats
    rooms_mm: Floats
    frame: Floats


def buckets_of(mold: MoldFaces) -> Buckets:
    """Sort the triangles of a mold for quick looking up, those without a face left out."""
    from moldgen.physics.membrane.bucket_kernel import faces_of, sort_out

    faces, planes = faces_of(mold.corners_mm, mold.floor_mm, _THIN)
    near, far = faces[:, :, :2].min(axis=(0, 1)), faces[:, :, :2].max(axis=(0, 1))
    cell_mm = _cell_mm(far - near, len(faces))
    corner = near - cell_mm  # an empty cell all around stands for everything beyond
    columns, rows = (int(n) + 1 for n in np.ceil((far - corner) / cell_mm))
    tops_mm = np.full((rows, columns), mold.floor_mm)
    frame = np.array([*corner, cell_mm, mold.floor_mm, 1.0 / cell_mm])
    starts, members = sort_out(faces, planes, frame, tops_mm)
    return Buckets(
        planes=planes,
        starts=starts,
        members=members,
        tops_mm=tops_mm,
        rooms_mm=_rooms_mm(tops_mm),
        frame=frame,
    )


def _cell_mm(extent_mm: Floats, n_faces: int) -> float:
    """Return a cell that holds a few triangles where they are spread evenly. [mm]."""
    plan_mm2 = max(float(extent_mm[0] * extent_mm[1]), 1e-12)
    even = np.sqrt(plan_mm2 / max(1, n_faces))
    return float(max(even, _LEAST_CELL_MM, np.sqrt(plan_mm2 / _MOST_CELLS)))


def _rooms_mm(tops_mm: Floats) -> Floats:
    """Greatest height within one cell, then within twice as many each time."""
    rooms, wide = [], tops_mm
    for reach in (1, *(1 << k for k in range(_N_ROOMS - 1))):
        for _ in range(2):  # along the rows, then along the columns
            grown = wide.copy()
            np.maximum(grown[reach:], wide[:-reach], out=grown[reach:])
            np.maximum(grown[:-reach], wide[reach:], out=grown[:-reach])
            wide = grown.T
        rooms.append(wide)
    return np.ascontiguousarray(rooms)
