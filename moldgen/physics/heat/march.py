"""March: temperatures through a sheet or a stack of layers, followed step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from moldgen.physics.heat.heating import Array, HeatContent, SheetFace, Stack, face_films

_FACE_ROUNDS = 2
"""Radiation makes the balance of a face slightly crooked: two rounds settle it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TemperatureHistory:
    """How temperatures went, step by step; step 0 is the start.

    Attributes
    ----------
    times_s : ndarray, shape (steps + 1, batch)
        Since the start. [s]
    profiles_degC : ndarray, shape (steps + 1, batch, cells)
        Middle of every cell, front to back. [°C]
    fronts_degC, backs_degC : ndarray, shape (steps + 1, batch)
        Both faces. [°C]
    """

    times_s: Array
    profiles_degC: Array
    fronts_degC: Array
    backs_degC: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exposure:
    """A stack, where it starts, what its faces meet, and for how long.

    Attributes
    ----------
    body : Stack
        Layers and cells.
    start_degC : array_like, broadcast to (batch, cells)
        Where it starts. [°C]
    front, back : SheetFace
        What its faces meet; swapped from one run to the next, the sheet is turned over.
    duration_s : array_like, shape () or (batch,)
        How long; several durations are followed at once. [s]
    within_W_m2 : array_like, broadcast to (batch, cells)
        What each cell takes up from afar, such as light that goes deep. [W/m²]
    """

    body: Stack
    start_degC: ArrayLike
    front: SheetFace
    back: SheetFace
    duration_s: ArrayLike
    within_W_m2: ArrayLike = 0.0

    @property
    def batch(self) -> int:
        """How many durations are followed."""
        return len(np.atleast_1d(self.duration_s))


def march(
    body: Stack,
    start_degC: ArrayLike,
    *,
    front: SheetFace,
    back: SheetFace,
    duration_s: ArrayLike,
    n_steps: int,
    within_W_m2: ArrayLike = 0.0,
) -> TemperatureHistory:
    """Follow the temperatures through one stack for a time; see `Exposure` and `march_all`."""
    exposure = Exposure(
        body=body,
        start_degC=start_degC,
        front=front,
        back=back,
        duration_s=duration_s,
        within_W_m2=within_W_m2,
    )
    (course,) = march_all([exposure], n_steps=n_steps)
    return course


