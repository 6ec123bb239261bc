"""Outlines raised to prisms."""

from __future__ import annotations

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold

from moldgen.solid.mesh import Body
from moldgen.solid.polygons import rings_of
from moldgen.solid.sound import mesh_from_solid, sound

TIDY_MM = 1e-4
"""Corners nearer to a straight line than this are left out. [mm]."""


def prism(region: shapely.Geometry, low_mm: float, high_mm: float) -> Manifold:
    """Return the polygons of a region raised from one height to another, corner for corner."""
    return _extruded(_section(region), low_mm, high_mm)


def raised(region: shapely.Geometry, low_mm: float, high_mm: float) -> Manifold:
    """Return a region raised from one height to another, without corners it can spare."""
    return _extruded(_section(region).simplify(TIDY_MM), low_mm, high_mm)


def _section(region: shapely.Geometry) -> CrossSection:
    rings = [np.asarray(ring.coords)[:-1] for ring in rings_of(region)]
    return CrossSection(rings, FillRule.EvenOdd)


def _extruded(section: CrossSection, low_mm: float, high_mm: float) -> Manifold:
    return section.extrude(high_mm - low_mm).translate((0.0, 0.0, low_mm))


def body(name: str, solid: Manifold, *, doing: str) -> Body:
    """Return a solid as a body, tidied."""
    return Body(name, mesh_from_solid(sound(solid.simplify(1e-5), doing=doing)))
