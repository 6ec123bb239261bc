"""Outlines raised to prisms."""

from __future__ import annotations

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold

from moldgen.solid.mesh import Body
from moldgen.solid.sound import mesh_from_solid, sound

TIDY_MM = 1e-4
"""Corners nearer to a straight line than this are left out. [mm]."""


def raised(region: shapely.Geometry, low_mm: float, high_mm: float) -> Manifold:
    """Return a region raised from one height to another."""
    rings = [
        np.asarray(ring.coords)[:-1]
        for part in shapely.get_parts(region)
        if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]
    section = CrossSection(rings, FillRule.EvenOdd).simplify(TIDY_MM)
    return section.extrude(high_mm - low_mm).translate((0.0, 0.0, low_mm))


def body(name: str, solid: Manifold, *, doing: str) -> Body:
    """Return a solid as a body, tidied."""
    return Body(name, mesh_from_solid(sound(solid.simplify(1e-5), doing=doing)))
