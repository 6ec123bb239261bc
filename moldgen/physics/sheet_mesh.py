"""The flat sheet inside its clamp as triangles, fine where it has to be.

Square cells are halved, and halved again, wherever a size field asks for it and so that neighbours
never differ by more than one halving. Every cell is cut into triangles from its middle; a corner of
a finer neighbour on its side is joined to the middle too. So all triangles away from the clamp
are halves of squares, with angles of 45° and 90°, and they meet corner to corner.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.errors import SpecError

Floats = NDArray[np.float64]
Triangles = NDArray[np.int32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
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

    @property
    def areas_mm2(self) -> Floats:
        """Area of every flat triangle, shape (m,). [mm²]."""
        a, b, c = (self.points_mm[self.triangles[:, i]] for i in range(3))
        u, v = b - a, c - a
        areas: Floats = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
        return areas


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sizes:
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
    sizes: Sizes | None = None,
    turn_deg: float = 0.0,
) -> SheetMesh:
    """Return the sheet inside any clamp, its edge held.

    Parameters
    ----------
    ring_mm : array_like, shape (k, 2)
        The clamp's inner edge, either way round, not repeated at its end. A rectangle along the
        axes is met exactly and so are the corners of any ring. [mm]
    size_mm : float
        Greatest length of the triangles' longer sides. [mm]
    sizes : Sizes, optional
        Where they are to be shorter.
    turn_deg : float, optional
        Angle by which the cells stand against the axes. [°]

    Raises
    ------
    SpecError
        If the ring has no area, or the size is not more than 0.
    """
    raise NotImplementedError


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
    raise NotImplementedError
