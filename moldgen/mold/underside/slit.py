"""The cutter of a printed slit: a pocket from below, its roof closing on the slit."""

from __future__ import annotations

from math import radians, tan

import numpy as np
from manifold3d import Manifold

from moldgen.arrays import Floats
from moldgen.errors import GeometryError
from moldgen.mold.vents.vent import Vent
from moldgen.solid.sound import sound

LAND_MM = 1.2
"""Depth of the slit itself, before it opens into its pocket: six layers of 0.2 mm. [mm]."""

ROOF_DEG = 50.0
"""Slope of the pocket's roof from the level: steeper than 45°, so that it prints without support
(common practice, no source). [°]."""

END_MM = 0.4
"""A pocket is so much longer than its slit at either end: the roof hides its end walls. [mm]."""

LEAST_ROOF_MM = 0.5
"""A roof rises no less than this, so that its ends stay steep. [mm]."""

BELOW_MM = -1.0
"""Where cutters from below begin. [mm]."""


def roof_mm(pocket_mm: float, slit_mm: float) -> float:
    """Return how high the roof of a pocket rises to its slit. [mm]."""
    return max(0.0, (pocket_mm - slit_mm) / 2) * tan(radians(ROOF_DEG))


def slit_tool(vent: Vent, *, top_mm: float) -> Manifold:
    """Return the cutter of a slit with its pocket.

    Parameters
    ----------
    vent : Vent
        A vent with a slit; its bore is the width of the pocket. [mm]
    top_mm : float
        Height up to which the cutter reaches. [mm]

    Raises
    ------
    GeometryError
        If the vent is a round hole, or the modeler fails.
    """
    slit, pocket_mm = vent.slit, vent.bore_mm
    if slit is None or pocket_mm is None:
        raise GeometryError(f"vent {vent.name} is a round hole: bore it.")
    throat_mm = vent.z_mm - LAND_MM
    mouth = np.array([slit.length_mm, slit.width_mm])
    tool = _box(mouth, BELOW_MM, top_mm)
    if throat_mm > BELOW_MM:
        foot = np.maximum([slit.length_mm + 2 * END_MM, pocket_mm], mouth)
        eaves_mm = throat_mm - max(roof_mm(pocket_mm, slit.width_mm), LEAST_ROOF_MM)
        # A roof that begins under the table is cut off there.
        share = min(1.0, (throat_mm - BELOW_MM) / (throat_mm - eaves_mm))
        foot = mouth + share * (foot - mouth)
        levels = ((foot, BELOW_MM), (foot, max(eaves_mm, BELOW_MM)), (mouth, throat_mm))
        tool += Manifold.hull_points(np.concatenate([_corners(*level) for level in levels]))
    turned = tool.rotate((0.0, 0.0, slit.turn_deg)).translate((vent.x_mm, vent.y_mm, 0.0))
    return sound(turned, doing=f"cutting vent {vent.name}")


def _box(size_mm: Floats, low_mm: float, high_mm: float) -> Manifold:
    box = Manifold.cube((float(size_mm[0]), float(size_mm[1]), high_mm - low_mm))
    return box.translate((-float(size_mm[0]) / 2, -float(size_mm[1]) / 2, low_mm))


def _corners(size_mm: Floats, z_mm: float) -> Floats:
    """Return the corners of a level rectangle about the middle, shape (4, 3). [mm]."""
    signs = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    return np.column_stack([signs * size_mm / 2, np.full(4, z_mm)])
