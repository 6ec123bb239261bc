"""Small molds of the boat shed, built with the solid modeler, for tests of files and pictures."""

from functools import cache
from math import radians, tan

import numpy as np
from manifold3d import Manifold

from moldgen.solid.mesh import Body, Mesh


def mesh_of(solid):
    """Return the triangles of a solid."""
    data = solid.to_mesh64()
    points = np.asarray(data.vert_properties)[:, :3].astype(np.float64)
    return Mesh(points.copy(), np.asarray(data.tri_verts).astype(np.int32))


def box(width_mm, depth_mm, height_mm, *, at_mm=(0.0, 0.0, 0.0)):
    """Build a straight box, twelve triangles."""
    return mesh_of(Manifold.cube((width_mm, depth_mm, height_mm)).translate(at_mm))


def frustum(width_mm, depth_mm, height_mm, *, draft_deg):
    """Build a block whose four walls lean inward by the draft, standing on z = 0."""
    inset = height_mm * tan(radians(draft_deg))
    foot = [(x * width_mm / 2, y * depth_mm / 2, 0.0) for x in (-1, 1) for y in (-1, 1)]
    top = [
        (x * (width_mm / 2 - inset), y * (depth_mm / 2 - inset), height_mm)
        for x in (-1, 1)
        for y in (-1, 1)
    ]
    return Manifold.hull_points(np.array(foot + top))


@cache
def tide_sign():
    """Build a plaque with three drafted bars on it and four vents through it."""
    sign = frustum(160, 70, 8, draft_deg=6)
    for x, depth in [(-45, 40), (0, 26), (40, 44)]:
        sign += frustum(18, depth, 9, draft_deg=5).translate((x, 0, 8))
    for x, y in [(-62, -22), (62, -22), (-20, 20), (20, 20)]:
        sign -= Manifold.cylinder(40, 0.6, 0.6, 16).translate((x, y, -10))
    return mesh_of(sign)


@cache
def sign_with_peg():
    """Return the tide sign and a loose peg beside it, two bodies."""
    return (
        Body("tide sign", tide_sign()),
        Body("peg", mesh_of(frustum(10, 6, 12, draft_deg=4).translate((95, -10, 0)))),
    )


def leans_deg(mesh):
    """Return the lean of every triangle, nan for the underside."""
    upward = mesh.area_vectors_mm2[:, 2] / mesh.areas_mm2
    lean = np.degrees(np.arcsin(np.clip(upward, -1, 1)))
    return np.where(lean < -60, np.nan, lean)
