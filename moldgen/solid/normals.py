"""How far triangles lean back from upright."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.solid.mesh import Mesh


def leans_deg(mesh: Mesh) -> NDArray[np.float64]:
    """Return the lean of each triangle back from upright, shape (m,); 0 for one without area.

    90 for a top, below 0 for what looks down. [°].
    """
    areas = mesh.areas_mm2
    share = np.divide(mesh.area_vectors_mm2[:, 2], areas, out=np.zeros(len(areas)), where=areas > 0)
    return np.asarray(np.degrees(np.arcsin(np.clip(share, -1, 1))))
