r"""Radiation: how much of what glows reaches the sheet.

For reckoning by hand, and called by nothing in moldgen itself: `radiation_heating_s`.

References
----------
.. [1] F. P. Incropera and others, Fundamentals of Heat and Mass Transfer, chapters 5 and 13, from
   memory.
"""

from __future__ import annotations

from itertools import product
from math import atan, log, pi
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from moldgen.quantity import Quantity

Number = TypeVar("Number", np.float64, NDArray[np.float64])
STEFAN_W_m2K4 = 5.670374419e-8
"""Stefan-Boltzmann constant; CODATA 2018, exact."""
ZERO_degC = -273.15
_TEMPERATURE = Quantity("°C", "a temperature", at_least=ZERO_degC)
_SHARE = Quantity("", "an emissivity or view factor", above=0, at_most=1)
_LENGTH = Quantity("", "a length", above=0)


def black_flux_W_m2(temperature_degC: float) -> float:
    r"""Return what a black face sends out, :math:`\sigma T^4`, in W/m².

    Examples
    --------
    >>> round(black_flux_W_m2(900) / 1000, 1)
    107.4
    """
    _TEMPERATURE.check("temperature_degC", temperature_degC)
    return float(STEFAN_W_m2K4 * (temperature_degC - ZERO_degC) ** 4)


def facing_view_factor(
    first_mm: tuple[float, float], second_mm: tuple[float, float], gap_mm: float
) -> float:
    r"""Return how much of what leaves a rectangle arrives at another, middle over middle.

    The mean over a sheet of how much of its view a heater fills.

    Parameters
    ----------
    first_mm, second_mm : pair of float
        Width and depth of each; they are parallel. [mm]
    gap_mm : float
        From one to the other. [mm]

    Notes
    -----
    With :math:`x_i, y_j` the sides of the first and :math:`\xi_l, \eta_k` those of the second,

    .. math:: F = \frac{1}{A_1} \sum_{ijkl} (-1)^{i+j+k+l} G(x_i - \xi_l, y_j - \eta_k)

    .. math:: G(u, v) = \frac{1}{2\pi} \left( v \sqrt{u^2 + z^2}
              \arctan\frac{v}{\sqrt{u^2 + z^2}} + u \sqrt{v^2 + z^2}
              \arctan\frac{u}{\sqrt{v^2 + z^2}} - \frac{z^2}{2} \ln(u^2 + v^2 + z^2) \right)

    From memory of the tables of configuration factors of Howell; for equal rectangles it is [1]_
    Table 13.2. Checked against ``tests/published/view_factors.csv`` and a double sum.

    Examples
    --------
    >>> round(facing_view_factor((100, 100), (100, 100), 100), 6)
    0.199825
    """
    for length_mm in (*first_mm, *second_mm, gap_mm):
        _LENGTH.check("each length", length_mm)
    total = 0.0
    for i, j, k, m in product((-1, 1), repeat=4):
        u = np.float64(i * first_mm[0] - m * second_mm[0]) / 2
        v = np.float64(j * first_mm[1] - k * second_mm[1]) / 2
        total += i * j * k * m * float(facing_corner_mm2(u, v, gap_mm))
    return total / (first_mm[0] * first_mm[1])


def facing_corner_mm2(u_mm: Number, v_mm: Number, gap_mm: float) -> Number:
    """Return :math:`G(u, v)` of `facing_view_factor`, of one pair or of arrays. [mm²]."""
    p, q = np.hypot(u_mm, gap_mm), np.hypot(v_mm, gap_mm)
    term = v_mm * p * np.arctan(v_mm / p) + u_mm * q * np.arctan(u_mm / q)
    corner: Number = (term - gap_mm**2 * np.log(np.hypot(u_mm, q))) / (2 * pi)
    return corner


def point_view_factor(
    x_mm: float, y_mm: float, heater_mm: tuple[float, float], gap_mm: float
) -> float:
    r"""Return how much of the view of a point a parallel rectangle fills.

    Parameters
    ----------
    x_mm, y_mm : float
        The point, from right across the middle of the rectangle. [mm]
    heater_mm : pair of float
        Width and depth of the rectangle. [mm]
    gap_mm : float
        From the point's plane to the rectangle. [mm]

    Notes
    -----
    Four rectangles with a corner right across the point, [1]_ chapter 13, each

    .. math:: \frac{1}{2\pi} \left( \frac{A}{\sqrt{1 + A^2}} \arctan\frac{B}{\sqrt{1 + A^2}}
              + \frac{B}{\sqrt{1 + B^2}} \arctan\frac{A}{\sqrt{1 + B^2}} \right)

    with :math:`A, B` its sides over the gap; a side to the other way counts negative.

    Examples
    --------
    >>> round(point_view_factor(0, 0, (200, 200), 100), 4)
    0.5541
    """
    for length_mm in (*heater_mm, gap_mm):
        _LENGTH.check("each length", length_mm)
    total = 0.0
    for i, j in product((-1, 1), repeat=2):
        u = np.float64(heater_mm[0] / 2 + i * x_mm)
        v = np.float64(heater_mm[1] / 2 + j * y_mm)
        total += float(corner_view_factor(u, v, gap_mm))
    return total


