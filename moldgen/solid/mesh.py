"""A triangle mesh as two arrays: the currency between solids, checks and files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from moldgen.solid.edges import Edges

Points = NDArray[np.float64]
Triangles = NDArray[np.int32]
_WORTH_COMPILED = 100_000
"""Triangles above which compiled loops pay for being loaded; the numbers are the same."""
_FLAT_SHARE, _FLAT_MM = 1e-6, 1e-4
"""What is thinner than this share of its length, or than this, is not printed or formed."""
_NOTHING = 1e-300
_CREASE_DEG = 35.0
"""Turn from which the eye takes an edge as sharp."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """Points and the triangles that join them, counter-clockwise seen from outside.

    Attributes
    ----------
    points_mm : ndarray, shape (n, 3)
        Corner positions. [mm]
    triangles : ndarray, shape (m, 3)
        Indices into ``points_mm``.
    """

    points_mm: Points
    triangles: Triangles

    def __post_init__(self) -> None:
        self.points_mm.setflags(write=False)
        self.triangles.setflags(write=False)

    @cached_property
    def corners_mm(self) -> Points:
        """Corner positions of every triangle, shape (m, 3, 3). [mm]."""
        corners: Points = self.points_mm[self.triangles]
        return corners

    @cached_property
    def area_vectors_mm2(self) -> Points:
        """Outward normals with the triangle's area as length, shape (m, 3). [mm²]."""
        if len(self.triangles) > _WORTH_COMPILED:
            from moldgen.solid.area_kernel import area_vectors

            compiled: Points = area_vectors(self.points_mm, self.triangles)
            return compiled
        a, b, c = (self.points_mm[self.triangles[:, i]] for i in range(3))
        return 0.5 * np.cross(b - a, c - a)

    @cached_property
    def areas_mm2(self) -> NDArray[np.float64]:
        """Area of every triangle, shape (m,). [mm²]."""
        areas: NDArray[np.float64] = np.linalg.norm(self.area_vectors_mm2, axis=1)
        return areas

    @cached_property
    def edges(self) -> Edges:
        """Edges that two triangles share and those that they do not; points must be shared."""
        from moldgen.solid.edges import paired_edges

        return paired_edges(self.triangles, n_points=len(self.points_mm))

    @cached_property
    def corner_normals(self) -> Points:
        """Unit normal for each corner of each triangle as the eye expects it, shape (m, 3, 3).

        Smooth over fillets, sharp over creases; zero at a triangle without area. The triangles
        must share their points.
        """
        from moldgen.solid.normal_kernel import corner_normals

        normals = corner_normals(
            self.points_mm, self.triangles, self.area_vectors_mm2, crease_deg=_CREASE_DEG
        )
        normals.setflags(write=False)
        return normals

    @cached_property
    def volume_mm3(self) -> float:
        """Enclosed volume by the divergence theorem; meaningful if closed. [mm³]."""
        from_middle = self.points_mm - self.points_mm.mean(axis=0)
        first = from_middle[self.triangles[:, 0]]
        return float(np.einsum("ij,ij->", first, self.area_vectors_mm2) / 3)

    @cached_property
    def bounds_mm(self) -> Points:
        """Least and greatest corner of the bounding box, shape (2, 3). [mm]."""
        # Column by column: along rows of three it takes five times as long.
        columns = [self.points_mm[:, d] for d in range(3)]
        bounds = np.array([[one.min() for one in columns], [one.max() for one in columns]])
        bounds.setflags(write=False)
        return bounds


def is_flat(mesh: Mesh, *, closed: bool) -> bool:
    """Return whether a mesh lies in a plane, or encloses nothing if it is closed."""
    if not len(mesh.triangles):
        return True
    sides_mm = np.ptp(mesh.bounds_mm, axis=0)
    least_mm = max(_FLAT_SHARE * float(sides_mm.max()), _FLAT_MM)
    # Of an open surface the volume means nothing.
    thickness_mm = 2 * abs(mesh.volume_mm3) / max(float(mesh.areas_mm2.sum()), _NOTHING)
    return bool(sides_mm.min() <= least_mm or (closed and thickness_mm <= least_mm))


def joined(meshes: Mesh | Sequence[Mesh]) -> Mesh:
    """Return several meshes as one, their triangles in the same order; one alone as it is."""
    if isinstance(meshes, Mesh):
        return meshes
    if len(meshes) == 1:
        return meshes[0]
    starts = np.cumsum([0, *(len(mesh.points_mm) for mesh in meshes)])
    triangles = [
        mesh.triangles + np.int32(start) for mesh, start in zip(meshes, starts, strict=False)
    ]
    return Mesh(np.concatenate([mesh.points_mm for mesh in meshes]), np.concatenate(triangles))


@dataclass(frozen=True, eq=False)
class Body:
    """One closed piece with the name it carries in files and reports."""

    name: str
    mesh: Mesh
