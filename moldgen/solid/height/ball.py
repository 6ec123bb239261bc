"""A ball rolled over a height field: where it does not reach, the sheet arrives last."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.compiling import njit
from moldgen.errors import SpecError
from moldgen.solid.zbuffer import in_bands

# Below this many cells one thread is done before a second has started.
_WORTH_THREADS = 20_000


def gap_under_ball(
    heights_mm: NDArray[np.float64], *, ball_mm: float, cell_mm: float
) -> NDArray[np.float64]:
    """Return how far a ball rolled over the field stays above it.

    The sheet bridges what the ball bridges: the gap is the closing of the field by the ball less
    the field, a gray-scale closing by a non-flat structuring element.

    Parameters
    ----------
    heights_mm : ndarray, shape (ny, nx)
        Finite heights; beyond the border the field goes on level. [mm]
    ball_mm : float
        Radius of the ball. [mm]
    cell_mm : float
        Distance of neighboring cells. [mm]

    Returns
    -------
    ndarray, shape (ny, nx)
        Zero or more. [mm]

    Raises
    ------
    SpecError
        If the ball or the cell is not larger than 0, or a height is not finite.

    References
    ----------
    .. [1] S. R. Sternberg, "Grayscale morphology," Computer Vision, Graphics, and Image
       Processing 35, 1986: the rolling ball.
    """
    _check(heights_mm, ball_mm, cell_mm)
    reach = int(ball_mm / cell_mm * (1 + 1e-12))
    rows, columns = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    square = ball_mm**2 - (rows**2 + columns**2) * cell_mm**2
    # A ball that only grazes a cell sideways is not lifted by it, however tall it stands.
    inside = square > 1e-9 * ball_mm**2
    offsets = np.column_stack([rows[inside], columns[inside]]).astype(np.int64)
    rise = np.sqrt(square[inside])
    nearest = np.argsort(-rise, kind="stable")
    offsets, rise = offsets[nearest], rise[nearest]
    padded = np.pad(np.asarray(heights_mm, dtype=np.float64), 2 * reach, mode="edge")
    raised = _centers(padded, offsets, rise, reach, ball_mm)
    lowered = -_centers(-raised, offsets, rise, reach, ball_mm)
    inner = lowered[2 * reach : -2 * reach or None, 2 * reach : -2 * reach or None]
    # Adding and taking away the ball leaves rounding errors where it touches.
    return np.where(inner - heights_mm > 1e-9, inner - heights_mm, 0.0)


def _check(heights_mm: NDArray[np.float64], ball_mm: float, cell_mm: float) -> None:
    for field, value in (("ball_mm", ball_mm), ("cell_mm", cell_mm)):
        if not (np.isfinite(value) and value > 0):
            raise SpecError(field, "more than 0 mm", f"{value:g} mm")
    if not np.isfinite(heights_mm).all():
        raise SpecError("heights_mm", "finite everywhere", "nan or inf", "Use on_table_mm.")


def _centers(
    field: NDArray[np.float64],
    offsets: NDArray[np.int64],
    rise: NDArray[np.float64],
    reach: int,
    ball: float,
) -> NDArray[np.float64]:
    """Return the height of the center of the ball that just rests on the field, cell by cell."""
    across = _window_max(field, reach).T
    tops = np.ascontiguousarray(_window_max(across, reach).T)
    centers = np.empty_like(field)
    in_bands(
        lambda first, end: touch(field, tops, offsets, rise, ball, centers, first, end),
        len(field),
        threads=field.size > _WORTH_THREADS,
    )
    return centers


def _window_max(field: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """Return the greatest value up to ``reach`` rows away from each cell."""
    most = np.pad(field, ((reach, reach), (0, 0)), mode="edge")
    width, left = 1, 2 * reach
    while left:
        step = min(width, left)
        most = np.maximum(most[:-step], most[step:])
        width, left = width + step, left - step
    return most


@njit(cache=True, nogil=True)
def touch(
    field: NDArray[np.float64],
    tops: NDArray[np.float64],
    offsets: NDArray[np.int64],
    rise: NDArray[np.float64],
    ball: float,
    centers: NDArray[np.float64],
    first: int,
    end: int,
) -> None:
    """Set the rows from ``first`` to before ``end``; the offsets come nearest first."""
    n_rows, n_columns = field.shape
    for i in range(first, end):
        for j in range(n_columns):
            here = field[i, j]
            top = tops[i, j]
            best = here + ball
            if top > here:
                for k in range(offsets.shape[0]):
                    if top + rise[k] <= best:
                        break  # nothing farther off can lift the ball any more
                    row, column = i + offsets[k, 0], j + offsets[k, 1]
                    if 0 <= row < n_rows and 0 <= column < n_columns:
                        center = field[row, column] + rise[k]
                        if center > best:
                            best = center
            centers[i, j] = best
