"""Compiled: the area vectors of many triangles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit


@njit(cache=True, nogil=True)
def area_vectors(points: NDArray[np.float64], triangles: NDArray[np.int32]) -> NDArray[np.float64]:
    """Return half the cross product of two sides of every triangle, shape (m, 3).

    Parameters
    ----------
    points : ndarray, shape (n, 3)
    triangles : ndarray, shape (m, 3)
    """
    vectors = np.empty((len(triangles), 3))
    for t in range(len(triangles)):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        ax, ay, az = points[a, 0], points[a, 1], points[a, 2]
        ux, uy, uz = points[b, 0] - ax, points[b, 1] - ay, points[b, 2] - az
        vx, vy, vz = points[c, 0] - ax, points[c, 1] - ay, points[c, 2] - az
        vectors[t, 0] = 0.5 * (uy * vz - uz * vy)
        vectors[t, 1] = 0.5 * (uz * vx - ux * vz)
        vectors[t, 2] = 0.5 * (ux * vy - uy * vx)
    return vectors
