"""Edges of triangles: those that two share, and those that they do not share well."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Indices
from moldgen.solid.weld_kernel import CLASHING, CROWDED, OPEN, SHARED, edges_in_order, paired


@dataclass(frozen=True, eq=False)
class Edges:
    """Every edge that two triangles share, and the edges that they do not share well.

    Attributes
    ----------
    points : ndarray, shape (k, 2)
        Point indices of the edges with exactly two triangles that run it in opposite ways,
        in the order of the first triangle.
    triangles : ndarray, shape (k, 2)
        The two triangles of each such edge.
    open : ndarray, shape (i, 2)
        Edges of one triangle only: the rim of a hole.
    crowded : ndarray, shape (j, 2)
        Edges of three or more triangles: the surface touches itself.
    clashing : ndarray, shape (l, 2)
        Edges that two triangles run the same way: one of them faces inward.
    n_edges : int
        Number of different edges.
    """

    points: Indices
    triangles: Indices
    open: Indices
    crowded: Indices
    clashing: Indices
    n_edges: int


def paired_edges(triangles: NDArray[np.int32], *, n_points: int) -> Edges:
    """Pair the edges of triangles that share their points.

    Triangles that use a point twice have no edges of their own and are left out.

    Parameters
    ----------
    triangles : ndarray, shape (m, 3)
        Corners, by number.
    n_points : int
        How many points there are.
    """
    triangles = np.ascontiguousarray(triangles)
    order = edges_in_order(triangles, n_points)
    points, owners, kinds = paired(triangles, order)
    good = kinds == SHARED
    return Edges(
        points=points[good],
        triangles=owners[good],
        open=points[kinds == OPEN],
        crowded=points[kinds == CROWDED],
        clashing=points[kinds == CLASHING],
        n_edges=len(kinds),
    )
