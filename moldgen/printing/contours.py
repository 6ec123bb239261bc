"""Contours: the outlines of a solid cut level, as numbers: lengths, areas, turning, places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Flags, Floats, Indices
from moldgen.errors import GeometryError
from moldgen.solid.mesh import Mesh

LEAST_MM2 = 0.02
"""A smaller outline is a crumb of rounding. [mm²]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contours:
    """The closed outlines of one level cut, each a number in every array.

    Attributes
    ----------
    area_mm2 : ndarray, shape (n,)
        Positive of an island, negative of a hole. [mm²]
    length_mm : ndarray, shape (n,)
        Once round. [mm]
    turn_rad : ndarray, shape (n,)
        All turns at corners, left or right; 2π of a convex outline. [rad]
    middle_mm : ndarray, shape (n, 2)
        Mean of its corners. [mm]
    span_mm2 : float
        Rectangle round all of them. [mm²]
    """

    area_mm2: Floats
    length_mm: Floats
    turn_rad: Floats
    middle_mm: Floats
    span_mm2: float

    @property
    def sign(self) -> Floats:
        """1 of an island, -1 of a hole."""
        return np.sign(self.area_mm2)

    @property
    def island(self) -> Flags:
        """Whether it is an island."""
        return self.area_mm2 > 0

    @property
    def all_mm2(self) -> float:
        """Area of the islands less the holes. [mm²]."""
        return float(self.area_mm2.sum())

    def of(self, chosen: Flags) -> Contours:
        """Return some of them."""
        return Contours(
            area_mm2=self.area_mm2[chosen],
            length_mm=self.length_mm[chosen],
            turn_rad=self.turn_rad[chosen],
            middle_mm=self.middle_mm[chosen],
            span_mm2=self.span_mm2,
        )


def corner_heights_mm(mesh: Mesh) -> tuple[Floats, ...]:
    """Return the heights of each triangle's three corners, corner by corner. [mm]."""
    # Column by column: along rows of three it takes several times as long.
    height = np.ascontiguousarray(mesh.points_mm[:, 2])
    return tuple(height[mesh.triangles[:, corner]] for corner in range(3))


class LevelCutter:
    """Cuts one closed mesh at many levels.

    Parameters
    ----------
    mesh : Mesh
        Closed, outside out, equal corners joined. [mm]
    """

    def __init__(self, mesh: Mesh) -> None:
        self.mesh = mesh
        a, b, c = corner_heights_mm(mesh)
        self.low_mm: Floats = np.minimum(np.minimum(a, b), c)
        self.high_mm: Floats = np.maximum(np.maximum(a, b), c)

    def at(self, z_mm: float) -> Contours:
        """Return the outlines of the cut at a height; a point at the height lies below it.

        Raises
        ------
        GeometryError
            If an outline does not close.
        """
        cut = np.flatnonzero((self.low_mm <= z_mm) & (self.high_mm > z_mm))
        triangles = self.mesh.triangles[cut].astype(np.int64)
        starts, ends = _crossed_edges(triangles, self.mesh.points_mm[:, 2] > z_mm)
        following = _following(starts, ends, len(self.mesh.points_mm))
        start_mm = _crossing(self.mesh.points_mm, starts, z_mm)
        return _measured(start_mm, start_mm[following], following)


def _crossed_edges(triangles: Indices, above: Flags) -> tuple[Indices, Indices]:
    """Return the edges where a cut enters and leaves each triangle, solid on the left.

    Each as corners, the one below first: shape (n, 2).
    """
    a, b, c = (above[triangles[:, corner]] for corner in range(3))
    one_up = a.astype(np.int8) + b + c == 1
    alone = np.where(a == one_up, 0, np.where(b == one_up, 1, 2))
    rows = np.arange(len(triangles))
    apex, second, third = (triangles[rows, (alone + step) % 3] for step in range(3))
    first, last = np.where(one_up, second, third), np.where(one_up, third, second)
    return (
        np.column_stack((np.where(one_up, first, apex), np.where(one_up, apex, first))),
        np.column_stack((np.where(one_up, last, apex), np.where(one_up, apex, last))),
    )


def _following(starts: Indices, ends: Indices, n_points: int) -> Indices:
    """Return for each piece of outline the one that begins where it ends."""
    start_keys, end_keys = (edge[:, 0] * n_points + edge[:, 1] for edge in (starts, ends))
    order = np.argsort(start_keys)
    place = np.searchsorted(start_keys[order], end_keys)
    following: Indices = order[np.minimum(place, len(order) - 1)] if len(order) else order
    if not np.array_equal(start_keys[following], end_keys):
        raise GeometryError("the part is not a closed solid: a level cut through it does not close")
    return following


def _crossing(points_mm: Floats, edges: Indices, z_mm: float) -> Floats:
    """Return where edges pass a height, shape (n, 2). [mm]."""
    low, high = points_mm[edges[:, 0]], points_mm[edges[:, 1]]
    share = (z_mm - low[:, 2]) / (high[:, 2] - low[:, 2])
    return low[:, :2] + share[:, None] * (high[:, :2] - low[:, :2])


def _measured(start_mm: Floats, end_mm: Floats, following: Indices) -> Contours:
    """Return the outlines of pieces that follow each other."""
    number = _numbered(following)
    step = end_mm - start_mm
    ahead = step[following]
    turn = np.abs(np.arctan2(_cross(step, ahead), _dot(step, ahead)))
    count = np.bincount(number)
    middle = [_totals(number, start_mm[:, axis]) / count for axis in range(2)]
    found = Contours(
        area_mm2=_totals(number, 0.5 * _cross(start_mm, end_mm)),
        length_mm=_totals(number, np.hypot(step[:, 0], step[:, 1])),
        turn_rad=_totals(number, turn),
        middle_mm=np.column_stack(middle),
        span_mm2=float(np.ptp(start_mm[:, 0]) * np.ptp(start_mm[:, 1])) if len(start_mm) else 0.0,
    )
    return found.of(np.abs(found.area_mm2) > LEAST_MM2)


def _numbered(following: Indices) -> Indices:
    """Return the number of the ring each piece belongs to, by jumps of doubled length."""
    least, jump = np.arange(len(following)), following
    for _ in range(len(following).bit_length()):
        least, jump = np.minimum(least, least[jump]), jump[jump]
    return (np.cumsum(least == np.arange(len(least))) - 1)[least]


def _totals(number: Indices, values: Floats) -> Floats:
    """Return the sum of the values of each ring."""
    return np.bincount(number, values).astype(np.float64, copy=False)


def _cross(a: Floats, b: Floats) -> Floats:
    product: Floats = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return product


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1]
    return product
