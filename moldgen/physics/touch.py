"""The mold as the sheet feels it: triangles, a floor, and where a path first meets them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldFaces:
    """Everything under the sheet, as triangles and a floor, in the mold's own heights.

    Attributes
    ----------
    corners_mm : ndarray, shape (m, 3, 3)
        Corners of the triangles, counter-clockwise seen from outside; several molds on one table
        are one list. Only what can be reached from above or from the side is ever touched. [mm]
    floor_mm : float
        Height of the table, which the sheet touches wherever no triangle is above it. [mm]
    clamp_mm : float
        Height of the clamp plane when the sheet is sealed. A mold that stands above it rises
        through the sheet first; a mold that lies below it (a cavity) does not. [mm]
    """

    corners_mm: Floats
    floor_mm: float = 0.0
    clamp_mm: float = 0.0

    def __post_init__(self) -> None:
        corners = self.corners_mm
        if corners.ndim != 3 or corners.shape[1:] != (3, 3) or not len(corners):
            raise SpecError("corners_mm", "shaped (m, 3, 3)", str(corners.shape))
        if not np.isfinite(corners).all():
            raise SpecError("corners_mm", "finite", "nan or inf", "Repair the mold's mesh.")
        if not self.floor_mm <= self.clamp_mm:
            rule = f"at least the floor, {self.floor_mm:g} mm"
            raise SpecError("clamp_mm", rule, f"{self.clamp_mm:g} mm")
        corners.setflags(write=False)

    @property
    def top_mm(self) -> float:
        """Greatest height of the mold. [mm]."""
        return float(self.corners_mm[:, :, 2].max())
