r"""Convection: how fast still air, or a fan, takes heat off a plate, a duct or a pipe.

References
----------
.. [1] F. P. Incropera and others, Fundamentals of Heat and Mass Transfer, chapters 7 and 9,
   from memory (correlations of Pohlhausen, of Churchill and Chu, and of McAdams).
"""

from __future__ import annotations

from moldgen.quantity import Quantity

GRAVITY_m_s2 = 9.80665
_POSITIVE = Quantity("", "a number", above=0)


def rayleigh(
    excess_K: float,
    length_m: float,
    *,
    film_K: float,
    viscosity_m2_s: float,
    diffusivity_m2_s: float,
) -> float:
    r"""Return the Rayleigh number, :math:`g \Delta T L^3/(T_f \nu a)`, of a face in a gas.

    Parameters
    ----------
    excess_K : float
        Face over air. [K]
    length_m : float
        Height of a vertical plate, diameter of a pipe, area over perimeter of a level plate. [m]
    film_K : float
        Mean of face and air. [K]
    viscosity_m2_s, diffusivity_m2_s : float
        Of the gas at that mean. [m²/s]
    """
    for value in (excess_K, length_m, film_K, viscosity_m2_s, diffusivity_m2_s):
        _POSITIVE.check("each value", value)
    return GRAVITY_m_s2 * excess_K * length_m**3 / (film_K * viscosity_m2_s * diffusivity_m2_s)


def nusselt_level(rayleigh: float, *, hot_up: bool) -> float:
    r"""Return the Nusselt number of a level plate.

    Notes
    -----
    [1]_ equations 9.30 to 9.32: hot face up, or cold face down, :math:`0.54 Ra^{1/4}` to
    :math:`Ra = 10^7` and :math:`0.15 Ra^{1/3}` above; the other way round
    :math:`0.27 Ra^{1/4}`.
    """
    _POSITIVE.check("rayleigh", rayleigh)
    if not hot_up:
        return float(0.27 * rayleigh**0.25)
    return float(0.54 * rayleigh**0.25 if rayleigh <= 1e7 else 0.15 * rayleigh ** (1 / 3))


def nusselt_blown(reynolds: float, prandtl: float) -> float:
    r"""Return the mean Nusselt number of a plate along which air flows smoothly.

    Notes
    -----
    [1]_ equation 7.30, :math:`0.664 Re^{1/2} Pr^{1/3}`, up to :math:`Re = 5 \cdot 10^5`.

    Checked against ``tests/published/blown_plate.csv``.
    """
    Quantity("", "a number", above=0, at_most=5e5).check("reynolds", reynolds)
    _POSITIVE.check("prandtl", prandtl)
    return float(0.664 * reynolds**0.5 * prandtl ** (1 / 3))
