"""Nest: the outline of a thing with play round it and notches for the fingers."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.arrays import Floats
from moldgen.outline.region import as_region

_LONGER = 1.1
"""Length over width from which a thing has long sides. [-]."""


def nest_outline(region: MultiPolygon, *, play_mm: float, grip_mm: float) -> MultiPolygon:
    """Return the outline of the nest for a thing.

    Parameters
    ----------
    region : MultiPolygon
        The thing, seen from above. [mm]
    play_mm : float
        Between it and the nest, all round. [mm]
    grip_mm : float
        Diameter of two half rounds for the fingers, in the middle of its long sides; 0 for none.
        [mm]
    """
    grown = shapely.buffer(region, play_mm, quad_segs=24) if play_mm else region
    if not grip_mm:
        return as_region(grown)
    notches = [shapely.Point(*place).buffer(grip_mm / 2, quad_segs=24) for place in grips_mm(grown)]
    return as_region(shapely.union_all([grown, *notches]))


def grips_mm(region: shapely.Geometry) -> Floats:
    """Return where the fingers reach a thing: both edges across its middle, shape (2, 2). [mm]."""
    box = shapely.minimum_rotated_rectangle(region)
    corners = np.asarray(box.exterior.coords)[:3]
    sides = np.diff(corners, axis=0)
    lengths = np.linalg.norm(sides, axis=1)
    middle = np.asarray(box.centroid.coords)[0]
    across = sides[int(lengths[1] < lengths[0])] / lengths.min()
    if lengths.max() < _LONGER * lengths.min():
        across = np.array([1.0, 0.0])
    reach = lengths.sum() * across
    met = shapely.LineString([middle - reach, middle + reach]) & region
    points = shapely.get_coordinates(met)
    along = points @ across
    ends: Floats = points[[int(along.argmin()), int(along.argmax())]]
    return ends
