r"""Conduction: exact answers for heat that moves through the thickness of a sheet.

Each case here is a closed form or a series that converges at once; `moldgen.physics.heat.heating`
steps through what has no closed form, and is held against these. :math:`a = k/(\rho c)` is the
diffusivity and :math:`Fo = a t/L^2` the dimensionless time.

For reckoning by hand, and called by nothing in moldgen itself: `cooling_s`.

References
----------
.. [1] H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., from memory.
.. [2] F. P. Incropera and others, Fundamentals of Heat and Mass Transfer, chapter 5, from memory.
"""

from __future__ import annotations

from math import log, pi, sqrt

from moldgen.quantity import Quantity

_POSITIVE = Quantity("", "a number", above=0)


def diffusivity_m2_s(
    conductivity_W_mK: float, density_kg_m3: float, specific_heat_J_kgK: float
) -> float:
    r"""Return the diffusivity, :math:`k/(\rho c)`, in m²/s.

    Examples
    --------
    >>> round(diffusivity_m2_s(0.19, 1190, 1260) * 1e7, 3)
    1.267
    """
    _all_positive(conductivity_W_mK, density_kg_m3, specific_heat_J_kgK)
    return conductivity_W_mK / (density_kg_m3 * specific_heat_J_kgK)


def effusivity(conductivity_W_mK: float, density_kg_m3: float, specific_heat_J_kgK: float) -> float:
    r"""Return the effusivity, :math:`\sqrt{k \rho c}`, in W·s½/(m²·K).

    The larger, the less a body's face warms when something hot touches it.

    Examples
    --------
    >>> round(effusivity(0.15, 1050, 1300), 1)
    452.5
    """
    _all_positive(conductivity_W_mK, density_kg_m3, specific_heat_J_kgK)
    return sqrt(conductivity_W_mK * density_kg_m3 * specific_heat_J_kgK)


def contact_degC(
    first_degC: float, first_effusivity: float, second_degC: float, second_effusivity: float
) -> float:
    r"""Return the temperature of the faces of two bodies in the moment they touch.

    Notes
    -----
    .. math:: T = \frac{e_1 T_1 + e_2 T_2}{e_1 + e_2}

    Perfect contact; true until the heat has crossed the thinner body.

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/contact.csv``.

    Examples
    --------
    >>> round(contact_degC(150, 452.5, 25, 538.7), 1)
    82.1
    """
    _all_positive(first_effusivity, second_effusivity)
    total = first_effusivity + second_effusivity
    return (first_effusivity * first_degC + second_effusivity * second_degC) / total


def cooling_s(thickness_m: float, diffusivity_m2_s: float, excess: float, *, mean: bool) -> float:
    r"""Return how long a plate cools between two faces that are held cold.

    Parameters
    ----------
    thickness_m : float
        Thickness. [m]
    diffusivity_m2_s : float
        Diffusivity. [m²/s]
    excess : float
        First difference to the faces over the last, more than 1. [-]
    mean : bool
        Whether the last one is that of the mean temperature or of the middle.

    Notes
    -----
    .. math:: t = \frac{L^2}{\pi^2 a} \ln\left(\frac{4}{\pi} \cdot excess\right)

    with :math:`8/\pi^2` for the mean; first term of the series, for an excess above 2.

    Examples
    --------
    >>> round(cooling_s(0.003, 1.267e-7, 135 / 55, mean=False), 1)
    8.2
    """
    _all_positive(thickness_m, diffusivity_m2_s)
    Quantity("", "first difference over last", above=1).check("excess", excess)
    first = 8 / pi**2 if mean else 4 / pi
    return max(0.0, thickness_m**2 / (pi**2 * diffusivity_m2_s) * log(first * excess))


def _all_positive(*values: float) -> None:
    for value in values:
        _POSITIVE.check("each property", value)
