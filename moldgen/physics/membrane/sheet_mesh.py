"""The flat sheet inside its clamp as triangles, fine where it has to be.

Square cells are halved, and halved again, wherever a size field asks for it and so that neighbors
never differ by more than one halving. Every cell is cut into triangles from its middle; a corner of
a finer neighbor on its side is joined to the middle too. So all triangles away from the clamp
are halves of squares, with angles of 45° and 90°, and they meet corner to corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.quantity import Quantity

Triangles = NDArray[np.int32]
Mask = NDArray[np.bool_]
_SIZE = Quantity("mm", "length of a triangle's side", above=0)
_MOST_HALVINGS = 8


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetMesh:
    """Triangles of a flat sheet and which of its points the clamp holds.

    Attributes
    ----------
    points_mm : ndarray, shape (n, 2)
        Where the points lie on the flat, clamped sheet. [mm]
    triangles : ndarray, shape (m, 3)
        Indices into ``points_mm``, counter-clockwise seen from above.
    held : ndarray, shape (n,)
        Which points the clamp holds.
    """

    points_mm: Floats
    triangles: Triangles
    held: Mask

    def __post_init__(self) -> None:
        for array in (self.points_mm, self.triangles, self.held):
            array.setflags(write=False)

    @cached_property
    def areas_mm2(self) -> Floats:
        """Area of every flat triangle, shape (m,). [mm²]."""
        a, b, c = (self.points_mm[self.triangles[:, i]] for i in range(3))
        u, v = b - a, c - a
        areas: Floats = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
        areas.setflags(write=False)
        return areas


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideLengths:
    """Wanted length of the triangles' sides, on a raster.

    Attributes
    ----------
    wanted_mm : ndarray, shape (rows, columns)
        Wanted length at the middle of each cell; rows go up y, columns along x. [mm]
    corner_mm : tuple of float
        The raster's corner with the least x and y. [mm]
    cell_mm : float
        Side of the raster's cells. [mm]
    """

    wanted_mm: Floats
    corner_mm: tuple[float, float]
    cell_mm: float


def build_sheet_mesh(
    ring_mm: ArrayLike,
    *,
    size_mm: float,
    sizes: SideLengths | None = None,
    turn_deg: float = 0.0,
) -> SheetMesh:
    """Return the sheet inside any clamp, its edge held.

    Parameters
    ----------
    ring_mm : array_like, shape (k, 2)
        The clamp's inner edge, either way round, not repeated at its end. A rectangle along the
        axes is met exactly; from any other ring the edge strays by less than a triangle, at its
        corners. [mm]
    size_mm : float
        Greatest length of the triangles' longer sides. [mm]
    sizes : SideLengths, optional
        Where they are to be shorter.
    turn_deg : float, optional
        Angle by which the cells stand against the axes. [°]

    Raises
    ------
    SpecError
        If the ring has no area, or the size is not more than 0.
    """
    _SIZE.check("size_mm", size_mm)
    ring = _checked_ring(ring_mm)
    turn = np.deg2rad(turn_deg)
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    local = ring @ axes.T
    fits = _is_box(local)
    cells = _Cells.over(local, size_mm, fits=fits)
    halvings = _halvings(float(cells.side.max()), sizes)
    refined = _refined(cells, _wanted(cells, axes, sizes, halvings), halvings)
    points, triangles = _fans(cells, refined)
    if fits:
        low, high = local.min(axis=0), local.max(axis=0)
        slack = 1e-9 * (high - low)
        held = ((points < low + slack) | (points > high - slack)).any(axis=1)
    else:
        from moldgen.physics.membrane.ring_cut import cut_by_ring

        points, triangles, held = cut_by_ring(points, triangles, local)
    return _ordered(points @ axes, triangles, held)


def _checked_ring(ring_mm: ArrayLike) -> Floats:
    ring = np.asarray(ring_mm, dtype=np.float64)
    if ring.ndim != 2 or ring.shape[1] != 2 or len(ring) < 3 or not np.isfinite(ring).all():
        raise SpecError("ring_mm", "three or more finite points (x, y)", f"shape {ring.shape}")
    following = np.roll(ring, -1, axis=0)
    ring = ring[np.any(ring != following, axis=1)]
    following = np.roll(ring, -1, axis=0)
    area = 0.5 * float(np.sum(ring[:, 0] * following[:, 1] - ring[:, 1] * following[:, 0]))
    if not abs(area) > 1e-9:
        raise SpecError("ring_mm", "a ring around an area", f"{area:g} mm²", "Give its corners.")
    return ring if area > 0 else ring[::-1]


def _is_box(ring: Floats) -> bool:
    """Tell whether a ring is a rectangle along the axes."""
    extent = float(np.ptp(ring, axis=0).max())
    sides = np.roll(ring, -1, axis=0) - ring
    along = np.abs(sides).min(axis=1) <= 1e-12 * extent
    corners = np.isclose(ring, ring.min(axis=0), rtol=0, atol=1e-12 * extent)
    corners |= np.isclose(ring, ring.max(axis=0), rtol=0, atol=1e-12 * extent)
    return len(ring) == 4 and bool(along.all()) and bool(corners.all())


@dataclass(frozen=True, slots=True)
class _Cells:
    """The coarsest cells: where they begin, how large and how many."""

    corner: Floats
    side: Floats
    n: tuple[int, int]

    @classmethod
    def over(cls, ring: Floats, size_mm: float, *, fits: bool) -> _Cells:
        low, extent = ring.min(axis=0), np.ptp(ring, axis=0)
        if fits:
            columns, rows = np.maximum(1, np.ceil(extent / size_mm - 1e-9)).astype(int)
            return cls(low, extent / [columns, rows], (int(columns), int(rows)))
        columns, rows = np.ceil(extent / size_mm).astype(int) + 1
        corner = low + 0.5 * (extent - size_mm * np.array([columns, rows]))
        return cls(corner, np.array([size_mm, size_mm]), (int(columns), int(rows)))

    def middles(self, halvings: int) -> Floats:
        """Middles of all cells halved so often, shape (rows, columns, 2)."""
        columns, rows = self.n[0] << halvings, self.n[1] << halvings
        x = self.corner[0] + (np.arange(columns) + 0.5) * (self.side[0] / (1 << halvings))
        y = self.corner[1] + (np.arange(rows) + 0.5) * (self.side[1] / (1 << halvings))
        return np.stack(np.broadcast_arrays(x, y[:, None]), axis=2)


def _halvings(size_mm: float, sizes: SideLengths | None) -> int:
    if sizes is None:
        return 0
    finest = max(float(np.min(sizes.wanted_mm)), 1e-12)
    return int(np.clip(np.ceil(np.log2(size_mm / finest) - 1e-9), 0, _MOST_HALVINGS))


def _wanted(cells: _Cells, axes: Floats, sizes: SideLengths | None, halvings: int) -> Floats:
    """Wanted size in every cell of the finest kind, the least where the raster is finer."""
    middles = cells.middles(halvings)
    if sizes is None:
        return np.full(middles.shape[:2], np.inf)
    rows, columns = sizes.wanted_mm.shape
    corner = np.array(sizes.corner_mm)
    at = np.floor((middles @ axes - corner) / sizes.cell_mm).astype(np.int64)
    at = np.clip(at, 0, [columns - 1, rows - 1])
    wanted: Floats = sizes.wanted_mm[at[..., 1], at[..., 0]].astype(np.float64)
    x = corner[0] + (np.arange(columns) + 0.5) * sizes.cell_mm
    y = corner[1] + (np.arange(rows) + 0.5) * sizes.cell_mm
    places = np.stack(np.broadcast_arrays(x, y[:, None]), axis=2).reshape(-1, 2) @ axes.T
    into = np.floor((places - cells.corner) / (cells.side / (1 << halvings))).astype(np.int64)
    inside = ((into >= 0) & (into < [wanted.shape[1], wanted.shape[0]])).all(axis=1)
    np.minimum.at(wanted, (into[inside, 1], into[inside, 0]), sizes.wanted_mm.reshape(-1)[inside])
    return wanted


def _refined(cells: _Cells, wanted: Floats, halvings: int) -> list[Mask]:
    """Which cells of each kind, coarsest first, are cut in four; no neighbors two apart."""
    side = float(cells.side.max())
    refined: list[Mask] = []
    for kind in range(halvings - 1, -1, -1):
        wanted = _pooled(wanted, np.minimum)
        refined.insert(0, wanted < side / (1 << kind) * (1 - 1e-9))
    for kind in range(len(refined) - 1, 0, -1):
        refined[kind - 1] |= _pooled(_grown(refined[kind]), np.logical_or)
    return refined


def _pooled(cells: NDArray[Any], join: np.ufunc) -> NDArray[Any]:
    rows = join(cells[0::2], cells[1::2])
    pooled: NDArray[Any] = join(rows[:, 0::2], rows[:, 1::2])
    return pooled


def _grown(mask: Mask) -> Mask:
    """Return the cells of a mask and their eight neighbors."""
    tall = mask.copy()
    tall[1:] |= mask[:-1]
    tall[:-1] |= mask[1:]
    grown = tall.copy()
    grown[:, 1:] |= tall[:, :-1]
    grown[:, :-1] |= tall[:, 1:]
    return grown


def _fans(cells: _Cells, refined: list[Mask]) -> tuple[Floats, NDArray[np.int64]]:
    """Points and triangles of all cells that are not cut further, each a fan from its middle."""
    finest = len(refined) + 1  # one more halving: middles lie on it
    there = np.ones((cells.n[1], cells.n[0]), dtype=bool)
    wide = (cells.n[0] << finest) + 1
    fans = []
    for kind in range(len(refined) + 1):
        cut = refined[kind] if kind < len(refined) else np.zeros_like(there)
        fans.append(_fan_keys(there & ~cut, cut, 1 << (finest - kind), wide))
        there = np.repeat(np.repeat(cut, 2, axis=0), 2, axis=1)
    keys, triangles = np.unique(np.concatenate(fans), return_inverse=True)
    at = np.column_stack([keys % wide, keys // wide])
    return cells.corner + at * (cells.side / (1 << finest)), triangles.reshape(-1, 3)


def _fan_keys(leaves: Mask, cut: Mask, width: int, wide: int) -> NDArray[np.int64]:
    """Triangles of the leaves of one kind, corners as places on the finest raster."""
    rows, columns = np.nonzero(leaves)
    x, y, half = columns * width, rows * width, width // 2
    padded = np.pad(cut, 1)
    middle = (x + half, y + half)
    corners = [(x, y), (x + width, y), (x + width, y + width), (x, y + width)]
    beyond = [(0, 1), (1, 2), (2, 1), (1, 0)]  # row and column, in the padded mask, of each side
    triangles = []
    for side, (down, right) in enumerate(beyond):
        a, b = corners[side], corners[(side + 1) % 4]
        finer = padded[rows + down, columns + right]
        between = ((a[0] + b[0]) // 2, (a[1] + b[1]) // 2)
        for p, q, which in ((a, b, ~finer), (a, between, finer), (between, b, finer)):
            places = [px[which] + wide * py[which] for px, py in (middle, p, q)]
            triangles.append(np.column_stack(places))
    return np.concatenate(triangles)


def _ordered(points: Floats, triangles: NDArray[np.integer], held: Mask) -> SheetMesh:
    """Return the mesh with its points in rows and its triangles in the order of their points."""
    rows = np.lexsort((points[:, 0], np.round(points[:, 1], 9)))
    place = np.empty(len(rows), dtype=np.int64)
    place[rows] = np.arange(len(rows))
    renamed = place[triangles]
    order = np.lexsort(np.sort(renamed, axis=1).T[::-1])
    return SheetMesh(
        points_mm=np.ascontiguousarray(points[rows]),
        triangles=np.ascontiguousarray(renamed[order].astype(np.int32)),
        held=np.ascontiguousarray(held[rows]),
    )
