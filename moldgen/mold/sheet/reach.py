r"""How far a formed sheet reaches into the corners of the mold, and where it spans them.

Under its pressure *p* free sheet bends into a straight corner with a radius of tension over
pressure, :math:`r = T / p`; in a corner of 90° it then stays no farther than
:math:`(1 - 1/\sqrt 2)\, r` away from the nearer face, and nowhere hangs higher than *r* over the
ground. Sheet no farther off is a rounded corner, also where triangles are larger than the radius.
Sheet that is farther off by half its gauge is a bridge, and so is sheet that hangs higher between
two faces, however close they stand.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.sheet.clusters import clusters_of
from moldgen.physics.membrane.corner import corner_radius_mm
from moldgen.physics.membrane.holding import pressure_at_arrival
from moldgen.physics.membrane.rubber import greater_tension
from moldgen.physics.membrane.run import FREE, FormingRun
from moldgen.solid.height.relief import Relief
from moldgen.table.hold import Hold

Mask = NDArray[np.bool_]

CORNER_GAP = 1 - 0.5**0.5
"""How far sheet that rounds a corner of 90° is from the nearer face, over its radius. [-]."""

BRIDGE_SHARE = 0.5
"""Share of the gauge by which sheet may stay away from the mold before it is told. [-]."""

LEAST_BRIDGE_MM2 = 4.0
"""A smaller piece of sheet that touches nothing lies in a fillet. [mm²]."""

FARTHEST_CELLS = 12
"""How far around a bridge the mold is looked for; beyond it the height above it is told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerRadius:
    """With what radius a sheet comes out where the mold has a sharp inside corner.

    Attributes
    ----------
    radius_mm : float
        The mean over all sheet that lay in no corner yet when the full vacuum had come. [mm]
    least_mm, most_mm : float
        If the sheet relaxes as far as it may, and if it does not relax at all. [mm]
    """

    radius_mm: float
    least_mm: float
    most_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetReach:
    """Which points of a formed sheet reach the mold, if only around a corner, and which do not.

    Attributes
    ----------
    run : FormingRun
        The sheet.
    gaps_mm : ndarray, shape (n,)
        How far each point that touches nothing is from mold and table; 0 for the others. [mm]
    limits_mm : ndarray, shape (n,)
        How far a rounded corner may take it, and half a gauge. [mm]
    bridged : ndarray of bool, shape (n,)
        Points of bridges that are farther off than the sheet's corners are round.
    """

    run: FormingRun
    gaps_mm: Floats
    limits_mm: Floats
    bridged: Mask

    @property
    def rounds(self) -> Mask:
        """Points that touch nothing and are no bridge: they lie in a rounded corner."""
        rounds: Mask = (self.run.touches == FREE) & ~self.bridged
        return rounds


def reach_of(run: FormingRun, *, relief: Relief, gauge_mm: float) -> SheetReach:
    """Tell corners that a sheet rounds from those that it spans.

    Parameters
    ----------
    run : FormingRun
        A sheet that was formed. [mm]
    relief : Relief
        The mold seen from above. [mm]
    gauge_mm : float
        Thickness of the sheet before forming. [mm]
    """
    free = run.touches == FREE
    gaps_mm = np.zeros(len(run.points_mm))
    gaps_mm[free] = distance_mm(run.points_mm[free], relief)
    radii_mm, slack_mm = _radii_at_points_mm(run), BRIDGE_SHARE * gauge_mm
    high_mm = height_over_mm(run.points_mm, relief)
    # What hangs higher than a corner is round hangs over a gap: any slack is too far there.
    round_mm = np.where(high_mm > radii_mm + slack_mm, 0.0, CORNER_GAP * radii_mm)
    limits_mm = round_mm + slack_mm
    bridged = np.zeros(len(free), dtype=bool)
    for own in clusters_of(run, free[run.mesh.triangles].all(axis=1)):
        points = run.mesh.triangles[own].ravel()
        far = (gaps_mm > limits_mm)[points].any()
        if far and run.areas_mm2[own].sum() >= LEAST_BRIDGE_MM2:
            bridged[points] = (gaps_mm > round_mm)[points]
    return SheetReach(run=run, gaps_mm=gaps_mm, limits_mm=limits_mm, bridged=bridged)


def height_over_mm(points_mm: Floats, relief: Relief) -> Floats:
    """Return how high points are above what is straight under them, shape (n,). [mm]."""
    row, column = relief.cells(points_mm).T
    height: Floats = points_mm[:, 2] - relief.on_table_mm[row, column]
    return height


def corner_radii_mm(run: FormingRun) -> Floats:
    """Return the radius with which each triangle bends into a straight corner, shape (m,). [mm]."""
    if run.spec.pressure_per_mm <= 0:
        return np.full(len(run.mesh.triangles), np.inf)
    return greater_tension(run.stretches, run.rubber) / run.spec.pressure_per_mm


def measure_corners(run: FormingRun, part: Mask, held: Hold) -> CornerRadius | None:
    """Return the radius of sharp inside corners, or nothing if the sheet lies in all of them.

    Parameters
    ----------
    run : FormingRun
        A sheet that was formed. [mm]
    part : ndarray of bool, shape (m,)
        The triangles that count.
    held : Hold
        How far the sheet relaxes.
    """
    drawn, end = run.spec.drawn_per_mm, run.spec.pressure_per_mm
    latest = pressure_at_arrival(run)[run.mesh.triangles].max(axis=1)
    own = part & (latest > drawn)
    if not own.any() or end <= 0:
        return None
    stretches, under = run.stretches[own], np.minimum(latest[own], end)
    least_mm, radius_mm, most_mm = (
        float(np.average(radii_mm, weights=run.areas_mm2[own]))
        for radii_mm in (
            corner_radius_mm(stretches, under, per_mm, run.rubber)
            for per_mm in (max(end, drawn / held.least_share), end, drawn)
        )
    )
    return CornerRadius(radius_mm=radius_mm, least_mm=least_mm, most_mm=most_mm)


def _radii_at_points_mm(run: FormingRun) -> Floats:
    """Return the mean corner radius of the triangles at each point, shape (n,). [mm]."""
    corners, n = run.mesh.triangles.ravel(), len(run.points_mm)
    weighted = np.repeat(corner_radii_mm(run) * run.areas_mm2, 3)
    areas = np.bincount(corners, np.repeat(run.areas_mm2, 3), minlength=n)
    radii: Floats = np.bincount(corners, weighted, minlength=n) / np.maximum(areas, 1e-300)
    return np.maximum(radii, 0.0)


def distance_mm(points_mm: Floats, relief: Relief) -> Floats:
    """Return how far points above a mold are from it and the table, by its raster. [mm].

    Looked for among the cells around; a wall is met where it passes through them.
    """
    heights = relief.on_table_mm
    cells = relief.cells(points_mm)
    least = np.maximum(height_over_mm(points_mm, relief), 0.0)
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
