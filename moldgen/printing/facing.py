"""Facing: how much of a solid's surface looks up and down, layer by layer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Flags, Floats
from moldgen.printing.contours import corner_heights_mm
from moldgen.solid.mesh import Mesh

_LEAST_SLOPE = 0.375
"""Up over sideways: on a steeper slope a skin of six layers is no wider than a line. [-]."""
_LEVEL = 0.9998
"""Up over all of the area of what counts as level. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Facing:
    """Areas at the planes between layers, bottom and top included; of each ``n_layers + 1``.

    Attributes
    ----------
    up_mm2, down_mm2 : ndarray
        Seen from above, and from below, if it needs a skin. [mm²]
    level_up_mm2, level_down_mm2 : ndarray
        Of it what is level. [mm²]
    slope_mm2 : ndarray
        Of what looks up and is not level, seen from the side. [mm²]
    """

    up_mm2: Floats
    down_mm2: Floats
    level_up_mm2: Floats
    level_down_mm2: Floats
    slope_mm2: Floats


def measure_facing(mesh: Mesh, *, layer_mm: float, n_layers: int) -> Facing:
    """Return what faces up and down at each plane between layers."""
    x, y, up = (np.ascontiguousarray(mesh.area_vectors_mm2[:, axis]) for axis in range(3))
    across_squared = x * x + y * y
    chosen = np.flatnonzero(up * up > _LEAST_SLOPE**2 * across_squared)
    up, across_squared = up[chosen], across_squared[chosen]
    a, b, c = (heights_mm[chosen] for heights_mm in corner_heights_mm(mesh))
    height = (a + b + c) / 3 - mesh.bounds_mm[0, 2]
    plane = np.clip(np.rint(height / layer_mm), 0, n_layers).astype(np.int64)
    level = up * up > _LEVEL**2 * (across_squared + up * up)

    def total(area_mm2: Floats, counted: Flags) -> Floats:
        sums = np.bincount(plane, area_mm2 * counted, minlength=n_layers + 1)
        return sums.astype(np.float64, copy=False)

    return Facing(
        up_mm2=total(up, up > 0),
        down_mm2=total(-up, up < 0),
        level_up_mm2=total(up, level & (up > 0)),
        level_down_mm2=total(-up, level & (up < 0)),
        slope_mm2=total(np.sqrt(across_squared), ~level & (up > 0)),
    )
