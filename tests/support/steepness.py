"""How steep the triangles of a height field are."""

from __future__ import annotations

import numpy as np

from moldgen.solid.loft.flips import Faces, Plan


def steepness(faces: Faces, plan_mm: Plan, heights_mm: Plan) -> Plan:
    """Return rise over run of every triangle, shape (m,); infinite for a triangle without area."""
    corners = plan_mm[faces]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    rise_u = heights_mm[faces[:, 1]] - heights_mm[faces[:, 0]]
    rise_v = heights_mm[faces[:, 2]] - heights_mm[faces[:, 0]]
    twice_area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    across = np.hypot(rise_u * v[:, 0] - rise_v * u[:, 0], rise_u * v[:, 1] - rise_v * u[:, 1])
    return np.where(across > 0, across / np.maximum(twice_area, 1e-300), 0.0)
