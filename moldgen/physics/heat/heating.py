r"""Heating: a sheet through its thickness, step by step, with any faces, turned over or not.

The sheet, or a stack of layers that touch, is cut into thin cells. Each face takes up a flux,
radiation and convection; changing the faces between two runs turns the sheet over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.physics.heat.radiation import STEFAN_W_m2K4, ZERO_degC
from moldgen.quantity import Quantity, Spec

Array = NDArray[np.float64]
_CLOSE: Mapping[int, float] = MappingProxyType({})
_HELD = 1e9
"""Film coefficient that stands for a face held at a temperature. [W/(m²·K)]"""
_SOFTENS_OVER_K = 20.0
"""An amorphous plastic's specific heat goes from cold to hot over this range."""
_MELTS_OVER_K = 40.0
"""Crystals melt over this range below the melting point."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Matter(Spec):
    """What a layer is made of, for heat.

    Attributes
    ----------
    hot_J_kgK : float or None
        Specific heat above the change; None if it does not change. [J/(kg·K)]
    changes_degC : float
        Where it changes: glass transition, or melting point. [°C]
    melting_J_kg : float
        Heat taken up while it melts, just below the change. [J/kg]
    """

    conductivity_W_mK: float
    density_kg_m3: float
    heat_J_kgK: float
    hot_J_kgK: float | None = None
    changes_degC: float = inf
    melting_J_kg: float = 0.0

    def __post_init__(self) -> None:
        positive = Quantity("", "a property", above=0)
        for field in ("conductivity_W_mK", "density_kg_m3", "heat_J_kgK"):
            positive.check(field, getattr(self, field))

    def enthalpy(self, temperature_degC: Array) -> Array:
        """Return the heat content at temperatures, melting included, in J/kg, 0 at 0 °C."""
        content: Array = self.heat_J_kgK * temperature_degC
        if self.hot_J_kgK is None:
            return content
        ramp = (temperature_degC - self.changes_degC) / _SOFTENS_OVER_K + 0.5
        inside = np.clip(ramp, 0, 1)
        grown = _SOFTENS_OVER_K * (inside**2 / 2 + np.maximum(ramp - 1, 0))
        molten = np.clip((temperature_degC - self.changes_degC) / _MELTS_OVER_K + 1, 0, 1)
        content = content + (self.hot_J_kgK - self.heat_J_kgK) * grown
        return content + molten * self.melting_J_kg

    def heat(self, first_degC: Array, last_degC: Array) -> Array:
        """Return the mean specific heat from one temperature to another, in J/(kg·K)."""
        if self.hot_J_kgK is None:
            return np.full_like(first_degC, self.heat_J_kgK)
        change = last_degC - first_degC
        # Over less than a tenth of a degree the difference is lost in rounding.
        change = np.where(np.abs(change) < 0.1, 0.1, change)
        grown: Array = self.enthalpy(first_degC + change) - self.enthalpy(first_degC)
        return grown / change


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFace:
    """What a face of the sheet meets.

    Attributes
    ----------
    flux_W_m2 : float, or ndarray of shape (batch,)
        Taken up whatever the temperature. [W/m²]
    air_degC : float, or ndarray of shape (batch,)
        Air, or a body in contact. [°C]
    film_W_m2K : float
        Its film coefficient; infinite holds the face at that temperature. [W/(m²·K)]
    glows : tuple of (temperature_degC, share), each a float, or an ndarray of shape (batch,)
        What radiates at it, with emissivity times view factor. [°C], [-]
    """

    flux_W_m2: float | Array = 0.0
    air_degC: float | Array = 0.0
    film_W_m2K: float = 0.0
    glows: tuple[tuple[float | Array, float | Array], ...] = ()

    def films(self, face_degC: Array) -> tuple[Array, Array]:
        """Return total film coefficient and what it drives, for faces at given temperatures."""
        h = min(self.film_W_m2K, _HELD)
        total = np.full_like(face_degC, h)
        driven = np.zeros_like(face_degC) + (h * self.air_degC + self.flux_W_m2)
        for source_degC, share in self.glows:
            S, T = source_degC - ZERO_degC, face_degC - ZERO_degC
            radiant = share * STEFAN_W_m2K4 * (S**2 + T**2) * (S + T)
            total += radiant
            driven += radiant * source_degC
        return total, driven


INSULATED = SheetFace()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stack:
    """Layers that touch, front to back, cut into cells.

    Attributes
    ----------
    layers : tuple of (Matter, slice)
        What each run of cells is made of.
    widths_m : ndarray, shape (n,)
        Thickness of the cells. [m]
    joints_m2K_W : ndarray, shape (n - 1,)
        What lies between neighbors beside themselves, such as air where layers touch badly.
        [m²·K/W]
    """

    layers: tuple[tuple[Matter, slice], ...]
    widths_m: Array
    joints_m2K_W: Array

    @property
    def half_conductances(self) -> Array:
        """From the middle of each cell to its side, in W/(m²·K)."""
        k = np.empty_like(self.widths_m)
        for matter, cells in self.layers:
            k[cells] = matter.conductivity_W_mK
        return 2 * k / self.widths_m

    @property
    def conduction(self) -> Array:
        """What flows between the cells for their temperatures, shape (n, n), in W/(m²·K)."""
        half = 1 / self.half_conductances
        inner = 1 / (half[:-1] + half[1:] + self.joints_m2K_W)
        matrix = np.diag(np.append(inner, 0) + np.insert(inner, 0, 0))
        matrix -= np.diag(inner, 1) + np.diag(inner, -1)
        return matrix

    def masses(self, first_degC: Array, last_degC: Array) -> Array:
        """Return the heat each cell takes per kelvin, shape (batch, n), in J/(m²·K)."""
        masses = np.empty_like(first_degC)
        for matter, cells in self.layers:
            heat = matter.heat(first_degC[:, cells], last_degC[:, cells])
            masses[:, cells] = matter.density_kg_m3 * heat * self.widths_m[cells]
        return masses

    @property
    def melts(self) -> bool:
        """Whether a layer takes up heat by melting."""
        return any(matter.melting_J_kg > 0 for matter, _ in self.layers)


def stack(*layers: tuple[Matter, float, int], touch_W_m2K: Mapping[int, float] = _CLOSE) -> Stack:
    """Return layers, each of a matter, a thickness in m and a number of cells, front to back.

    Parameters
    ----------
    layers : tuple of (Matter, thickness, number of cells)
        Front to back. [m]
    touch_W_m2K : mapping of int to float
        How well a layer touches the one behind it, by its place from 0; perfectly if left out.
        [W/(m²·K)]
    """
    runs, widths_m, first = [], [], 0
    for matter, thickness_m, n_cells in layers:
        Quantity("m", "thickness", above=0).check("thickness_m", thickness_m)
        runs.append((matter, slice(first, first + n_cells)))
        widths_m.append(np.full(n_cells, thickness_m / n_cells))
        first += n_cells
    joints_m2K_W = np.zeros(first - 1)
    for place, conductance_W_m2K in touch_W_m2K.items():
        Quantity("W/(m²·K)", "touch", above=0).check("touch_W_m2K", conductance_W_m2K)
        joints_m2K_W[runs[place][1].stop - 1] = 1 / conductance_W_m2K
    return Stack(layers=tuple(runs), widths_m=np.concatenate(widths_m), joints_m2K_W=joints_m2K_W)


def beer_shares(body: Stack, depth_m: float) -> Array:
    r"""Return which share of the light that enters the front each cell takes up.

    Parameters
    ----------
    body : Stack
        What it shines into.
    depth_m : float
        Depth in which all but :math:`1/e` of it is taken up. [m]

    Returns
    -------
    ndarray, shape (n,)
        The rest to 1 leaves at the back. [-]

    Notes
    -----
    Beer's law, :math:`e^{-x/d}`.

    Examples
    --------
    >>> clear = Matter(conductivity_W_mK=0.2, density_kg_m3=1180, heat_J_kgK=1500)
    >>> [round(float(share), 3) for share in beer_shares(stack((clear, 0.002, 2)), 0.001)]
    [0.632, 0.233]
    """
    Quantity("m", "depth", above=0).check("depth_m", depth_m)
    depths = np.append(0.0, np.cumsum(body.widths_m))
    shares: Array = -np.diff(np.exp(-depths / depth_m))
    return shares


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
    r"""Follow the temperatures through a stack for a time.

    Parameters
    ----------
    body : Stack
        Layers and cells.
    start_degC : array_like, broadcast to (batch, cells)
        Where it starts. [°C]
    front, back : SheetFace
        What its faces meet; swapped from one run to the next, the sheet is turned over.
    duration_s : array_like, shape () or (batch,)
        How long; several durations are followed at once. [s]
    n_steps : int
        Steps, all equal.
    within_W_m2 : array_like, broadcast to (batch, cells)
        What each cell takes up from afar, such as light that goes deep. [W/m²]

    Returns
    -------
    TemperatureHistory
        All steps.

    Notes
    -----
    Finite volumes; backward Euler with one extrapolation (twice two half steps less one whole
    one), which damps every jump at a face and is of second order in time and in space.
    """
    durations_s: Array = np.atleast_1d(np.asarray(duration_s, dtype=np.float64))
    shape = (len(durations_s), len(body.widths_m))
    now = np.broadcast_to(np.asarray(start_degC, dtype=np.float64), shape).copy()
    step_s = durations_s / n_steps
    step = _Step(body, front, back, np.asarray(within_W_m2, dtype=np.float64))
    frames = [now]
    for _ in range(n_steps):
        whole = step(now, step_s)
        now = 2 * step(step(now, step_s / 2), step_s / 2) - whole
        frames.append(now)
    profiles_degC = np.stack(frames)
    times_s = np.arange(n_steps + 1)[:, None] * step_s
    return TemperatureHistory(
        times_s=times_s,
        profiles_degC=profiles_degC,
        fronts_degC=face_degC(body, profiles_degC, front, at_front=True),
        backs_degC=face_degC(body, profiles_degC, back, at_front=False),
    )


def face_degC(body: Stack, profiles_degC: Array, face: SheetFace, *, at_front: bool) -> Array:
    """Return the temperature of a face, given its cells, shape (..., cells) to (...)."""
    cell = profiles_degC[..., 0 if at_front else -1]
    g = body.half_conductances[0 if at_front else -1]
    guess: Array = cell
    # Radiation makes the balance of a face slightly crooked: two rounds settle it.
    for _ in range(2 if face.glows else 1):
        total, driven = face.films(guess)
        guess = (driven + g * cell) / (total + g)
    return guess


class _Step:
    """One step of backward Euler; films are taken from its start, heat over its whole."""

    def __init__(self, body: Stack, front: SheetFace, back: SheetFace, within_W_m2: Array) -> None:
        self.body, self.faces = body, ((front, 0), (back, len(body.widths_m) - 1))
        self.between = body.half_conductances
        self.conduction, self.within_W_m2 = body.conduction, within_W_m2
        # Melting bends the enthalpy sharply: the mean heat over a step is then found from its end.
        self.rounds = 2 if body.melts else 1

    def __call__(self, now: Array, step_s: Array) -> Array:
        matrix = np.repeat(self.conduction[None], len(now), axis=0)
        known: Array = np.zeros_like(now) + self.within_W_m2
        for face, cell in self.faces:
            g = self.between[cell]
            here = face_degC(self.body, now, face, at_front=cell == 0)
            total, driven = face.films(here)
            matrix[:, cell, cell] += g * total / (g + total)
            known[:, cell] += g * driven / (g + total)
        diagonal = np.einsum("bii->bi", matrix)
        still = diagonal.copy()
        after: Array = now
        for _ in range(self.rounds):
            masses = self.body.masses(now, after) / step_s[:, None]
            diagonal[:] = still + masses
            solved = np.linalg.solve(matrix, (known + masses * now)[..., None])[..., 0]
            after = np.asarray(solved, dtype=np.float64)
        return after
