"""A referee for strips over a hot line: enthalpy on a net of nodes, no code of the kernel's.

Nodes lie on the faces and on the line, explicit steps carry heat content, and temperature is read
back from it. Only half the strip is followed.
"""

from dataclasses import dataclass

import numpy as np

STEFAN = 5.670374e-8


@dataclass(frozen=True)
class Referee:
    """What the referee saw: temperatures by distance from the line and depth, and peaks."""

    away_mm: np.ndarray
    nodes_degC: np.ndarray
    hottest_degC: float
    back_degC: float

    @property
    def means_degC(self):
        """Mean through the thickness, half a share for the nodes on the faces."""
        inner = self.nodes_degC[:, 1:-1].sum(axis=1)
        ends = (self.nodes_degC[:, 0] + self.nodes_degC[:, -1]) / 2
        return (inner + ends) / (self.nodes_degC.shape[1] - 1)


def irradiance(away_mm, heater, *, peaked=True):
    """Share of black radiation of the element that is absorbed, by distance from the line."""
    radius, gap = heater.element_width_mm / 2, heater.gap_mm
    if peaked:
        view = radius * gap / (away_mm**2 + gap**2)
    else:
        band = heater.band_mm
        view = 2 * radius / band * np.arctan(band / (2 * gap))
    return np.where(away_mm <= heater.band_mm / 2, 0.85 * 0.9 * view, 0.0)


def referee(heater, matter, thickness_mm, sides_s, *, room=20.0, n=12, wide_mm=0.5, **how):
    """Heat a strip side by side for these times; the last heated face comes first."""
    dz, dx = thickness_mm / n / 1000, wide_mm / 1000
    away_mm = np.arange(int((heater.band_mm / 2 + 24) / wide_mm)) * wide_mm
    k, rho = matter.conductivity_W_mK, matter.density_kg_m3
    degrees = np.arange(-50.0, 900.0, 0.5)
    content = matter.enthalpy(degrees) * rho
    step = 0.2 * rho * matter.heat_J_kgK / k / (dz**-2 + dx**-2)
    heat = np.full((len(away_mm), n + 1), np.interp(room, degrees, content))
    share = irradiance(away_mm, heater, **how)
    hottest = back = room
    for side_s in sides_s:
        heat = heat[:, ::-1]
        steps = int(np.ceil(side_s / step))
        for _ in range(steps):
            T = np.interp(heat, content, degrees)
            hottest, back = max(hottest, T[0].max()), max(back, T[0, -1])
            rate = np.empty_like(T)
            rate[:, 1:-1] = k * (T[:, 2:] - 2 * T[:, 1:-1] + T[:, :-2]) / dz**2
            front_W = (
                share * STEFAN * ((heater.element_degC + 273.15) ** 4 - (T[:, 0] + 273.15) ** 4)
            )
            lost_W = 8 * (T[:, -1] - room) + 0.9 * STEFAN * (
                (T[:, -1] + 273.15) ** 4 - (room + 273.15) ** 4
            )
            if heater.sides == 2:
                lost_W = (
                    -share
                    * STEFAN
                    * ((heater.element_degC + 273.15) ** 4 - (T[:, -1] + 273.15) ** 4)
                )
            rate[:, 0] = 2 * (k * (T[:, 1] - T[:, 0]) / dz + front_W) / dz
            rate[:, -1] = 2 * (k * (T[:, -2] - T[:, -1]) / dz - lost_W) / dz
            rate[1:-1] += k * (T[2:] - 2 * T[1:-1] + T[:-2]) / dx**2
            rate[0] += 2 * k * (T[1] - T[0]) / dx**2
            heat = heat + rate * side_s / steps
    return Referee(away_mm, np.interp(heat, content, degrees), hottest, back)
