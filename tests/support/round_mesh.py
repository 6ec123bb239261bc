"""A disc of nearly equilateral triangles, the best mesh for a free disc."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.physics.membrane.sheet_mesh import SheetMesh, _ordered
from moldgen.quantity import Quantity


def _ring_triangles(k: int) -> NDArray[np.int64]:
    """Triangles between the rings of 6 (k - 1) and of 6 k points."""
    first_inner, first_outer = 1 + 3 * (k - 1) * (k - 2) if k > 1 else 0, 1 + 3 * k * (k - 1)
    n_inner, n_outer = max(1, 6 * (k - 1)), 6 * k
    side, step = np.divmod(np.arange(n_outer), k)
    outer = first_outer + np.arange(n_outer)
    following = first_outer + (np.arange(n_outer) + 1) % n_outer
    inner = first_inner + (side * (k - 1) + step) % n_inner
    before = first_inner + (side * (k - 1) + step - 1) % n_inner
    outward = np.column_stack([inner, outer, following])
    inward = np.column_stack([inner, before, outer])[step > 0]
    return np.concatenate([outward, inward])


def build_round_mesh(radius_mm: float, *, n_rings: int) -> SheetMesh:
    """Return a round sheet of rings of triangles around the origin, six more in every ring.

    The best mesh for a free disc: the same in six directions, nearly equilateral.

    Parameters
    ----------
    radius_mm : float
        Inner radius of the round clamp. [mm]
    n_rings : int
        Rings between middle and clamp; there are 6 n² triangles.

    Raises
    ------
    SpecError
        If the radius is not more than 0 or there is no ring.
    """
    Quantity("mm", "radius of the clamp", above=0).check("radius_mm", radius_mm)
    Quantity("", "number of rings", at_least=1).check("n_rings", n_rings)
    rings = [np.zeros((1, 2))]
    triangles = []
    for k in range(1, n_rings + 1):
        angles = 2 * np.pi * np.arange(6 * k) / (6 * k)
        rings.append(radius_mm * k / n_rings * np.column_stack([np.cos(angles), np.sin(angles)]))
        triangles.append(_ring_triangles(k))
    points = np.concatenate(rings)
    held = np.arange(len(points)) >= len(points) - 6 * n_rings
    return _ordered(points, np.concatenate(triangles).astype(np.int32), held)
