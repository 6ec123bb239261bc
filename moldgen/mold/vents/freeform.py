"""Vents on a surface without flats: at every low place, on the gentlest ground near it."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.mold.vents.by_ball import in_reading_order
from moldgen.mold.vents.by_run import BASIS, arrival_on, low_places_of_run
from moldgen.mold.vents.low_places import low_places
from moldgen.mold.vents.vent import BALL_BASIS, LowPlace, Vent, VentPlan, VentSpec
from moldgen.physics.membrane.run import FormingRun
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.relief import Relief

NEAR_MM = 3.0
"""How far from its low place a vent may stand to open on gentler ground. [mm]."""

STILL_LOW = 0.6
"""Share of a low place's gap that the spot of its vent must still have."""

_BORE_ROOM_MM = 3.2
"""Half the usual bore and the wall around it. [mm]."""

_MOST_DEEPER_MM = 1.5
"""How much deeper than its mouth a hole may be measured; its cutter reaches 2 mm higher. [mm]."""


def place_freeform_vents(
    relief: Relief,
    foot: MultiPolygon,
    spec: VentSpec,
    *,
    feature: str,
    run: FormingRun | None = None,
) -> VentPlan:
    """Place a vent at every low place of a surface of any shape.

    A low place beside the foot is the table's. On a fillet the hole moves to the gentlest spot near
    by that the sheet still reaches late, so that it opens upward and not into a wall.

    Parameters
    ----------
    relief : Relief
        The mold from above.
    foot : MultiPolygon
        Where it stands on the table. [mm]
    feature : str
        Name of the body.
    run : FormingRun, optional
        The sheet formed over it: its order of arrival goes before the rolling ball.
    """
    if run is None:
        gap = gap_under_ball(relief.on_table_mm, ball_mm=spec.ball_mm, cell_mm=relief.cell_mm)
        places, basis = low_places(gap, relief, spec), BALL_BASIS
    else:
        arrival = arrival_on(relief, run, ball_mm=spec.ball_mm)
        places, basis = low_places_of_run(arrival, relief, spec), BASIS
        gap = arrival.low_mm
    inside = shapely.buffer(foot, -(spec.diameter_mm / 2 + relief.cell_mm))
    shapely.prepare(inside)
    vents: list[Vent] = []
    on_table: list[LowPlace] = []
    for place in places:
        if place.z_mm <= relief.floor_mm + 0.05 or not shapely.contains_xy(
            inside, place.x_mm, place.y_mm
        ):
            on_table.append(place)
            continue
        x, y, z = _gentlest(place, relief, gap, inside)
        if all(np.hypot(v.x_mm - x, v.y_mm - y) >= 2.5 * spec.diameter_mm for v in vents):
            vents.append(
                Vent(
                    name="", x_mm=x, y_mm=y, z_mm=z, diameter_mm=spec.diameter_mm,
                    feature=feature, low=place,
                )
            )  # fmt: skip
    return VentPlan(in_reading_order(vents), tuple(on_table), gap, basis=basis)


def _gentlest(
    place: LowPlace,
    relief: Relief,
    gap: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    inside: shapely.Geometry,
) -> tuple[float, float, float]:
    """Return the spot of least slope near a low place that is nearly as low."""
    row, column = relief.cells(np.array([[place.x_mm, place.y_mm]]))[0]
    n = int(np.ceil(NEAR_MM / relief.cell_mm))
    heights = relief.on_table_mm
    rows = slice(max(0, row - n), min(heights.shape[0], row + n + 1))
    columns = slice(max(0, column - n), min(heights.shape[1], column + n + 1))
    part = heights[rows, columns]
    slope = np.hypot(*np.gradient(part, relief.cell_mm)) if min(part.shape) > 1 else 0 * part
    x, y = np.meshgrid(relief.x_mm[columns], relief.y_mm[rows])
    away = np.hypot(x - place.x_mm, y - place.y_mm)
    good = (gap[rows, columns] >= STILL_LOW * place.gap_mm) & (away <= NEAR_MM)
    good &= shapely.contains_xy(inside, x, y)
    # Gentle counts in steps, so that of equal ground the nearest is taken.
    cost = np.where(good, np.round(slope, 1) + 0.02 * away, np.inf)
    if not good.any():
        return place.x_mm, place.y_mm, place.z_mm
    best = np.unravel_index(int(np.argmin(cost)), cost.shape)
    # On a slope the plastic beside the bore is lower; the hole is measured from there.
    beside = part[np.hypot(x - x[best], y - y[best]) <= _BORE_ROOM_MM]
    level = max(float(beside.min()), float(part[best]) - _MOST_DEEPER_MM)
    return float(x[best]), float(y[best]), level
