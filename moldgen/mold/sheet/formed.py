"""What a formed sheet tells: how thick it is where, where it bridges, where it webs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.features import FeaturePlan
from moldgen.mold.sheet.clusters import Mask, Place, clusters_of, place_of
from moldgen.mold.sheet.places import middles_of, within
from moldgen.mold.sheet.thickness import FeatureThickness, smooth_thickness, thickness_of
from moldgen.mold.sheet.webs import Web, webs_of
from moldgen.physics.membrane.run import FREE, FormingRun
from moldgen.solid.height.relief import Relief
from moldgen.stock import Sheet

FARTHEST_CELLS = 12
"""How far around a bridge the mold is looked for; beyond it the height above it is told."""

LEAST_BRIDGE_MM2 = 4.0
"""A smaller piece of sheet that touches nothing lies in a fillet. [mm²]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetBridge:
    """Sheet that touches nothing at the end.

    Attributes
    ----------
    where_mm : tuple of three floats
        Where it is farthest from mold and table. [mm]
    gap_mm : float
        How far that is. [mm]
    area_mm2 : float
        How much of the sheet hangs free there. [mm²]
    """

    where_mm: Place
    gap_mm: float
    area_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormedSheet:
    """A formed sheet and what was read off it.

    Attributes
    ----------
    run : FormingRun
        Where every point of the sheet ended.
    sheet : Sheet
        What was formed; thickness is its gauge times the run's ratio.
    part : ndarray of bool, shape (m,)
        The run's triangles that belong to the part: those within its trim line.
    thinned : tuple of FeatureThickness
        The whole part first, then every feature.
    bridges : tuple of SheetBridge
        Largest gap first.
    webs : tuple of Web
        Longest first, ripples too.
    untouched_mm2 : float
        Area of the part that touches nothing. [mm²]
    """

    run: FormingRun
    sheet: Sheet
    part: Mask
    thinned: tuple[FeatureThickness, ...]
    bridges: tuple[SheetBridge, ...]
    webs: tuple[Web, ...]
    untouched_mm2: float

    @property
    def whole(self) -> FeatureThickness:
        """Thickness of the whole part."""
        return self.thinned[0]

    @property
    def thickness_mm(self) -> Floats:
        """Thickness of every triangle, smoothed over its neighbors, shape (m,). [mm]."""
        return smooth_thickness(self.run) * self.sheet.gauge_mm

    @property
    def thinnest(self) -> FeatureThickness:
        """The feature, or the whole part, with the thinnest places: what decides."""
        return min(self.thinned, key=lambda told: told.thin_mm)

    @property
    def thin_share(self) -> float:
        """Thickness of the thin places over the gauge: what other gauges would keep too. [-]."""
        return self.thinnest.thin_mm / self.sheet.gauge_mm

    @property
    def folds(self) -> tuple[Web, ...]:
        """The webs that are folds and not mere ripples, longest first."""
        return tuple(web for web in self.webs if web.is_fold(self.sheet.gauge_mm))


def read_run(
    run: FormingRun,
    *,
    sheet: Sheet,
    relief: Relief,
    trim: shapely.MultiPolygon,
    plans: Sequence[FeaturePlan] = (),
    hasty: FormingRun | None = None,
) -> FormedSheet:
    """Read thickness, bridges and webs off a forming run.

    Parameters
    ----------
    run : FormingRun
        A sheet that was formed. [mm]
    sheet : Sheet
        What it was made of.
    relief : Relief
        The mold seen from above, to tell how far a bridge hangs over it. [mm]
    trim : MultiPolygon
        What is cut out of the sheet, seen from above. [mm]
    plans : sequence of FeaturePlan
        The mold's features; each gets the points that lie in it and in none of its children.
    hasty : FormingRun, optional
        The same run at half its pace, by which the error of the pace is measured.
    """
    middles = middles_of(run.points_mm, run.mesh.triangles)
    part = within(trim, middles)
    free = (run.touches == FREE)[run.mesh.triangles].all(axis=1)
    return FormedSheet(
        run=run,
        sheet=sheet,
        part=part,
        thinned=tuple(
            thickness_of(run, part, middles, plans, gauge_mm=sheet.gauge_mm, hasty=hasty)
        ),
        bridges=tuple(_bridges(run, part & free, relief)),
        webs=tuple(webs_of(run)),
        untouched_mm2=float(run.areas_mm2[part & free].sum()),
    )


def _bridges(run: FormingRun, free: Mask, relief: Relief) -> Iterator[SheetBridge]:
    bridges = []
    hanging = np.unique(run.mesh.triangles[free])
    gaps_mm = np.zeros(len(run.points_mm))
    gaps_mm[hanging] = distance_mm(run.points_mm[hanging], relief)
    for own in clusters_of(run, free):
        area = float(run.areas_mm2[own].sum())
        if area < LEAST_BRIDGE_MM2:
            continue
        points = np.unique(run.mesh.triangles[own])
        worst = int(points[np.argmax(gaps_mm[points])])
        bridges.append(
            SheetBridge(
                where_mm=place_of(run.points_mm[worst]), gap_mm=float(gaps_mm[worst]), area_mm2=area
            )
        )
    yield from sorted(bridges, key=lambda bridge: -bridge.gap_mm)


def distance_mm(points_mm: Floats, relief: Relief) -> Floats:
    """Return how far points above a mold are from it and the table, by its raster. [mm].

    Looked for among the cells around; a wall is met where it passes through them.
    """
    heights = relief.on_table_mm
    cells = relief.cells(points_mm)
    above = points_mm[:, 2] - heights[cells[:, 0], cells[:, 1]]
    least = np.maximum(above, 0.0)
    reach = int(min(np.ceil(least.max(initial=0.0) / relief.cell_mm), FARTHEST_CELLS))
    for far in range(reach + 1):
        # Cells so far off are no nearer than this.
        open_mm = np.flatnonzero(least > (far - 0.5) * relief.cell_mm)
        if not open_mm.size:
            break
        near = _distance_at(far, points_mm[open_mm], cells[open_mm], relief, heights)
        least[open_mm] = np.minimum(least[open_mm], near)
    return least


def _distance_at(
    far: int, points_mm: Floats, cells: NDArray[np.int64], relief: Relief, heights_mm: Floats
) -> Floats:
    """Return how far points are from the nearest of the cells so many columns or rows away."""
    steps = np.array([step for step in np.ndindex(2 * far + 1, 2 * far + 1)]) - far
    steps = steps[np.abs(steps).max(axis=1) == far]
    row = np.clip(cells[:, :1] + steps[:, 0], 0, heights_mm.shape[0] - 1)
    column = np.clip(cells[:, 1:] + steps[:, 1], 0, heights_mm.shape[1] - 1)
    x, y = relief.x_mm[column] - points_mm[:, :1], relief.y_mm[row] - points_mm[:, 1:2]
    # A wall that stands higher than the point has passed its height on the way there.
    up = np.maximum(points_mm[:, 2:] - heights_mm[row, column], 0.0)
    nearest: Floats = np.sqrt((x * x + y * y + up * up).min(axis=1))
    return nearest
