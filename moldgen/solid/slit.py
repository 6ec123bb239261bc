"""A slit over a pocket: what is cut out of a plate so that a printer leaves a slit open."""

from __future__ import annotations

from math import radians, tan

import numpy as np
from manifold3d import Manifold

from moldgen.arrays import Floats
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
"""Where the cutter begins. [mm]."""


def roof_mm(pocket_mm: float, slit_mm: float) -> float:
    """Return how high the roof of a pocket rises to its slit. [mm]."""
    rise = max(0.0, (pocket_mm - slit_mm) / 2) * tan(radians(ROOF_DEG))
    return max(LEAST_ROOF_MM, rise)


def slit_cutter(
    length_mm: float, width_mm: float, *, pocket_mm: float, face_mm: float, top_mm: float
) -> Manifold:
    """Return the cutter of a slit along x over the origin, from under the table up.

    Parameters
    ----------
    length_mm, width_mm : float
        The slit, as drawn. [mm]
    pocket_mm : float
        Width of the pocket under it. [mm]
    face_mm : float
        Height of the face in which the slit opens. [mm]
    top_mm : float
        Height up to which the cutter reaches. [mm]

    Raises
    ------
    GeometryError
        If the modeler fails.
    """
    throat_mm = face_mm - LAND_MM
    mouth = np.array([length_mm, width_mm])
    cutter = _box(mouth, top_mm)
    if throat_mm > BELOW_MM:
        foot = np.maximum([length_mm + 2 * END_MM, pocket_mm], mouth)
        eaves_mm = throat_mm - roof_mm(pocket_mm, width_mm)
        # A roof that begins under the table is cut off there.
        share = min(1.0, (throat_mm - BELOW_MM) / (throat_mm - eaves_mm))
        foot = mouth + share * (foot - mouth)
        levels = ((foot, BELOW_MM), (foot, max(eaves_mm, BELOW_MM)), (mouth, throat_mm))
        cutter += Manifold.hull_points(np.concatenate([_corners(*level) for level in levels]))
    return sound(cutter, doing="shaping a slit")


def _box(size_mm: Floats, top_mm: float) -> Manifold:
    box = Manifold.cube((float(size_mm[0]), float(size_mm[1]), top_mm - BELOW_MM))
    return box.translate((-float(size_mm[0]) / 2, -float(size_mm[1]) / 2, BELOW_MM))


def _corners(size_mm: Floats, z_mm: float) -> Floats:
    """Return the corners of a level rectangle about the middle, shape (4, 3). [mm]."""
    signs = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    return np.column_stack([signs * size_mm / 2, np.full(4, z_mm)])
