"""How far an outline turns inward."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def turned_inward_rad(points_mm: NDArray[np.float64]) -> float:
    r"""Return the angle by which a closed outline turns toward its inside, corner by corner.

    Parameters
    ----------
    points_mm : ndarray, shape (n, 2)
        Corners in order, counter-clockwise, the first not repeated. [mm]

    Returns
    -------
    float
        :math:`2\pi` if it is convex, more by what the concave corners turn back. [rad]
    """
    ahead = np.roll(points_mm, -1, axis=0) - points_mm
    ahead = ahead[np.hypot(*ahead.T) > 1e-12]
    behind = np.roll(ahead, 1, axis=0)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    turns = np.arctan2(cross, np.einsum("ij,ij->i", behind, ahead))
    return float(turns[turns > 0].sum())
