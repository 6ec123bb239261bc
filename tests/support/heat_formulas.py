"""Closed forms of heat flow that the stepped solutions are held against.

References
----------
.. [1] H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., sections 2.7 and
   2.8, form from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan, cos, erf, erfc, exp, inf, log, pi, sin, sqrt

from moldgen.physics.heat.conduction import _all_positive
from moldgen.quantity import Quantity

_SHARE = Quantity("", "a share", above=0, below=1)
_EMISSIVITY = Quantity("", "an emissivity", above=0, at_most=1)
_POSITIVE = Quantity("", "a number", above=0)
_FOURIER = Quantity("", "dimensionless time", above=0)
_N_TERMS = 200
"""Terms of a series; at Fo = 0.0001 the last is below 1e-16."""
_BEST = 20.0
"""Above this the exponential of a joint overflows."""


def back_face_fourier(share: float) -> float:
    """Return the dimensionless time after which `back_face_share` reaches a share.

    Examples
    --------
    >>> round(back_face_fourier(0.9), 3)
    1.031
    """
    _SHARE.check("share", share)
    return bisected(lambda fourier: back_face_share(fourier) - share, 1e-4, 50.0)


def constant_flux_rise(fourier: float, depth: float) -> float:
    r"""Return the rise of a slab under a constant flux, far side insulated, in units of q L/k.

    Parameters
    ----------
    fourier : float
        :math:`a t/L^2`, more than 0. [-]
    depth : float
        From the insulated side over thickness: 0 there, 1 at the heated face. [-]

    Notes
    -----
    .. math:: Fo + \frac{3 \xi^2 - 1}{6}
              - \frac{2}{\pi^2} \sum_{n \ge 1} \frac{(-1)^n}{n^2} e^{-n^2 \pi^2 Fo} \cos n\pi\xi

    References
    ----------
    See [1]_ section 3.8 of `moldgen.physics.heat.conduction`. Checked against
    ``tests/published/constant_flux.csv``.

    Examples
    --------
    >>> round(constant_flux_rise(1.0, 1.0), 4)
    1.3333
    """
    _FOURIER.check("fourier", fourier)
    Quantity("", "share of the thickness", at_least=0, at_most=1).check("depth", depth)
    terms = (
        (-1) ** n / n**2 * exp(-((n * pi) ** 2) * fourier) * cos(n * pi * depth)
        for n in range(1, _N_TERMS)
    )
    return float(fourier + (3 * depth**2 - 1) / 6 - 2 / pi**2 * sum(terms))


def flux_lag_K(
    flux_W_m2: float, thickness_m: float, conductivity_W_mK: float, *, heated_faces: int
) -> float:
    r"""Return by how much the face leads the coldest plane in steady heating.

    Notes
    -----
    :math:`q L/(2 k)` with one heated face and the other insulated, :math:`q L/(4 k)` with both,
    where :math:`q` is the flux into each heated face. True once :math:`Fo > 0.5`.

    Examples
    --------
    >>> flux_lag_K(4000, 0.003, 0.2, heated_faces=1)
    30.0
    """
    _all_positive(thickness_m, conductivity_W_mK)
    Quantity("", "heated faces", at_least=1, at_most=2).check("heated_faces", heated_faces)
    return flux_W_m2 * thickness_m / (2 * heated_faces * conductivity_W_mK)


def convection_share_left(biot: float, fourier: float, depth: float) -> float:
    r"""Return what is left of the first difference to the air, far side insulated.

    Parameters
    ----------
    biot, fourier : float
        As in `convection_roots` and `back_face_share`. [-]
    depth : float
        From the insulated side over thickness; 1 at the exposed face. [-]

    Notes
    -----
    .. math:: \sum_n C_n \exp(-\zeta_n^2 Fo) \cos(\zeta_n \xi)

    Checked against ``tests/published/plane_wall.csv``.
    """
    _FOURIER.check("fourier", fourier)
    pairs = convection_roots(biot, n_terms=60)
    return sum(C * exp(-(z**2) * fourier) * cos(z * depth) for z, C in pairs)


def burial_share(depth_m: float, time_s: float, diffusivity_m2_s: float) -> float:
    r"""Return what is left of the first temperature in a deep body, its face suddenly changed.

    Notes
    -----
    .. math:: \frac{T - T_s}{T_i - T_s} = \mathrm{erf}\left(\frac{x}{2 \sqrt{a t}}\right)

    References
    ----------
    See [2]_ of `moldgen.physics.heat.conduction`. Checked against ``tests/published/burial.csv``.
    """
    _all_positive(time_s, diffusivity_m2_s)
    return erf(depth_m / (2 * sqrt(diffusivity_m2_s * time_s)))


def joint_beta(
    first_effusivity: float, second_effusivity: float, touch_W_m2K: float, time_s: float
) -> float:
    r"""Return how far a joint has let two deep bodies come together, 0 just before they touch.

    Notes
    -----
    :math:`h (1/e_1 + 1/e_2) \sqrt{t}`; above about 10 the joint no longer matters.

    Examples
    --------
    >>> round(joint_beta(450, 540, 500, 4.0), 2)
    4.07
    """
    for value in (first_effusivity, second_effusivity, touch_W_m2K, time_s):
        _POSITIVE.check("each value", value)
    return touch_W_m2K * (1 / first_effusivity + 1 / second_effusivity) * sqrt(time_s)


def touched_share(
    depth_m: float, time_s: float, diffusivity_m2_s: float, *, beta: float = inf
) -> float:
    r"""Return how far a deep body has followed another that touches it.

    Parameters
    ----------
    depth_m : float
        Below the face, 0 or more. [m]
    time_s : float
        Since they touched, more than 0. [s]
    diffusivity_m2_s : float
        Of the body asked about. [m²/s]
    beta : float, default inf
        Of the joint, from `joint_beta`; infinite where the faces meet perfectly. [-]

    Returns
    -------
    float
        0 as before, 1 at `moldgen.physics.heat.conduction.contact_degC`. [-]

    Notes
    -----
    .. math:: \mathrm{erfc}\,\eta - e^{2 \eta \beta + \beta^2}\, \mathrm{erfc}(\eta + \beta),
              \quad \eta = \frac{x}{2 \sqrt{a t}}

    True until the heat has crossed the thinner body.

    References
    ----------
    See [1]_ in the docstring of this module. Checked against ``tests/published/contact.csv`` and by
    steps.

    Examples
    --------
    >>> round(touched_share(0.0005, 5.0, 5.8e-8), 3)
    0.511
    """
    Quantity("m", "depth", at_least=0).check("depth_m", depth_m)
    _POSITIVE.check("time_s", time_s)
    _POSITIVE.check("diffusivity_m2_s", diffusivity_m2_s)
    eta = depth_m / (2 * sqrt(diffusivity_m2_s * time_s))
    if beta > _BEST:
        # The exponential overflows; what is left is a series in 1/z.
        z = eta + beta
        return erfc(eta) - (exp(-(eta**2)) / (z * sqrt(pi)) if beta < inf else 0.0)
    return deep_convection_share(eta, beta)


def nusselt_vertical(rayleigh: float, prandtl: float) -> float:
    r"""Return the Nusselt number of a vertical plate.

    Notes
    -----
    [1]_ equation 9.27 up to :math:`Ra = 10^9` (laminar), 9.26 above.

    Checked against ``tests/published/free_convection.csv``.
    """
    _POSITIVE.check("rayleigh", rayleigh)
    _POSITIVE.check("prandtl", prandtl)
    pr = 1 + (0.492 / prandtl) ** (9 / 16)
    if rayleigh <= 1e9:
        return float(0.68 + 0.670 * rayleigh**0.25 / pr ** (4 / 9))
    return float((0.825 + 0.387 * rayleigh ** (1 / 6) / pr ** (8 / 27)) ** 2)


def nusselt_pipe(rayleigh: float, prandtl: float) -> float:
    """Return the Nusselt number of a long level pipe ([1]_ equation 9.34)."""
    _POSITIVE.check("rayleigh", rayleigh)
    _POSITIVE.check("prandtl", prandtl)
    pr = 1 + (0.559 / prandtl) ** (9 / 16)
    return float((0.60 + 0.387 * rayleigh ** (1 / 6) / pr ** (8 / 27)) ** 2)


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
    _EMISSIVITY.check("first_emissivity", first_emissivity)
    _EMISSIVITY.check("second_emissivity", second_emissivity)
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
    _POSITIVE.check("side_over_gap", side_over_gap)
    X = side_over_gap
    root = sqrt(1 + X**2)
    logs = log((1 + X**2) / sqrt(1 + 2 * X**2))
    return 2 / (pi * X**2) * (logs + 2 * X * root * atan(X / root) - 2 * X * atan(X))


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
    See [1]_ of `moldgen.physics.heat.conduction`. Checked against
    ``tests/published/slab_times.csv``.

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
    See [2]_ Table 5.1 of `moldgen.physics.heat.conduction`. Checked against
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
    See [2]_ equation 5.60 of `moldgen.physics.heat.conduction`. Checked against
    ``tests/published/deep_convection.csv``.

    Examples
    --------
    >>> round(deep_convection_share(0.0, 1.0), 6)
    0.572416
    """
    return erfc(eta) - exp(2 * eta * beta + beta**2) * erfc(eta + beta)


def bisected(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function that changes sign once between two numbers is zero."""
    rising = function(high) > 0
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if (function(middle) > 0) == rising:
            high = middle
        else:
            low = middle
    return (low + high) / 2
