"""Slices: a solid cut level, as regions, and what lies within all of several cuts."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from manifold3d import CrossSection, Manifold
from shapely import GEOSException, MultiPolygon, Polygon

from moldgen.arrays import Floats
from moldgen.errors import GeometryError
from moldgen.solid.mesh import Mesh
from moldgen.solid.polygons import polygons_of
from moldgen.solid.sound import solid_from_mesh
from moldgen.solid.topology import topology_of, welded

TIDY_MM = 1e-6
"""Corners nearer to a straight line than this are left out of a slice. [mm]."""


_CROSSING_MM = 1e-6
"""Steps to which lines that cross are brought. [mm]."""


def closed_mesh(mesh: Mesh, *, name: str = "the part") -> Mesh:
    """Return a brought mesh with equal corners joined, outside out.

    Raises
    ------
    GeometryError
        If the mesh is open or clashes; the sentence says how many edges.
    """
    whole = welded(mesh)
    topology = topology_of(whole)
    if not topology.closed:
        raise GeometryError(f"{name} is not a closed solid: {topology.why_open}")
    if whole.volume_mm3 < 0:
        whole = Mesh(whole.points_mm, np.ascontiguousarray(whole.triangles[:, ::-1]))
    return whole


def solid_of(mesh: Mesh, *, name: str = "the part") -> Manifold:
    """Hand a brought mesh to the modeler, outside out.

    Raises
    ------
    GeometryError
        If the mesh is open or clashes; the sentence says how many edges.
    """
    return solid_from_mesh(closed_mesh(mesh, name=name), doing=f"reading {name}")


def region_at(solid: Manifold, z_mm: float) -> MultiPolygon:
    """Return where a level plane cuts a solid. [mm]."""
    return region_of(solid.slice(z_mm))


def region_of(section: CrossSection) -> MultiPolygon:
    """Return a cross-section of the modeler as a region. [mm]."""
    rings = [np.asarray(ring) for ring in section.simplify(TIDY_MM).to_polygons()]
    rings = [ring for ring in rings if len(ring) > 2]
    outer = [Polygon(ring) for ring in rings if _turning(ring) > 0]
    holes = [ring for ring in rings if _turning(ring) < 0]
    owned: list[list[Floats]] = [[] for _ in outer]
    for hole, owner in zip(holes, _owners(outer, holes), strict=True):
        owned[owner].append(hole)
    parts = [Polygon(shell.exterior, inner) for shell, inner in zip(outer, owned, strict=True)]
    whole = [part if part.is_valid else shapely.make_valid(part) for part in parts]
    return polygons_of(shapely.union_all(whole))


def _owners(outer: list[Polygon], holes: list[Floats]) -> list[int]:
    """Return for each hole the smallest outline it lies in: islands in holes have holes too."""
    sizes = np.array([shell.area for shell in outer])
    tree = shapely.STRtree(outer)
    owners = []
    for hole in holes:
        inside = tree.query(Polygon(hole).representative_point(), predicate="intersects")
        larger = inside[sizes[inside] > Polygon(hole).area * (1 - 1e-9)]
        owners.append(int(larger[np.argmin(sizes[larger])]) if len(larger) else 0)
    return owners


def within_all(solid: Manifold, levels_mm: Iterable[float], keep_mm: float) -> MultiPolygon:
    """Return where every one of several level cuts has material at least so far around. [mm].

    Parameters
    ----------
    keep_mm : float
        Material around the result in every cut; it may be negative. [mm]
    """
    left: shapely.Geometry | None = None
    for z_mm in levels_mm:
        inner = shapely.buffer(region_at(solid, z_mm), -keep_mm, join_style="mitre")
        left = inner if left is None else shapely.intersection(left, inner)
        if left.is_empty:
            break
    return polygons_of(left) if left is not None else MultiPolygon()


def _turning(ring: Floats) -> float:
    x, y = ring.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def section(mesh: Mesh, z_mm: float) -> MultiPolygon:
    """Cut a mesh at a height and return what is solid there.

    Nested rings count in turn as solid and hollow; open ends are left out. [mm]
    """
    above = mesh.points_mm[:, 2] > z_mm
    corner = mesh.triangles.astype(np.int64)
    cut = corner[(above[corner].sum(axis=1) % 3) != 0]
    start, end = cut, np.roll(cut, -1, axis=1)
    crosses = above[start] != above[end]
    low = np.minimum(start, end)[crosses]
    high = np.maximum(start, end)[crosses]
    a, b = mesh.points_mm[low], mesh.points_mm[high]
    share = ((z_mm - a[:, 2]) / (b[:, 2] - a[:, 2]))[:, None]
    ends = (a + share * (b - a))[:, :2].reshape(-1, 2, 2)
    lines = list(shapely.linestrings(ends))
    try:
        area = shapely.build_area(shapely.MultiLineString(lines))
    except GEOSException:  # the surface goes through itself, and so do the lines
        area = shapely.build_area(shapely.union_all(lines, grid_size=_CROSSING_MM))
    return polygons_of(area)
