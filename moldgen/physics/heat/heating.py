r"""Heating: what a sheet is to heat: layers that touch, cut into thin cells, and two faces.

Each face takes up a flux, radiation and convection. `moldgen.physics.heat.march` steps through
time; changing the faces between two runs turns the sheet over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from math import inf
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatContent:
    """How heat content rises with temperature, of one matter or of many cells at once.

    Attributes
    ----------
    cold_J_kgK, hot_J_kgK : ndarray, of any shape
        Specific heat below and above the change. [J/(kg·K)]
    changes_degC : ndarray, of the same shape
        Where it changes; infinite if it does not. [°C]
    melting_J_kg : ndarray, of the same shape
        Heat taken up while it melts, just below the change. [J/kg]
    """

    cold_J_kgK: Array
    hot_J_kgK: Array
    changes_degC: Array
    melting_J_kg: Array

    def enthalpy(self, temperature_degC: Array) -> Array:
        """Return the heat content at temperatures, melting included, in J/kg, 0 at 0 °C."""
        over = temperature_degC - self.changes_degC
        ramp = over / _SOFTENS_OVER_K + 0.5
        inside = np.minimum(np.maximum(ramp, 0), 1)
        grown = _SOFTENS_OVER_K * (inside**2 / 2 + np.maximum(ramp - 1, 0))
        content: Array = self.cold_J_kgK * temperature_degC
        content = content + (self.hot_J_kgK - self.cold_J_kgK) * grown
        if not np.any(self.melting_J_kg):
            return content
        molten = np.minimum(np.maximum(over / _MELTS_OVER_K + 1, 0), 1)
        return content + molten * self.melting_J_kg

    def heat(self, first_degC: Array, last_degC: Array) -> Array:
        """Return the mean specific heat from one temperature to another, in J/(kg·K)."""
        change = last_degC - first_degC
        # Over less than a tenth of a degree the difference is lost in rounding.
        change = np.where(np.abs(change) < 0.1, 0.1, change)
        before, after = self.enthalpy(np.stack([first_degC, first_degC + change]))
        mean: Array = (after - before) / change
        return mean

    @classmethod
    def joined(cls, parts: Sequence[HeatContent], sizes: Sequence[int]) -> HeatContent:
        """Return one with a row for each of several, repeated so many times."""
        rows = {
            field.name: np.stack([getattr(part, field.name) for part in parts])
            for field in fields(cls)
        }
        return cls(**{name: np.repeat(values, sizes, axis=0) for name, values in rows.items()})


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

    @property
    def content(self) -> HeatContent:
        """How its heat content rises with temperature."""
        changes = self.hot_J_kgK is not None
        return HeatContent(
            cold_J_kgK=np.asarray(self.heat_J_kgK, dtype=np.float64),
            hot_J_kgK=np.asarray(self.hot_J_kgK or self.heat_J_kgK, dtype=np.float64),
            changes_degC=np.asarray(self.changes_degC if changes else inf, dtype=np.float64),
            melting_J_kg=np.asarray(self.melting_J_kg if changes else 0.0, dtype=np.float64),
        )

    def enthalpy(self, temperature_degC: Array) -> Array:
        """Return the heat content at temperatures, melting included, in J/kg, 0 at 0 °C."""
        return self.content.enthalpy(temperature_degC)


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

    def terms(self, batch: int) -> Array:
        r"""Return film coefficient and what it drives as cubics, shape (batch, 2, 4).

        Notes
        -----
        Radiation from :math:`S` to :math:`T`, both absolute, is
        :math:`\epsilon\sigma (S^2 + T^2)(S + T) = \epsilon\sigma (S^3 + S^2 T + S T^2 + T^3)`
        times their difference; powers of :math:`T` rise along the last axis.
        """
        h = min(self.film_W_m2K, _HELD)
        terms = np.zeros((batch, 2, 4))
        terms[:, 0, 0] = h
        terms[:, 1, 0] = h * self.air_degC + self.flux_W_m2
        for source_degC, share in self.glows:
            S = np.broadcast_to(source_degC, (batch,)) - ZERO_degC
            radiant = (share * STEFAN_W_m2K4 * S ** np.arange(3, -1, -1)[:, None]).T
            terms[:, 0] += radiant
            terms[:, 1] += radiant * (S + ZERO_degC)[:, None]
        return terms

    def films(self, face_degC: Array) -> tuple[Array, Array]:
        """Return total film coefficient and what it drives, for faces at given temperatures.

        The temperatures have the shape (batch,).
        """
        total, driven = face_films(self.terms(len(face_degC)), face_degC).T
        return total, driven


def face_films(terms: Array, face_degC: Array) -> Array:
    """Return film coefficients and what they drive, shape (..., 2), of `SheetFace.terms`."""
    T = face_degC[..., None] - ZERO_degC
    both: Array = terms[..., 3]
    for power in (2, 1, 0):
        both = both * T + terms[..., power]
    return both


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
        return 2 * self._by_cell(lambda matter: matter.conductivity_W_mK) / self.widths_m

    @property
    def conduction(self) -> Array:
        """What flows between the cells for their temperatures, shape (n, n), in W/(m²·K)."""
        half = 1 / self.half_conductances
        inner = 1 / (half[:-1] + half[1:] + self.joints_m2K_W)
        matrix = np.diag(np.append(inner, 0) + np.insert(inner, 0, 0))
        matrix -= np.diag(inner, 1) + np.diag(inner, -1)
        return matrix

    @property
    def weights_kg_m2(self) -> Array:
        """What the cells weigh, shape (n,), in kg/m²."""
        return self._by_cell(lambda matter: matter.density_kg_m3) * self.widths_m

    @property
    def content(self) -> HeatContent:
        """How the heat content of every cell rises, shape (n,)."""
        contents = [matter.content for matter, _ in self.layers]
        return HeatContent.joined(contents, [cells.stop - cells.start for _, cells in self.layers])

    def masses(self, first_degC: Array, last_degC: Array) -> Array:
        """Return the heat each cell takes per kelvin, shape (batch, n), in J/(m²·K)."""
        return self.weights_kg_m2 * self.content.heat(first_degC, last_degC)

    def _by_cell(self, value: Callable[[Matter], float]) -> Array:
        """Return a value of the matter of every cell, shape (n,)."""
        return np.concatenate(
            [np.full(cells.stop - cells.start, value(matter)) for matter, cells in self.layers]
        )

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
