"""Normals at the corners of triangles: smooth over fillets, sharp over creases."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.solid.mesh import Mesh

# Normals within 0.03 deg count as one.
_SAME_COS = 1.0 - 1e-7


def corner_normals(mesh: Mesh, *, crease_deg: float = 35.0) -> NDArray[np.float64]:
    """Return a unit normal for each corner of each triangle, as the eye expects it.

    A fillet is made of narrow flat strips; pictures should show the fillet, not the strips.
    Around each point the normals of the triangles are averaged, weighted with the angle the
    triangle has there, over those that turn by less than ``crease_deg`` from one another.

    Parameters
    ----------
    mesh : Mesh
        Triangles that share their points. [mm]
    crease_deg : float, default 35
        Turn from which an edge stays sharp. [°]

    Returns
    -------
    ndarray, shape (m, 3, 3)
        Unit vectors; zero at a triangle without area.

    Notes
    -----
    Weighting with the angle makes the result independent of how a flat is cut into triangles:
    G. Thürmer and C. A. Wüthrich, "Computing vertex normals from polygonal facets", Journal of
    Graphics Tools 3 (1998), from memory.
    """
    lengths = mesh.areas_mm2[:, None]
    faces = np.divide(
        mesh.area_vectors_mm2, lengths, out=np.zeros_like(mesh.area_vectors_mm2), where=lengths > 0
    )
    corner_order, ends = _corners_by_point(mesh.triangles.ravel(), len(mesh.points_mm))
    normals: NDArray[np.float64] = _averaged(
        faces, _corner_angles(mesh).ravel(), corner_order, ends, np.cos(np.radians(crease_deg))
    )
    return normals


def _corner_angles(mesh: Mesh) -> NDArray[np.float64]:
    """Angle of each triangle at each of its corners, shape (m, 3). [rad]."""
    sides = np.roll(mesh.corners_mm, -1, axis=1) - mesh.corners_mm
    back = -np.roll(sides, 1, axis=1)
    along = np.einsum("tij,tij->ti", sides, back)
    angles: NDArray[np.float64] = np.arctan2(2 * mesh.areas_mm2[:, None], along)
    return angles


@njit(cache=True, nogil=True)
def _corners_by_point(
    point_of: NDArray[np.int32], n_points: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the corners in the order of their points, and where each point's corners end."""
    ends = np.zeros(n_points, np.int64)
    for point in point_of:
        ends[point] += 1
    for point in range(1, n_points):
        ends[point] += ends[point - 1]
    order = np.empty(len(point_of), np.int64)
    free = ends.copy()
    for corner in range(len(point_of) - 1, -1, -1):
        point = point_of[corner]
        free[point] -= 1
        order[free[point]] = corner
    return order, ends


@njit(cache=True, nogil=True)
def _averaged(
    faces: NDArray[np.float64],
    angles: NDArray[np.float64],
    corner_order: NDArray[np.int64],
    ends: NDArray[np.int64],
    crease_cos: float,
) -> NDArray[np.float64]:
    normals = np.zeros((faces.shape[0], 3, 3))
    start, widest = 0, 0
    for end in ends:
        widest = max(widest, end - start)
        start = end
    kinds = np.zeros((widest, 3))
    weights = np.zeros(widest)
    averages = np.zeros((widest, 3))
    kind_of = np.zeros(widest, np.int64)
    start = 0
    for end in ends:
        # Thousands of triangles of one flat may meet in a point, yet they have one normal:
        # only the distinct ones are compared with one another.
        n_kinds = 0
        for i in range(start, end):
            corner = corner_order[i]
            t = corner // 3
            x, y, z = faces[t, 0], faces[t, 1], faces[t, 2]
            k = n_kinds - 1
            while k >= 0 and x * kinds[k, 0] + y * kinds[k, 1] + z * kinds[k, 2] < _SAME_COS:
                k -= 1
            if k < 0:
                k = n_kinds
                kinds[k, 0], kinds[k, 1], kinds[k, 2] = x, y, z
                weights[k] = 0.0
                n_kinds += 1
            weights[k] += angles[corner]
            kind_of[i - start] = k
        for k in range(n_kinds):
            a, b, c = kinds[k, 0], kinds[k, 1], kinds[k, 2]
            x, y, z = 0.0, 0.0, 0.0
            for other in range(n_kinds):
                u, v, w = kinds[other, 0], kinds[other, 1], kinds[other, 2]
                if a * u + b * v + c * w > crease_cos:
                    x += weights[other] * u
                    y += weights[other] * v
                    z += weights[other] * w
            length = max(np.sqrt(x * x + y * y + z * z), 1e-300)
            averages[k, 0], averages[k, 1], averages[k, 2] = x / length, y / length, z / length
        for i in range(start, end):
            corner = corner_order[i]
            t, c, k = corner // 3, corner % 3, kind_of[i - start]
            normals[t, c, 0], normals[t, c, 1] = averages[k, 0], averages[k, 1]
            normals[t, c, 2] = averages[k, 2]
        start = end
    return normals


def leans_deg(mesh: Mesh) -> NDArray[np.float64]:
    """Return the lean of each triangle back from upright, shape (m,); 0 for one without area.

    90 for a top, below 0 for what looks down. [°].
    """
    areas = mesh.areas_mm2
    share = np.divide(mesh.area_vectors_mm2[:, 2], areas, out=np.zeros(len(areas)), where=areas > 0)
    return np.asarray(np.degrees(np.arcsin(np.clip(share, -1, 1))))
