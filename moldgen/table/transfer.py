"""Transfer: what a heated sheet loses on its way from the heater to the mold."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from moldgen.stock.plastic import Sheet
from moldgen.table.matter import matter_of
from moldgen.table.surroundings import free_face

TRANSFER_s = 3.0
"""From the heater to the mold; common practice, no source."""
_PART_mm = (150.0, 150.0)
_STEPS = 30
_SLOPE_K = 0.5


@lru_cache(maxsize=64)
def arrival_degC(
    sheet: Sheet, *, leaves_degC: float | None = None, transfer_s: float, room_degC: float
) -> float:
    """Return the temperature of a sheet as it meets the mold.

    Parameters
    ----------
    sheet : Sheet
        At full gauge.
    leaves_degC : float, optional
        On average through it as it leaves the heater; its usual forming temperature if left
        out. [°C]
    transfer_s : float
        How long it is between heater and mold. [s]
    room_degC : float
        The air and the room. [°C]

    Notes
    -----
    Lumped: even through the thickness, free convection in still air and radiation off both faces.
    """
    matter, gauge_m = matter_of(sheet.plastic), sheet.gauge_mm / 1000
    faces = [free_face(*_PART_mm, hot_up=up, room_degC=room_degC) for up in (True, False)]
    now_degC = sheet.plastic.forming_degC if leaves_degC is None else leaves_degC
    for _ in range(_STEPS):
        films = [face.films(np.array([now_degC])) for face in faces]
        lost_W_m2 = sum(float(total[0] * now_degC - driven[0]) for total, driven in films)
        below, here = matter.enthalpy(np.array([now_degC - _SLOPE_K, now_degC]))
        holds_J_m2K = matter.density_kg_m3 * gauge_m * float(here - below) / _SLOPE_K
        now_degC -= lost_W_m2 / holds_J_m2K * transfer_s / _STEPS
    return now_degC
