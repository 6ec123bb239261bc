"""Contact: two bodies that touch, again and again, by steps that repeat.

When a hot sheet lies on a mold, heat crosses a joint that conducts badly where the faces do not
quite meet. Cycle after cycle is followed by `Phase`, in which the same step is taken many times.
The temperatures are taken apart into `Modes`, each of which fades by itself, so that all steps are
known at once. It is held against the closed form of two deep bodies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from moldgen.arrays import Flags, Indices
from moldgen.physics.heat.heating import Array, SheetFace, Stack
from moldgen.quantity import Quantity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Phase:
    """A stretch of time in which nothing about the bodies and their faces changes.

    The leading axes, if any, are those of the `Modes` it was made of.

    Attributes
    ----------
    times_s : ndarray, shape (..., steps)
        End of each step. [s]
    shares : ndarray, shape (..., steps, n)
        What is left of each mode after so many steps. [-]
    adds_degC : ndarray, shape (..., steps, n)
        What the faces bring to each cell. [°C]
    shapes, parts : ndarray, shape (..., n, n)
        Temperatures of each mode in a column, and in each row how much of a mode temperatures
        hold.
    """

    times_s: Array
    shares: Array
    adds_degC: Array
    shapes: Array
    parts: Array

    @property
    def n_steps(self) -> int:
        """How many steps it has."""
        return int(self.times_s.shape[-1])

    @property
    def n_cells(self) -> int:
        """How many cells the bodies have."""
        return int(self.adds_degC.shape[-1])

    def profiles_degC(self, start_degC: Array, *, first: int | None = None) -> Array:
        """Return the temperatures of all cells after each step, or each of the first steps.

        Parameters
        ----------
        start_degC : ndarray, shape (..., n)
            Where they start. [°C]
        first : int, optional
            How many steps; all if left out.

        Returns
        -------
        ndarray, shape (..., steps, n)
            Temperatures. [°C]
        """
        held = (self.parts @ start_degC[..., None])[..., 0]
        left = self.shares[..., :first, :] * held[..., None, :]
        after: Array = left @ np.swapaxes(self.shapes, -1, -2) + self.adds_degC[..., :first, :]
        return after

    def only(self, some: Flags | Indices) -> Phase:
        """Return some of the phases along the first axis."""
        return Phase(**{field.name: getattr(self, field.name)[some] for field in fields(self)})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    r"""How the temperatures of bodies between their faces fade: each mode by itself.

    With the heat the cells hold, :math:`M`, and what flows between them, :math:`K`,
    :math:`M \dot T = -K T + q`; the modes are the vectors of
    :math:`M^{-1/2} K M^{-1/2}`, which is symmetric.

    Attributes
    ----------
    rates_1_s : ndarray, shape (..., n)
        How fast each fades. [1/s]
    brought_degC_s : ndarray, shape (..., n)
        What the faces bring to each. [°C/s]
    shapes, parts : ndarray, shape (..., n, n)
        As in `Phase`.
    """

    rates_1_s: Array
    brought_degC_s: Array
    shapes: Array
    parts: Array

    def phase(self, duration_s: ArrayLike, *, n_steps: int) -> Phase:
        """Return a phase of equal steps.

        Parameters
        ----------
        duration_s : array_like, shape (...)
            How long it lasts. [s]
        n_steps : int
            Steps, all equal.

        Notes
        -----
        The steps are those of `moldgen.physics.heat.march`; without change of specific heat and
        without radiation both give the same.
        """
        Quantity("s", "duration", above=0).check("duration_s", float(np.min(duration_s)))
        step_s = np.asarray(duration_s, dtype=np.float64)[..., None] / n_steps
        share, add = self._step(step_s)
        every = np.repeat(share[..., None, :], n_steps, axis=-2)
        shares = np.asarray(np.cumprod(every, axis=-2), dtype=np.float64)
        # What was brought in a step fades in all later ones: 1 + d + d² and so on.
        gathered = 1 + np.cumsum(shares, axis=-2) - shares
        adds_degC = (gathered * add[..., None, :]) @ np.swapaxes(self.shapes, -1, -2)
        return Phase(
            times_s=step_s * np.arange(1, n_steps + 1),
            shares=shares,
            adds_degC=adds_degC,
            shapes=self.shapes,
            parts=self.parts,
        )

    def only(self, some: Flags | Indices) -> Modes:
        """Return some of the modes along the first axis."""
        return Modes(**{field.name: getattr(self, field.name)[some] for field in fields(self)})

    def _step(self, step_s: Array) -> tuple[Array, Array]:
        """Return what one step leaves of each mode and adds: backward Euler, extrapolated once."""
        whole, half = (1 / (1 + self.rates_1_s * part_s) for part_s in (step_s, step_s / 2))
        once = whole * step_s * self.brought_degC_s
        twice = (half**2 + half) * step_s / 2 * self.brought_degC_s
        return 2 * half**2 - whole, 2 * twice - once


def modes_of(body: Stack, *, front: SheetFace, back: SheetFace, near_degC: float) -> Modes:
    """Return the modes of a stack between its faces.

    Parameters
    ----------
    body : Stack
        Layers and cells; their specific heat is the cold one throughout.
    front, back : SheetFace
        What its faces meet.
    near_degC : float
        Where radiation off the faces is taken to be in proportion to temperature. [°C]
    """
    flows, brought = body.conduction, np.zeros(len(body.widths_m))
    for face, cell in ((front, 0), (back, -1)):
        total, driven = (float(value[0]) for value in face.films(np.array([float(near_degC)])))
        g = float(body.half_conductances[cell])
        flows[cell, cell] += g * total / (g + total)
        brought[cell] += g * driven / (g + total)
    cold = np.zeros(len(body.widths_m))
    roots = np.sqrt(body.masses(cold, cold))
    rates_1_s, vectors = np.linalg.eigh(flows / np.outer(roots, roots))
    return Modes(
        rates_1_s=rates_1_s,
        brought_degC_s=vectors.T @ (brought / roots),
        shapes=vectors / roots[:, None],
        parts=vectors.T * roots,
    )


def side_by_side(several: Sequence[Modes]) -> Modes:
    """Return the modes of several bodies of as many cells, along a new first axis."""
    return Modes(
        **{
            field.name: np.stack([getattr(one, field.name) for one in several])
            for field in fields(Modes)
        }
    )
