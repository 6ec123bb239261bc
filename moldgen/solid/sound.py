"""The one door to the solid modeler: nothing passes it that is not closed."""

from __future__ import annotations

import numpy as np
from manifold3d import Error, Manifold, Mesh64

from moldgen.errors import GeometryError
from moldgen.solid.mesh import Mesh


def sound(solid: Manifold, *, doing: str) -> Manifold:
    """Return ``solid``; raise if the modeler failed or nothing is left.

    Raises
    ------
    GeometryError
        With what was being done and the modeler's own word for the failure.
    """
    status = solid.status()
    if status != Error.NoError:
        raise GeometryError(f"{doing.capitalize()} failed: {status.name}.")
    if solid.is_empty():
        raise GeometryError(f"{doing.capitalize()} left no solid.")
    return solid


def solid_from_mesh(mesh: Mesh, *, doing: str) -> Manifold:
    """Hand a closed mesh to the modeler, positions in double precision.

    Raises
    ------
    GeometryError
        If the mesh is not closed and oriented.
    """
    handed = Mesh64(
        vert_properties=np.array(mesh.points_mm, dtype=np.float64),
        tri_verts=np.array(mesh.triangles, dtype=np.uint64),
    )
    return sound(Manifold(handed), doing=doing)


def mesh_from_solid(solid: Manifold) -> Mesh:
    """Take the triangles back from the modeler, positions in double precision."""
    taken = solid.to_mesh64()
    points = np.array(taken.vert_properties[:, :3], dtype=np.float64)
    return Mesh(points, np.array(taken.tri_verts, dtype=np.int32))
