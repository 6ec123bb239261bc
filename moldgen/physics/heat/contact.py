"""Contact: two bodies that touch, again and again, by steps that repeat.

When a hot sheet lies on a mold, heat crosses a joint that conducts badly where the faces do not
quite meet. Pull after pull is followed by `Phase`, in which the same step is taken many times and
is therefore worked out once. It is held against the closed form of two deep bodies.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.physics.heat.heating import Array, SheetFace, Stack
from moldgen.quantity import Quantity


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
    body: Stack,
    *,
    front: SheetFace,
    back: SheetFace,
    duration_s: float,
    n_steps: int,
    near_degC: float,
) -> Phase:
    """Return a phase of equal steps, ready to be gone through again and again.

    Parameters
    ----------
    body : Stack
        Layers and cells; their specific heat is the cold one throughout.
    front, back : SheetFace
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
    body: Stack, faces: tuple[SheetFace, SheetFace], step_s: float, near_degC: float
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
