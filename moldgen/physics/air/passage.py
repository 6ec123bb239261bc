r"""Passages: what air goes through, hole after hole and side by side, as one curve.

For an ideal gas the flow through any hole or rough duct is the pressure before it times a function
of the ratio of both pressures. That function is kept as an *open area*: the area of the ideal
choked hole that would let through as much. Curves add side by side, and combine one behind the
other so that the same air goes through both and each throws away the speed of its jet.

References
----------
.. [1] Crane Co., Technical Paper 410: isothermal flow in long pipes (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from moldgen.physics.air.airflow import (
    KAPPA,
    SHORT_HOLE_CD,
    choked_factor,
    flow_share,
    rough_friction_factor,
)
from moldgen.quantity import Quantity

Array = NDArray[np.float64]

_N = 1025
# Near equal pressures the flow goes as the root of their difference: in that root it is smooth.
_ROOTS = np.linspace(0.0, 1.0, _N)
_RATIOS = 1 - _ROOTS**2
_SHARES = flow_share(_RATIOS)
_AREA = Quantity("mm²", "an area", above=0)
_CD = Quantity("", "a discharge coefficient", above=0, at_most=1)
_HEADS = Quantity("", "lost velocity heads", above=0)
_LENGTH = Quantity("mm", "a length", at_least=0)


@dataclass(frozen=True, slots=True, eq=False)
class Passage:
    """What lets air through.

    Attributes
    ----------
    open_mm2 : ndarray, shape (1025,)
        Area of the ideal choked hole that lets through as much, at ratios of the pressures behind
        and before that fall from 1 to 0; never falling. [mm²]
    """

    open_mm2: Array

    def __post_init__(self) -> None:
        self.open_mm2.setflags(write=False)

    @property
    def most_mm2(self) -> float:
        """Open area against the best vacuum. [mm²]."""
        return float(self.open_mm2[-1])

    def at_mm2(self, pressure_ratio: float) -> float:
        """Return the open area at a ratio of the pressures behind and before. [mm²]."""
        if pressure_ratio >= 1.0:
            return self.open_mm2.item(0)
        if pressure_ratio <= 0.0:
            return self.open_mm2.item(_N - 1)
        place = sqrt(1.0 - pressure_ratio) * (_N - 1)
        n = min(int(place), _N - 2)
        before, behind = self.open_mm2.item(n), self.open_mm2.item(n + 1)
        return before + (place - n) * (behind - before)


SHUT = Passage(np.zeros(_N))
"""Nothing gets through."""


def hole(area_mm2: float, *, cd: float = SHORT_HOLE_CD) -> Passage:
    """Return a hole.

    Parameters
    ----------
    area_mm2 : float
        Its area. [mm²]
    cd : float
        Discharge coefficient. [-]
    """
    _AREA.check("area_mm2", area_mm2)
    _CD.check("cd", cd)
    return Passage(cd * area_mm2 * _SHARES)


def round_hole(diameter_mm: float, *, cd: float = SHORT_HOLE_CD) -> Passage:
    """Return a round hole. [mm]."""
    Quantity("mm", "a diameter", above=0).check("diameter_mm", diameter_mm)
    return hole(pi / 4 * diameter_mm**2, cd=cd)


def duct(area_mm2: float, heads: float) -> Passage:
    r"""Return a duct whose walls rub.

    Parameters
    ----------
    area_mm2 : float
        Its section. [mm²]
    heads : float
        Velocity heads it takes: friction factor times length over diameter. [-]

    Notes
    -----
    Isothermal flow with friction,

    .. math:: \dot m = A \sqrt{\frac{p_1^2 - p_2^2}{R T \left(f L/d + 2\ln(p_1/p_2)\right)}}

    up to its greatest value, which it keeps from there on. What is lost on entering is the hole's
    before it.
    """
    _AREA.check("area_mm2", area_mm2)
    _HEADS.check("heads", heads)
    x = np.maximum(_RATIOS, 1e-12)
    drive = (1 - x**2) / (heads - 2 * np.log(x))
    open_mm2 = area_mm2 * np.sqrt(drive / KAPPA) / choked_factor()
    return Passage(np.maximum.accumulate(open_mm2))


def in_parallel(*passages: Passage) -> Passage:
    """Return passages side by side; shut if there is none."""
    return Passage(np.sum([passage.open_mm2 for passage in passages] or [SHUT.open_mm2], axis=0))


def in_series(first: Passage, *others: Passage) -> Passage:
    """Return passages one behind the other, in the order in which the air meets them."""
    both = first
    for behind in others:
        both = _behind(both, behind)
    return both


def stepped_bore(
    hole_mm: float,
    land_mm: float,
    bore_mm: float,
    length_mm: float,
    *,
    roughness_mm: float,
) -> Passage:
    """Return a small hole through a land, and the wider bore under it.

    Parameters
    ----------
    hole_mm, land_mm : float
        Diameter of the hole, and how long it is. [mm]
    bore_mm, length_mm : float
        Diameter of the bore, and how long it is; 0 for no bore. [mm]
    roughness_mm : float
        Depth of the grooves in both walls. [mm]
    """
    _LENGTH.check("land_mm", land_mm)
    _LENGTH.check("length_mm", length_mm)
    parts = [round_hole(hole_mm), *_rubbing(hole_mm, land_mm, roughness_mm)]
    if length_mm > 0:
        parts += [round_hole(bore_mm), *_rubbing(bore_mm, length_mm, roughness_mm)]
    return in_series(*parts)


def flat_channel(
    width_mm: float, height_mm: float, length_mm: float, *, roughness_mm: float
) -> Passage:
    """Return a low, wide channel with its mouth. [mm]."""
    area_mm2 = width_mm * height_mm
    hydraulic_mm = 2 * area_mm2 / (width_mm + height_mm)
    return in_series(hole(area_mm2), *_rubbing(hydraulic_mm, length_mm, roughness_mm, area_mm2))


_NO_LENGTH_MM = 1e-6
"""A hole no longer than this rubs nothing. [mm]."""


def _rubbing(
    diameter_mm: float, length_mm: float, roughness_mm: float, area_mm2: float | None = None
) -> list[Passage]:
    if length_mm <= _NO_LENGTH_MM:
        return []
    heads = rough_friction_factor(diameter_mm, roughness_mm) * length_mm / diameter_mm
    return [duct(area_mm2 or pi / 4 * diameter_mm**2, heads)]


def _behind(first: Passage, second: Passage) -> Passage:
    """Return two passages in a row.

    Whatever ratio is left over the first, the pressure between is that much lower and the second
    must be that much wider open for the same air.
    """
    if not first.most_mm2 > 0 or not second.most_mm2 > 0:
        return SHUT
    wanted = first.open_mm2 / np.maximum(_RATIOS, 1e-300)
    last = float(np.interp(second.most_mm2, wanted, _ROOTS))
    roots = np.append(_ROOTS[last > _ROOTS], last)
    let_through = np.interp(roots, _ROOTS, first.open_mm2)
    ratios = 1 - roots**2
    needed = np.minimum(let_through / np.maximum(ratios, 1e-300), second.most_mm2)
    second_roots = _root_for(second, needed)
    # 1 - xy = (1-x) + x(1-y), without the rounding of 1 - xy near equal pressures.
    both = np.sqrt(roots**2 + ratios * second_roots**2)
    return Passage(np.interp(_ROOTS, both, let_through))


def _root_for(passage: Passage, open_mm2: Array) -> Array:
    """Return the least root of the pressure drop at which a passage is that far open."""
    n = int(np.argmax(passage.open_mm2 >= passage.most_mm2))
    return np.asarray(np.interp(open_mm2, passage.open_mm2[: n + 1], _ROOTS[: n + 1]))
