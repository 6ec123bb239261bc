"""Where labels lie on a page: how many, how large, how far apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.export.plan.paper import PaperSize
from moldgen.quantity import Quantity, Spec


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelGrid(Spec):
    """A sheet of labels; the grid lies in the middle of the paper.

    Attributes
    ----------
    columns, rows : int
        How many.
    width_mm, height_mm : float
        Of each. [mm]
    gap_x_mm, gap_y_mm : float
        Between them. [mm]
    """

    columns: Annotated[int, Quantity("", "labels side by side", at_least=1, at_most=20)]
    rows: Annotated[int, Quantity("", "labels one below the other", at_least=1, at_most=40)]
    width_mm: Annotated[float, Quantity("mm", "width of a label", at_least=25, at_most=300)]
    height_mm: Annotated[float, Quantity("mm", "height of a label", at_least=12, at_most=300)]
    gap_x_mm: Annotated[float, Quantity("mm", "between columns", at_least=0, at_most=50)] = 0.0
    gap_y_mm: Annotated[float, Quantity("mm", "between rows", at_least=0, at_most=50)] = 0.0

    @property
    def count(self) -> int:
        """How many labels a page has."""
        return self.columns * self.rows

    @property
    def grid_mm(self) -> tuple[float, float]:
        """Width and height of the grid. [mm]."""
        return (
            self.columns * self.width_mm + (self.columns - 1) * self.gap_x_mm,
            self.rows * self.height_mm + (self.rows - 1) * self.gap_y_mm,
        )

    def corner_mm(self, number: int, paper: PaperSize) -> tuple[float, float]:
        """Return the upper left corner of a label, counted by rows from 0. [mm]."""
        row, column = divmod(number, self.columns)
        wide_mm, high_mm = self.grid_mm
        left_mm, top_mm = (paper.width_mm - wide_mm) / 2, (paper.height_mm + high_mm) / 2
        return (
            left_mm + column * (self.width_mm + self.gap_x_mm),
            top_mm - row * (self.height_mm + self.gap_y_mm),
        )
