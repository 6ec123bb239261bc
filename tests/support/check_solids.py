"""Solids of known shape for the tests of checks, made without the code under test."""

import numpy as np
from manifold3d import Manifold

from moldgen.mold.checks import Case
from moldgen.solid.mesh import Body, Mesh
from moldgen.stock.plastic import Sheet
from moldgen.stock.shop import load_shop

SHOP = load_shop(user_file=None)
HIPS = SHOP.plastic("HIPS")


def case(*meshes, gauge_mm=1.0, plastic=HIPS, machine=None, printer=None, **more):
    """Return a case of meshes named A, B, ... on the smallest table, in 1 mm styrene."""
    return Case(
        bodies=tuple(Body(chr(65 + i), mesh) for i, mesh in enumerate(meshes)),
        sheet=Sheet(plastic=plastic, gauge_mm=gauge_mm),
        machine=machine or SHOP.machine("bench-250x250"),
        printer=printer or SHOP.printer("bed-220"),
        **more,
    )


def mesh(points, triangles):
    """Return a mesh from plain lists."""
    return Mesh(np.array(points, float), np.array(triangles, np.int32))


def lathe(profile, n=48):
    """Return a closed solid turned from a ring of (radius, height), counter-clockwise, n sides."""
    points, rings = [], []
    for radius, z in profile:
        count = n if radius > 0 else 1
        angle = 2 * np.pi * np.arange(count) / n
        rings.append(len(points) + np.arange(count))
        points += [(radius * np.cos(a), radius * np.sin(a), z) for a in angle]
    triangles = []
    for a, b in zip(rings, rings[1:] + rings[:1], strict=True):
        for k in range(n):
            i, j = k % len(a), (k + 1) % len(a)
            p, q = k % len(b), (k + 1) % len(b)
            if len(a) > 1:
                triangles.append((a[i], a[j], b[p]))
            if len(b) > 1:
                triangles.append((a[j], b[q], b[p]))
    return mesh(points, triangles)


def frustum(foot, top, height, n=48):
    """Return a cone cut off, standing on its foot radius."""
    return lathe([(0, 0), (foot, 0), (top, height), (0, height)], n)


def box(width, depth, height, low=(0, 0, 0)):
    """Return a box with a corner at low."""
    x, y, z = low
    corners = [
        (x + i * width, y + j * depth, z + k * height)
        for k in (0, 1) for j in (0, 1) for i in (0, 1)
    ]  # fmt: skip
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    return mesh(corners, [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))])


def pyramid(side, top, height):
    """Return a square frustum, for which every number is exact."""
    s, t = side / 2, top / 2
    corners = [(x * r, y * r, z) for r, z in ((s, 0), (t, height))
               for x, y in ((-1, -1), (1, -1), (-1, 1), (1, 1))]  # fmt: skip
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    return mesh(corners, [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))])


def joined(*meshes):
    """Several meshes as one, points kept apart."""
    first = np.cumsum([0, *(len(m.points_mm) for m in meshes[:-1])])
    return mesh(
        np.concatenate([m.points_mm for m in meshes]),
        np.concatenate([m.triangles + n for m, n in zip(meshes, first, strict=True)]),
    )


def moved(solid, *, turn_deg=0.0, by=(0, 0, 0), scale=1.0):
    """Return a mesh scaled, turned about the upright and moved."""
    a = np.radians(turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    return Mesh(scale * solid.points_mm @ turn.T + np.array(by), solid.triangles)


def turned(solid, axis_to_z):
    """Return a mesh turned so that an axis (0 or 1) points up."""
    order = {0: [1, 2, 0], 1: [2, 0, 1]}[axis_to_z]
    return Mesh(np.ascontiguousarray(solid.points_mm[:, order]), solid.triangles)


def loose(solid):
    """Return the same triangles with corners of their own, as in a file of loose triangles."""
    n = len(solid.triangles)
    return mesh(solid.corners_mm.reshape(-1, 3), np.arange(3 * n).reshape(-1, 3))


def flipped(solid):
    """Return the mesh inside out."""
    return Mesh(solid.points_mm, np.ascontiguousarray(solid.triangles[:, ::-1]))


def cut(block, *tools):
    """Return a block with tools cut out of it by the solid modeler."""
    solid = block
    for tool in tools:
        solid = solid - tool
    made = solid.to_mesh64()
    return mesh(made.vert_properties[:, :3], made.tri_verts)


def cylinder(radius, low, high, x=0.0, y=0.0, *, top=None, n=32):
    """Return an upright cylinder or cone as a tool."""
    made = Manifold.cylinder(high - low, radius, radius if top is None else top, n)
    return made.translate((x, y, low))


def block(width, depth, height):
    """Return a box as a solid, its middle over the origin, on the table."""
    return Manifold.cube((width, depth, height)).translate((-width / 2, -depth / 2, 0))


def drafted(side, top, height):
    """Return a square frustum as a solid."""
    return Manifold.hull_points(pyramid(side, top, height).points_mm)


def codes(findings):
    """Names of the rules broken, in order."""
    return [finding.code for finding in findings]
