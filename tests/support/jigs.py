"""A printer for jigs, and level cuts of solids."""

import numpy as np
from manifold3d import Manifold
from shapely import Polygon

from moldgen.bend.jig.jig import Jig
from moldgen.stock import load_shop

SHOP = load_shop()
PRINTER = SHOP.printer("bed-220")


def section(solid: Manifold, z_mm: float):
    """Cut a solid level, without the help of what is tested."""
    whole = Polygon()
    for ring in solid.slice(z_mm).to_polygons():
        whole = whole.symmetric_difference(Polygon(ring))
    return whole


def measured_deg(jig: Jig) -> float:
    """Return the angle between the two hot faces of a finished block, on its triangles. [°].

    The face on the held leg and the face before the folded one, each by its largest triangle.
    """
    mesh = jig.whole.mesh
    held = jig.block.held
    inner = held.round_mm(held.inner_mm)
    slack = jig.spec.clearance_mm + jig.spec.facing_mm + 0.1
    ways = []
    for corner, out in ((inner[0], (0.0, -1.0)), (inner[-1], (held.way[1], -held.way[0]))):
        areas = np.maximum(mesh.areas_mm2, 1e-12)
        facing = mesh.area_vectors_mm2[:, :2] @ np.array(out) / areas > 0.995
        level = np.abs((mesh.corners_mm[..., :2] - corner) @ np.array(out)).max(axis=1) < slack
        near = np.where(facing & level, mesh.areas_mm2, 0.0)
        if not near.any():
            return float("nan")
        way = mesh.area_vectors_mm2[int(near.argmax())]
        ways.append(np.arctan2(way[1], way[0]))
    return float(np.degrees((ways[1] - ways[0]) % (2 * np.pi)))
