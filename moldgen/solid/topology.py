"""How the triangles of a mesh hang together: shared edges, holes, pieces, orientation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Indices
from moldgen.compiling import njit
from moldgen.solid.edges import Edges
from moldgen.solid.mesh import Mesh
from moldgen.solid.weld_kernel import numbered

# A triangle lower than this share of the mesh's extent encloses no area a double can tell.
FLAT_SHARE = 1e-12


# Points nearer than this share of the mesh's extent are copies of one.
SAME_SHARE = 1e-9


@dataclass(frozen=True, eq=False)
class Topology:
    """What can be said of a mesh without looking at its shape.

    Attributes
    ----------
    edges : Edges
        Shared and unshared edges of the welded mesh.
    degenerate : ndarray, shape (d,)
        Triangles without area.
    piece : ndarray, shape (m,)
        Number of the connected piece of each triangle, from 0.
    volumes_mm3 : ndarray, shape (n_pieces,)
        Signed volume of each piece; negative if it is inside out (or a hollow). [mm³]
    euler : int
        Points minus edges plus triangles: 2 for a ball, 0 for a ring, 2 - 2 holes.
    """

    edges: Edges
    degenerate: Indices
    piece: Indices
    volumes_mm3: NDArray[np.float64]
    euler: int

    @property
    def n_pieces(self) -> int:
        """Number of connected pieces."""
        return len(self.volumes_mm3)

    @property
    def closed(self) -> bool:
        """Whether every edge belongs to exactly two triangles that agree on the outside."""
        return self._n_wrong == 0

    @property
    def why_open(self) -> str:
        """What is wrong with a mesh that is not closed, and what to do."""
        return (
            f"{self._n_wrong} of its edges do not have two triangles that agree. Repair it in the "
            "program it comes from and save it again."
        )

    @property
    def _n_wrong(self) -> int:
        edges = self.edges
        return len(edges.open) + len(edges.crowded) + len(edges.clashing)


def welded(mesh: Mesh) -> Mesh:
    """Return the mesh with points at exactly the same place made one; triangles keep order.

    Files of loose triangles repeat each corner; a mesh that shares its points comes back with
    the unused and the repeated ones dropped, the others in the order in which triangles use them.
    A mesh without any such points comes back as it is, with all that is known of it.
    """
    corners = np.ascontiguousarray(mesh.triangles, dtype=np.int32).ravel()
    numbers, firsts = numbered(mesh.points_mm, corners)
    if len(firsts) == len(mesh.points_mm):
        return mesh
    return Mesh(mesh.points_mm[firsts], numbers.reshape(-1, 3))


def closely_welded(mesh: Mesh) -> Mesh:
    """Return the mesh with points nearer than `SAME_SHARE` of its extent made one.

    A program that turns a part writes copies of one corner that differ by rounding alone.
    """
    step_mm = SAME_SHARE * float(np.ptp(mesh.bounds_mm, axis=0).max())
    if not step_mm > 0:
        return mesh
    corners = np.ascontiguousarray(mesh.triangles, dtype=np.int32).ravel()
    points = mesh.points_mm
    # A second grid joins what lies on both sides of a step of the first.
    for shift in (0.0, 0.5):
        steps = np.round(points / step_mm + shift)
        # As those of a mesh, so that the loop is the one that is compiled already.
        steps.setflags(write=False)
        corners, firsts = numbered(steps, corners)
        corners.setflags(write=False)
        points = points[firsts]
    return Mesh(points, corners.reshape(-1, 3))


def topology_of(mesh: Mesh) -> Topology:
    """Return how the triangles of a mesh hang together.

    Parameters
    ----------
    mesh : Mesh
        Triangles that share their points; `welded` makes that of loose ones. [mm]
    """
    edges = mesh.edges
    piece = pieces_of(mesh, edges)
    return Topology(
        edges=edges,
        degenerate=degenerate(mesh),
        piece=piece,
        volumes_mm3=_volumes_mm3(mesh, piece),
        euler=len(mesh.points_mm) - edges.n_edges + len(mesh.triangles),
    )


def pieces_of(mesh: Mesh, edges: Edges) -> Indices:
    """Return the number of the connected piece of each triangle, from 0, shape (m,)."""
    piece = groups(len(mesh.triangles), edges.triangles)
    loose = np.concatenate([edges.crowded, edges.clashing])
    return _joined(mesh, piece, loose) if len(loose) else piece


def degenerate(mesh: Mesh) -> Indices:
    """Return the triangles without area: a point used twice, or three points on one line."""
    if not len(mesh.triangles):
        return np.empty(0, np.int64)
    # Coordinate by coordinate: along rows of three numpy takes several times as long.
    squares = [np.zeros(len(mesh.triangles)) for _ in range(3)]
    for axis in mesh.points_mm.T:
        a, b, c = np.ascontiguousarray(axis)[mesh.triangles.T]
        for square, side in zip(squares, (a - c, b - a, c - b), strict=True):
            square += side**2
    longest = np.sqrt(np.maximum.reduce(squares))
    extent = float(np.ptp(mesh.bounds_mm, axis=0).max())
    flat = 2 * mesh.areas_mm2 <= longest * extent * FLAT_SHARE
    return np.flatnonzero(flat | _repeats(mesh.triangles))


def groups(n: int, pairs: NDArray[np.integer]) -> Indices:
    """Return the number of the connected group of each of ``n`` things, from 0 upward.

    Parameters
    ----------
    n : int
        How many things there are.
    pairs : ndarray, shape (k, 2)
        Things that belong together.
    """
    roots = _roots(n, np.ascontiguousarray(pairs, dtype=np.int64))
    # A root is the first of its group.
    number = np.cumsum(roots == np.arange(n)) - 1
    return np.asarray(number[roots], np.int64)


@njit(cache=True, nogil=True)
def _roots(n: int, pairs: Indices) -> Indices:
    parent = np.arange(n)
    for k in range(pairs.shape[0]):
        a, b = pairs[k, 0], pairs[k, 1]
        while parent[a] != a:
            parent[a] = parent[parent[a]]
            a = parent[a]
        while parent[b] != b:
            parent[b] = parent[parent[b]]
            b = parent[b]
        if a < b:
            parent[b] = a
        else:
            parent[a] = b
    for i in range(n):
        root = i
        while parent[root] != root:
            root = parent[root]
        parent[i] = root
    return parent


def _repeats(corner: NDArray[np.integer]) -> NDArray[np.bool_]:
    a, b, c = corner.T
    return np.asarray((a == b) | (b == c) | (c == a))


def _joined(mesh: Mesh, piece: Indices, loose: Indices) -> Indices:
    """Join pieces that meet only along crowded or clashing edges."""
    n = len(mesh.points_mm)
    corner = mesh.triangles.astype(np.int64)
    start, end = corner.ravel(), np.roll(corner, -1, axis=1).ravel()
    key = np.minimum(start, end) * n + np.maximum(start, end)
    wanted = np.unique(loose.min(axis=1) * n + loose.max(axis=1))
    at = np.minimum(np.searchsorted(wanted, key), len(wanted) - 1)
    there = np.flatnonzero(wanted[at] == key)
    n_pieces = int(piece.max()) + 1
    pairs = np.stack([piece[there // 3], n_pieces + at[there]], axis=1)
    return groups(n_pieces + len(wanted), pairs)[piece]


def _volumes_mm3(mesh: Mesh, piece: Indices) -> NDArray[np.float64]:
    if not len(piece):
        return np.empty(0)
    origin = mesh.points_mm.mean(axis=0)
    share = np.einsum("ij,ij->i", mesh.corners_mm[:, 0] - origin, mesh.area_vectors_mm2) / 3
    return np.asarray(np.bincount(piece, weights=share), np.float64)
