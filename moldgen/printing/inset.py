"""Inset: what the outlines of a cut leave inside the walls, outline by outline."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from moldgen.arrays import Flags, Floats
from moldgen.printing.contours import Contours

_NARROW = 1.25
"""A core that is narrower than so many lines is filled by walls. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inset:
    """The outlines of a cut moved into the plastic, each a number in every array.

    Attributes
    ----------
    area_mm2 : ndarray, shape (n,)
        What an island leaves, 0 if walls fill it; negative of what a hole takes. [mm²]
    edge_mm : ndarray, shape (n,)
        Once round. [mm]
    island : ndarray, shape (n,)
        Whether it is an island, not a hole.
    """

    area_mm2: Floats
    edge_mm: Floats
    island: Flags

    @property
    def all_mm2(self) -> float:
        """What islands leave less what holes take. [mm²]."""
        return max(0.0, float(self.area_mm2.sum()))

    @property
    def filled(self) -> Flags:
        """Whether walls leave nothing of it."""
        filled: Flags = self.island & (self.area_mm2 == 0)
        return filled

    def kept(self, least_mm2: float) -> tuple[float, float]:
        """Return the share of the area in islands that are so large, and their edges. [-], [mm].

        Of the holes' edges the same share is counted.
        """
        large = self.island & (self.area_mm2 >= least_mm2)
        total = float(self.area_mm2 @ self.island)
        share = float(self.area_mm2 @ large) / total if total else 0.0
        return share, float(self.edge_mm @ large + share * (self.edge_mm @ ~self.island))


def inset_of(cut: Contours, inset_mm: float, *, spacing_mm: float) -> Inset:
    """Return the outlines of a cut moved into the plastic.

    Steiner's formula for an offset by d: area less d times length, plus πd² for each turn round.

    Parameters
    ----------
    inset_mm : float
        How far. [mm]
    spacing_mm : float
        From line to line. [mm]
    """
    sign, turn = cut.sign, 2 * pi * inset_mm
    area = cut.area_mm2 - inset_mm * (cut.length_mm - sign * turn / 2)
    too_narrow = 2 * area < _NARROW * spacing_mm * (cut.length_mm - turn)
    gone = (sign > 0) & (too_narrow | (area < 0))
    return Inset(
        area_mm2=np.where(gone, 0.0, area),
        edge_mm=np.where(gone, 0.0, np.maximum(0.0, cut.length_mm - sign * turn)),
        island=sign > 0,
    )
