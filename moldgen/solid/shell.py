"""A thin sheet as a solid: a surface and how thick it is at each of its points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.solid.mesh import Mesh

Triangles = NDArray[np.int32]


def build_shell(surface: Mesh, thickness_mm: Floats) -> Mesh:
    """Return a closed solid that lies on the outer side of a surface.

    Parameters
    ----------
    surface : Mesh
        An open surface without holes in its triangles' order: counter-clockwise seen from the side
        on which the material lies. [mm]
    thickness_mm : ndarray, shape (n,)
        Thickness at each point of the surface, across it. [mm]

    Returns
    -------
    Mesh
        The surface, its twin at the thickness and a rim all along its border. In hollow bends
        tighter than the sheet is thick the twin folds over itself there; the solid stays closed.

    Raises
    ------
    SpecError
        If the thicknesses are not one for each point, or one is not more than 0.
    """
    n = len(surface.points_mm)
    if thickness_mm.shape != (n,):
        raise SpecError("thickness_mm", f"one for each of {n} points", str(thickness_mm.shape))
    if not (thickness_mm > 0).all():
        raise SpecError("thickness_mm", "more than 0 mm", f"{thickness_mm.min():g} mm")
    twin = surface.points_mm + thickness_mm[:, None] * normals_at_points(surface)
    start, end = border_edges(surface.triangles).T
    rim = np.concatenate(
        [np.stack([start, end, end + n], axis=1), np.stack([start, end + n, start + n], axis=1)]
    )
    triangles = np.concatenate([surface.triangles[:, ::-1], surface.triangles + n, rim])
    return Mesh(np.concatenate([surface.points_mm, twin]), triangles.astype(np.int32))


def normals_at_points(surface: Mesh) -> Floats:
    """Return the unit normal at every point, its triangles weighted by area, shape (n, 3)."""
    sums = np.zeros_like(surface.points_mm)
    for axis in range(3):
        weights = np.repeat(surface.area_vectors_mm2[:, axis], 3)
        sums[:, axis] = np.bincount(surface.triangles.ravel(), weights, minlength=len(sums))
    length = np.linalg.norm(sums, axis=1, keepdims=True)
    normals: Floats = sums / np.where(length > 0, length, 1.0)
    return normals


def border_edges(triangles: Triangles) -> Triangles:
    """Return the edges that one triangle alone has, in its own direction, shape (k, 2)."""
    edges = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).astype(np.int64)
    span = int(edges.max()) + 1 if edges.size else 1
    there, back = edges @ [span, 1], edges @ [1, span]
    alone: Triangles = edges[~np.isin(there, back)].astype(np.int32)
    return alone
