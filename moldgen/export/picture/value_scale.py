"""Levels and colors of a value, for maps and for bodies in GLB files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.export.picture.canvas import Color

UNKNOWN: Color = (176, 176, 172)


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueScale:
    """Classes of a value: edges between them, and a color for each.

    Attributes
    ----------
    edges : tuple of float
        Rising, from the least value to the greatest; a value on an edge belongs to the class
        above it, and what lies beyond the ends to the class at that end.
    colors : tuple of color
        One less than the edges.
    label : str
        What the value is, with its unit.
    names : tuple of str
        What each class is called, where the edges do not tell.
    """

    edges: tuple[float, ...]
    colors: tuple[Color, ...]
    label: str = ""
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        wanted = len(self.edges) - 1
        if len(self.colors) != wanted or len(self.names) not in (0, wanted):
            got = f"{len(self.colors)} colors, {len(self.names)} names"
            raise SpecError("scale", f"{wanted} colors and names", got)

    @property
    def unit(self) -> str:
        """Unit of the value, as the label tells it."""
        return self.label.rpartition("[")[2].removesuffix("]")

    def classes_of(self, values: Floats) -> NDArray[np.int64]:
        """Return the number of each value's class, one past the last for nan, shape (m,)."""
        number = np.searchsorted(self.edges[1:-1], np.nan_to_num(values), side="right")
        return np.where(np.isnan(values), len(self.colors), number)

    def colors_of(self, values: Floats) -> NDArray[np.uint8]:
        """Return the color of each value, gray for nan, shape (m, 3)."""
        paint = np.array([*self.colors, UNKNOWN], dtype=np.uint8)
        return paint[self.classes_of(values)]

    def areas_cm2(self, values: Floats, areas_mm2: Floats) -> Floats:
        """Return the area in each class, shape (k,), leaving out nan. [cm²]."""
        sums = np.bincount(self.classes_of(values), areas_mm2, minlength=len(self.colors) + 1)
        return np.asarray(sums[:-1] / 100.0)


def blend(ramp: tuple[Color, ...], n_colors: int) -> tuple[Color, ...]:
    """Return so many colors along a ramp, its ends included."""
    place = np.linspace(0, len(ramp) - 1, n_colors)
    channels = [np.interp(place, np.arange(len(ramp)), part) for part in np.transpose(ramp)]
    return tuple((round(r), round(g), round(b)) for r, g, b in np.transpose(channels).tolist())
