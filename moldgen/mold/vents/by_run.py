"""Where the sheet arrives last, read off a forming run: what the rolling ball only guesses at.

A place is a pocket if the sheet comes to rest there later than all round it. The join tree of the
arrival tells when each pocket was cut off from its neighbors; the sheet as it hung at that moment
tells how much air was then under it. Along foot lines and edges of recesses no place is last;
there the gap counts that is left under the sheet when it bends about as tightly as the rolling
ball would. A run adds to the places that the shape demands by the rolling ball; it takes none away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.features import FeaturePlan
from moldgen.mold.vents.by_ball import vents_at
from moldgen.mold.vents.enclosed import enclosed_places
from moldgen.mold.vents.even import mirrored, mirrors_of
from moldgen.mold.vents.low_places import (
    cover_low_lines,
    low_places,
    place_at,
    same_hollow,
)
from moldgen.mold.vents.vent import LowPlace, Reason, VentPlan, VentSpec
from moldgen.physics.membrane.holding import before_holding
from moldgen.physics.membrane.run import HELD, FormingRun
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.join_tree import Hill, pockets_of, region_sums
from moldgen.solid.height.relief import Relief
from moldgen.solid.zbuffer import zbuffer

NEVER = 1.0
"""Added to the last arrival where the sheet hung free when the full vacuum came. [-]."""

PER_MM = 1e-3
"""How much later a free place counts for each millimeter of its gap. [1/mm]."""

RIPPLE = 0.15
"""Part of its gap by which a free place must hang farther than those round it. [-]."""

MOST_FRAMES = 12
"""Moments at which the gap under the sheet is looked at."""

BASIS = "rolling-ball gap (geometry), and forming run: the sheet as a rubber membrane"


@dataclass(frozen=True, slots=True, eq=False)
class Arrival:
    """A forming run on the cells of a mold's raster.

    Attributes
    ----------
    time : ndarray, shape (ny, nx)
        When the sheet came to rest over each cell, in the run's own time; later than all else
        where it had not when the full vacuum came, the more so the farther it hung. [-]
    low_mm : ndarray, shape (ny, nx)
        Gap under the sheet when it bends about as tightly as the rolling ball. [mm]
    frames_mm : tuple of (float, ndarray of shape (ny, nx))
        Time, and gap under the sheet then, in rising order of time. [mm]
    never : float
        Times above this one are those of places not reached by then. [-]
    """

    time: Floats
    low_mm: Floats
    frames_mm: tuple[tuple[float, Floats], ...]
    never: float

    def gap_at(self, time: float) -> Floats:
        """Return the gap under the sheet at the last frame no later than a time. [mm]."""
        before = [gap for at, gap in self.frames_mm if at <= time]
        return before[-1] if before else self.frames_mm[0][1]


def arrival_on(relief: Relief, run: FormingRun, *, ball_mm: float) -> Arrival:
    """Lay a forming run on the raster of the mold's heights.

    Parameters
    ----------
    relief : Relief
        The mold seen from above. [mm]
    run : FormingRun
        The sheet over it. Its air must be out by the time that the full vacuum has come: what
        comes to rest only while it is held is as good as never reached.
    ball_mm : float
        Radius of the rolling ball the low lines are compared with. [mm]
    """
    run = before_holding(run)
    heights = relief.on_table_mm
    chosen = _spread(len(run.frames.time))
    frames = tuple(
        (
            float(run.frames.time[k]),
            np.maximum(
                sheet_heights_mm(relief, run, run.frames.points_mm[k].astype(float)) - heights, 0.0
            ),
        )
        for k in chosen
    )
    end = np.maximum(sheet_heights_mm(relief, run, run.points_mm) - heights, 0.0)
    latest = float(run.arrival[np.isfinite(run.arrival)].max(initial=0.0))
    time = np.where(np.isfinite(run.arrival), run.arrival, np.inf)
    # Where any corner of a triangle is free, the sheet hangs from the others.
    time = np.where(run.touches == HELD, -1.0, np.minimum(time, latest + NEVER))
    cells, _ = zbuffer(_corners(relief, run, run.points_mm, time), *heights.shape)
    never = latest + 0.5 * NEVER
    cells = np.where(np.isfinite(cells), cells, -1.0)
    time_of = np.where(cells > never, latest + NEVER + PER_MM * end, cells)
    # A pressure of modulus x gauge / radius bends a free sheet about that tightly.
    frames_ready = [
        gap
        for (_, gap), p in zip(frames, run.frames.pressure_per_mm[chosen], strict=True)
        if p * ball_mm >= 1.0
    ]
    return Arrival(
        time=time_of, low_mm=frames_ready[0] if frames_ready else end, frames_mm=frames, never=never
    )


def _spread(n: int) -> NDArray[np.intp]:
    """Return the numbers of some of n frames, the first and the last among them."""
    return np.unique(np.linspace(0, n - 1, min(n, MOST_FRAMES)).round().astype(np.intp))


def low_places_of_run(
    arrival: Arrival, relief: Relief, spec: VentSpec, found: Sequence[LowPlace] = ()
) -> tuple[LowPlace, ...]:
    """Return the places that the shape demands, and those that the run adds to them.

    What a rolling ball cannot fill holds air whatever the run shows: the run adds the last places
    of all its pockets, and further places along its low lines; it takes none away. What is found
    already has its vent.
    """
    gap = gap_under_ball(relief.on_table_mm, ball_mm=spec.ball_mm, cell_mm=relief.cell_mm)
    shape = (*found, *low_places(gap, relief, spec, found))
    return joined_places(shape, arrival, relief, spec)[len(found) :]


def joined_places(
    shape: Sequence[LowPlace], arrival: Arrival, relief: Relief, spec: VentSpec
) -> tuple[LowPlace, ...]:
    """Return places that the shape demands with those of a run that are near none of them."""
    places = list(shape)
    for pocket in _pockets_of_run(arrival, relief, spec):
        near = next((k for k, one in enumerate(places) if same_hollow(one, pocket, relief)), None)
        if near is None:
            places.append(pocket)
        else:
            air_mm3 = max(places[near].air_mm3, pocket.air_mm3)
            places[near] = replace(places[near], air_mm3=air_mm3, reason=Reason.POCKET)
    return (*places, *cover_low_lines(arrival.low_mm, relief, places, spec))


def _pockets_of_run(arrival: Arrival, relief: Relief, spec: VentSpec) -> list[LowPlace]:
    """Return the last places of all pockets of a run that hold air worth a vent."""
    places: list[LowPlace] = []
    for pocket in pockets_of(arrival.time, floor=float(arrival.time.min())):
        gap = arrival.gap_at(pocket.saddle)
        if gap[pocket.cell] >= spec.least_gap_mm and _stands_out(pocket, arrival, gap):
            air = _held_mm3(pocket, arrival, gap, relief.cell_mm)
            if air >= spec.least_air_mm3:
                places.append(place_at(relief, gap, pocket.cell, air_mm3=air, reason=Reason.POCKET))
    return mirrored(places, mirrors_of(relief), arrival.gap_at(np.inf), relief)


def _stands_out(pocket: Hill, arrival: Arrival, gap: Floats) -> bool:
    """Tell whether a pocket is more than a ripple of sheet that touches nothing."""
    if pocket.saddle < arrival.never:
        return True
    return (pocket.peak - pocket.saddle) / PER_MM >= RIPPLE * float(gap[pocket.cell])


def _held_mm3(pocket: Hill, arrival: Arrival, gap: Floats, cell_mm: float) -> float:
    """Return the air under a pocket when it was cut off. [mm³]."""
    # A trace of gap everywhere, so that the region is that of the arrival.
    over = np.where(arrival.time > pocket.saddle, gap + 1e-9, 0.0)
    return float(region_sums(over, floor=0.0)[pocket.cell] * cell_mm**2)


def place_vents_by_run(
    relief: Relief, run: FormingRun, plans: Sequence[FeaturePlan], spec: VentSpec
) -> VentPlan:
    """Place a vent wherever a forming run shows that the sheet arrives last."""
    arrival = arrival_on(relief, run, ball_mm=spec.ball_mm)
    gap = gap_under_ball(relief.on_table_mm, ball_mm=spec.ball_mm, cell_mm=relief.cell_mm)
    shape = low_places(gap, relief, spec)
    enclosed = enclosed_places(gap, relief, plans, shape)
    places = joined_places((*shape, *enclosed), arrival, relief, spec)
    vents, on_table = vents_at(places, relief, plans, spec)
    return VentPlan(vents, on_table, arrival.low_mm, basis=BASIS)


def sheet_heights_mm(relief: Relief, run: FormingRun, points_mm: Floats) -> Floats:
    """Return the height of the sheet over every cell; the table's where there is none. [mm]."""
    heights, seen = zbuffer(
        _corners(relief, run, points_mm, points_mm[:, 2]), *relief.covered.shape
    )
    return np.where(seen >= 0, heights, relief.floor_mm)


def _corners(relief: Relief, run: FormingRun, points_mm: Floats, values: Floats) -> Floats:
    """Return the sheet's triangles in the raster's columns and rows, with a value for height."""
    across = (points_mm[:, :2] - relief.origin_mm) / relief.cell_mm
    corners: Floats = np.column_stack([across, values])[run.mesh.triangles]
    return corners