def corner_view_factor(u_mm: Number, v_mm: Number, gap_mm: float) -> Number:
    """Return the term of `point_view_factor` for sides of a sign, one pair or arrays. [-]."""
    A, B = u_mm / gap_mm, v_mm / gap_mm
    a, b = np.sqrt(1 + A**2), np.sqrt(1 + B**2)
    share: Number = (A / a * np.arctan(B / a) + B / b * np.arctan(A / b)) / (2 * pi)
    return share


def exchange_share(
    emissivity: float, source_emissivity: float, view: float, *, area_ratio: float = 1.0
) -> float:
    r"""Return the effective emissivity between a sheet and what glows at it.

    Parameters
    ----------
    emissivity, source_emissivity : float
        Of the sheet and of the heater. [-]
    view : float
        How much of the sheet's view the heater fills. [-]
    area_ratio : float, default 1
        Area of the sheet over that of the heater. [-]

    Notes
    -----
    Two gray surfaces, [1]_ equation 13.18, per area of the sheet:

    .. math:: 1 / \left( \frac{1-\epsilon}{\epsilon} + \frac{1}{F}
              + \frac{1-\epsilon_h}{\epsilon_h} \frac{A}{A_h} \right)

    Examples
    --------
    >>> round(exchange_share(0.9, 0.9, 1.0), 6)
    0.818182
    """
    for share in (emissivity, source_emissivity, view):
        _SHARE.check("each share", share)
    _LENGTH.check("area_ratio", area_ratio)
    away = (1 - source_emissivity) / source_emissivity * area_ratio
    return 1 / ((1 - emissivity) / emissivity + 1 / view + away)


def rod_point_view_factor(
    away_mm: NDArray[np.float64], rod_radius_mm: float, gap_mm: float
) -> NDArray[np.float64]:
    r"""Return how much of the view of points of a flat a long rod above it fills.

    Parameters
    ----------
    away_mm : ndarray
        From the line right under the rod, across it. [mm]
    rod_radius_mm : float
        Radius of the rod. [mm]
    gap_mm : float
        From the middle of the rod to the flat, more than the radius. [mm]

    Notes
    -----
    .. math:: F = \frac{r h}{x^2 + h^2}

    The rod is seen under an angle of sine :math:`r/s` on either side of a line to its middle,
    :math:`s` away, which leans by a cosine :math:`h/s`; derived. Its mean over a band is cylinder
    and parallel rectangle, [1]_ Table 13.1: :math:`(2 r/b) \arctan(b/2h)`.

    Examples
    --------
    >>> rod_point_view_factor(np.array([0.0, 6.0]), 1, 6).round(4)
    array([0.1667, 0.0833])
    """
    _LENGTH.check("rod_radius_mm", rod_radius_mm)
    Quantity("mm", "gap", above=rod_radius_mm).check("gap_mm", gap_mm)
    share: NDArray[np.float64] = rod_radius_mm * gap_mm / (away_mm**2 + gap_mm**2)
    return share


def radiation_heating_s(
    mass_heat_J_m2K: float, share: float, source_degC: float, first_degC: float, last_degC: float
) -> float:
    r"""Return how long a thin sheet takes from one temperature to another by radiation alone.

    Parameters
    ----------
    mass_heat_J_m2K : float
        Density, specific heat and thickness, divided by the number of heated faces. [J/(m²·K)]
    share : float
        Emissivity times view factor. [-]
    source_degC, first_degC, last_degC : float
        Heater, and the sheet before and after; the heater is the hottest. [°C]

    Notes
    -----
    Closed form [1]_ equation 5.18 for a sheet of one temperature through its thickness, without
    convection.

    Examples
    --------
    >>> round(radiation_heating_s(1050 * 1800 * 0.0015 / 2, 0.9, 400, 20, 150), 3)
    19.257
    """
    _LENGTH.check("mass_heat_J_m2K", mass_heat_J_m2K)
    _SHARE.check("share", share)
    _TEMPERATURE.check("first_degC", first_degC)
    Quantity("°C", "after", at_least=first_degC, below=source_degC).check("last_degC", last_degC)
    H, a, b = (degC - ZERO_degC for degC in (source_degC, first_degC, last_degC))
    logs = log((H + b) / (H - b)) - log((H + a) / (H - a))
    angles = 2 * (atan(b / H) - atan(a / H))
    return mass_heat_J_m2K / (4 * share * STEFAN_W_m2K4 * H**3) * (logs + angles)
