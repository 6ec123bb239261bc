"""The volume a sheet sweeps as it comes down, where no forming run tells it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from manifold3d import Manifold

from moldgen.solid.mesh import Mesh, joined
from moldgen.stock import FormingMachine


def swept_most_L(meshes: Sequence[Mesh], machine: FormingMachine) -> float:
    """Return the most that the sheet can sweep: all under a tent from the clamp over the mold. [L].

    The tent is the convex hull of the mold and of the clamp's opening on the table, middle over
    middle; a stretched sheet hangs lower.
    """
    mesh = joined(meshes)
    low, high = mesh.bounds_mm
    middle = (low + high)[:2] / 2
    half = np.array([machine.opening_width_mm, machine.opening_depth_mm]) / 2
    corners = middle + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    clamp = np.column_stack([corners, np.zeros(4)])
    tent = Manifold.hull_points(np.vstack([mesh.points_mm, clamp]))
    return max(0.0, float(tent.volume()) - sum(one.volume_mm3 for one in meshes)) * 1e-6
