"""The top of a solid as a picture of heights: what a sheet drawn from above can see."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Grid
from moldgen.errors import SpecError
from moldgen.solid.mesh import Mesh
from moldgen.solid.zbuffer import zbuffer

LEAST_CELL_MM = 0.05
"""Smallest cell worth looking at: a quarter of a printed layer. [mm]."""

CELLS_PER_BALL = 16
"""Cells of the relief along the radius of the rolling ball; finer ones find the same places."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Relief:
    """Greatest height over the middle of every cell of a grid seen from above.

    Attributes
    ----------
    origin_mm : tuple of two floats
        Outer corner of cell (0, 0), its least x and least y. [mm]
    cell_mm : float
        Side of a cell. [mm]
    heights_mm : ndarray, shape (ny, nx)
        Height over each cell's middle, row along y; nan where there is nothing. [mm]
    triangles : ndarray, shape (ny, nx)
        Triangle seen there; -1 where there is nothing.
    floor_mm : float
        Height of the table. [mm]
    """

    origin_mm: tuple[float, float]
    cell_mm: float
    heights_mm: Grid
    triangles: NDArray[np.int32]
    floor_mm: float = 0.0

    def __post_init__(self) -> None:
        self.heights_mm.setflags(write=False)
        self.triangles.setflags(write=False)

    @property
    def covered(self) -> NDArray[np.bool_]:
        """Cells that have something over them, shape (ny, nx)."""
        return np.asarray(self.triangles >= 0)

    @property
    def on_table_mm(self) -> Grid:
        """Heights with the table's own height where there is nothing, shape (ny, nx). [mm]."""
        return np.where(self.covered, self.heights_mm, self.floor_mm)

    @property
    def x_mm(self) -> Grid:
        """Middle of every column, shape (nx,). [mm]."""
        return np.asarray(
            self.origin_mm[0] + (np.arange(self.heights_mm.shape[1]) + 0.5) * self.cell_mm
        )

    @property
    def y_mm(self) -> Grid:
        """Middle of every row, shape (ny,). [mm]."""
        return np.asarray(
            self.origin_mm[1] + (np.arange(self.heights_mm.shape[0]) + 0.5) * self.cell_mm
        )

    def cells(self, places_mm: Grid) -> NDArray[np.int64]:
        """Return the (row, column) over which each place lies, shape (n, 2).

        Parameters
        ----------
        places_mm : ndarray, shape (n, 2) or (n, 3)
            Places; those outside the grid get the nearest cell on its border. [mm]
        """
        column_row = np.floor((places_mm[:, :2] - self.origin_mm) / self.cell_mm)
        ny, nx = self.heights_mm.shape
        row_column = np.clip(column_row[:, ::-1], 0, (ny - 1, nx - 1))
        return row_column.astype(np.int64)

    def places_mm(self, cells: NDArray[np.integer]) -> Grid:
        """Return the middle of each (row, column), shape (n, 2) as x and y. [mm]."""
        return np.asarray((cells[:, ::-1] + 0.5) * self.cell_mm + self.origin_mm)


def relief_of(
    mesh: Mesh, *, cell_mm: float, margin_mm: float = 0.0, floor_mm: float = 0.0
) -> Relief:
    """Look at a mesh from above and return the height over every cell of a grid.

    Parameters
    ----------
    mesh : Mesh
        Triangles of any kind; those that stand exactly upright are not seen. [mm]
    cell_mm : float
        Side of a cell. [mm]
    margin_mm : float
        Width of bare table kept around the mesh on every side. [mm]
    floor_mm : float
        Height of the table; what lies lower is taken up to it. [mm]

    Raises
    ------
    SpecError
        If the cell is not larger than 0 or the margin is negative.
    """
    if not cell_mm > 0:
        raise SpecError("cell_mm", "more than 0 mm", f"{cell_mm:g} mm")
    if not margin_mm >= 0:
        raise SpecError("margin_mm", "at least 0 mm", f"{margin_mm:g} mm")
    low, high = mesh.bounds_mm[:, :2]
    origin = low - margin_mm
    nx, ny = np.maximum(np.ceil((high + margin_mm - origin) / cell_mm - 1e-9).astype(int), 1)
    places = np.column_stack([(mesh.points_mm[:, :2] - origin) / cell_mm, mesh.points_mm[:, 2]])
    heights, triangles = zbuffer(places, int(ny), int(nx), mesh.triangles)
    return Relief(
        origin_mm=(float(origin[0]), float(origin[1])),
        cell_mm=cell_mm,
        heights_mm=np.where(triangles >= 0, np.maximum(heights, floor_mm), np.nan),
        triangles=triangles,
        floor_mm=floor_mm,
    )


def relief_for_ball(mesh: Mesh, ball_mm: float) -> Relief:
    """Look at a mesh from above as finely, and with as much table round it, as a ball needs.

    Parameters
    ----------
    mesh : Mesh
        Triangles that stand on the table. [mm]
    ball_mm : float
        Radius of the ball that will be rolled over it. [mm]
    """
    margin = 2 * ball_mm
    cell = max(ball_mm / CELLS_PER_BALL, cell_for(mesh, margin_mm=margin, n_cells=250_000))
    return relief_of(mesh, cell_mm=cell, margin_mm=margin)


def cell_for(mesh: Mesh, *, margin_mm: float = 0.0, n_cells: int = 400_000) -> float:
    """Return the smallest cell that keeps a relief within ``n_cells``, but `LEAST_CELL_MM`."""
    width, depth = np.ptp(mesh.bounds_mm[:, :2], axis=0) + 2 * margin_mm
    # Rounding up adds at most a row and a column: (width/c + 1)(depth/c + 1) = n_cells.
    both = width + depth
    root = np.sqrt(both**2 + 4 * width * depth * (n_cells - 1))
    return max(LEAST_CELL_MM, float((both + root) / (2 * (n_cells - 1))))
