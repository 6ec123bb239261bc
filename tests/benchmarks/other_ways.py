"""Three ways to one solid: our loft, and the level set and Minkowski sum of the solid kernel.

The solid has a drafted wall and a rim fillet on a flat foot. All three are held against the exact
section: the distance of every corner and triangle middle of the wall from the curve.
"""

from __future__ import annotations

from collections.abc import Callable
from math import acos, ceil, cos, hypot, pi, radians, sin, tan

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import LineString, MultiPolygon

from moldgen.mold.build import build_raw_mold, profile_of
from moldgen.mold.features import Feature, Wall, WallEnd
from moldgen.solid.mesh import Mesh
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh

WALL = Wall(height_mm=12, draft_deg=5, top_radius_mm=1, base_radius_mm=0)
CHORD_MM = 0.01


def by_loft(region: MultiPolygon, wall: Wall = WALL) -> Mesh:
    """Return the solid by offset level lines."""
    feature = Feature(name="x", region=region, wall=wall, read_at=WallEnd.FOOT)
    mesh = build_raw_mold([feature], chord_mm=CHORD_MM).meshes[0]
    solid_from_mesh(mesh, doing="lofting")
    return mesh


def by_level_set(region: MultiPolygon, *, edge_mm: float = 0.5) -> Mesh:
    """Return the solid as the zero level of a distance on a grid."""
    x0, y0, x1, y1 = region.bounds
    low, high = (x0 - 1, y0 - 1, -1.0), (x1 + 1, y1 + 1, WALL.height_mm + 1)
    return mesh_from_solid(Manifold.level_set(_depth(region), [*low, *high], edge_mm))


def by_minkowski(region: MultiPolygon) -> Mesh:
    """Return the solid as a smaller one with sharp edges, swollen by a ball."""
    r, lean = WALL.top_radius_mm, radians(WALL.draft_deg)
    below = 2 * r  # the swollen foot is cut off again
    core = Wall(
        height_mm=WALL.height_mm - r + below,
        draft_deg=WALL.draft_deg,
        top_radius_mm=0,
        base_radius_mm=0,
    )
    inset = r / cos(lean) - below * tan(lean)
    raised = by_loft(MultiPolygon([region.buffer(-inset, quad_segs=16)]), core)
    segments = 4 * ceil(pi / acos(1 - CHORD_MM / r) / 4)
    swollen = solid_from_mesh(raised, doing="lofting").minkowski_sum(Manifold.sphere(r, segments))
    return mesh_from_solid(swollen.translate((0, 0, -below)).trim_by_plane((0, 0, 1), 0))


def deviation_mm(mesh: Mesh, region: MultiPolygon) -> float:
    """Return the greatest distance of a wall from the exact section. [mm]."""
    profile = profile_of(Feature(name="x", region=region, wall=WALL, read_at=WallEnd.FOOT))
    curve = LineString(np.column_stack(profile.stations(chord_mm=1e-6)))
    points = np.concatenate([mesh.points_mm, mesh.points_mm[mesh.triangles].mean(axis=1)])
    points = points[points[:, 2] > 0.6]  # above what the grid rounds off at the foot
    plan = shapely.points(points[:, :2])
    inward = shapely.distance(plan, region.boundary)
    inward = np.where(shapely.covers(region, plan), inward, -inward)
    wall = inward < profile.inset_mm
    return float(shapely.distance(shapely.points(inward[wall], points[wall, 2]), curve).max())


def _depth(region: MultiPolygon) -> Callable[[float, float, float], float]:
    """Return how far a place lies inside the solid, as the level set wants it."""
    shapely.prepare(region)
    boundary, lean = region.boundary, radians(WALL.draft_deg)
    h, r = WALL.height_mm, WALL.top_radius_mm
    z_arc, d_arc = h - r, h * tan(lean) + r * tan((pi / 2 - lean) / 2)

    def depth(x: float, y: float, z: float) -> float:
        place = shapely.Point(x, y)
        d = boundary.distance(place)
        d = d if region.contains(place) else -d
        across, up = d - d_arc, z - z_arc
        if across <= 0 and across * sin(lean) + up * cos(lean) >= 0:
            return min(z, r - hypot(across, up))
        return min(z, h - z, (d - z * tan(lean)) * cos(lean))

    return depth
