"""The convex hull of many points seen from above, without looking at most of them twice."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

_DIRECTIONS = np.linspace(0, 2 * np.pi, 32, endpoint=False)


def hull_of(points_mm: NDArray[np.float64]) -> Polygon:
    """Return the convex hull of points in plan; a line or a point if they lie on one. [mm].

    Points within the polygon of the farthest ones in 32 directions cannot be corners of the hull
    (Akl and Toussaint 1978), which leaves few to sort.

    Parameters
    ----------
    points_mm : ndarray, shape (n, 2) or (n, 3)
        Points; heights are left out of account. [mm]
    """
    x, y = points_mm[:, 0], points_mm[:, 1]
    far = [int(np.argmax(x * np.cos(a) + y * np.sin(a))) for a in _DIRECTIONS]
    start = np.column_stack([x[far], y[far]])
    end = np.roll(start, -1, axis=0)
    outside = np.zeros(len(x), bool)
    outside[far] = True
    for (ax, ay), (bx, by) in zip(start, end, strict=True):
        outside |= (bx - ax) * (y - ay) - (by - ay) * (x - ax) < 0
    return shapely.convex_hull(shapely.multipoints(np.column_stack([x[outside], y[outside]])))
