r"""Plates: how far a flat piece of plastic bends under the vacuum, and what it has to bear.

Thin, flat, elastic plates under an even pressure: stress :math:`\beta q b^2/t^2` and deflection
:math:`\alpha q b^4/(E t^3)`. They hold while the plate is thinner than a quarter of its span and
bends less than half its thickness; beyond that a plate carries as a membrane too and bends less
than is said here.

For reckoning by hand, and called by nothing in moldgen itself: `disc` and `thin_enough`.

References
----------
.. [1] W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th edition, Table 11.4,
   cases 1a (read) and 8a (from memory; confirmed by an independent Ritz solution); circular
   plates, Table 11.2.
.. [2] S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

import numpy as np

from moldgen.errors import SpecError
from moldgen.quantity import Quantity

POISSON = 0.3
"""Poisson's ratio that the tables of rectangular plates are made for. [-]."""


class PlateEdge(StrEnum):
    """How a plate is held all round."""

    SUPPORTED = "supported"
    """It rests on its edge and may turn there."""
    CLAMPED = "clamped"
    """Its edge can neither sink nor turn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bent:
    """What an even pressure does to a plate.

    Attributes
    ----------
    stress_MPa : float
        Greatest bending stress anywhere. [MPa]
    deflection_mm : float
        Greatest deflection. [mm]
    """

    stress_MPa: float
    deflection_mm: float


# Short over long side, then beta and alpha; 0 stands for an endless strip. Supported: case 1a.
# Clamped: case 8a, stress at the middle of the long edge; 1/3 by the Ritz solution, which shows
# that a plate of 3 to 1 bears a little more than the endless strip.
_TABLES: dict[PlateEdge, tuple[tuple[float, float, float], ...]] = {
    PlateEdge.SUPPORTED: (
        (0.0, 0.7500, 0.1421),
        (1 / 5.0, 0.7476, 0.1417),
        (1 / 4.0, 0.7410, 0.1400),
        (1 / 3.0, 0.7134, 0.1335),
        (1 / 2.0, 0.6102, 0.1110),
        (1 / 1.8, 0.5688, 0.1017),
        (1 / 1.6, 0.5172, 0.0906),
        (1 / 1.4, 0.4530, 0.0770),
        (1 / 1.2, 0.3762, 0.0616),
        (1.0, 0.2874, 0.0444),
    ),
    PlateEdge.CLAMPED: (
        (0.0, 0.5000, 0.0284),
        (1 / 3.0, 0.5025, 0.0286),
        (1 / 2.0, 0.4974, 0.0277),
        (1 / 1.8, 0.4872, 0.0267),
        (1 / 1.6, 0.4680, 0.0251),
        (1 / 1.4, 0.4356, 0.0226),
        (1 / 1.2, 0.3834, 0.0188),
        (1.0, 0.3078, 0.0138),
    ),
}
_LENGTH = Quantity("mm", "a length", above=0)
_PRESSURE = Quantity("kPa", "a pressure difference", at_least=0)
_MODULUS = Quantity("MPa", "an elastic modulus", above=0)
_STRESS = Quantity("MPa", "a stress", above=0)


def stress_coefficient(long_mm: float, short_mm: float, edge: PlateEdge) -> float:
    """Return the beta of a rectangular plate, at the place that bears most. [-].

    Checked against ``tests/published/plate_coefficients.csv``.
    """
    return _coefficient(long_mm, short_mm, edge, 1)


def deflection_coefficient(long_mm: float, short_mm: float, edge: PlateEdge) -> float:
    """Return the alpha of a rectangular plate. [-]."""
    return _coefficient(long_mm, short_mm, edge, 2)


def rectangle(
    long_mm: float,
    short_mm: float,
    thickness_mm: float,
    *,
    pressure_kPa: float,
    modulus_MPa: float,
    edge: PlateEdge = PlateEdge.CLAMPED,
) -> Bent:
    """Return what a rectangular plate bears.

    Parameters
    ----------
    long_mm, short_mm, thickness_mm : float
        Its sides and thickness; an infinite long side is a strip. [mm]
    pressure_kPa : float
        Difference of the pressures on its faces. [kPa]
    modulus_MPa : float
        Elastic modulus. [MPa]
    edge : PlateEdge
        How it is held.

    Raises
    ------
    SpecError
        If a length or the modulus is not more than 0, or the sides are swapped.
    """
    q, b, t, E = _checked(pressure_kPa, short_mm, thickness_mm, modulus_MPa)
    return Bent(
        stress_MPa=stress_coefficient(long_mm, short_mm, edge) * q * b**2 / t**2,
        deflection_mm=deflection_coefficient(long_mm, short_mm, edge) * q * b**4 / (E * t**3),
    )


def strip(
    span_mm: float,
    thickness_mm: float,
    *,
    pressure_kPa: float,
    modulus_MPa: float,
    edge: PlateEdge = PlateEdge.CLAMPED,
) -> Bent:
    r"""Return what a long plate bears between two parallel edges.

    Parameters
    ----------
    span_mm : float
        Distance of its edges. [mm]
    thickness_mm : float
        Thickness. [mm]
    pressure_kPa : float
        Even pressure on it. [kPa]
    modulus_MPa : float
        Modulus of elasticity. [MPa]
    edge : PlateEdge
        How both edges are held.

    Notes
    -----
    A beam that cannot narrow: clamped :math:`\sigma = q b^2/(2 t^2)`,
    :math:`y = (1-\nu^2)\, q b^4/(32 E t^3)`; supported :math:`3/4` and five times as much.
    """
    q, b, t, E = _checked(pressure_kPa, span_mm, thickness_mm, modulus_MPa)
    beta, times = (0.5, 1) if edge is PlateEdge.CLAMPED else (0.75, 5)
    return Bent(
        stress_MPa=beta * q * b**2 / t**2,
        deflection_mm=times * (1 - POISSON**2) * q * b**4 / (32 * E * t**3),
    )


def disc(
    radius_mm: float,
    thickness_mm: float,
    *,
    pressure_kPa: float,
    modulus_MPa: float,
    edge: PlateEdge = PlateEdge.CLAMPED,
    poisson: float = POISSON,
) -> Bent:
    r"""Return what a circular plate bears: clamped at its edge most, supported in its middle.

    Parameters
    ----------
    radius_mm : float
        Radius of the plate. [mm]
    thickness_mm : float
        Thickness. [mm]
    pressure_kPa : float
        Even pressure on it. [kPa]
    modulus_MPa : float
        Modulus of elasticity. [MPa]
    edge : PlateEdge
        How its edge is held.
    poisson : float
        Poisson's ratio. [-]

    Notes
    -----
    Clamped :math:`\sigma = \tfrac34 q a^2/t^2`, :math:`y = 3(1-\nu^2) q a^4/(16 E t^3)`;
    supported :math:`\sigma = \tfrac38 (3+\nu) q a^2/t^2`,
    :math:`y = 3(1-\nu)(5+\nu) q a^4/(16 E t^3)`.

    Checked against ``tests/published/plate_discs.csv``.
    """
    q, a, t, E = _checked(pressure_kPa, radius_mm, thickness_mm, modulus_MPa)
    nu = poisson
    clamped = edge is PlateEdge.CLAMPED
    beta = 0.75 if clamped else 3 * (3 + nu) / 8
    alpha = 3 * (1 - nu**2) / 16 if clamped else 3 * (1 - nu) * (5 + nu) / 16
    return Bent(stress_MPa=beta * q * a**2 / t**2, deflection_mm=alpha * q * a**4 / (E * t**3))


def upright(
    height_mm: float, thickness_mm: float, *, pressure_kPa: float, modulus_MPa: float
) -> Bent:
    r"""Return what a long wall bears that stands on its foot, pressed from one side.

    Notes
    -----
    A cantilever that cannot narrow: :math:`\sigma = 3 q h^2/t^2` at the foot,
    :math:`y = 3(1-\nu^2)\, q h^4/(2 E t^3)` at the top.
    """
    q, h, t, E = _checked(pressure_kPa, height_mm, thickness_mm, modulus_MPa)
    return Bent(
        stress_MPa=3 * q * h**2 / t**2,
        deflection_mm=1.5 * (1 - POISSON**2) * q * h**4 / (E * t**3),
    )


def strip_thickness_mm(
    span_mm: float,
    *,
    pressure_kPa: float,
    modulus_MPa: float,
    stress_MPa: float,
    deflection_mm: float,
) -> float:
    """Return the least thickness of a clamped strip for a stress and a deflection. [mm].

    Parameters
    ----------
    span_mm : float
        Between its edges. [mm]
    pressure_kPa, modulus_MPa : float
        Load and elastic modulus. [kPa], [MPa]
    stress_MPa, deflection_mm : float
        Neither is exceeded. [MPa], [mm]
    """
    _STRESS.check("stress_MPa", stress_MPa)
    _LENGTH.check("deflection_mm", deflection_mm)
    bent = strip(span_mm, 1.0, pressure_kPa=pressure_kPa, modulus_MPa=modulus_MPa)
    return max(
        sqrt(bent.stress_MPa / stress_MPa),
        float(np.cbrt(bent.deflection_mm / deflection_mm)),
    )


def thin_enough(span_mm: float, thickness_mm: float, bent: Bent) -> bool:
    """Return whether a plate is one for these formulas: slender, and bent by little."""
    return thickness_mm <= span_mm / 4 and bent.deflection_mm <= thickness_mm / 2


def _coefficient(long_mm: float, short_mm: float, edge: PlateEdge, column: int) -> float:
    _LENGTH.check("short_mm", short_mm)
    if not long_mm >= short_mm:
        raise SpecError(
            "long_mm",
            f"at least the short side, {short_mm:g} mm",
            f"{long_mm:g} mm",
            "Swap the two.",
        )
    table = np.array(_TABLES[edge])
    return float(np.interp(short_mm / long_mm, table[:, 0], table[:, column]))


def _checked(
    pressure_kPa: float, span_mm: float, thickness_mm: float, modulus_MPa: float
) -> tuple[float, float, float, float]:
    """Return pressure in MPa, span, thickness and modulus."""
    _PRESSURE.check("pressure_kPa", pressure_kPa)
    _LENGTH.check("span_mm", span_mm)
    _LENGTH.check("thickness_mm", thickness_mm)
    _MODULUS.check("modulus_MPa", modulus_MPa)
    return pressure_kPa * 1e-3, span_mm, thickness_mm, modulus_MPa
