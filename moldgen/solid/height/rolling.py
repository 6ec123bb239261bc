"""Radii on a height field: a ball rolled over it fills its hollows, rolled below rounds its edges.

Both keep the draft: the ball's path is the highest of shifted copies of the field, and none of
these is steeper than the field itself.
"""

from __future__ import annotations

from math import radians, tan

import numpy as np

from moldgen.arrays import Grid
from moldgen.errors import SpecError
from moldgen.solid.height.even import evened
from moldgen.solid.height.reach import BALL, SKIRTED, highest

_EVEN_CELLS = 0.5
"""Spread over which the path of the ball is evened out. [cells]."""


def filled_hollows(
    heights_mm: Grid, *, ball_mm: float, cell_mm: float, draft_deg: float | None = None
) -> Grid:
    """Return a field whose hollow edges have at least a ball's radius: its closing by the ball.

    Parameters
    ----------
    heights_mm : ndarray, shape (ny, nx)
        Heights at the nodes of a square grid, finite; beyond the border there is nothing. [mm]
    ball_mm : float
        Radius of the ball; below one cell nothing is changed. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    draft_deg : float, optional
        Lean that no wall of the field falls short of. The ball then goes on as the cone of that
        lean, and its path is evened out between nodes: walls are read more truly. [°]

    Returns
    -------
    ndarray, shape (ny, nx)
        Nowhere lower than before. [mm]

    Raises
    ------
    SpecError
        If a size is not larger than 0, or a height is not finite.

    Notes
    -----
    The ball touches nodes only; without ``draft_deg`` a steep wall's fillet starts up to half a
    cell away from where a continuous ball would lift off.

    References
    ----------
    .. [1] S. R. Sternberg, "Grayscale morphology," Computer Vision, Graphics, and Image
       Processing 35, 1986.
    """
    return np.maximum(_closed(heights_mm, ball_mm, cell_mm, draft_deg), heights_mm)


def rounded_edges(
    heights_mm: Grid, *, ball_mm: float, cell_mm: float, draft_deg: float | None = None
) -> Grid:
    """Return a field whose raised edges have at least a ball's radius: its opening by the ball.

    Parameters and errors are those of `filled_hollows`; the result is nowhere higher than before.
    """
    return np.minimum(-_closed(-heights_mm, ball_mm, cell_mm, draft_deg), heights_mm)


def _closed(heights_mm: Grid, ball_mm: float, cell_mm: float, draft_deg: float | None) -> Grid:
    for field, value in (("ball_mm", ball_mm), ("cell_mm", cell_mm)):
        if not (np.isfinite(value) and value > 0):
            raise SpecError(field, "more than 0 mm", f"{value:g} mm")
    if not np.isfinite(heights_mm).all():
        raise SpecError("heights_mm", "finite everywhere", "nan or inf")
    if ball_mm < cell_mm:
        return np.array(heights_mm, dtype=np.float64)
    ball = ball_mm / cell_mm
    kind = BALL if draft_deg is None else SKIRTED
    fall = 0.0 if draft_deg is None else 1 / tan(radians(draft_deg))
    middle = highest(heights_mm / cell_mm, kind, ball, fall=fall)
    if draft_deg is not None:
        # A kink between two nodes would be touched on either side by turns, which leaves ripples.
        middle = evened(middle, spread_cells=_EVEN_CELLS)
    return -highest(-middle, kind, ball, fall=fall) * cell_mm
