"""Strip heat: how hot a strip gets over a heater, line and sides, and when it is stiff."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import numpy as np

from moldgen.physics.bisection import narrowed
from moldgen.physics.heat.heating import Array, Matter, SheetFace, Stack, stack
from moldgen.physics.heat.line_heating import LineFace, LineGrid, heat_line
from moldgen.physics.heat.march import march
from moldgen.physics.heat.radiation import rod_point_view_factor
from moldgen.stock.plastic import Plastic
from moldgen.stock.strip_heater import ElementKind, StripHeater
from moldgen.table.matter import matter_of

LONGEST_SIDE_s = 1800.0
"""Longest time of a side that is looked at."""
_SHORTEST_SIDE_s = 4.0
_WIDER = 1.3
"""By which the search for a time is widened, step by step."""
_ABSORBED = 0.77
"""Emissivity of element, 0.85, and plastic, 0.9, multiplied; Throne (0.85 to 0.95), from memory."""
_PLASTIC_GLOWS = 0.9
_STILL_AIR_W_m2K = 8.0
"""Free convection off the upper face; generic, from memory."""
_CONTACT_W_m2K = 300.0
"""Between a contact bar and the strip lying on it; generic, from memory."""
_JIG_m = 0.02
_JIG_CELLS = 10
_CELL_MM = 0.4
_LEAST_CELLS, _MOST_CELLS = 4, 8
_COLUMNS_IN_BAND = 8
_BESIDE_MM = 20.0
"""How far beside the band the strip is followed; heat gets three times 5 to 6 mm at most."""


def grid_of(heater: StripHeater, thickness_mm: float) -> LineGrid:
    """Return the cells of half a strip; a column ends where the heater's band does."""
    column_mm = heater.band_mm / 2 / (_COLUMNS_IN_BAND - 0.5)
    beside = ceil(_BESIDE_MM / column_mm)
    n_columns = _COLUMNS_IN_BAND + beside
    return LineGrid(
        thickness_m=thickness_mm / 1000,
        half_width_m=(n_columns - 1) * column_mm / 1000,
        n_cells=int(np.clip(round(thickness_mm / _CELL_MM), _LEAST_CELLS, _MOST_CELLS)),
        n_columns=n_columns,
    )


def faces_of(
    heater: StripHeater, places_mm: Array, *, room_degC: float
) -> tuple[LineFace, LineFace]:
    """Return what the strip's lower and upper face meet on a heater, by distance from its line.

    The element is a rod under the middle of the band, and a bar is as wide as it is; air between
    it and the strip is as hot as the strip. Beside the band the strip lies on the bed, which takes
    no heat up.

    Parameters
    ----------
    heater : StripHeater
        The strip heater.
    places_mm : ndarray
        From the bend line. [mm]
    room_degC : float
        Temperature of the air over the strip. [°C]
    """
    still = np.zeros_like(places_mm)
    if heater.element is ElementKind.BAR:
        on = places_mm <= heater.element_width_mm / 2
        film, share = np.where(on, _CONTACT_W_m2K, 0.0), still
    else:
        on = places_mm <= heater.band_mm / 2
        view = rod_point_view_factor(places_mm, heater.element_width_mm / 2, heater.gap_mm)
        film, share = still, np.where(on, _ABSORBED * view, 0.0)
    element = still + heater.element_degC
    hot = LineFace(air_degC=element, film_W_m2K=film, source_degC=element, share=share)
    room = still + room_degC
    away = LineFace(
        air_degC=room,
        film_W_m2K=still + _STILL_AIR_W_m2K,
        source_degC=room,
        share=still + _PLASTIC_GLOWS,
    )
    return hot, hot if heater.sides == 2 else away


