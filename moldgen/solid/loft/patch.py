"""A region between loops, cut into triangles over the loops' own corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import triangulate
from numpy.typing import NDArray

from moldgen.solid.loft.contour import Loop
from moldgen.solid.loft.flips import LEAST_MM2, delaunay, twice_areas
from moldgen.solid.loft.ladder import rungs
from moldgen.solid.loft.rulings import parallel_rungs


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """A region between loops, cut into triangles that count its own corners from 0.

    Corners on the loops come first, with their ``numbers`` on the surface; ``extra_mm`` follow.
    """

    faces: NDArray[np.int64]
    points_mm: NDArray[np.float64]
    numbers: NDArray[np.int64]

    @property
    def extra_mm(self) -> NDArray[np.float64]:
        """Corners that lie on none of the loops, shape (k, 3). [mm]."""
        return self.points_mm[len(self.numbers) :]


def patch_between(piece: Sequence[Loop], cut_out: Sequence[Loop]) -> Patch:
    """Return the region within a piece, less some loops, cut into triangles over their corners."""
    rings = [loop.plan_mm for loop in piece] + [loop.plan_mm[::-1] for loop in cut_out]
    numbers = [loop.numbers for loop in piece] + [loop.numbers[::-1] for loop in cut_out]
    heights = [np.full(len(loop.plan_mm), loop.z_mm) for loop in (*piece, *cut_out)]
    faces = np.asarray(triangulate(rings), dtype=np.int64).reshape(-1, 3)
    plan = np.concatenate(rings)
    if twice_areas(faces, plan).min(initial=np.inf) < LEAST_MM2:
        faces = delaunay(faces, plan)
    points = np.column_stack([plan, np.concatenate(heights)])
    return Patch(faces, points, np.concatenate(numbers))


def ladder_between(
    piece: Sequence[Loop], within: Sequence[Loop], *, even: bool = True
) -> Patch | None:
    """Return the strip between loops that face each other one for one, else None.

    Loops that are everywhere equally far apart are joined where they are nearest, others where
    they run parallel.
    """
    join = rungs if even else parallel_rungs
    faces = join([loop.plan_mm for loop in piece], [loop.plan_mm for loop in within])
    if faces is None:
        return None
    loops = [*piece, *within]
    plan = np.concatenate([loop.plan_mm for loop in loops])
    heights = np.repeat([loop.z_mm for loop in loops], [len(loop.plan_mm) for loop in loops])
    numbers = np.concatenate([loop.numbers for loop in loops])
    return Patch(faces, np.column_stack([plan, heights]), numbers)
