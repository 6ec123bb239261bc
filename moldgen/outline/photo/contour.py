"""The line along which a picture passes through 0, found between the pixels."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.outline.photo.raster import Gray
from moldgen.solid.chains import chains_of
from moldgen.solid.polygons import polygons_of


def contour(ink: Gray) -> MultiPolygon:
    """Return where a raster is above 0, holes taken out. [px].

    Parameters
    ----------
    ink : ndarray, shape (ny, nx)
        Any values; what runs off the raster is closed along its border.
    """
    framed = np.pad(ink, 1, constant_values=-1.0)
    # A value that is exactly on the line would close loops in a point.
    return _region(_rings(np.where(framed == 0.0, -1e-9, framed)))


def _rings(ink: Gray) -> list[Gray]:
    """Return the closed lines along which a framed grid is 0, ink on the left, in pixels.

    Every square between four pixels is cut in two; a triangle is crossed by one piece of line,
    whose ends its neighbors share.
    """
    nx = ink.shape[1]
    row, column = np.nonzero(_mixed(ink > 0))
    a = row * nx + column
    b, c, d = a + 1, a + nx, a + nx + 1
    # Diagonals that turn from square to square do not lean any way.
    even = ((row + column) % 2 == 0)[:, None]
    first = np.where(even, np.stack([a, b, d], -1), np.stack([a, b, c], -1))
    second = np.where(even, np.stack([a, d, c], -1), np.stack([b, d, c], -1))
    faces = np.concatenate([first, second])
    dark = ink.ravel()[faces] > 0
    count = dark.sum(axis=1)
    crossed = (count == 1) | (count == 2)
    faces, dark, count = faces[crossed], dark[crossed], count[crossed]
    odd = np.argmax(dark == (count == 1)[:, None], axis=1)
    p, q, r = np.take_along_axis(faces, (odd[:, None] + np.arange(3)) % 3, axis=1).T
    pairs = np.sort(np.concatenate([np.stack([p, q], 1), np.stack([p, r], 1)]), axis=1)
    edges, number = np.unique(pairs, axis=0, return_inverse=True)
    low, high = edges.T
    value = ink.ravel()
    share = value[low] / (value[low] - value[high])
    place = np.column_stack(
        [low % nx + share * (high % nx - low % nx), low // nx + share * (high // nx - low // nx)]
    )
    pq, pr = number.ravel().reshape(2, -1)
    starts, ends = np.where(count == 1, pq, pr), np.where(count == 1, pr, pq)
    # Half a pixel in: a pixel's value stands at its middle; one out: the frame.
    follows = np.empty(len(starts), np.int64)
    follows[starts] = ends
    return [place[chain] - 0.5 for chain in chains_of(follows.tolist())]


def _mixed(dark: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the squares between four pixels that are neither all dark nor all light."""
    corners = [dark[:-1, :-1], dark[:-1, 1:], dark[1:, :-1], dark[1:, 1:]]
    some = corners[0] | corners[1] | corners[2] | corners[3]
    every = corners[0] & corners[1] & corners[2] & corners[3]
    return np.asarray(some & ~every)


def _region(rings: list[Gray]) -> MultiPolygon:
    """Return what the rings enclose, holes taken out."""
    if not rings:
        return MultiPolygon()
    lines = [shapely.linearrings(ring) for ring in rings if len(ring) >= 3]
    return polygons_of(shapely.build_area(shapely.GeometryCollection(lines)))
