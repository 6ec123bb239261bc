"""How round the corners of a recess are at its floor, seen from above."""

from __future__ import annotations

import shapely

from moldgen.errors import MoldgenError
from moldgen.mold.build import flat_region, inset_to_flat_mm, outer_region
from moldgen.mold.features import Direction, Feature
from moldgen.solid.loft.contour import arc_steps_for
from moldgen.solid.loft.corners import least_corner_mm, opened

SHALLOW_MM = 5.0
"""Up to this depth a recess is a relief, in whose corners the sheet thins little. [mm]."""

DEPTH_SHARE = 0.05
"""Radius of a floor's corner as a share of the depth (common practice, no source). [-]."""

LEAST_KEPT = 0.97
"""Share of a floor that rounding its corners leaves of it. [-]."""

_MOST_HALVINGS = 3


def floor_corner_mm(feature: Feature, *, mouth_mm: float) -> float:
    """Return the radius that a recess's corners have at its floor; 0 to leave them as they come.

    As large as at the mouth, as the radius between floor and wall and as a share of the depth,
    whichever is largest; halved until the floor keeps its strokes and all that stands on it.

    Parameters
    ----------
    feature : Feature
        The recess, with what stands on its floor.
    mouth_mm : float
        Radius that was asked for at the mouth; 0 if none was. [mm]
    """
    wall = feature.wall
    if feature.direction is Direction.RAISED or wall.height_mm <= SHALLOW_MM:
        return 0.0
    radius_mm = max(mouth_mm, wall.base_radius_mm, DEPTH_SHARE * wall.height_mm)
    floor = flat_region(feature)
    if floor.is_empty or least_corner_mm(floor, radius_mm) >= radius_mm:
        return 0.0
    for _ in range(_MOST_HALVINGS):
        if _kept(feature, floor, radius_mm):
            return radius_mm
        radius_mm /= 2
    return 0.0


def _kept(feature: Feature, floor: shapely.MultiPolygon, radius_mm: float) -> bool:
    """Tell whether a floor with rounder corners keeps its strokes and what stands on it."""
    run_mm = inset_to_flat_mm(feature)
    rounder = opened(feature.region, run_mm, radius_mm, arc_steps_for(run_mm + radius_mm))
    if len(shapely.get_rings(rounder)) != len(shapely.get_rings(floor)):
        return False
    try:
        stands = all(rounder.contains(outer_region(child)) for child in feature.children)
    except MoldgenError:  # told where the child is built
        return True
    return stands and rounder.area > LEAST_KEPT * floor.area
