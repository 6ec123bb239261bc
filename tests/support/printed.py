"""Solids and printers for the tests of printing."""

from dataclasses import replace

import numpy as np
from manifold3d import Manifold
from support.molds import SHOP

from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.sound import mesh_from_solid

BED = SHOP.printer("bed-220")
PETG = SHOP.filament("PETG")


def printer(width_mm, depth_mm, height_mm=200.0):
    """Return a printer with another bed."""
    return replace(BED, bed_width_mm=width_mm, bed_depth_mm=depth_mm, bed_height_mm=height_mm)


def box(width_mm, depth_mm, height_mm):
    """Return a box with its low corner over the origin."""
    return Manifold.cube((width_mm, depth_mm, height_mm))


def rod(radius_mm, height_mm, x=0.0, y=0.0, z=0.0, sides=96):
    """Return an upright rod that stands at a place."""
    return Manifold.cylinder(height_mm, radius_mm, radius_mm, sides).translate((x, y, z))


def body(solid, name="block"):
    """Return a solid as a body."""
    return Body(name, mesh_from_solid(solid))


def mesh(solid):
    """Return a solid's triangles."""
    return mesh_from_solid(solid)


def opened(solid):
    """Return a solid as a mesh with one triangle missing."""
    whole = mesh_from_solid(solid)
    return Mesh(whole.points_mm.copy(), np.ascontiguousarray(whole.triangles[1:]))
