"""Where the sheet arrives last, and the holes that let the air out there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from moldgen.mold.features import FeaturePlan
from moldgen.mold.vents.enclosed import enclosed_places
from moldgen.mold.vents.low_places import SHARED_MM, low_places
from moldgen.mold.vents.vent import Floor, LowPlace, Vent, VentPlan, VentSpec
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.relief import Relief
from moldgen.solid.polygons import polygons_of

VALLEY_MM = 4.0
"""A low place farther than this from any flat lies in a valley whose fillets meet. [mm]."""


HOLE_MARGIN_MM = 0.2
"""Flat kept around a hole: a printed hole is drawn wider by what it loses. [mm]."""


ROW_MM = 8.0
"""Vents nearer than this to the topmost of a row are named in that row. [mm]."""


def place_vents(relief: Relief, plans: Sequence[FeaturePlan], spec: VentSpec) -> VentPlan:
    """Place a vent at every low place of a mold.

    Every pocket of the gap field that holds more than the spec's air gets a vent at its last
    place; then the remaining low cells are covered, lowest first, so that none is farther than
    the spec's spacing from a vent in the same low region; recesses and counters that are still
    without get one of their own.
    """
    gap = gap_under_ball(relief.on_table_mm, ball_mm=spec.ball_mm, cell_mm=relief.cell_mm)
    places = low_places(gap, relief, spec)
    enclosed = enclosed_places(gap, relief, plans, places)
    vents, on_table = vents_at((*places, *enclosed), relief, plans, spec)
    return VentPlan(vents, on_table, gap)


def vents_at(
    places: Sequence[LowPlace], relief: Relief, plans: Sequence[FeaturePlan], spec: VentSpec
) -> tuple[tuple[Vent, ...], tuple[LowPlace, ...]]:
    """Return a vent for every low place on a mold, in reading order, and the places on the table.

    Places so near one another that their holes would run together share one.
    """
    floors = floors_of(plans, relief)
    rooms: dict[str, shapely.Geometry] = {}
    vents: list[Vent] = []
    on_table: list[LowPlace] = []
    for place in places:
        floor, x_mm, y_mm = _spot(place, floors, rooms, spec.diameter_mm)
        if not floor.name:
            on_table.append(place)
        elif not _crowded(vents, x_mm, y_mm, floor, 2.5 * spec.diameter_mm):
            vents.append(_vent(x_mm, y_mm, floor, place, spec))
    return in_reading_order(vents), tuple(on_table)


def in_reading_order(vents: Sequence[Vent]) -> tuple[Vent, ...]:
    """Return vents named V1, V2, ... from the top left to the bottom right, row by row."""
    ordered: list[Vent] = []
    left = sorted(vents, key=lambda vent: (-vent.y_mm, vent.x_mm))
    while left:
        row = [vent for vent in left if vent.y_mm > left[0].y_mm - ROW_MM]
        ordered += sorted(row, key=lambda vent: (vent.x_mm, -vent.y_mm))
        left = left[len(row) :]
    return tuple(replace(vent, name=f"V{n}") for n, vent in enumerate(ordered, start=1))


def floors_of(plans: Sequence[FeaturePlan], relief: Relief) -> tuple[Floor, ...]:
    """Return every level region less what stands on it, the table (without a name) first."""
    ny, nx = relief.heights_mm.shape
    x, y = relief.origin_mm
    table = shapely.box(x, y, x + nx * relief.cell_mm, y + ny * relief.cell_mm)
    return (
        _floor("", table, relief.floor_mm, plans),
        *(_floor(plan.name, plan.flat, plan.z_flat_mm, plans) for plan in plans),
    )


def _floor(name: str, flat: shapely.Geometry, z_mm: float, plans: Sequence[FeaturePlan]) -> Floor:
    standing = [plan.outer for plan in plans if plan.parent == name]
    free = shapely.difference(flat, shapely.union_all(standing)) if standing else flat
    return Floor(name, polygons_of(free), z_mm)


def _spot(
    place: LowPlace,
    floors: Sequence[Floor],
    rooms: dict[str, shapely.Geometry],
    diameter_mm: float,
) -> tuple[Floor, float, float]:
    """Return the floor a low place belongs to and the nearest spot for a whole hole on it.

    Where a hole has room on a floor is kept in ``rooms`` for the next place. A place on a fillet
    belongs to the nearest floor below it. In a valley so narrow that its fillets meet there is
    no floor near: the hole then stands in the valley itself.
    """
    point = shapely.Point(place.x_mm, place.y_mm)
    below = [floor for floor in floors if floor.z_mm <= place.z_mm + 0.05]
    best = min(below, key=lambda floor: (round(floor.region.distance(point), 3), -floor.z_mm))
    if best.name not in rooms:
        rooms[best.name] = shapely.buffer(best.region, -(diameter_mm / 2 + HOLE_MARGIN_MM))
    room = rooms[best.name]
    target = best.region if room.is_empty else room
    if target.distance(point) > VALLEY_MM:
        return replace(best, z_mm=place.z_mm), place.x_mm, place.y_mm
    spot = shapely.shortest_line(target, point).coords[0]
    return best, float(spot[0]), float(spot[1])


def _crowded(
    vents: Sequence[Vent], x_mm: float, y_mm: float, floor: Floor, least_mm: float
) -> bool:
    for vent in vents:
        away = np.hypot(vent.x_mm - x_mm, vent.y_mm - y_mm)
        if vent.feature == floor.name and away < max(least_mm, SHARED_MM):
            between = shapely.LineString([(vent.x_mm, vent.y_mm), (x_mm, y_mm)])
            # Across a wall they serve places of their own, however near.
            if away < least_mm or shapely.covers(floor.region, between):
                return True
    return False


def _vent(x_mm: float, y_mm: float, floor: Floor, low: LowPlace, spec: VentSpec) -> Vent:
    return Vent(
        name="",
        x_mm=x_mm,
        y_mm=y_mm,
        z_mm=floor.z_mm,
        diameter_mm=spec.diameter_mm,
        feature=floor.name,
        low=low,
    )
