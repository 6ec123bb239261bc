r"""Contact: two bodies that touch, once as a formula, and again and again by steps that repeat.

When a hot sheet lies on a mold, heat crosses a joint that conducts badly where the faces do not
quite meet. Deep bodies have a closed form; pull after pull is followed by `Phase`, in which the
same step is taken many times and is therefore worked out once.

References
----------
.. [1] H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., sections 2.7 and
   2.8, form from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, exp, inf, pi, sqrt

import numpy as np

from moldgen.physics.heat.conduction import deep_convection_share
from moldgen.physics.heat.heating import Array, Face, Stack
from moldgen.quantity import Quantity

_POSITIVE = Quantity("", "a number", above=0)


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
    See [1]_ in the module's docstring. Checked against ``tests/published/contact.csv`` and by
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


_BEST = 20.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Phase:
    """A stretch of time in which nothing about the bodies and their faces changes.

    Attributes
    ----------
    times_s : ndarray, shape (steps,)
        End of each step. [s]
    gains : ndarray, shape (steps, n, n)
        What is left of the first temperatures after so many steps.
    adds_degC : ndarray, shape (steps, n)
        What the faces bring. [°C]
    """

    times_s: Array
    gains: Array
    adds_degC: Array

    def profiles_degC(self, start_degC: Array) -> Array:
        """Return the temperatures of all cells after each step, shape (steps, n)."""
        after: Array = self.gains @ start_degC + self.adds_degC
        return after


def phase(
    body: Stack, *, front: Face, back: Face, duration_s: float, n_steps: int, near_degC: float
) -> Phase:
    """Return a phase of equal steps, ready to be gone through again and again.

    Parameters
    ----------
    body : Stack
        Layers and cells; their specific heat is the cold one throughout.
    front, back : Face
        What its faces meet.
    duration_s : float
        How long it lasts. [s]
    n_steps : int
        Steps, all equal.
    near_degC : float
        Where radiation off the faces is taken to be in proportion to temperature. [°C]

    Notes
    -----
    The steps are those of `moldgen.physics.heat.heating.march`; without change of specific heat and
    without radiation both give the same.
    """
    Quantity("s", "duration", above=0).check("duration_s", duration_s)
    step_s = duration_s / n_steps
    gain, add = _step(body, (front, back), step_s, near_degC)
    gains, adds = [gain], [add]
    for _ in range(n_steps - 1):
        gains.append(gain @ gains[-1])
        adds.append(gain @ adds[-1] + add)
    times_s: Array = step_s * np.arange(1, n_steps + 1, dtype=np.float64)
    return Phase(times_s=times_s, gains=np.stack(gains), adds_degC=np.stack(adds))


def _step(
    body: Stack, faces: tuple[Face, Face], step_s: float, near_degC: float
) -> tuple[Array, Array]:
    """Return one step as a matrix and what it adds: backward Euler, extrapolated once."""
    flows, brought = body.conduction, np.zeros(len(body.widths_m))
    for face, cell in zip(faces, (0, -1), strict=True):
        total, driven = (float(value[0]) for value in face.films(np.array([float(near_degC)])))
        g = float(body.half_conductances[cell])
        flows[cell, cell] += g * total / (g + total)
        brought[cell] += g * driven / (g + total)
    cold = np.zeros((1, len(body.widths_m)))
    masses = body.masses(cold, cold)[0]
    gains, adds = [], []
    for part_s in (step_s, step_s / 2):
        inverse = np.linalg.inv(np.diag(masses / part_s) + flows)
        gains.append(inverse * (masses / part_s))
        adds.append(inverse @ brought)
    gain = 2 * gains[1] @ gains[1] - gains[0]
    return gain, 2 * (gains[1] @ adds[1] + adds[1]) - adds[0]