def in_air(room_degC: float) -> SheetFace:
    """Return what a face meets in a still room."""
    return SheetFace(
        air_degC=room_degC, film_W_m2K=_STILL_AIR_W_m2K, glows=((room_degC, _PLASTIC_GLOWS),)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSetup:
    """What is heated on what: thickness in mm, heater, plastic, and the room in °C."""

    thickness_mm: float
    heater: StripHeater
    plastic: Plastic
    room_degC: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripHeat:
    """A strip after it was heated.

    Attributes
    ----------
    places_mm : ndarray, shape (columns,)
        From the bend line. [mm]
    cells_degC : ndarray, shape (columns, cells)
        Through the thickness, face last heated first. [°C]
    faces_degC : pair of float
        Both faces on the bend line. [°C]
    hottest_degC, back_degC : float
        The hottest that either face was; and that of the face turned away. [°C]
    """

    places_mm: Array
    cells_degC: Array
    faces_degC: tuple[float, float]
    hottest_degC: float
    back_degC: float

    @property
    def line_degC(self) -> Array:
        """Through the thickness on the bend line. [°C]."""
        line: Array = self.cells_degC[0]
        return line

    @property
    def coldest_degC(self) -> float:
        """The coldest place through the thickness on the bend line. [°C]."""
        return min(*self.faces_degC, float(self.line_degC.min()))

    def short_K(self, mean_degC: float, coldest_degC: float) -> float:
        """Return what is missing on average on the line, or at its coldest place if more."""
        return max(mean_degC - float(self.line_degC.mean()), coldest_degC - self.coldest_degC)


def heated_strip(bench: LineSetup, n_sides: int, side_s: float) -> StripHeat:
    """Follow a strip that is heated so many times, turned over between.

    Parameters
    ----------
    bench : LineSetup
        What is heated on what.
    n_sides : int
        How often a side is heated.
    side_s : float
        For how long each. [s]
    """
    grid, matter = grid_of(bench.heater, bench.thickness_mm), matter_of(bench.plastic)
    places_mm = grid.places_m * 1000
    hot, away = faces_of(bench.heater, places_mm, room_degC=bench.room_degC)
    cells = np.full((grid.n_columns, grid.n_cells), bench.room_degC)
    fronts, backs, turned_degC = [], [], bench.room_degC
    for side in range(n_sides):
        after = heat_line(
            grid, matter, cells[:, ::-1] if side else cells,
            front=hot, back=away, duration_s=side_s,
        )  # fmt: skip
        cells = after.cells_degC
        fronts.append(after.hottest_front_degC)
        # A face just turned away from the element is at first as hot as it was over it.
        backs.append(max(after.hottest_back_degC, turned_degC))
        turned_degC = after.faces_degC[0]
    return StripHeat(
        places_mm=places_mm,
        cells_degC=cells,
        faces_degC=after.faces_degC,
        hottest_degC=max(*fronts, *backs),
        back_degC=max(backs),
    )


@lru_cache(maxsize=256)
def shortest_side_s(
    bench: LineSetup, n_sides: int, wanted_degC: tuple[float, float], *, near_s: float
) -> float | None:
    """Return the shortest time of a side that makes it hot enough, if any does. [s].

    Parameters
    ----------
    bench : LineSetup
        What is heated on what.
    n_sides : int
        How often a side is heated.
    wanted_degC : pair of float
        What the line reaches on average through the thickness, and everywhere. [°C]
    near_s : float
        Where the search begins. [s]
    """

    def enough(side_s: float) -> bool:
        return heated_strip(bench, n_sides, side_s).short_K(*wanted_degC) <= 0

    short_s = long_s = near_s
    while enough(short_s) and short_s > _SHORTEST_SIDE_s:
        short_s, long_s = short_s / _WIDER, short_s
    while not enough(long_s):
        if long_s >= LONGEST_SIDE_s:
            return None
        short_s, long_s = long_s, min(_WIDER * long_s, LONGEST_SIDE_s)
    _, found_s = narrowed(enough, short_s, long_s, within=max(0.5, 0.005 * long_s))
    return float(ceil(found_s))


def hold_s(bench: LineSetup, line_degC: Array, jig: Matter) -> tuple[float, float]:
    """Return how long a bend takes to be stiff, inside on the jig, and in air alone. [s].

    Parameters
    ----------
    bench : LineSetup
        What was heated on what.
    line_degC : ndarray, shape (cells,)
        The bend to begin with, its outside, which was heated last, first. [°C]
    jig : Matter
        What lies against its inside.
    """
    sheet = (matter_of(bench.plastic), bench.thickness_mm / 1000, len(line_degC))
    start = np.append(np.full(_JIG_CELLS, bench.room_degC), line_degC[::-1])
    air = in_air(bench.room_degC)
    on_jig = stack((jig, _JIG_m, _JIG_CELLS), sheet)
    set_degC = bench.plastic.set_degC
    return (
        _stiff_s(on_jig, start, front=SheetFace(), back=air, set_degC=set_degC),
        _stiff_s(stack(sheet), line_degC, front=air, back=air, set_degC=set_degC),
    )


def _stiff_s(
    body: Stack, start: Array, *, front: SheetFace, back: SheetFace, set_degC: float
) -> float:
    """Return when the hottest part of the sheet, the last layer, falls to where it is stiff."""
    _, sheet = body.layers[-1]
    # A sheet of any thickness that is bent is stiff within this.
    longest_s = 300.0 + 400e3 * float(body.widths_m[sheet].sum())
    course = march(body, start, front=front, back=back, duration_s=longest_s, n_steps=40)
    hottest = course.profiles_degC[:, 0, sheet].max(axis=-1)
    return float(np.interp(-set_degC, -hottest, course.times_s[:, 0]))
