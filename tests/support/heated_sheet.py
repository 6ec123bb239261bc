"""A referee for clamped sheets under a heater: explicit steps on a net of nodes, numpy alone.

Nodes lie on both faces; what the faces take up is written out here, not taken from the program.
Specific heat and conductivity are those of one temperature range, so that it is the textbook's
equation.
"""

import numpy as np

STEFAN = 5.670374e-8


def heated_sheet_s(
    *, thickness_mm, conductivity_W_mK, density_kg_m3, heat_J_kgK, heater_degC, share, room_share,
    back_film_W_m2K, back_degC, room_degC=20.0, n=24,
):  # fmt: skip
    """Return when the back of a sheet that is heated from one side is as hot as asked for. [s].

    Parameters
    ----------
    share, room_share : float
        Of black radiation that front and heater, and front and room exchange. [-]
    """
    dz = thickness_mm / 1000 / n
    step = 0.2 * density_kg_m3 * heat_J_kgK * dz**2 / conductivity_W_mK
    T = np.full(n + 1, room_degC)
    room4 = (room_degC + 273.15) ** 4
    heater4 = (heater_degC + 273.15) ** 4
    per = step / (density_kg_m3 * heat_J_kgK * dz)
    for k in range(1_000_000):
        if T[-1] >= back_degC:
            return k * step
        flow = conductivity_W_mK * np.diff(T) / dz
        front4, back4 = (T[[0, -1]] + 273.15) ** 4
        gain = STEFAN * (share * (heater4 - front4) - room_share * (front4 - room4))
        loss = back_film_W_m2K * (T[-1] - room_degC) + 0.9 * STEFAN * (back4 - room4)
        change = np.empty_like(T)
        change[1:-1] = np.diff(flow)
        change[0], change[-1] = 2 * (gain + flow[0]), 2 * (-flow[-1] - loss)
        T = T + per * change
    raise AssertionError("the sheet never gets there")
