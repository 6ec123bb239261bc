"""Trial: a sheet under a heater, followed with this or that made different, all at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from moldgen.physics.heat.heating import Array, Matter, SheetFace, Stack, beer_shares, stack
from moldgen.physics.heat.march import Exposure, TemperatureHistory, march_all
from moldgen.physics.heat.radiation import black_flux_W_m2
from moldgen.stock.forming_machine import FormingMachine, HeaterKind
from moldgen.stock.plastic import Plastic, Sheet
from moldgen.table.matter import matter_of
from moldgen.table.surroundings import ROOM_degC, body_emissivity, free_face, sheet_share

_CELLS = 12
_STEPS = 60
_LATEST = 0.8
"""A window is left before this share of it has gone by; common practice, no source."""
_LOSES = 1.2
"""Faces of a hot sheet lose about so much of what a black one sends out; for a first guess."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """The day: room, fan, and how clear the sheet is.

    Attributes
    ----------
    room_degC : float
        Room and cold sheet. [°C]
    fan : bool
        Whether a light fan blows over the heated face; else the air there is as hot as it.
    clear_depth_mm : float
        Depth in which a clear sheet takes up 63 % of the heat; 0 if it is opaque. [mm]
    """

    room_degC: float = ROOM_degC
    fan: bool = False
    clear_depth_mm: float = 0.0


USUAL = Conditions()


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """When things happen to a sheet, from cold; None if never while it was followed.

    Attributes
    ----------
    opens_s : float or None
        The coldest plane reaches the lower forming temperature. [s]
    aim_s : float or None
        The sheet is, on average through its thickness, as hot as usual when formed. [s]
    closes_s : float or None
        A face passes the upper forming temperature. [s]
    """

    opens_s: float | None
    aim_s: float | None
    closes_s: float | None

    @property
    def is_whole(self) -> bool:
        """Whether the sheet was followed through the whole window."""
        return None not in (self.opens_s, self.aim_s, self.closes_s)

    @property
    def forming_s(self) -> float:
        """When to form: at the aim, unless the window is nearly over by then. [s].

        Infinite if the sheet never gets there.
        """
        if self.opens_s is None:
            return inf
        closes_s = inf if self.closes_s is None else self.closes_s
        latest_s = self.opens_s + _LATEST * max(0.0, closes_s - self.opens_s)
        sooner_s = min(inf if self.aim_s is None else self.aim_s, latest_s)
        return self.opens_s if sooner_s == inf else max(self.opens_s, sooner_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A sheet under a heater.

    Attributes
    ----------
    sheet, machine, day
        What, where and how.
    weight, dullness : float
        Density and emissivity over what they are taken for, to see what they matter. [-]
    """

    sheet: Sheet
    machine: FormingMachine
    day: Conditions = USUAL
    weight: float = 1.0
    dullness: float = 1.0

    def course(
        self,
        views: Array,
        *,
        element_degC: Array | None = None,
        shares: Array | None = None,
        patience: float = 1.0,
    ) -> TemperatureHistory:
        """Return the course of several places, heaters or both; see `exposure`."""
        exposure = self.exposure(views, element_degC=element_degC, shares=shares, patience=patience)
        return courses([exposure])[0]

    def exposure(
        self,
        views: Array,
        *,
        element_degC: Array | None = None,
        shares: Array | None = None,
        patience: float = 1.0,
    ) -> Exposure:
        """Return what several places, heaters or both are exposed to, for `courses`.

        Parameters
        ----------
        views : ndarray, shape (batch,)
            Share of the heater in what each place sees. [-]
        element_degC : ndarray, shape (batch,), optional
            Heater; the machine's if left out. [°C]
        shares : ndarray, shape (batch,), optional
            ``heater_share``; the machine's if left out. [-]
        patience : float, default 1
            How much longer than usual they are followed. [-]
        """
        elements = self._elements(views, element_degC)
        hot, within = self._heated(views, elements, shares)
        back = self._cool_face()
        if self.machine.heater_sides == 2 or self._in_oven:
            back, within = hot, within + within[:, ::-1]
        return Exposure(
            body=self._body,
            start_degC=self.day.room_degC,
            front=hot,
            back=back,
            within_W_m2=within,
            duration_s=patience * self._long_enough_s(views, elements, shares),
        )

    def taken_W_m2(self, view: float, face_degC: float) -> float:
        """Return what the heated side takes up, net, when its face is so hot, in W/m²."""
        views = np.array([view])
        face, within = self._heated(views, self._elements(views, None), None)
        total, driven = face.films(np.array([face_degC]))
        return float(driven[0] - total[0] * face_degC + within.sum())

    @property
    def matter(self) -> Matter:
        """What the sheet is made of, as heavy as the trial says."""
        matter = matter_of(self.sheet.plastic)
        return replace(matter, density_kg_m3=matter.density_kg_m3 * self.weight)

    @property
    def _body(self) -> Stack:
        return stack((self.matter, self.sheet.gauge_mm / 1000, _CELLS))

    @property
    def _emissivity(self) -> float:
        return self.dullness * body_emissivity(self.sheet.gauge_mm, self.day.clear_depth_mm)

    def _elements(self, views: Array, element_degC: Array | None) -> Array:
        if element_degC is not None:
            return element_degC
        return np.full(len(views), self.machine.heater_degC)

    @property
    def _in_oven(self) -> bool:
        return self.machine.heater_kind == HeaterKind.OVEN

    def _exchange(self, views: Array, shares: Array | None) -> Array:
        own = [sheet_share(self.machine, float(view), self._emissivity) for view in views]
        if self._in_oven:  # its walls are all that the sheet sees
            own = [self._emissivity] * len(views)
        scale = self.machine.heater_share if shares is None else shares
        return np.array(own) * scale

    def _heated(
        self, views: Array, elements: Array, shares: Array | None
    ) -> tuple[SheetFace, Array]:
        """Return the heated face, and what goes deep past it, in W/m²."""
        day, exchange = self.day, self._exchange(views, shares)
        body = self._body
        face = SheetFace(
            air_degC=elements if self._in_oven else day.room_degC,
            film_W_m2K=self._film_W_m2K,
            glows=((elements, exchange), (day.room_degC, self._emissivity * (1 - views))),
        )
        if self._in_oven:
            face = replace(face, glows=face.glows[:1])
        if day.clear_depth_mm == 0:
            return face, np.zeros((len(views), len(body.widths_m)))
        depth = beer_shares(body, day.clear_depth_mm / 1000)
        # What comes in is taken off the face and given to the depth; what goes out stays there.
        coming = exchange * _black_W_m2(elements)
        return replace(face, flux_W_m2=-coming), np.outer(coming, depth / depth.sum())

    @property
    def _film_W_m2K(self) -> float:
        """Air at the heated face: a fan, an oven's, or none that is cooler than the face."""
        if not (self.day.fan or self._in_oven):
            return 0.0
        machine = self.machine
        wide, deep = machine.opening_width_mm, machine.opening_depth_mm
        return free_face(wide, deep, hot_up=True, fan=self.day.fan).film_W_m2K

    def _cool_face(self) -> SheetFace:
        return free_face(
            self.machine.opening_width_mm, self.machine.opening_depth_mm, hot_up=False,
            room_degC=self.day.room_degC, emissivity=self._emissivity,
        )  # fmt: skip

    def _long_enough_s(self, views: Array, elements: Array, shares: Array | None) -> Array:
        """Return times that let each pass its window, if it gets there at all."""
        plastic, matter, gauge_m = self.sheet.plastic, self.matter, self.sheet.gauge_mm / 1000
        content = matter.enthalpy(np.array([self.day.room_degC, plastic.forming_high_degC]))
        held = (content[1] - content[0]) * matter.density_kg_m3 * gauge_m
        coming = self._exchange(views, shares) * _black_W_m2(elements) * self.machine.heater_sides
        lost = 0.5 * coming if self._in_oven else _LOSES * black_flux_W_m2(plastic.forming_degC)
        net = np.maximum(coming - lost, 0.15 * coming)
        across_s = gauge_m**2 * matter.density_kg_m3 * matter.heat_J_kgK / matter.conductivity_W_mK
        longest_s: Array = 1.6 * (held / net + 0.5 * across_s)
        return longest_s


