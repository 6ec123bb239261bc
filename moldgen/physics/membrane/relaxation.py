r"""What is left of the stress in a hot sheet that is held stretched.

A melt of chains that only entangle each other is a rubber for a while: after a step of stretch its
stress falls. The stress is taken as that of the rubber times a share *g* of the time since (linear
in the share, finite in the stretch: quasi-linear viscoelasticity),

.. math:: g(t) = \exp \left[ - (t / \theta)^{1/2} \right], \qquad
   \bar\tau = \int_0^\infty g \, dt = 2 \theta .

The exponent 1/2 spreads the times of relaxation as widely as they are in commercial melts, whose
chains differ in length (0.4 to 0.6, from memory); :math:`\bar\tau` is zero-shear viscosity over
plateau modulus. Times are counted at one temperature: at another all of them are longer by the
factor of Williams, Landel and Ferry.

Stress that builds up while the sheet is held counts here as old as the rest, so that the share is
a little low; the rubber that does not relax is the bound on the other side.

References
----------
.. [1] M. L. Williams, R. F. Landel and J. D. Ferry, "The temperature dependence of relaxation
   mechanisms in amorphous polymers," J. Am. Chem. Soc. 77, 3701-3707, 1955: 17.44 and 51.6 K from
   the glass transition on, for polymers in general (from memory).
.. [2] R. Kohlrausch, 1854; G. Williams and D. C. Watts, Trans. Faraday Soc. 66, 80-85, 1970: the
   stretched exponential.
"""

from __future__ import annotations

from math import exp

import numpy as np

from moldgen.arrays import Floats
from moldgen.quantity import Quantity

WLF_FIRST, WLF_SECOND_K = 17.44, 51.6
"""Constants of Williams, Landel and Ferry, counted from the glass transition. [-], [K]."""

EXPONENT = 0.5
"""Of the stretched exponential. [-]."""

_MEAN = Quantity("s", "mean relaxation time", above=0)
_TIME = Quantity("s", "time since the stretch", at_least=0)


def wlf_factor(at_degC: Floats, *, from_degC: float, glass_degC: float) -> Floats:
    """Return how many times longer relaxation takes at temperatures than at another one. [-].

    Parameters
    ----------
    at_degC : ndarray
        Temperatures; at and below the glass transition the factor is that of the transition. [°C]
    from_degC, glass_degC : float
        The temperature that times are known at, and the glass transition. [°C]

    Examples
    --------
    >>> wlf_factor(np.array([137.0, 147.0]), from_degC=147, glass_degC=100).round(1).tolist()
    [10.7, 1.0]
    """
    above, known = (np.maximum(t - glass_degC, 0.0) for t in (at_degC, from_degC))
    exponent = WLF_FIRST * (known / (WLF_SECOND_K + known) - above / (WLF_SECOND_K + above))
    factor: Floats = 10.0**exponent
    return factor


def time_at_s(
    times_s: Floats, course_degC: Floats, *, from_degC: float, glass_degC: float
) -> float:
    """Return the time at one temperature that relaxes as much as a course of temperatures. [s].

    Parameters
    ----------
    times_s, course_degC : ndarray, shape (n,)
        The course. [s], [°C]
    from_degC, glass_degC : float
        As for `wlf_factor`. [°C]
    """
    factor = wlf_factor(course_degC, from_degC=from_degC, glass_degC=glass_degC)
    return float(np.trapezoid(1.0 / factor, times_s))


def share_left(time_s: float, *, mean_s: float) -> float:
    """Return the share of its stress that a stretched sheet has left after a time. [-].

    Parameters
    ----------
    time_s : float
        Since the stretch. [s]
    mean_s : float
        Mean relaxation time, the area under the share over all time. [s]

    Raises
    ------
    SpecError
        If the time is less than 0, or the mean is not more than 0.

    Examples
    --------
    >>> round(share_left(4.0, mean_s=8.0), 3)
    0.368
    """
    _TIME.check("time_s", time_s)
    _MEAN.check("mean_s", mean_s)
    return exp(-((2.0 * time_s / mean_s) ** EXPONENT))
