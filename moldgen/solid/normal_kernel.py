"""Compiled: normals at the corners of triangles, smooth over fillets, sharp over creases."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit

# Normals within 0.03 deg count as one.
_SAME_COS = 1.0 - 1e-7


def corner_normals(
    points_mm: NDArray[np.float64],
    triangles: NDArray[np.int32],
    area_vectors_mm2: NDArray[np.float64],
    *,
    crease_deg: float,
) -> NDArray[np.float64]:
    """Return a unit normal for each corner of each triangle, as the eye expects it.

    A fillet is made of narrow flat strips; pictures should show the fillet, not the strips.
    Around each point the normals of the triangles are averaged, weighted with the angle the
    triangle has there, over those that turn by less than ``crease_deg`` from one another.

    Parameters
    ----------
    points_mm : ndarray, shape (n, 3)
        Corner positions. [mm]
    triangles : ndarray, shape (m, 3)
        Triangles that share their points.
    area_vectors_mm2 : ndarray, shape (m, 3)
        Outward normals with the triangle's area as length. [mm²]
    crease_deg : float
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
    faces, angles = _faces_and_angles(points_mm, triangles, area_vectors_mm2)
    corner_order, ends = _corners_by_point(triangles.ravel(), len(points_mm))
    normals: NDArray[np.float64] = _averaged(
        faces, angles, corner_order, ends, np.cos(np.radians(crease_deg))
    )
    return normals


@njit(cache=True, nogil=True)
def _faces_and_angles(
    points: NDArray[np.float64], triangles: NDArray[np.int32], area_vectors: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return each triangle's unit normal, and its angle at each corner one after the other."""
    faces = np.zeros((len(triangles), 3))
    angles = np.zeros(3 * len(triangles))
    for t in range(len(triangles)):
        x, y, z = area_vectors[t]
        area = np.sqrt(x * x + y * y + z * z)
        if area > 0.0:
            faces[t] = x / area, y / area, z / area
        for k in range(3):
            at, on, back = triangles[t, k], triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3]
            along = 0.0
            for d in range(3):
                along += (points[on, d] - points[at, d]) * (points[back, d] - points[at, d])
            angles[3 * t + k] = np.arctan2(2.0 * area, along)
    return faces, angles


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
