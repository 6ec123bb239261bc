"""The top of a mesh as heights at nodes, its edges read more finely than the nodes lie."""

from __future__ import annotations

from math import radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Grid
from moldgen.compiling import njit
from moldgen.errors import SpecError
from moldgen.solid.height.height_solid import HeightField
from moldgen.solid.height.relief import Relief, relief_of
from moldgen.solid.mesh import Mesh

MOST_CELLS = 12_000_000
"""Nodes a field may have: about 1 GB while it is worked on."""

_STEPS_PER_CELL = 4
_MOST_STEPS = 20_000_000
_REACH_CELLS = 2.5
"""How far from an edge its own cone is written into the nodes, so that it goes on from there."""


def field_of_mesh(
    mesh: Mesh, *, cell_mm: float, margin_mm: float, draft_deg: float, sunk: bool = False
) -> HeightField:
    """Look at a mesh from above and return its height over every node, ``-inf`` beside it.

    Where a surface ends or falls more steeply than the draft, the edge itself is read: the nodes
    around it get the height of the drafted wall that starts at the edge, so that walls do not jump
    from node to node. Where a surface reaches the table it is carried on below it for one node.

    Parameters
    ----------
    mesh : Mesh
        Stands on the table, z = 0; need not be closed. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    margin_mm : float
        Bare table kept around it. [mm]
    draft_deg : float
        Lean of the walls to be made. [°]
    sunk : bool
        Whether the walls of recesses are to be cut back, rather than built up.

    Raises
    ------
    SpecError
        If the cell makes more than `MOST_CELLS` nodes.
    """
    refuse_too_many(mesh.bounds_mm[:, :2], cell_mm=cell_mm, margin_mm=margin_mm)
    relief = relief_of(mesh, cell_mm=cell_mm, margin_mm=margin_mm)
    heights = np.where(relief.covered, relief.heights_mm, -np.inf)
    _carry_on_below(mesh, relief, heights)
    fall = cell_mm / tan(radians(draft_deg))
    places = _edge_places(mesh, draft_deg, cell_mm / _STEPS_PER_CELL)
    origin = (relief.origin_mm[0] + cell_mm / 2, relief.origin_mm[1] + cell_mm / 2)
    places[:, :2] = (places[:, :2] - origin) / cell_mm
    bare = ~relief.covered
    if sunk:
        _write_cones(places, heights, relief.covered, fall, True)
    # In a recess the upper edge of a wall must not fill what its lower edge has cut back.
    _write_cones(places, heights, bare if sunk else np.ones_like(bare), fall, False)
    return HeightField(origin_mm=origin, cell_mm=cell_mm, heights_mm=heights)


def refuse_too_many(bounds_mm: Grid, *, cell_mm: float, margin_mm: float) -> None:
    """Raise `SpecError` if cells of this size would be too many for a plan of these bounds."""
    width, depth = np.ptp(bounds_mm, axis=0) + 2 * margin_mm
    if not cell_mm > 0:
        raise SpecError("cell_mm", "more than 0 mm", f"{cell_mm:g} mm")
    if width * depth / cell_mm**2 > MOST_CELLS:
        least = float(np.sqrt(width * depth / MOST_CELLS))
        raise SpecError(
            "cell_mm",
            f"at least {np.ceil(least * 100) / 100:.2f} mm for {width:.0f} x {depth:.0f} mm",
            f"{cell_mm:g} mm",
            "Use a larger cell, or check the unit of the file.",
        )


def _edge_places(mesh: Mesh, draft_deg: float, step_mm: float) -> Grid:
    """Return places along every edge where surface leaning enough ends or grows too steep."""
    vectors, areas = mesh.area_vectors_mm2, mesh.areas_mm2
    gentle = vectors[:, 2] >= (sin(radians(draft_deg)) - 1e-6) * areas
    faces = _at_ends(mesh.triangles[gentle & (areas > 0)], len(mesh.points_mm)).astype(np.int64)
    sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    keys, count = np.unique(sides[:, 0] * len(mesh.points_mm) + sides[:, 1], return_counts=True)
    low, high = np.divmod(keys[count == 1], len(mesh.points_mm))
    a, b = mesh.points_mm[low], mesh.points_mm[high]
    long = np.hypot(*(b - a)[:, :2].T) if len(a) else np.zeros(0)
    step_mm = max(step_mm, float(long.sum()) / _MOST_STEPS)
    n = np.ceil(long / step_mm).astype(np.int64) + 1
    edge = np.repeat(np.arange(len(n)), n)
    first = np.repeat(np.cumsum(n) - n, n)
    share = (np.arange(len(edge)) - first) / np.maximum(n[edge] - 1, 1)
    return np.asarray(a[edge] + share[:, None] * (b - a)[edge])