def courses(exposures: Sequence[Exposure]) -> tuple[TemperatureHistory, ...]:
    """Return the courses of several trials, followed side by side."""
    return march_all(exposures, n_steps=_STEPS)


def clocks(course: TemperatureHistory, plastic: Plastic) -> tuple[Clock, ...]:
    """Return when things happened, for each column of a course."""
    ends = np.stack([course.fronts_degC, course.backs_degC])
    hottest, coldest = ends.max(axis=0), course.profiles_degC.min(axis=-1)
    coldest = np.minimum(coldest, ends.min(axis=0))
    means = course.profiles_degC.mean(axis=-1)
    return tuple(
        Clock(
            opens_s=_reached_s(times_s, coldest[:, place], plastic.forming_low_degC),
            aim_s=_reached_s(times_s, means[:, place], plastic.forming_degC),
            closes_s=_reached_s(times_s, hottest[:, place], plastic.forming_high_degC),
        )
        for place, times_s in enumerate(course.times_s.T)
    )


def _reached_s(times_s: Array, temperatures_degC: Array, wanted_degC: float) -> float | None:
    """Return when a rising temperature first reaches a value."""
    above = np.flatnonzero(temperatures_degC >= wanted_degC)
    if not above.size:
        return None
    after = max(1, int(above[0]))
    cut = slice(after - 1, after + 1)
    return float(np.interp(wanted_degC, temperatures_degC[cut], times_s[cut]))


def _black_W_m2(elements_degC: Array) -> Array:
    return np.array([black_flux_W_m2(float(element)) for element in elements_degC])
