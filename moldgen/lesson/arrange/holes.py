"""The holes of the table round a shot: which serve a mold, and which would mark a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.stock import FormingMachine


@dataclass(frozen=True, slots=True, kw_only=True)
class TableHoles:
    """The holes of the table within the clear opening, by what becomes of them.

    Attributes
    ----------
    under : tuple of (x, y)
        Under a mold: they draw its air. [mm]
    plugged : tuple of (x, y)
        Free, and so near a mold that the part would be marked: to be plugged. [mm]
    free : tuple of (x, y)
        Free, where the sheet is waste. [mm]
    """

    under: tuple[tuple[float, float], ...]
    plugged: tuple[tuple[float, float], ...]
    free: tuple[tuple[float, float], ...]


def table_holes(
    machine: FormingMachine, feet: Sequence[shapely.Geometry], parts: Sequence[shapely.Geometry]
) -> TableHoles:
    """Return the holes of a table round molds that stand on it.

    Parameters
    ----------
    machine : FormingMachine
        Its holes, taken as a grid with the same rest on both sides of the table, and the opening
        as lying over the middle.
    feet : sequence of Polygon
        The molds, from the lower left corner of the opening. [mm]
    parts : sequence of Polygon or MultiPolygon
        What is cut out of the sheet. [mm]
    """
    places = _grid(machine)
    radius = machine.hole_diameter_mm / 2
    holes = shapely.points(places)
    under = _any_within(feet, holes, 0.0)
    marks = _any_within(parts, holes, radius) & ~under
    return TableHoles(
        under=_pairs(places[under]),
        plugged=_pairs(places[marks]),
        free=_pairs(places[~under & ~marks]),
    )


def _any_within(
    regions: Sequence[shapely.Geometry], holes: NDArray[np.object_], far_mm: float
) -> NDArray[np.bool_]:
    whole = shapely.union_all(list(regions))
    shapely.prepare(whole)
    return np.asarray(shapely.dwithin(whole, holes, far_mm), np.bool_)


def _grid(machine: FormingMachine) -> Floats:
    """Return the middle of every hole that lies whole within the opening, shape (n, 2). [mm]."""
    lines = []
    for table, opening in (
        (machine.table_width_mm, machine.opening_width_mm),
        (machine.table_depth_mm, machine.opening_depth_mm),
    ):
        pitch, radius = machine.hole_pitch_mm, machine.hole_diameter_mm / 2
        count = max(1, floor((table - machine.hole_diameter_mm) / pitch) + 1)
        at = (np.arange(count) - (count - 1) / 2) * pitch + opening / 2
        lines.append(at[(at >= radius) & (at <= opening - radius)])
    return np.array([(x, y) for x in lines[0] for y in lines[1]]).reshape(-1, 2)


def _pairs(places: Floats) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in places)
