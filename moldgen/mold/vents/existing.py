"""Vents that a brought mold has already: narrow openings in its level ground."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

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


@dataclass(frozen=True, slots=True, eq=False)
class NarrowOpening:
    """A narrow opening in level ground.

    Attributes
    ----------
    region : Polygon
        Seen from above. [mm]
    z_mm : float
        Height of the ground. [mm]
    """

    region: shapely.Polygon
    z_mm: float

    @property
    def places(self) -> tuple[LowPlace, ...]:
        """What it serves: its middle and its two ends."""
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(self.region))
        sides = np.diff(corners[:3], axis=0)
        half = sides[int(np.hypot(*sides.T).argmax())] / 2
        middle = shapely.get_coordinates(self.region.centroid)[0]
        return tuple(
            LowPlace(
                x_mm=float(x), y_mm=float(y), z_mm=self.z_mm, gap_mm=0.0, air_mm3=0.0,
                reason=Reason.LINE,
            )
            for x, y in (middle, middle - half, middle + half)
        )  # fmt: skip


def existing_openings(mesh: Mesh, *, above_mm: float) -> tuple[NarrowOpening, ...]:
    """Return the narrow openings in a mold's level ground: slits, and holes printed through.

    Parameters
    ----------
    mesh : Mesh
        A mold that stands on z = 0. [mm]
    above_mm : float
        Ground no higher than this is the table. [mm]
    """
    return tuple(
        NarrowOpening(region, level_mm)
        for level_mm in _levels_mm(mesh)
        if level_mm > above_mm
        for region in _openings(mesh, level_mm - BELOW_MM)
    )


def spanned(relief: Relief, openings: Sequence[NarrowOpening]) -> Relief:
    """Return a mold as the sheet sees it: level over the openings that it spans. [mm]."""
    heights = relief.on_table_mm.copy()
    for one in openings:
        x0, y0, x1, y1 = shapely.buffer(one.region, relief.cell_mm).bounds
        (top, left), (bottom, right) = relief.cells(np.array([[x0, y0], [x1, y1]]))
        rows, columns = np.mgrid[top : bottom + 1, left : right + 1]
        cells = np.column_stack([rows.ravel(), columns.ravel()])
        x, y = relief.places_mm(cells).T
        own = cells[shapely.contains_xy(shapely.buffer(one.region, 1e-3), x, y)]
        heights[own[:, 0], own[:, 1]] = np.maximum(heights[own[:, 0], own[:, 1]], one.z_mm)
    return replace(relief, heights_mm=np.where(relief.covered, heights, np.nan))


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
