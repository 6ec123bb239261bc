r"""Hot sheet as rubber: energy and tensions of an incompressible hyperelastic membrane.

A sheet in its forming window is soft and hardly changes its volume. It is taken as rubber with the
energy of Mooney and Rivlin per unit of undeformed volume,

.. math:: W = \frac{\mu}{2} \left[ c_1 (I_1 - 3) + c_2 (I_2 - 3) \right], \qquad c_1 + c_2 = 1,

whose first term alone is called neo-Hookean. In a membrane the third stretch follows from the
other two, so that only the Cauchy-Green tensor *C* in the plane is needed:
:math:`I_1 = \mathrm{tr} C + 1/J` and :math:`I_2 = \mathrm{tr} C / J + J` with
:math:`J = \det C`; the thickness is :math:`t_0 / \sqrt{J}`.

Pressures are counted in the modulus times the gauge over a length: the shape of a formed sheet
depends on :math:`p / (\mu t_0)` alone, so one run answers for every gauge.

References
----------
.. [1] A. E. Green and J. E. Adkins, Large Elastic Deformations, Oxford, 1960, chapter 4.
.. [2] J. E. Adkins and R. S. Rivlin, "Large elastic deformations of isotropic materials IX: the
   deformation of thin shells," Phil. Trans. R. Soc. A 244, 505-531, 1952.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.arrays import Floats
from moldgen.quantity import Quantity, Spec

_MODULUS = Quantity("kPa", "shear modulus of the hot sheet", above=0)
_GAUGE = Quantity("mm", "thickness of the sheet", above=0)
_PRESSURE = Quantity("kPa", "pressure across the sheet", at_least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rubber(Spec):
    """How the hot sheet resists being stretched.

    Attributes
    ----------
    second : float
        Share of the second term against the first, c2/c1; 0 is the neo-Hookean sheet. [-]
    taut : float
        Stretch, the same in both directions, that the clamped sheet is already under before
        anything touches it: a sheet that shrinks back in the heat draws itself tight. Thickness
        and stretches of a run are counted from the sheet as it is clamped. [-]
    """

    second: Annotated[float, Quantity("", "c2 over c1", at_least=0)] = 0.0
    taut: Annotated[float, Quantity("", "stretch of the clamped sheet", at_least=1, at_most=10)] = (
        1.0
    )

    @property
    def shares(self) -> tuple[float, float]:
        """The weights c1 and c2 of the two terms, 1 together."""
        return 1.0 / (1.0 + self.second), self.second / (1.0 + self.second)


def pressure_per_mm(pressure_kPa: float, *, modulus_kPa: float, gauge_mm: float) -> float:
    """Return a pressure as a forming run counts it: over shear modulus and gauge. [1/mm].

    Parameters
    ----------
    pressure_kPa : float
        Pressure across the sheet; for vacuum, what the gauge of the table shows. [kPa]
    modulus_kPa : float
        Shear modulus at forming temperature. Amorphous sheet in its window has roughly 100 to
        1000 kPa (common practice, no source). [kPa]
    gauge_mm : float
        Thickness of the sheet before forming. [mm]

    Raises
    ------
    SpecError
        If the pressure is negative, or modulus or gauge are not more than 0.
    """
    _PRESSURE.check("pressure_kPa", pressure_kPa)
    _MODULUS.check("modulus_kPa", modulus_kPa)
    _GAUGE.check("gauge_mm", gauge_mm)
    return pressure_kPa / (modulus_kPa * gauge_mm)


def pressure_kPa(per_mm: float, *, modulus_kPa: float, gauge_mm: float) -> float:
    """Return the physical pressure of one counted over shear modulus and gauge. [kPa]."""
    _MODULUS.check("modulus_kPa", modulus_kPa)
    _GAUGE.check("gauge_mm", gauge_mm)
    return per_mm * modulus_kPa * gauge_mm


def greater_tension(stretches: Floats, rubber: Rubber) -> Floats:
    r"""Return the tension along the greater stretch, over modulus and gauge, shape (k,). [-].

    Parameters
    ----------
    stretches : ndarray, shape (k, 2)
        Greater and lesser stretch in the plane, counted from the sheet as it is clamped. [-]
    rubber : Rubber
        The law.

    Notes
    -----
    Of a membrane under pressure a cylinder of radius *r* carries the tension :math:`T = p r`: so
    tension over pressure is the radius that a sheet bends with into a straight corner.

    .. math:: T_1 / (\mu t_0) = (\lambda_1^2 - \lambda_3^2)(c_1 + c_2 \lambda_2^2)
       / (\lambda_1 \lambda_2)

    Examples
    --------
    A sheet pulled one way to twice its length, the other side held:

    >>> import numpy as np
    >>> greater_tension(np.array([[2.0, 1.0]]), Rubber()).tolist()
    [1.875]
    """
    c1, c2 = rubber.shares
    greater, lesser = (rubber.taut * stretches.T) ** 2
    thin = 1.0 / (greater * lesser)
    tension: Floats = (greater - thin) * (c1 + c2 * lesser) / (stretches[:, 0] * stretches[:, 1])
    return tension
