r"""Side walls: what a sheet sees of a heater inside a box of walls that reflect.

The walls stand on a rectangle, from the heater down to the sheet, and are mirrors that lose a
share at each reflection. A mirror shows the heater once more beyond it, so that four walls show
it over and over, in rows and columns a box apart: method of images.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Annotated

import numpy as np

from moldgen.arrays import Floats
from moldgen.physics.heat.radiation import (
    corner_view_factor,
    facing_corner_mm2,
    facing_view_factor,
    point_view_factor,
)
from moldgen.quantity import Quantity, Spec

_MOST_IMAGES = 40
"""Reflections that are followed each way; with perfect mirrors 0.1 % of the view lies beyond."""
_FAINT = 1e-4
"""Images this much fainter than the heater are left out. [-]"""


def _length(about: str) -> Quantity:
    return Quantity("mm", about, above=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WalledHeater(Spec):
    """A heater over the middle of a sheet, and the walls around both.

    Attributes
    ----------
    heater_mm, box_mm : pair of float
        Width and depth of the heater, and of the box the walls stand on, which is at least as
        large. [mm]
    gap_mm : float
        From heater to sheet. [mm]
    reflection : float
        Share of the heat that a wall throws back; 0 stands for no walls. [-]

    Raises
    ------
    SpecError
        If a length is not more than 0, or the share not from 0 to 1.
    """

    heater_mm: tuple[float, float]
    box_mm: tuple[float, float]
    gap_mm: Annotated[float, _length("from heater to sheet")]
    reflection: Annotated[
        float, Quantity("", "share of the heat that a wall throws back", at_least=0, at_most=1)
    ] = 0.0

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        for heater_mm, box_mm in zip(self.heater_mm, self.box_mm, strict=True):
            _length("a side of the heater").check("heater_mm", heater_mm)
            Quantity("mm", "a side of the box", at_least=heater_mm).check("box_mm", box_mm)

    def seen_at(self, x_mm: float, y_mm: float) -> float:
        r"""Return how much of its view a point of the sheet has filled by heater and images.

        Parameters
        ----------
        x_mm, y_mm : float
            The point, from right across the middle of the heater, inside the box. [mm]

        Notes
        -----
        .. math:: F = \sum_{ij} \rho^{|i| + |j|} F_{ij}

        with :math:`F_{ij}` that of the heater moved by :math:`i` boxes one way and :math:`j` the
        other, `moldgen.physics.heat.radiation.point_view_factor`. Where the heater fills the box
        and nothing is lost the images tile the plane, and :math:`F = 1`.

        Examples
        --------
        >>> bare = WalledHeater(heater_mm=(200, 200), box_mm=(200, 200), gap_mm=100)
        >>> round(bare.seen_at(0, 0), 4)
        0.5541
        """
        if self.reflection == 0:
            return point_view_factor(x_mm, y_mm, self.heater_mm, self.gap_mm)
        total = 0.0
        for i, j in product((-1, 1), repeat=2):
            u, v = np.meshgrid(
                self._edges_mm(i, 0) - x_mm, self._edges_mm(j, 1) - y_mm, indexing="ij"
            )
            total += i * j * self._weighed(corner_view_factor(u, v, self.gap_mm))
        return total

    def seen_over(self, sheet_mm: tuple[float, float]) -> float:
        """Return the same on average over a sheet of a width and depth. [-].

        Examples
        --------
        >>> bare = WalledHeater(heater_mm=(100, 100), box_mm=(100, 100), gap_mm=100)
        >>> round(bare.seen_over((100, 100)), 6)
        0.199825
        """
        if self.reflection == 0:
            return facing_view_factor(sheet_mm, self.heater_mm, self.gap_mm)
        total = 0.0
        for i, j, k, m in product((-1, 1), repeat=4):
            u, v = np.meshgrid(
                i * sheet_mm[0] / 2 - self._edges_mm(m, 0),
                j * sheet_mm[1] / 2 - self._edges_mm(k, 1),
                indexing="ij",
            )
            total += i * j * k * m * self._weighed(facing_corner_mm2(u, v, self.gap_mm))
        return total / (sheet_mm[0] * sheet_mm[1])

    @property
    def _numbers(self) -> Floats:
        """How many boxes away the images are that count, one way."""
        faint = np.log(_FAINT) / np.log(self.reflection) if self.reflection < 1 else np.inf
        most = int(min(_MOST_IMAGES, np.ceil(faint)))
        return np.arange(-most, most + 1, dtype=np.float64)

    def _edges_mm(self, side: int, way: int) -> Floats:
        """Return where an edge of heater and images is, one way (0) or the other (1). [mm]."""
        return self._numbers * self.box_mm[way] + side * self.heater_mm[way] / 2

    def _weighed(self, shares: Floats) -> float:
        """Return the sum over images of both ways, each as bright as it is."""
        bright = self.reflection ** np.abs(self._numbers)
        return float(bright @ shares @ bright)
