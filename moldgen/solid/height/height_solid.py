"""A height field as a closed solid that stands on the table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees

import numpy as np
import shapely
from manifold3d import triangulate
from shapely import MultiPolygon

from moldgen.arrays import Grid, Indices
from moldgen.errors import GeometryError, SpecError
from moldgen.solid.chains import chains_of
from moldgen.solid.height.height_mesh import height_triangles
from moldgen.solid.mesh import Mesh
from moldgen.solid.polygons import polygons_of

CLOSE_MM = 0.004
"""A node nearer to the table than this is taken below it, which saves slivers. [mm]."""

STRIP_MM = 2.0
"""Width of the strip of small triangles along the foot, in the underside. [mm]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class HeightField:
    """Heights at the nodes of a square grid; the table is at 0, and what is below it is cut off.

    Attributes
    ----------
    origin_mm : tuple of two floats
        Place of node (0, 0). [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    heights_mm : ndarray, shape (ny, nx)
        Height of each node, row along y; ``-inf`` where nothing stands. [mm]
    """

    origin_mm: tuple[float, float]
    cell_mm: float
    heights_mm: Grid

    def __post_init__(self) -> None:
        self.heights_mm.setflags(write=False)

    @property
    def on_table_mm(self) -> Grid:
        """Heights, 0 where the table is, shape (ny, nx). [mm]."""
        return np.asarray(np.maximum(self.heights_mm, 0.0))

    @property
    def x_mm(self) -> Grid:
        """Place of every column, shape (nx,). [mm]."""
        return np.asarray(self.origin_mm[0] + np.arange(self.heights_mm.shape[1]) * self.cell_mm)

    @property
    def y_mm(self) -> Grid:
        """Place of every row, shape (ny,). [mm]."""
        return np.asarray(self.origin_mm[1] + np.arange(self.heights_mm.shape[0]) * self.cell_mm)

    def place_mm(self, node: tuple[int, int]) -> tuple[float, float, float]:
        """Return x, y and height of a node. [mm]."""
        row, column = node
        return (
            float(self.x_mm[column]),
            float(self.y_mm[row]),
            float(self.on_table_mm[row, column]),
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class HeightSolid:
    """A closed solid under a height field.

    Attributes
    ----------
    mesh : Mesh
        Its surface. [mm]
    foot : MultiPolygon
        Where it stands on the table. [mm]
    n_top : int
        The first so many triangles are its upper side, the others its flat underside.
    """

    mesh: Mesh
    foot: MultiPolygon
    n_top: int


def solid_from_heights(field: HeightField, *, deviation_mm: float, draft_deg: float) -> HeightSolid:
    """Return the solid between the table and a height field.

    Parameters
    ----------
    field : HeightField
        Finite heights, below 0 all along the border. [mm]
    deviation_mm : float
        Greatest distance of a node from the triangles, square to them. [mm]
    draft_deg : float
        Lean of the steepest wall, kept by large triangles too. [°]

    Raises
    ------
    SpecError
        If nothing rises above the table, or the border does.
    GeometryError
        If the surface does not close.
    """
    heights = np.where(np.abs(field.heights_mm) < CLOSE_MM, -CLOSE_MM, field.heights_mm)
    _check(heights)
    nodes = height_triangles(
        heights, cell_mm=field.cell_mm, deviation_mm=deviation_mm, draft_deg=draft_deg
    )
    used, faces = np.unique(nodes, return_inverse=True)
    row, column = np.divmod(used, heights.shape[1])
    points = np.column_stack([field.x_mm[column], field.y_mm[row], heights[row, column]])
    points, faces, starts, ends = _cut_off_below(points, faces.reshape(-1, 3))
    loops = _loops(starts, ends)
    foot = _region([points[loop, :2] for loop in loops])
    points, bottom = _bottom(points, loops, foot)
    whole = _without_unused(points, np.concatenate([faces, bottom]))
    return HeightSolid(mesh=whole, foot=foot, n_top=len(faces))


def least_lean_deg(solid: HeightSolid) -> tuple[float, int]:
    """Return the least lean of any triangle of the upper side, and its number. [°]."""
    vectors = solid.mesh.area_vectors_mm2[: solid.n_top]
    fall = np.hypot(vectors[:, 0], vectors[:, 1]) / np.maximum(vectors[:, 2], 1e-300)
    # A sliver's corners, written in single precision, prove nothing about its lean.
    fall = np.where(solid.mesh.areas_mm2[: solid.n_top] > 1e-6, fall, 0.0)
    worst = int(np.argmax(fall))
    return degrees(atan2(1.0, float(fall[worst]))), worst


def _check(heights: Grid) -> None:
    if not np.isfinite(heights).all():
        raise SpecError("heights_mm", "finite everywhere", "nan or inf")
    if not (heights > 0).any():
        raise SpecError("heights_mm", "above the table somewhere", "nowhere")
    border = (heights[0], heights[-1], heights[:, 0], heights[:, -1])
    if max(float(line.max()) for line in border) > 0:
        raise SpecError("heights_mm", "below the table all along the border", "above it")


def _cut_off_below(points: Grid, faces: Indices) -> tuple[Grid, Indices, Indices, Indices]:
    """Cut triangles at height 0; return points, triangles, and starts and ends of the cut.

    The cut runs with the solid on its left, seen from above.
    """
    above = points[faces, 2] > 0
    count = above.sum(axis=1)
    kept = faces[count == 3]
    # Turn every cut triangle so that its odd corner comes first.
    cut = (count == 1) | (count == 2)
    odd = np.argmax(above[cut] == (count[cut] == 1)[:, None], axis=1)
    turned = np.take_along_axis(faces[cut], (odd[:, None] + np.arange(3)) % 3, axis=1)
    a, b, c = turned.T
    pairs = np.sort(np.concatenate([np.stack([a, b], 1), np.stack([a, c], 1)]), axis=1)
    edges, number = np.unique(pairs, axis=0, return_inverse=True)
    low, high = points[edges[:, 0]], points[edges[:, 1]]
    share = (low[:, 2] / (low[:, 2] - high[:, 2]))[:, None]
    crossings = low + share * (high - low)
    crossings[:, 2] = 0.0
    ab, ac = (number.ravel() + len(points)).reshape(2, -1)
    peak = count[cut] == 1
    tips = np.stack([a, ab, ac], 1)[peak]
    quads = np.concatenate([np.stack([ab, b, c], 1)[~peak], np.stack([ab, c, ac], 1)[~peak]])
    starts = np.where(peak, ab, ac)
    ends = np.where(peak, ac, ab)
    return (
        np.concatenate([points, crossings]),
        np.concatenate([kept, tips, quads]),
        starts,
        ends,
    )


def _loops(starts: Indices, ends: Indices) -> list[Indices]:
    """Chain steps into closed loops, the one with the least start first."""
    order = np.argsort(starts, kind="stable")
    keys = starts[order]
    if len(keys) == 0 or (keys[1:] == keys[:-1]).any() or not np.array_equal(keys, np.sort(ends)):
        raise GeometryError("Closing the height field failed: its foot is not a closed line.")
    follow = np.searchsorted(keys, ends[order])
    return [keys[loop] for loop in chains_of(follow.tolist())]


def _bottom(points: Grid, loops: list[Indices], foot: MultiPolygon) -> tuple[Grid, Indices]:
    """Return the points with those of a flat underside, and its triangles, facing down.

    A strip along the foot meets every step of the walls; within it few large triangles do. Without
    the strip each of the walls' steps would send a needle across the whole underside, and cutting
    channels there would meet all of them.
    """
    within = shapely.simplify(shapely.buffer(foot, -STRIP_MM), STRIP_MM / 2)
    parts = [part for part in shapely.get_parts(within) if part.area > 0]
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    inner = [np.asarray(shapely.get_coordinates(ring))[-2::-1] for ring in rings]
    # Seen from the strip, an inner piece is a hole: it runs clockwise, and its own holes do not.
    inner = [
        ring if _turns_left(ring) is hole else ring[::-1]
        for ring, hole in zip(inner, _are_holes(parts), strict=True)
    ]
    starts = np.cumsum([len(points), *(len(ring) for ring in inner)])
    numbers = [np.arange(a, b) for a, b in pairwise(starts.tolist())]
    flat = np.concatenate([points[:, :2], *inner])
    every = np.column_stack([flat, np.zeros(len(flat))])
    every[: len(points)] = points
    strip = _between(flat, [*loops, *numbers])
    core = _between(flat, [ring[::-1] for ring in numbers])
    return every, np.concatenate([strip, core])[:, ::-1]


def _between(flat: Grid, loops: list[Indices]) -> Indices:
    """Return triangles between loops, numbered as their points are."""
    if not loops:
        return np.empty((0, 3), np.int64)
    faces = np.asarray(triangulate([flat[loop] for loop in loops]), np.int64).reshape(-1, 3)
    return np.asarray(np.concatenate(loops)[faces])


def _are_holes(parts: list[shapely.Polygon]) -> Iterator[bool]:
    for part in parts:
        yield False
        yield from (True for _ in part.interiors)


def _turns_left(ring: Grid) -> bool:
    x, y = ring.T
    return bool((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0)


def _without_unused(points: Grid, faces: Indices) -> Mesh:
    used, numbers = np.unique(faces, return_inverse=True)
    return Mesh(points[used], numbers.reshape(-1, 3).astype(np.int32))


def _region(rings: list[Grid]) -> MultiPolygon:
    area = shapely.build_area(
        shapely.GeometryCollection([shapely.linearrings(ring) for ring in rings])
    )
    return polygons_of(area)
