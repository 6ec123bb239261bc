"""Triangles of a formed sheet in groups that hang together."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.physics.membrane.run import FormingRun

Mask = NDArray[np.bool_]
Place = tuple[float, float, float]


def clusters_of(run: FormingRun, chosen: Mask) -> Iterator[NDArray[np.int64]]:
    """Return the chosen triangles in groups that hang together by their points."""
    numbers = np.flatnonzero(chosen)
    if not numbers.size:
        return
    label = _labels(run.mesh.triangles[numbers])
    order = np.argsort(label, kind="stable")
    yield from np.split(numbers[order], np.flatnonzero(np.diff(label[order])) + 1)


def _labels(triangles: NDArray[np.int32]) -> NDArray[np.int64]:
    """Return for each triangle a number, the same for all that hang together."""
    points, places = np.unique(triangles, return_inverse=True)
    corners = [np.ascontiguousarray(column) for column in places.reshape(-1, 3).T]
    least = np.arange(len(points))
    while True:
        own = np.minimum.reduce([least[corner] for corner in corners])
        before = least.copy()
        for corner in corners:
            np.minimum.at(least, corner, own)
        least = least[least]
        if np.array_equal(before, least):
            return np.asarray(least[corners[0]])


def place_of(point: Floats) -> Place:
    """Return a point as plain numbers. [mm]."""
    return float(point[0]), float(point[1]), float(point[2])
