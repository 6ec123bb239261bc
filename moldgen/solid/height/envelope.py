"""The least surface over a height field that leans everywhere, and the greatest under it."""

from __future__ import annotations

from math import radians, tan

import numpy as np

from moldgen.arrays import Grid
from moldgen.errors import SpecError
from moldgen.solid.height.reach import CONE, highest


def upper_envelope(heights_mm: Grid, *, cell_mm: float, draft_deg: float) -> Grid:
    """Return the least field above another that has a draft everywhere.

    It is the highest of the cones that stand on every node: what is added is exactly what a part
    needs to come off.

    Parameters
    ----------
    heights_mm : ndarray, shape (ny, nx)
        Heights at the nodes of a square grid; ``-inf`` where nothing stands. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    draft_deg : float
        Lean of the steepest wall from the upright. [°]

    Returns
    -------
    ndarray, shape (ny, nx)
        Finite everywhere if any height was. [mm]

    Raises
    ------
    SpecError
        If the draft is not between 0.1° and 89°, the cell not larger than 0, or a height ``nan``.

    Notes
    -----
    ``z'(x) = max over y of z(y) - |x - y| / tan(draft)``, the upper Lipschitz envelope (McShane
    1934), over all nodes y. On the nodes it is exact; a wall of the mesh that lies between
    two nodes is off sideways by less than a cell.

    References
    ----------
    .. [1] E. J. McShane, "Extension of range of functions," Bulletin of the American
       Mathematical Society 40, 1934.
    """
    _check(heights_mm, cell_mm, draft_deg)
    return highest(heights_mm, CONE, cell_mm / tan(radians(draft_deg)))


def lower_envelope(heights_mm: Grid, *, cell_mm: float, draft_deg: float) -> Grid:
    """Return the greatest field below another that has a draft everywhere.

    For a recess: its walls are cut back until a part drawn into it comes off. Where nothing stands
    (``-inf``) nothing is drawn down, and nothing stands afterward.
    """
    _check(heights_mm, cell_mm, draft_deg)
    there = heights_mm > -np.inf
    upside_down = np.where(there, -heights_mm, -np.inf)
    lowered = -highest(upside_down, CONE, cell_mm / tan(radians(draft_deg)))
    return np.where(there, lowered, -np.inf)


def _check(heights_mm: Grid, cell_mm: float, draft_deg: float) -> None:
    if not cell_mm > 0:
        raise SpecError("cell_mm", "more than 0 mm", f"{cell_mm:g} mm")
    if not 0.1 <= draft_deg <= 89:
        raise SpecError("draft_deg", "at least 0.1 ° and at most 89 °", f"{draft_deg:g} °")
    if np.isnan(heights_mm).any() or (heights_mm == np.inf).any():
        raise SpecError("heights_mm", "finite or -inf everywhere", "nan or inf")
