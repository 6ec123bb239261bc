r"""Radiation: how much of what glows reaches the sheet.

References
----------
.. [1] F. P. Incropera and others, Fundamentals of Heat and Mass Transfer, chapters 5 and 13, from
   memory.
"""

from __future__ import annotations

from math import atan, log, pi, sqrt

from moldgen.quantity import Quantity

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


def gray_plates(first_emissivity: float, second_emissivity: float) -> float:
    r"""Return the effective emissivity between two large plates.

    Notes
    -----
    .. math:: 1 / (1/\epsilon_1 + 1/\epsilon_2 - 1)

    Examples
    --------
    >>> round(gray_plates(0.9, 0.9), 6)
    0.818182
    """
    _SHARE.check("first_emissivity", first_emissivity)
    _SHARE.check("second_emissivity", second_emissivity)
    return 1 / (1 / first_emissivity + 1 / second_emissivity - 1)


def square_view_factor(side_over_gap: float) -> float:
    r"""Return how much of what leaves one square arrives at an equal one right across a gap.

    Notes
    -----
    Aligned parallel rectangles [1]_ Table 13.2 with both sides :math:`X`:

    .. math:: \frac{2}{\pi X^2} \left( \ln \frac{1 + X^2}{\sqrt{1 + 2 X^2}}
              + 2 X \sqrt{1 + X^2} \arctan \frac{X}{\sqrt{1 + X^2}} - 2 X \arctan X \right)

    Checked against ``tests/published/view_factors.csv``.

    Examples
    --------
    >>> round(square_view_factor(1.0), 6)
    0.199825
    """
    _LENGTH.check("side_over_gap", side_over_gap)
    X = side_over_gap
    root = sqrt(1 + X**2)
    logs = log((1 + X**2) / sqrt(1 + 2 * X**2))
    return 2 / (pi * X**2) * (logs + 2 * X * root * atan(X / root) - 2 * X * atan(X))


def rod_view_factor(band_mm: float, rod_radius_mm: float, gap_mm: float) -> float:
    r"""Return how much of what leaves a band arrives at a long rod above its middle.

    By reciprocity also the share of the band's view that the rod fills.

    Parameters
    ----------
    band_mm : float
        Width of the flat band. [mm]
    rod_radius_mm : float
        Radius of the rod. [mm]
    gap_mm : float
        From the middle of the rod to the band, more than the radius. [mm]

    Notes
    -----
    Cylinder and parallel rectangle [1]_ Table 13.1: :math:`F = (2 r/b) \arctan(b/2h)`.

    Examples
    --------
    >>> round(rod_view_factor(12, 1, 6), 4)
    0.1309
    """
    _LENGTH.check("band_mm", band_mm)
    _LENGTH.check("rod_radius_mm", rod_radius_mm)
    Quantity("mm", "gap", above=rod_radius_mm).check("gap_mm", gap_mm)
    return 2 * rod_radius_mm / band_mm * atan(band_mm / (2 * gap_mm))


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
