"""A surface gathered contour by contour: corners, and triangles that share them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.solid.loft.band import BandLimits, band_patch
from moldgen.solid.loft.contour import Contour, Loop, Ring, clean_pieces, nested
from moldgen.solid.loft.ease import eased, steepest
from moldgen.solid.loft.patch import Patch, patch_between
from moldgen.solid.mesh import Mesh

Numbers = NDArray[np.int64]
Gathered = tuple[list[NDArray[np.float64]], list[Numbers]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steepest:
    """The steepest triangle of a wall.

    Attributes
    ----------
    slope : float
        Rise over run; infinite if the wall is upright, 0 if it has no triangles.
    where_mm : tuple of float
        Middle of the triangle. [mm]
    moved_mm : float
        How far the height of any corner was moved to make the wall less steep. [mm]
    """

    slope: float
    where_mm: tuple[float, float, float]
    moved_mm: float


NONE = Steepest(slope=0.0, where_mm=(0.0, 0.0, 0.0), moved_mm=0.0)
"""What is said of a wall without triangles."""


@dataclass(slots=True, eq=False)
class Surface:
    """Corners and triangles gathered while features are added one after another."""

    _points: list[NDArray[np.float64]] = field(default_factory=list)
    _triangles: list[Numbers] = field(default_factory=list)
    _undersides: set[int] = field(default_factory=set)
    n_points: int = 0

    def add_contour(self, region: MultiPolygon, z_mm: float) -> Contour:
        """Add the corners of a level line, all at one height."""
        pieces = tuple(
            tuple(self._add_loop(ring, z_mm) for ring in rings) for rings in clean_pieces(region)
        )
        return Contour(region, pieces)

    def add_copy(self, contour: Contour, z_mm: float) -> Contour:
        """Add the same corners again at another height: the far end of an upright wall."""
        pieces = tuple(
            tuple(self._add_loop(loop.plan_mm, z_mm) for loop in piece) for piece in contour.pieces
        )
        return Contour(contour.region, pieces)

    def fill_band(self, outside: Contour, inside: Contour, band: BandLimits) -> None:
        """Fill between two contours, the second within the first, facing up.

        Where a triangle would rise too steeply, corners are added on the creases of the wall
        between the two contours: first where edges run out, then all along the creases.
        """
        for piece, within in nested(outside, inside):
            self._add_patch(band_patch(piece, within, band))

    def fill_upright(self, start: Contour, end: Contour) -> None:
        """Join two copies of one contour by an upright wall."""
        for a, b in zip(start.loops, end.loops, strict=True):
            i, k = a.numbers, b.numbers
            j, m = np.roll(i, -1), np.roll(k, -1)
            self._triangles.append(np.vstack([np.c_[i, j, m], np.c_[i, m, k]]))

    def fill_flat(
        self, piece: Sequence[Loop], cut_out: Sequence[Loop] = (), *, facing_down: bool = False
    ) -> None:
        """Fill one piece, less the loops to be cut out of it."""
        self._add_patch(patch_between(piece, cut_out))
        if facing_down:
            self._triangles[-1] = self._triangles[-1][:, ::-1]
            self._undersides.add(len(self._triangles) - 1)

    def mark(self) -> tuple[int, int, int]:
        """Return how much is gathered so far, for `ease`."""
        return len(self._points), len(self._triangles), self.n_points

    def take_back(self, since: tuple[int, int, int]) -> Gathered:
        """Take out all that was added since a mark, and return it for `put_back`."""
        first_points, first_triangles, first = since
        taken = self._points[first_points:], self._triangles[first_triangles:]
        del self._points[first_points:], self._triangles[first_triangles:]
        self.n_points = first
        return taken

    def put_back(self, taken: Gathered) -> None:
        """Add again what was taken out last, the surface being as it was left then."""
        points, triangles = taken
        self._points += points
        self._triangles += triangles
        self.n_points += sum(len(each) for each in points)

    def ease(
        self, since: tuple[int, int, int], held: Iterable[Contour], *, limit: float
    ) -> Steepest:
        """Settle the heights of all corners added since a mark where triangles are too steep.

        Parameters
        ----------
        since : tuple of int
            What `mark` said before they were added.
        held : iterable of Contour
            Their corners stay: flats go on from them.
        limit : float
            Greatest rise over run.
        """
        first_points, first_triangles, first = since
        if len(self._triangles) == first_triangles:
            return NONE
        points = np.concatenate(self._points[first_points:])
        faces = np.concatenate(self._triangles[first_triangles:]) - first
        stay = np.zeros(len(points), np.bool_)
        for contour in held:
            for loop in contour.loops:
                stay[loop.numbers - first] = True
        settled = eased(faces, points, stay, limit)
        self._points[first_points:] = [settled]
        slope, worst = steepest(faces, settled)
        x, y, z = settled[faces[max(worst, 0)]].mean(axis=0)
        return Steepest(
            slope=slope,
            where_mm=(float(x), float(y), float(z)),
            moved_mm=float(np.abs(settled[:, 2] - points[:, 2]).max()),
        )

    def add_mesh(self, points_mm: NDArray[np.float64], triangles: Numbers) -> int:
        """Add corners and triangles that count them from 0; return the number of the first."""
        first = self.n_points
        self._add(points_mm)
        self._triangles.append(triangles + first)
        return first

    def gathered(self) -> tuple[NDArray[np.float64], Numbers]:
        """Return the corners and the triangles so far."""
        return np.concatenate(self._points), np.concatenate(self._triangles)

    def mesh(self) -> Mesh:
        """Return all that was gathered as one mesh."""
        points, triangles = self.gathered()
        if self._undersides:
            under = np.repeat(
                [k in self._undersides for k in range(len(self._triangles))],
                [len(each) for each in self._triangles],
            )
            points, triangles = _parted(points, triangles, under)
        return Mesh(points, triangles.astype(np.int32))

    def _add_patch(self, patch: Patch) -> None:
        numbers = np.concatenate([patch.numbers, self._add(patch.extra_mm)])
        self._triangles.append(numbers[patch.faces])

    def _add_loop(self, plan_mm: Ring, z_mm: float) -> Loop:
        numbers = self._add(np.column_stack([plan_mm, np.full(len(plan_mm), z_mm)]))
        return Loop(plan_mm, z_mm, int(numbers[0]))

    def _add(self, points_mm: NDArray[np.float64]) -> Numbers:
        first = self.n_points
        self._points.append(points_mm)
        self.n_points += len(points_mm)
        return np.arange(first, self.n_points)


def _parted(
    points_mm: NDArray[np.float64], triangles: Numbers, under: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], Numbers]:
    """Halve those edges of an underside that the wall around it uses too.

    A wall and an underside fill the same side of one contour and may both join two of its
    corners straight; that edge would belong to four triangles.
    """
    n = len(points_mm)
    below = triangles[under]
    on_it = np.zeros(n, np.bool_)
    on_it[below] = True
    wall = triangles[~under]
    shared = _inner_edges(below, n)
    shared = shared[np.isin(shared, _inner_edges(wall[on_it[wall].sum(axis=1) > 1], n))]
    if not len(shared):
        return points_mm, triangles
    ends = np.column_stack([shared // n, shared % n])
    for k, (a, b) in enumerate(ends):
        below = _halved(below, a, b, n + k)
    return np.concatenate([points_mm, points_mm[ends].mean(axis=1)]), np.concatenate([wall, below])


def _inner_edges(triangles: Numbers, n_points: int) -> Numbers:
    """Return the edges used twice, each as ``lower corner * n_points + higher corner``."""
    ends = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    keys, counts = np.unique(ends.min(axis=1) * n_points + ends.max(axis=1), return_counts=True)
    return np.asarray(keys[counts > 1])


def _halved(triangles: Numbers, a: int, b: int, middle: int) -> Numbers:
    """Cut the triangles on both sides of an edge in two by a corner in its middle."""
    on_edge = ((triangles == a) | (triangles == b)).sum(axis=1) == 2
    one, other = triangles[on_edge].copy(), triangles[on_edge].copy()
    one[one == a], other[other == b] = middle, middle
    return np.concatenate([triangles[~on_edge], one, other])