def march_all(exposures: Sequence[Exposure], *, n_steps: int) -> tuple[TemperatureHistory, ...]:
    r"""Follow the temperatures through several stacks, each for its time, side by side.

    Parameters
    ----------
    exposures : sequence of Exposure
        Their stacks have equally many cells.
    n_steps : int
        Steps, all equal.

    Returns
    -------
    tuple of TemperatureHistory
        All steps, one history for each exposure.

    Notes
    -----
    Finite volumes; backward Euler with one extrapolation (twice two half steps less one whole
    one), which damps every jump at a face and is of second order in time and in space.
    """
    columns, doubled = _columns_of(exposures), _columns_of([*exposures, *exposures])
    step_s = columns.duration_s / n_steps
    both_s = np.concatenate([step_s, step_s / 2])
    now = columns.start_degC
    frames = [now]
    for _ in range(n_steps):
        # The whole step and the first half one start from the same.
        whole, half = np.split(doubled.step(np.concatenate([now, now]), both_s), 2)
        now = 2 * columns.step(half, step_s / 2) - whole
        frames.append(now)
    profiles_degC = np.stack(frames)
    faces_degC = columns.faces_degC(profiles_degC[..., columns.ends])
    times_s = np.arange(n_steps + 1)[:, None] * step_s
    for one in (times_s, profiles_degC, faces_degC):
        one.setflags(write=False)
    cuts = np.cumsum([exposure.batch for exposure in exposures])[:-1]
    return tuple(
        TemperatureHistory(
            times_s=times,
            profiles_degC=profiles,
            fronts_degC=faces[..., 0],
            backs_degC=faces[..., 1],
        )
        for times, profiles, faces in zip(
            np.split(times_s, cuts, axis=1),
            np.split(profiles_degC, cuts, axis=1),
            np.split(faces_degC, cuts, axis=1),
            strict=True,
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Columns:
    """Stacks side by side: every array has a column's values in its row.

    ``half_W_m2K``, shape (batch, 2), leads from the middle of the outermost cells to the faces,
    and ``terms``, shape (batch, 2, 2, 4), is what these meet: `SheetFace.terms` of front and back.
    """

    start_degC: Array
    duration_s: Array
    within_W_m2: Array
    conduction_W_m2K: Array
    half_W_m2K: Array
    weights_kg_m2: Array
    terms: Array
    content: HeatContent
    rounds: int

    @property
    def ends(self) -> list[int]:
        """The outermost cells."""
        return [0, self.start_degC.shape[1] - 1]

    def faces_degC(self, cells_degC: Array) -> Array:
        """Return the temperatures of both faces, given their cells, shape (..., batch, 2)."""
        guess = cells_degC
        for _ in range(_FACE_ROUNDS):
            films = face_films(self.terms, guess)
            guess = (films[..., 1] + self.half_W_m2K * cells_degC) / (
                films[..., 0] + self.half_W_m2K
            )
        return guess

    def step(self, now: Array, step_s: Array) -> Array:
        """Take one step of backward Euler; films are taken from its start, heat over its whole."""
        films = face_films(self.terms, self.faces_degC(now[:, self.ends]))
        share = self.half_W_m2K / (self.half_W_m2K + films[..., 0])
        gained, lost = share * films[..., 1], share * films[..., 0]
        known, matrix = self.within_W_m2.copy(), self.conduction_W_m2K.copy()
        diagonal = np.einsum("bii->bi", matrix)
        for face, cell in enumerate(self.ends):
            known[:, cell] += gained[:, face]
            diagonal[:, cell] += lost[:, face]
        still, per_s = diagonal.copy(), self.weights_kg_m2 / step_s[:, None]
        after = now
        for _ in range(self.rounds):
            masses = per_s * self.content.heat(now, after)
            diagonal[:] = still + masses
            solved = np.linalg.solve(matrix, (known + masses * now)[..., None])[..., 0]
            after = np.asarray(solved, dtype=np.float64)
        return after


def _columns_of(exposures: Sequence[Exposure]) -> _Columns:
    sizes = [exposure.batch for exposure in exposures]
    bodies = [exposure.body for exposure in exposures]
    n = len(bodies[0].widths_m)

    def shared(values: Sequence[Array]) -> Array:
        return np.repeat(np.stack(values), sizes, axis=0)

    def own(values: Sequence[ArrayLike]) -> Array:
        rows = [
            np.broadcast_to(np.asarray(value, dtype=np.float64), (size, n))
            for value, size in zip(values, sizes, strict=True)
        ]
        return np.concatenate(rows)

    return _Columns(
        start_degC=own([exposure.start_degC for exposure in exposures]),
        duration_s=np.concatenate([np.atleast_1d(one.duration_s) for one in exposures]),
        within_W_m2=own([exposure.within_W_m2 for exposure in exposures]),
        conduction_W_m2K=shared([body.conduction for body in bodies]),
        half_W_m2K=shared([body.half_conductances[[0, -1]] for body in bodies]),
        weights_kg_m2=shared([body.weights_kg_m2 for body in bodies]),
        terms=np.concatenate(
            [
                np.stack([one.front.terms(size), one.back.terms(size)], axis=1)
                for one, size in zip(exposures, sizes, strict=True)
            ]
        ),
        content=HeatContent.joined([body.content for body in bodies], sizes),
        # Melting bends the enthalpy sharply: the mean heat over a step is then found from its end.
        rounds=2 if any(body.melts for body in bodies) else 1,
    )
