"""A vessel that empties through a nozzle into vacuum, in closed form."""

from __future__ import annotations

from math import log

from moldgen.physics.air.airflow import KAPPA
from moldgen.quantity import Quantity


def _ratio(pressure_ratio: float) -> float:
    Quantity("", "a ratio", above=0, at_most=1).check("pressure_ratio", pressure_ratio)
    return pressure_ratio


def isothermal_blow_down(pressure_ratio: float) -> float:
    r"""Return how long a fixed volume takes to fall to a share of its pressure, choked all the way.

    The walls keep the air at their own temperature, as in thin channels. In time constants.

    Notes
    -----
    .. math:: t/\tau = -\ln(p/p_i)

    Examples
    --------
    >>> round(isothermal_blow_down(0.5), 4)
    0.6931
    """
    return -log(_ratio(pressure_ratio))


def adiabatic_blow_down(pressure_ratio: float) -> float:
    r"""Return the same for air that cools as it expands, as in large vessels. In time constants.

    Notes
    -----
    .. math:: \frac{p}{p_i} = \left[1 + \frac{k-1}{2}\,\frac{t}{\tau}\right]^{-2k/(k-1)}

    A form with :math:`k+1` in place of :math:`k-1` is in circulation; integration of the mass
    balance gives this one.
    """
    return float((_ratio(pressure_ratio) ** (-(KAPPA - 1) / (2 * KAPPA)) - 1) * 2 / (KAPPA - 1))
