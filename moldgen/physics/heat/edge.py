"""Edge: a convex right-angled edge that is heated from both its faces."""

from __future__ import annotations

from math import exp, inf, log, sqrt

import numpy as np

from moldgen.arrays import Floats

_SHARP = 0.95
_REACH_mm = 1.6


def edge_exponent(radius_mm: float, sheet_mm: float) -> float:
    r"""Return the power to which the coldness of a flat face is raised at an edge.

    Parameters
    ----------
    radius_mm : float
        Rounding of the edge; 0 if sharp. [mm]
    sheet_mm : float
        Thickness of the hot sheet that is wrapped around it. [mm]

    Notes
    -----
    The coldness of a quarter space heated alike on both faces is the product of those of two half
    spaces (Carslaw and Jaeger), so the exponent is 2. A sheet that turns the edge with a round
    outside brings a little less, and heat runs round a rounded edge as far as it goes into the
    mold meanwhile, which is as the root of the sheet's thickness:
    :math:`1 + 0.95 \exp(-r / \sqrt{1.6\,\mathrm{mm}\; s})`. Both numbers are fitted to a
    two-dimensional finite-difference solution, which the tests repeat.
    """
    return 1 + _SHARP * exp(-radius_mm / sqrt(_REACH_mm * sheet_mm))


def edge_radius_mm(exponent: float, sheet_mm: float) -> float:
    """Return the rounding at which an edge has an exponent; infinite at 1 or less, as of a flat.

    Parameters
    ----------
    exponent : float
        As of `edge_exponent`. [-]
    sheet_mm : float
        Thickness of the hot sheet. [mm]
    """
    if exponent <= 1:
        return inf
    return max(0.0, -sqrt(_REACH_mm * sheet_mm) * log((exponent - 1) / _SHARP))


def edge_degC(
    flat_degC: Floats, start_degC: Floats, sheet_degC: float, *, exponent: float
) -> Floats:
    """Return how hot an edge gets where a flat face gets so hot.

    Parameters
    ----------
    flat_degC, start_degC : ndarray, shape (n,)
        The flat face at its hottest and before the sheet comes. [°C]
    sheet_degC : float
        The sheet as it comes. [°C]
    exponent : float
        Of `edge_exponent`. [-]

    Returns
    -------
    ndarray, shape (n,)
        The edge at its hottest. [°C]
    """
    coldness = (sheet_degC - flat_degC) / (sheet_degC - start_degC)
    edge: Floats = sheet_degC - (sheet_degC - start_degC) * np.clip(coldness, 0, 1) ** exponent
    return edge
