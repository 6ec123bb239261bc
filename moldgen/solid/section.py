"""Where a plane cuts a mesh: closed rings, material on their left."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.solid.chains import chains_of
from moldgen.solid.mesh import Mesh, Points, Triangles

# Axes that lie to the right and up in the picture of a cut across the axis given.
_RIGHT_UP = {0: (1, 2), 1: (0, 2), 2: (0, 1)}


def section_rings(mesh: Mesh, *, axis: int, at_mm: float) -> list[Points]:
    """Cut a closed mesh across an axis and return the rings of the cut.

    Looked at against the axis the right way round: a cut across x shows y to the right and z
    up, one across y shows x and z, one across z shows x and y.

    Parameters
    ----------
    mesh : Mesh
        Closed; an open mesh gives rings closed by a straight line. [mm]
    axis : int
        0, 1 or 2 for a plane across x, y or z.
    at_mm : float
        Place of the plane on that axis. [mm]

    Returns
    -------
    list of ndarray, shape (k, 2)
        Rings without a repeated last point; counter-clockwise round material, clockwise round
        holes. [mm]
    """
    starts, ends, points = _segments(mesh, axis, at_mm)
    by_start = np.argsort(starts, kind="stable")
    place = np.searchsorted(starts[by_start], ends)
    follows = np.full(len(starts), -1)
    found = place < len(starts)
    found[found] = starts[by_start[place[found]]] == ends[found]
    follows[found] = by_start[place[found]]
    return [points[ring] for ring in chains_of(follows.tolist()) if len(ring) > 2]


def section_rise_mm(mesh: Mesh, *, axis: int, at_mm: float) -> float:
    """Return the height that the outlines of a cut climb and fall in all. [mm].

    The cut that shows most walls and vents is the one where this is greatest.
    """
    first, second = _crossing_pair(mesh, *_parted(mesh, axis, at_mm), axis, at_mm)
    return float(np.abs(first[:, 2] - second[:, 2]).sum())


def _parted(mesh: Mesh, axis: int, at_mm: float) -> tuple[Triangles, NDArray[np.bool_]]:
    """Triangles that the plane parts, and which of their corners lie below it."""
    # A corner in the plane counts as above it, so each triangle is parted cleanly or not at all.
    lower = (mesh.points_mm[:, axis] < at_mm)[mesh.triangles]
    parted = lower.any(axis=1) & ~lower.all(axis=1)
    return mesh.triangles[parted], lower[parted]


def _crossing_pair(
    mesh: Mesh, triangles: Triangles, lower: NDArray[np.bool_], axis: int, at_mm: float
) -> tuple[Points, Points]:
    """Points where each triangle's border enters the upper side, and where it leaves it."""
    (low, high), (high_end, low_end) = _edges(triangles, lower)

    def crossing(below: NDArray[np.int32], above: NDArray[np.int32]) -> Points:
        start, end = mesh.points_mm[below], mesh.points_mm[above]
        share = (at_mm - start[:, axis]) / (end[:, axis] - start[:, axis])
        points: Points = start + share[:, None] * (end - start)
        return points

    # Both from the lower end, so the two triangles at an edge find the very same point.
    return crossing(low, high), crossing(low_end, high_end)


def _edges(
    triangles: Triangles, lower: NDArray[np.bool_]
) -> tuple[tuple[Triangles, Triangles], tuple[Triangles, Triangles]]:
    """Start and end of the edge that enters the upper side, and of the one that leaves it."""
    nexts, next_lower = np.roll(triangles, -1, axis=1), np.roll(lower, -1, axis=1)
    enters, leaves = lower & ~next_lower, ~lower & next_lower
    return (triangles[enters], nexts[enters]), (triangles[leaves], nexts[leaves])


def _segments(
    mesh: Mesh, axis: int, at_mm: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], Points]:
    """Names of the edges where each segment begins and ends, and where it begins."""
    triangles, lower = _parted(mesh, axis, at_mm)
    (low, high), (high_end, low_end) = _edges(triangles, lower)
    n_points = np.int64(len(mesh.points_mm))
    entering, leaving = low * n_points + high, low_end * n_points + high_end
    first, second = _crossing_pair(mesh, triangles, lower, axis, at_mm)
    plane = list(_RIGHT_UP[axis])
    # x and z seen along y are the one left-handed pair, so there the sense turns round.
    if axis == 1:
        return entering, leaving, first[:, plane]
    return leaving, entering, second[:, plane]
