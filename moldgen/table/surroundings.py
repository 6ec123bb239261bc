"""Surroundings: what the faces of a sheet meet on a forming table: heater, air, fan, room."""

from __future__ import annotations

from math import exp

from moldgen.physics.heat.convection import nusselt_blown, nusselt_level, rayleigh
from moldgen.physics.heat.heating import SheetFace
from moldgen.physics.heat.radiation import exchange_share
from moldgen.physics.heat.side_walls import WalledHeater
from moldgen.stock.forming_machine import FormingMachine
from moldgen.stock.plastic import Sheet

ROOM_degC = 20.0
EMISSIVITY = 0.9
"""Of heater, print and a sheet on it; Throne (0.85 to 0.95), from memory."""
FAN_m_s = 2.0
"""Air of a light fan at the sheet; common practice, no source."""
# Air at 60 °C, for faces of 80 to 140 °C in a room; Incropera, Table A.4, from memory.
_AIR_K = 333.0
_AIR_m2_s = 1.9e-5
_AIR_SPREADS_m2_s = 2.7e-5
_AIR_W_mK = 0.0287
_AIR_PRANDTL = 0.70
_EXCESS_K = 80.0


def sheet_share(machine: FormingMachine, view: float, emissivity: float = EMISSIVITY) -> float:
    """Return the effective emissivity between sheet and heater, before ``heater_share``.

    Parameters
    ----------
    machine : FormingMachine
        Where; sheet and heater count with their areas.
    view : float
        Share of the heater in what the place sees. [-]
    emissivity : float
        Of the sheet. [-]
    """
    sheet_mm2 = machine.opening_width_mm * machine.opening_depth_mm
    heater_mm2 = machine.heater_width_mm * machine.heater_depth_mm
    return exchange_share(emissivity, EMISSIVITY, view, area_ratio=sheet_mm2 / heater_mm2)


def middle_view(machine: FormingMachine) -> float:
    """Return what the middle of the sheet sees of the heater, in its walls too."""
    return _heater(machine).seen_at(0.0, 0.0)


def mean_view(machine: FormingMachine) -> float:
    """Return what the sheet sees of the heater, on average over the clamp's opening."""
    return _heater(machine).seen_over(_opening_mm(machine))


def corner_view(machine: FormingMachine) -> float:
    """Return what a corner of the clamp's opening sees of the heater."""
    wide, deep = _opening_mm(machine)
    return _heater(machine).seen_at(wide / 2, deep / 2)


def still_film_W_m2K(width_mm: float, depth_mm: float, *, hot_up: bool) -> float:
    """Return the film coefficient of a hot level face in still air.

    Parameters
    ----------
    width_mm, depth_mm : float
        The face. [mm]
    hot_up : bool
        Whether the face looks up.

    Notes
    -----
    `moldgen.physics.heat.convection.nusselt_level`, for a face 80 K above the room; area over
    perimeter is the length that counts.

    Examples
    --------
    >>> round(still_film_W_m2K(250, 250, hot_up=True), 1)
    8.1
    """
    length_m = _size_m(width_mm, depth_mm) / 4
    number = rayleigh(
        _EXCESS_K,
        length_m,
        film_K=_AIR_K,
        viscosity_m2_s=_AIR_m2_s,
        diffusivity_m2_s=_AIR_SPREADS_m2_s,
    )
    return nusselt_level(number, hot_up=hot_up) * _AIR_W_mK / length_m


def fan_film_W_m2K(width_mm: float, depth_mm: float) -> float:
    """Return the film coefficient of a face along which a light fan blows.

    Examples
    --------
    >>> round(fan_film_W_m2K(250, 250), 1)
    11.0
    """
    length_m = _size_m(width_mm, depth_mm)
    number = nusselt_blown(FAN_m_s * length_m / _AIR_m2_s, _AIR_PRANDTL)
    return number * _AIR_W_mK / length_m


def free_face(
    width_mm: float, depth_mm: float, *, hot_up: bool, fan: bool = False,
    room_degC: float = ROOM_degC, emissivity: float = EMISSIVITY,
) -> SheetFace:  # fmt: skip
    """Return what a face meets that looks into the room, in still air or a light fan.

    Parameters
    ----------
    width_mm, depth_mm : float
        Sides of the face. [mm]
    hot_up : bool
        Whether it looks up.
    fan : bool
        Whether a light fan blows over it.
    room_degC : float
        Temperature of the room. [°C]
    emissivity : float
        Of the face. [-]
    """
    film = still_film_W_m2K(width_mm, depth_mm, hot_up=hot_up)
    if fan:
        film = max(film, fan_film_W_m2K(width_mm, depth_mm))
    return SheetFace(air_degC=room_degC, film_W_m2K=film, glows=((room_degC, emissivity),))


def body_emissivity(sheet: Sheet, clear_depth_mm: float) -> float:
    """Return the emissivity of a sheet that takes up light over a depth; 0 is opaque."""
    emissivity, gauge_mm = sheet.plastic.emissivity, sheet.gauge_mm
    if clear_depth_mm == 0:
        return emissivity
    return emissivity * (1 - exp(-gauge_mm / clear_depth_mm))


def _opening_mm(machine: FormingMachine) -> tuple[float, float]:
    return machine.opening_width_mm, machine.opening_depth_mm


def _heater(machine: FormingMachine) -> WalledHeater:
    """Return the heater in its walls, which stand around it and around the opening."""
    heater_mm = machine.heater_width_mm, machine.heater_depth_mm
    wide, deep = _opening_mm(machine)
    return WalledHeater(
        heater_mm=heater_mm,
        box_mm=(max(wide, heater_mm[0]), max(deep, heater_mm[1])),
        gap_mm=machine.heater_distance_mm,
        reflection=machine.wall_reflection,
    )


def _size_m(width_mm: float, depth_mm: float) -> float:
    """Return the side of the square of the same area over perimeter, in m."""
    return 2 * width_mm * depth_mm / (width_mm + depth_mm) / 1000
