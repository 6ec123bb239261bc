"""Turn: a solid as it lies on the printer's bed, and its places as they were before."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.solid.mesh import Mesh, Points

Direction = tuple[float, float, float]

UP: Direction = (0.0, 0.0, 1.0)


def turn_to(up: Direction) -> Floats:
    """Return the rotation that brings a direction upright, shape (3, 3).

    Raises
    ------
    SpecError
        If the direction has no length.
    """
    length = float(np.linalg.norm(up))
    if not (np.isfinite(length) and length > 0):
        raise SpecError("up", "a direction, such as 0, 0, 1", str(up))
    x, y, z = np.array(up) / length
    if z < -1 + 1e-12:  # straight down: turned over about x, as a person would
        return np.diag([1.0, -1.0, -1.0])
    # The shortest turn (Rodrigues): about the level axis square to the direction.
    level = np.array([[0.0, 0.0, -x], [0.0, 0.0, -y], [x, y, 0.0]])
    return np.asarray(np.eye(3) + level + level @ level / (1 + z))


def place_before(point: Floats, turn: Floats) -> Direction:
    """Return where a point of a turned solid was before the turn. [mm]."""
    x, y, z = (float(value) for value in np.asarray(point) @ turn)
    return x, y, z


def turned_mesh(mesh: Mesh, turn: Floats) -> Mesh:
    """Return a mesh turned by a rotation, shape (3, 3), and set down on z = 0."""
    points: Points = mesh.points_mm @ turn.T
    return Mesh(points - [0.0, 0.0, points[:, 2].min()], mesh.triangles.copy())
