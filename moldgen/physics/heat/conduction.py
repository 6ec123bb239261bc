r"""Conduction: exact answers for heat that moves through the thickness of a sheet.

Each case here is a closed form or a series that converges at once; `moldgen.physics.heat.heating`
steps through what has no closed form, and is held against these. :math:`a = k/(\rho c)` is the
diffusivity and :math:`Fo = a t/L^2` the dimensionless time.

References
----------
.. [1] H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., from memory.
.. [2] F. P. Incropera and others, Fundamentals of Heat and Mass Transfer, chapter 5, from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, erfc, exp, log, pi, sin, sqrt

from moldgen.physics.bisection import narrowed
from moldgen.quantity import Quantity

_POSITIVE = Quantity("", "a number", above=0)
_FOURIER = Quantity("", "dimensionless time", above=0)
_N_TERMS = 200
"""Terms of a series; at Fo = 0.0001 the last is below 1e-16."""


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


def back_face_share(fourier: float) -> float:
    r"""Return how far the insulated back of a slab has followed a sudden change of its face.

    A sheet heated alike on both faces is two such slabs of half the thickness, back to back.

    Parameters
    ----------
    fourier : float
        :math:`a t/L^2` with the full thickness, more than 0. [-]

    Returns
    -------
    float
        0 as before, 1 as hot as the face. [-]

    Notes
    -----
    .. math:: 1 - \frac{4}{\pi} \sum_n \frac{(-1)^n}{2n+1} \exp(-((2n+1)\pi/2)^2 Fo)

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/slab_times.csv``.

    Examples
    --------
    >>> round(back_face_share(0.3787), 3)
    0.5
    """
    _FOURIER.check("fourier", fourier)
    odd = [2 * n + 1 for n in range(_N_TERMS)]
    terms = (exp(-((m * pi / 2) ** 2) * fourier) * (1 if m % 4 == 1 else -1) / m for m in odd)
    return 1 - 4 / pi * sum(terms)


def convection_roots(biot: float, *, n_terms: int = 1) -> tuple[tuple[float, float], ...]:
    r"""Return the roots and coefficients of a plane wall between convection and insulation.

    Parameters
    ----------
    biot : float
        :math:`h L/k` with half the thickness if both faces are exposed. [-]
    n_terms : int, default 1
        How many pairs.

    Returns
    -------
    tuple of (zeta, C)
        :math:`\zeta \tan \zeta = Bi` and :math:`C = 4 \sin \zeta/(2 \zeta + \sin 2 \zeta)`.

    References
    ----------
    See [2]_ Table 5.1 in the module's docstring. Checked against
    ``tests/published/one_term.csv``.

    Examples
    --------
    >>> [round(value, 4) for value in convection_roots(1.0)[0]]
    [0.8603, 1.1191]
    """
    _POSITIVE.check("biot", biot)
    pairs = []
    for n in range(n_terms):
        zeta = bisected(lambda z: z * sin(z) - biot * cos(z), n * pi, n * pi + pi / 2)
        pairs.append((zeta, 4 * sin(zeta) / (2 * zeta + sin(2 * zeta))))
    return tuple(pairs)


def deep_convection_share(eta: float, beta: float) -> float:
    r"""Return how far a deep body has followed the air that touches it.

    Parameters
    ----------
    eta : float
        :math:`x/(2 \sqrt{a t})`. [-]
    beta : float
        :math:`h \sqrt{a t}/k`. [-]

    Notes
    -----
    .. math:: \mathrm{erfc}\,\eta - e^{2 \eta \beta + \beta^2}\, \mathrm{erfc}(\eta + \beta)

    References
    ----------
    See [2]_ equation 5.60 in the module's docstring. Checked against
    ``tests/published/deep_convection.csv``.

    Examples
    --------
    >>> round(deep_convection_share(0.0, 1.0), 6)
    0.572416
    """
    return erfc(eta) - exp(2 * eta * beta + beta**2) * erfc(eta + beta)


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


def bisected(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function that changes sign once between two numbers is zero."""
    rising = function(high) > 0
    low, high = narrowed(lambda x: (function(x) > 0) == rising, low, high)
    return (low + high) / 2


def _all_positive(*values: float) -> None:
    for value in values:
        _POSITIVE.check("each property", value)
