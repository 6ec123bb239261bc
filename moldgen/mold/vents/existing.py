"""Vents that a brought mold has already: narrow openings in its level ground."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely

from moldgen.arrays import Floats
from moldgen.mold.vents.vent import LowPlace, Reason
from moldgen.solid.height.relief import Relief
from moldgen.solid.mesh import Mesh
from moldgen.solid.slices import section

WIDEST_MM = 2.0
"""An opening no wider than this is a vent: the sheet spans it. [mm]."""

LARGEST_MM2 = 12.0
"""An opening larger than this is no vent: a slit of 1 x 12 mm is the largest. [mm²]."""

LEAST_GROUND_MM2 = 20.0
"""Level ground smaller than this is not looked at. [mm²]."""

BELOW_MM = 0.4
"""How far under the ground a level cut looks for openings. [mm]."""

_LEVEL = 0.999
_STEP_MM = 0.05


def existing_vents(mesh: Mesh, *, above_mm: float) -> tuple[LowPlace, ...]:
    """Return the narrow openings in a mold's level ground, as places that are served.

    Parameters
    ----------
    mesh : Mesh
        A mold that stands on z = 0. [mm]
    above_mm : float
        Ground no higher than this is the table. [mm]
    """
    return tuple(
        LowPlace(
            x_mm=opening.centroid.x, y_mm=opening.centroid.y, z_mm=level_mm,
            gap_mm=0.0, air_mm3=0.0, reason=Reason.LINE,
        )
        for level_mm in _levels_mm(mesh)
        if level_mm > above_mm
        for opening in _openings(mesh, level_mm - BELOW_MM)
    )  # fmt: skip


def spanned(relief: Relief) -> Relief:
    """Return a mold as the sheet sees it, openings that it spans closed. [mm]."""
    heights = relief.on_table_mm
    reach = int(np.ceil(WIDEST_MM / relief.cell_mm / 2))
    for choose in (np.maximum, np.minimum):
        for axis in (0, 1):
            heights = _slid(heights, axis, reach, choose)
    filled = np.where(relief.covered, np.maximum(heights, relief.on_table_mm), np.nan)
    return replace(relief, heights_mm=filled)


def _slid(heights: Floats, axis: int, reach: int, choose: np.ufunc) -> Floats:
    """Return the greatest, or least, within a reach of cells along an axis."""
    moved = np.moveaxis(heights, axis, 0)
    out = moved.copy()
    for step in range(1, reach + 1):
        choose(out[step:], moved[:-step], out=out[step:])
        choose(out[:-step], moved[step:], out=out[:-step])
    return np.moveaxis(out, 0, axis)


def _levels_mm(mesh: Mesh) -> Iterator[float]:
    """Yield the heights of level ground that is large enough, lowest first."""
    areas = mesh.areas_mm2
    level = mesh.area_vectors_mm2[:, 2] > _LEVEL * np.maximum(areas, 1e-12)
    steps = np.round(mesh.corners_mm[level, 0, 2] / _STEP_MM).astype(np.int64)
    numbers, where = np.unique(steps, return_inverse=True)
    sums = np.bincount(where.ravel(), weights=areas[level], minlength=len(numbers))
    yield from (numbers[sums >= LEAST_GROUND_MM2] * _STEP_MM).tolist()


def _openings(mesh: Mesh, z_mm: float) -> Iterator[shapely.Polygon]:
    for part in section(mesh, z_mm).geoms:
        for ring in part.interiors:
            opening = shapely.Polygon(ring)
            if opening.area <= LARGEST_MM2 and 2 * opening.area <= WIDEST_MM * opening.length:
                yield opening
