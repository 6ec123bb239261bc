"""Print stack: a print parted into runs of layers that are alike, with one level cut each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np

from moldgen.arrays import Floats
from moldgen.printing.contours import Contours, LevelCutter
from moldgen.printing.facing import Facing, measure_facing
from moldgen.solid.mesh import Mesh

LEAST_LEVEL = 0.02
"""Share of a layer, or of the widest level face, from which on a level face counts. [-]."""
_MOST_LAYERS = 25
"""Layers that one level cut stands for. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What of a print the skins of a run reach on one side, below or above.

    Attributes
    ----------
    cut : Contours
        The farthest cut of it; the run's own if nothing looks that way. [mm]
    ends_mm2 : float
        What ends within reach, on the average of the run's layers: faces that need a skin. [mm²]
    level_mm2 : float
        Of it what is level, within reach of the run's middle. [mm²]
    """

    cut: Contours
    ends_mm2: float
    level_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintStack:
    """A print in runs of layers.

    Attributes
    ----------
    bounds : sequence of (int, int)
        First layer of each run, and the layer after its last.
    cuts : sequence of Contours
        The cut through the middle of each. [mm]
    facing : Facing
        What faces up and down.
    n_layers, skins : int
        Layers in all; solid layers at the top and the bottom.
    layer_mm : float
        Height of a layer. [mm]
    """

    bounds: Sequence[tuple[int, int]]
    cuts: Sequence[Contours]
    facing: Facing
    n_layers: int
    skins: int
    layer_mm: float

    def middle(self, number: int) -> int:
        """Return the layer that a run is cut in."""
        return sum(self.bounds[number]) // 2

    def is_skin(self, number: int) -> bool:
        """Tell whether the bottom or the top of the print is within reach of a run's skins."""
        middle = self.middle(number)
        return middle < self.skins or middle + self.skins >= self.n_layers

    def below(self, number: int) -> Reach:
        """Return what the skins over faces that look down reach from a run."""
        middle, facing = self.middle(number), self.facing
        planes = slice(max(0, middle - self.skins + 1), middle + 1)
        reached = [n for n in range(number) if self.bounds[n][1] > middle + 0.5 - self.skins]
        return self._reach(
            number, min(reached, default=number),
            self._mean(facing.down_mm2, number, 1 - self.skins), facing.level_down_mm2[planes],
        )  # fmt: skip

    def above(self, number: int) -> Reach:
        """Return what the skins under faces that look up reach from a run."""
        middle, facing = self.middle(number), self.facing
        planes = slice(middle + 1, middle + self.skins + 1)
        later = range(number + 1, len(self.bounds))
        reached = [n for n in later if self.bounds[n][0] < middle + 0.5 + self.skins]
        return self._reach(
            number, max(reached, default=number),
            self._mean(facing.up_mm2, number, 1), facing.level_up_mm2[planes],
        )  # fmt: skip

    def slope_mm(self, number: int) -> float:
        """Return the length of the slopes that look up within reach of a run. [mm]."""
        return self._mean(self.facing.slope_mm2, number, 1) / (self.skins * self.layer_mm)

    def _mean(self, by_plane: Floats, number: int, start: int) -> float:
        """Return the sum over as many planes as skins from one on, on the average of a run."""
        total = np.concatenate(([0.0], np.cumsum(by_plane)))
        first = np.arange(*self.bounds[number]) + start
        last = np.clip(first + self.skins, 0, len(by_plane))
        return float((total[last] - total[np.clip(first, 0, len(by_plane))]).mean())

    def _reach(self, number: int, farthest: int, ends_mm2: float, level_mm2: Floats) -> Reach:
        return Reach(
            cut=self.cuts[farthest if ends_mm2 else number],
            ends_mm2=ends_mm2,
            level_mm2=float(level_mm2.sum()),
        )


def build_print_stack(mesh: Mesh, *, layer_mm: float, skins: int) -> PrintStack:
    """Part a print into runs of layers, and cut each.

    Parameters
    ----------
    mesh : Mesh
        As it stands, closed, outside out, equal corners joined. [mm]
    layer_mm : float
        Height of a layer. [mm]
    skins : int
        Solid layers at the top and the bottom.

    Raises
    ------
    GeometryError
        If a level cut does not close.
    """
    bottom_mm, height_mm = float(mesh.bounds_mm[0, 2]), float(np.ptp(mesh.bounds_mm[:, 2]))
    n_layers = max(1, round(height_mm / layer_mm))
    step_mm = height_mm / n_layers
    facing = measure_facing(mesh, layer_mm=step_mm, n_layers=n_layers)
    bounds = tuple(pairwise(_planes(facing, skins, n_layers)))
    cutter = LevelCutter(mesh)
    cuts = tuple(cutter.at(bottom_mm + (sum(ends) // 2 + 0.5) * step_mm) for ends in bounds)
    return PrintStack(
        bounds=bounds, cuts=cuts, facing=facing, n_layers=n_layers, skins=skins, layer_mm=layer_mm
    )


def _planes(facing: Facing, skins: int, n_layers: int) -> list[int]:
    """Return the planes between runs: level faces, where their skins end, and some between."""
    least_mm2 = LEAST_LEVEL * max(facing.level_up_mm2.max(), facing.level_down_mm2.max())
    ups = np.flatnonzero(facing.level_up_mm2 > least_mm2)
    downs = np.flatnonzero(facing.level_down_mm2 > least_mm2)
    found = np.concatenate(([0, n_layers], ups, ups - skins, downs, downs + skins))
    planes = np.unique(np.clip(found, 0, n_layers)).astype(int).tolist()
    between = [
        first + round((end - first) * part / parts)
        for first, end in pairwise(planes)
        for parts in [ceil((end - first) / _MOST_LAYERS)]
        for part in range(parts)
    ]
    return [*between, n_layers]
