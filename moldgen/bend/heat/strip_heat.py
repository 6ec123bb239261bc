"""Strip heat: how hot a strip gets on a heater, through its thickness, and when it is stiff."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import numpy as np

from moldgen.physics.heat.heating import Array, Matter, SheetFace, Stack, stack
from moldgen.physics.heat.march import march
from moldgen.physics.heat.radiation import rod_view_factor
from moldgen.stock.plastic import Plastic
from moldgen.stock.strip_heater import ElementKind, StripHeater
from moldgen.table.matter import matter_of

_ABSORBED = 0.77
"""Emissivity of element, 0.85, and plastic, 0.9, multiplied; Throne (0.85 to 0.95), from memory."""


_PLASTIC_GLOWS = 0.9


_STILL_AIR_W_m2K = 8.0
"""Free convection off the upper face; generic, from memory."""


_CONTACT_W_m2K = 300.0
"""Between a contact bar and the strip lying on it; generic, from memory."""


_JIG_m = 0.02


_JIG_CELLS = 10


_CELLS = 10


_STEPS = 12


_SIDES_s = (4.0, 1800.0)
"""Shortest and longest time of a side that is looked at."""


def faces_of(heater: StripHeater, room_degC: float) -> tuple[SheetFace, SheetFace]:
    """Return what the strip's lower and upper face meet on a heater.

    The element is a rod under the middle of the band; air between it and the strip is as hot as
    the strip.
    """
    if heater.element is ElementKind.BAR:
        hot = SheetFace(air_degC=heater.element_degC, film_W_m2K=_CONTACT_W_m2K)
    else:
        view = rod_view_factor(heater.band_mm, heater.element_width_mm / 2, heater.gap_mm)
        hot = SheetFace(glows=((heater.element_degC, _ABSORBED * view),))
    return hot, hot if heater.sides == 2 else in_air(room_degC)


def in_air(room_degC: float) -> SheetFace:
    """Return what a face meets in a still room."""
    return SheetFace(
        air_degC=room_degC, film_W_m2K=_STILL_AIR_W_m2K, glows=((room_degC, _PLASTIC_GLOWS),)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatTable:
    """Ends of all sides, by number of sides (rows) and time of a side (columns).

    ``ends`` are the profiles, face last heated first; ``hottest`` and ``backs`` the highest
    temperatures so far of either face, and of the face turned away.
    """

    sides_s: Array
    ends: Array
    hottest: Array
    backs: Array

    def at(self, field: Array, n_sides: int, side_s: float) -> Array:
        """Return a row of a field between two of its times."""
        after = int(np.clip(np.searchsorted(self.sides_s, side_s), 1, len(self.sides_s) - 1))
        first_s, last_s = self.sides_s[after - 1 : after + 1]
        share = (side_s - first_s) / (last_s - first_s)
        row = field[n_sides - 1]
        between: Array = (1 - share) * row[after - 1] + share * row[after]
        return between

    def short_K(self, mean_degC: float, coldest_degC: float) -> Array:
        """Return what is missing on average, or at the coldest place if that is more."""
        mean, coldest = self.ends.mean(axis=-1), self.ends.min(axis=-1)
        short: Array = np.maximum(mean_degC - mean, coldest_degC - coldest)
        return short

    def side_s(self, n_sides: int, mean_degC: float, coldest_degC: float) -> float | None:
        """Return the shortest time of a side that makes it hot enough, if any does."""
        short_K = self.short_K(mean_degC, coldest_degC)[n_sides - 1]
        enough = np.flatnonzero(short_K <= 0)
        if not enough.size:
            return None
        after = max(1, int(enough[0]))
        cut = slice(after - 1, after + 1)
        return float(ceil(np.interp(0.0, -short_K[cut], self.sides_s[cut])))


@lru_cache(maxsize=32)
def heat_table(
    thickness_mm: float, heater: StripHeater, plastic: Plastic, room_degC: float, most_sides: int
) -> HeatTable:
    """Follow a strip through numbers of sides up to a most, for all times of a side at once.

    Parameters
    ----------
    thickness_mm : float
        Thickness of the strip. [mm]
    heater : StripHeater
        The strip heater.
    plastic : Plastic
        What the strip is made of.
    room_degC : float
        Temperature of strip and air at the start. [°C]
    most_sides : int
        Greatest number of sides to follow.
    """
    body = stack((matter_of(plastic), thickness_mm / 1000, _CELLS))
    fine = 2 if body.melts else 1
    sides_s = np.geomspace(*_SIDES_s, 34 * fine)
    hot, away = faces_of(heater, room_degC)
    profile: Array = np.full((len(sides_s), _CELLS), room_degC)
    turned_degC: Array = np.full(len(sides_s), room_degC)
    ends, fronts, backs = [], [], []
    for _ in range(most_sides):
        course = march(
            body, profile, front=hot, back=away, duration_s=sides_s, n_steps=_STEPS * fine
        )
        ends.append(course.profiles_degC[-1])
        fronts.append(course.fronts_degC.max(axis=0))
        # A face just turned away from the element is at first as hot as it was over it.
        backs.append(np.maximum(course.backs_degC.max(axis=0), turned_degC))
        turned_degC = course.fronts_degC[-1]
        profile = ends[-1][:, ::-1]
    far = np.maximum.accumulate(np.stack(backs), axis=0)
    near = np.maximum.accumulate(np.stack(fronts), axis=0)
    return HeatTable(sides_s=sides_s, ends=np.stack(ends), hottest=np.maximum(near, far), backs=far)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoldTable:
    """Times to stiffen, inside on the jig and in air alone, by the time of a side."""

    sides_s: Array
    on_jig_s: Array
    in_air_s: Array

    def at(self, side_s: float) -> tuple[float, float]:
        """Return both for a time of a side. [s]."""
        on_jig_s = np.interp(side_s, self.sides_s, self.on_jig_s)
        return float(on_jig_s), float(np.interp(side_s, self.sides_s, self.in_air_s))


@lru_cache(maxsize=32)
def hold_table(
    thickness_mm: float,
    heater: StripHeater,
    plastic: Plastic,
    *,
    room_degC: float,
    jig: Matter,
    n_sides: int,
    most_sides: int,
) -> HoldTable:
    """Follow strips that were heated so many sides until they are stiff, all times at once.

    Parameters
    ----------
    thickness_mm : float
        Thickness of the strip. [mm]
    heater : StripHeater
        The strip heater.
    plastic : Plastic
        What the strip is made of.
    room_degC : float
        Temperature of air and jig. [°C]
    jig : Matter
        What lies against the hot strip.
    n_sides : int
        Sides that were heated.
    most_sides : int
        Greatest number of sides of the heating that came before.
    """
    table = heat_table(thickness_mm, heater, plastic, room_degC, most_sides)
    means = table.ends[n_sides - 1].mean(axis=-1)
    likely = np.abs(means - plastic.forming_degC) < 100
    profiles = table.ends[n_sides - 1][likely]
    sheet = (matter_of(plastic), thickness_mm / 1000, _CELLS)
    # The face heated last is the outside of the bend, away from the jig.
    cold = np.full((len(profiles), _JIG_CELLS), room_degC)
    start = np.concatenate([cold, profiles[:, ::-1]], axis=1)
    air = in_air(room_degC)
    return HoldTable(
        sides_s=table.sides_s[likely],
        on_jig_s=_stiff_s(
            stack((jig, _JIG_m, _JIG_CELLS), sheet),
            start,
            front=SheetFace(),
            back=air,
            plastic=plastic,
        ),
        in_air_s=_stiff_s(stack(sheet), profiles, front=air, back=air, plastic=plastic),
    )


def _stiff_s(
    body: Stack, start: Array, *, front: SheetFace, back: SheetFace, plastic: Plastic
) -> Array:
    """Return when the hottest part of the sheet, the last layer, falls to where it is stiff."""
    _, sheet = body.layers[-1]
    # A sheet of any thickness that is bent is stiff within this.
    longest_s = 300.0 + 400e3 * float(body.widths_m[sheet].sum())
    durations_s = np.full(len(start), longest_s)
    course = march(body, start, front=front, back=back, duration_s=durations_s, n_steps=40)
    hottest = course.profiles_degC[:, :, sheet].max(axis=-1)
    stiff_s = [np.interp(-plastic.set_degC, -row, course.times_s[:, 0]) for row in hottest.T]
    return np.array(stiff_s)
