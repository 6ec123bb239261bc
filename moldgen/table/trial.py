"""Trial: a sheet under a heater, followed with this or that made different, all at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from moldgen.physics.heat.heating import Array, Matter, SheetFace, Stack, beer_shares, stack
from moldgen.physics.heat.march import Exposure, TemperatureHistory, march_all
from moldgen.physics.heat.radiation import black_flux_W_m2
from moldgen.stock.forming_machine import FormingMachine, HeaterKind
from moldgen.stock.plastic import Sheet
from moldgen.table.matter import matter_of
from moldgen.table.surroundings import ROOM_degC, body_emissivity, free_face, sheet_share

_CELLS = 12
_STEPS = 60
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
class Trial:
    """A sheet under a heater.

    Attributes
    ----------
    sheet, machine, day
        What, where and how.
    """

    sheet: Sheet
    machine: FormingMachine
    day: Conditions = USUAL

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
        """What the sheet is made of."""
        return matter_of(self.sheet.plastic)

    @property
    def _body(self) -> Stack:
        return stack((self.matter, self.sheet.gauge_mm / 1000, _CELLS))

    @property
    def _emissivity(self) -> float:
        return body_emissivity(self.sheet, self.day.clear_depth_mm)

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


def _black_W_m2(elements_degC: Array) -> Array:
    return np.array([black_flux_W_m2(float(element)) for element in elements_degC])
