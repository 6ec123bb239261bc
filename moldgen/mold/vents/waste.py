"""Vents outside the trim line: there a hole may be as wide as the printer leaves open."""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely import MultiPolygon

from moldgen.mold.vents.vent import Vent, VentPlan

WASTE_HOLES_MM = (1.2, 1.5)
"""Round holes that are printed in what is trimmed off: wider ones let the sheet be drawn in. [mm].

Common practice, no source.
"""

_CLEAR_MM = 4.0
"""What lies nearer to the trim line is not waste: a vent may move to have room. [mm]."""


def with_waste(placed: VentPlan, trim: MultiPolygon) -> VentPlan:
    """Return vents that know whether they lie in what is trimmed off.

    Parameters
    ----------
    placed : VentPlan
        Vents where they are wanted.
    trim : MultiPolygon
        What is cut out of the formed sheet, seen from above. [mm]
    """
    part = shapely.buffer(trim, _CLEAR_MM)
    shapely.prepare(part)
    vents = tuple(
        replace(vent, in_waste=not shapely.intersects_xy(part, vent.x_mm, vent.y_mm))
        for vent in placed.vents
    )
    return replace(placed, vents=vents)


def as_printed(vent: Vent, *, least_hole_mm: float) -> Vent:
    """Return a vent in the waste as a hole that the printer makes, if it makes one so fine.

    Parameters
    ----------
    vent : Vent
        As a round hole; one on the part stays as it is.
    least_hole_mm : float
        Least hole of the printer, as drawn. [mm]
    """
    finest_mm, widest_mm = WASTE_HOLES_MM
    if not vent.in_waste or least_hole_mm > widest_mm or vent.diameter_mm >= least_hole_mm:
        return vent
    return replace(vent, diameter_mm=max(finest_mm, least_hole_mm))