def _at_ends(faces: NDArray[np.int32], n_points: int) -> NDArray[np.int32]:
    """Return the triangles that can have a side of their own: all that is not inside a surface.

    Round a point inside, the side opposite it of every triangle leads to the next one, so any
    numbers given to the points cancel out when each side counts its end less its start.
    """
    # Spread widely, so that sides that do not lead to one another do not cancel by chance.
    number = (np.arange(n_points) * 2654435761 % 2**31).astype(np.float64)
    left = np.zeros(n_points)
    for k in range(3):
        rise = number[faces[:, (k + 2) % 3]] - number[faces[:, (k + 1) % 3]]
        left += np.bincount(faces[:, k], weights=rise, minlength=n_points)
    at_end = left != 0
    return np.asarray(faces[at_end[faces].sum(axis=1) >= 2])


def _carry_on_below(mesh: Mesh, relief: Relief, heights: Grid) -> None:
    """Write, one node outside the foot, how far the surface would have gone on below the table."""
    ny, nx = heights.shape
    bare = np.argwhere(~relief.covered)
    x, y = relief.x_mm, relief.y_mm
    for di, dj in ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1)):
        i, j = bare[:, 0] + di, bare[:, 1] + dj
        inside = (i >= 0) & (i < ny) & (j >= 0) & (j < nx)
        own, i, j = bare[inside], i[inside], j[inside]
        beside = relief.covered[i, j]
        own, i, j = own[beside], i[beside], j[beside]
        triangle = relief.triangles[i, j]
        normal = mesh.area_vectors_mm2[triangle]
        steep = np.maximum(normal[:, 2], 1e-12)
        run = np.column_stack([x[own[:, 1]] - x[j], y[own[:, 0]] - y[i]])
        carried = relief.heights_mm[i, j] - (normal[:, :2] * run).sum(axis=1) / steep
        below = (carried <= 0) & (normal[:, 2] > 0.02 * np.linalg.norm(normal, axis=1))
        np.maximum.at(heights, (own[below, 0], own[below, 1]), carried[below])


@njit(cache=True, nogil=True)
def _write_cones(
    places: Grid, heights: Grid, open_to: NDArray[np.bool_], fall: float, down: bool
) -> None:
    """Raise the open nodes around every place to the cone it is the top of, or lower them."""
    n_rows, n_columns = heights.shape
    for k in range(places.shape[0]):
        x, y, z = places[k]
        if down and not _in_sight(heights, x, y, z):
            continue
        for i in range(
            max(0, int(np.ceil(y - _REACH_CELLS))), min(n_rows, int(y + _REACH_CELLS) + 1)
        ):
            for j in range(
                max(0, int(np.ceil(x - _REACH_CELLS))), min(n_columns, int(x + _REACH_CELLS) + 1)
            ):
                if not open_to[i, j]:
                    continue
                away = fall * np.sqrt((i - y) ** 2 + (j - x) ** 2)
                if down:
                    if z + away < heights[i, j]:
                        heights[i, j] = z + away
                elif z - away > heights[i, j]:
                    heights[i, j] = z - away


@njit(cache=True, nogil=True)
def _in_sight(heights: Grid, x: float, y: float, z: float) -> bool:
    """Tell whether a place is not below everything around it, and is surrounded."""
    i, j = int(np.floor(y)), int(np.floor(x))
    if not (0 <= i < heights.shape[0] - 1 and 0 <= j < heights.shape[1] - 1):
        return False
    around = heights[i : i + 2, j : j + 2]
    return bool(around.min() > -np.inf and z >= around.min() - 0.1)
