"""How far apart two bodies stand, seen along the draw direction."""

from __future__ import annotations

import numpy as np
import shapely

from moldgen.arrays import Floats
from moldgen.solid.mesh import Mesh


def shortest_between(one: Mesh, other: Mesh, *, within_mm: float) -> Floats | None:
    """Return the ends of the shortest way between two meshes in plan; None if it is longer.

    What lies in a ring or in the bay of another mesh is as far from it as it seems, not at 0 as
    the hulls of the two would be.

    Parameters
    ----------
    one, other : Mesh
        What stands side by side, up along z. [mm]
    within_mm : float
        Longest way that is looked for. [mm]

    Returns
    -------
    ndarray of shape (2, 2), or None
        A place on the rim of each, x and y; the same place twice where one lies over the other.
    """
    for inner, outer in ((one, other), (other, one)):
        at = inner.corners_mm[int(np.argmax(inner.area_vectors_mm2[:, 2]))].mean(axis=0)[:2]
        if _is_over(at, outer):
            return np.array([at, at])
    few, many = sorted((_rim(one), _rim(other)), key=len)
    pairs, gaps = shapely.STRtree(many).query_nearest(
        few, max_distance=within_mm, return_distance=True, all_matches=False
    )
    if not len(gaps):
        return None
    mine, theirs = pairs[:, int(np.argmin(gaps))]
    return np.asarray(shapely.shortest_line(few[mine], many[theirs]).coords)


def _rim(mesh: Mesh) -> Floats:
    """Return the lines at which the upper side ends, as an array of line strings."""
    up = mesh.area_vectors_mm2[:, 2] > 0
    pairs = mesh.edges.triangles
    turns = up[pairs[:, 0]] != up[pairs[:, 1]]
    ends = np.concatenate([mesh.edges.points[turns], mesh.edges.open])
    return np.asarray(shapely.linestrings(mesh.points_mm[ends][:, :, :2]))


def _is_over(at_mm: Floats, mesh: Mesh) -> bool:
    """Tell whether a place lies over or under a mesh."""
    low, high = mesh.bounds_mm[:, :2]
    if (at_mm < low).any() or (at_mm > high).any():
        return False
    corners = mesh.corners_mm[:, :, :2] - at_mm
    following = np.roll(corners, -1, axis=1)
    sides = corners[..., 0] * following[..., 1] - corners[..., 1] * following[..., 0]
    return bool(((sides > 0).all(axis=1) | (sides < 0).all(axis=1)).any())
