r"""Line heating: a strip over a hot line, through its thickness and sideways out of the line.

The strip is cut into columns, from the middle of the line outward, and each column into cells.
Both halves are alike, so one is followed. What a face meets differs from column to column: above a
rod it takes up most right over it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from moldgen.compiling import njit
from moldgen.physics.heat.heating import Array, Matter
from moldgen.physics.heat.radiation import STEFAN_W_m2K4, ZERO_degC
from moldgen.quantity import Quantity

_MOST_FOURIER = 0.3
"""Longest step: this share of the time in which heat crosses a cell. 0.33 is stable: a cell at a
face gives to its neighbor and, over half its width, to the face."""
_COLDEST_degC, _HOTTEST_degC = -80, 1000
"""Specific heat is told from the one to the other, degree by degree."""
_SOFTENS_OVER_K = 20.0
_MELTS_OVER_K = 40.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineFace:
    """What a face of the strip meets, column by column, each an array of shape (columns,).

    Attributes
    ----------
    air_degC : ndarray
        Air, or a body in contact. [°C]
    film_W_m2K : ndarray
        Its film coefficient. [W/(m²·K)]
    source_degC : ndarray
        What radiates at it. [°C]
    share : ndarray
        Emissivity times view factor. [-]
    """

    air_degC: Array
    film_W_m2K: Array
    source_degC: Array
    share: Array

    @property
    def table(self) -> Array:
        """All four, shape (4, columns)."""
        return np.stack([self.air_degC, self.film_W_m2K, self.source_degC, self.share])


@dataclass(frozen=True, slots=True, kw_only=True)
class LineGrid:
    """The cells of half a strip; the first column has its middle on the line.

    Attributes
    ----------
    thickness_m, half_width_m : float
        Thickness of the strip, and how far from the line it is followed. [m]
    n_cells, n_columns : int
        Cells through the thickness, and columns.
    """

    thickness_m: float
    half_width_m: float
    n_cells: int
    n_columns: int

    @property
    def cell_m(self) -> float:
        """Thickness of a cell. [m]."""
        return self.thickness_m / self.n_cells

    @property
    def column_m(self) -> float:
        """Width of a column. [m]."""
        return self.half_width_m / (self.n_columns - 1)

    @property
    def places_m(self) -> Array:
        """Middles of the columns, from the line. [m]."""
        places: Array = np.arange(self.n_columns, dtype=np.float64) * self.column_m
        return places


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineHeat:
    """A strip after a time over a line.

    Attributes
    ----------
    cells_degC : ndarray, shape (columns, cells)
        Front to back. [°C]
    faces_degC : pair of float
        Front and back on the line at the end. [°C]
    hottest_front_degC, hottest_back_degC : float
        The hottest that each face was on the line. [°C]
    """

    cells_degC: Array
    faces_degC: tuple[float, float]
    hottest_front_degC: float
    hottest_back_degC: float


def heat_line(
    grid: LineGrid,
    matter: Matter,
    start_degC: Array,
    *,
    front: LineFace,
    back: LineFace,
    duration_s: float,
) -> LineHeat:
    r"""Follow half a strip over a hot line for a time.

    Parameters
    ----------
    grid : LineGrid
        Its cells.
    matter : Matter
        What it is made of.
    start_degC : ndarray, shape (columns, cells)
        Where it starts; turned over, ``cells_degC[:, ::-1]`` of the time before. [°C]
    front, back : LineFace
        What its faces meet.
    duration_s : float
        How long. [s]

    Notes
    -----
    Finite volumes and explicit steps of

    .. math:: \rho c(T) \dot T = k (T_{xx} + T_{zz})

    with no flow across the line, by symmetry, nor at the far end. Held against a series for a flux
    that waves along the strip, and against enthalpy on a finer net.
    """
    Quantity("s", "duration", above=0).check("duration_s", duration_s)
    crossing_s = matter.density_kg_m3 * matter.heat_J_kgK / matter.conductivity_W_mK
    longest_s = _MOST_FOURIER * crossing_s / (grid.cell_m**-2 + grid.column_m**-2)
    n_steps = ceil(duration_s / longest_s)
    cells = np.array(start_degC, dtype=np.float64)
    faces = np.stack([front.table, back.table])
    front_degC, back_degC, *peaks_degC = follow_line(
        cells,
        faces,
        (grid.cell_m, grid.column_m),
        (matter.conductivity_W_mK, matter.density_kg_m3 * _heats_J_kgK(matter)),
        (duration_s / n_steps, n_steps),
    )
    return LineHeat(
        cells_degC=cells,
        faces_degC=(front_degC, back_degC),
        hottest_front_degC=peaks_degC[0],
        hottest_back_degC=peaks_degC[1],
    )


def _heats_J_kgK(matter: Matter) -> Array:
    """Return the specific heat over each degree, what melts there included. [J/(kg·K)]."""
    degrees = np.arange(_COLDEST_degC, _HOTTEST_degC + 1, dtype=np.float64)
    heats: Array = np.diff(matter.enthalpy(degrees))
    return heats


@njit(cache=True, nogil=True)
def follow_line(
    cells: Array,
    faces: Array,
    sizes_m: tuple[float, float],
    matter: tuple[float, Array],
    steps: tuple[float, int],
) -> tuple[float, float, float, float]:
    """Step the cells in place; return both faces at the end and at their hottest, on the line."""
    n_columns, n_cells = cells.shape
    cell_m, column_m = sizes_m
    k, heats = matter
    step_s, n_steps = steps
    half = 2.0 * k / cell_m
    through, along = k / cell_m**2, k / column_m**2
    skins = np.empty((2, n_columns))
    skins[0], skins[1] = cells[:, 0], cells[:, -1]
    grown = np.empty_like(cells)
    hottest_front, hottest_back = skins[0, 0], skins[1, 0]
    for _ in range(n_steps):
        for i in range(n_columns):
            left = cells[i - 1] if i > 0 else cells[1]
            right = cells[i + 1] if i < n_columns - 1 else cells[i - 1]
            for j in range(n_cells):
                here = cells[i, j]
                flow = along * (left[j] + right[j] - 2.0 * here)
                if j > 0:
                    flow += through * (cells[i, j - 1] - here)
                if j < n_cells - 1:
                    flow += through * (cells[i, j + 1] - here)
                grown[i, j] = flow
            for face in range(2):
                j = 0 if face == 0 else n_cells - 1
                skin = skins[face, i]
                film, share = faces[face, 1, i], faces[face, 3, i]
                total, driven = film, film * faces[face, 0, i]
                if share > 0.0:
                    source = faces[face, 2, i]
                    S, T = source - ZERO_degC, skin - ZERO_degC
                    radiant = share * STEFAN_W_m2K4 * (S * S + T * T) * (S + T)
                    total += radiant
                    driven += radiant * source
                skin = (driven + half * cells[i, j]) / (total + half)
                skins[face, i] = skin
                grown[i, j] += half * (skin - cells[i, j]) / cell_m
        for i in range(n_columns):
            for j in range(n_cells):
                here = cells[i, j]
                degree = min(max(int(here - _COLDEST_degC), 0), len(heats) - 1)
                cells[i, j] = here + step_s * grown[i, j] / heats[degree]
        hottest_front = max(hottest_front, skins[0, 0])
        hottest_back = max(hottest_back, skins[1, 0])
    return skins[0, 0], skins[1, 0], hottest_front, hottest_back
