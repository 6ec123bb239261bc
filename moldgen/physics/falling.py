"""Where a falling course passes a value."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Floats


def fallen_at(places: Floats, values: Floats, level: float) -> float:
    """Return the place from which values stay at or below a level.

    Parameters
    ----------
    places : ndarray, shape (n,)
        Where the values hold, rising: times or depths. [any]
    values : ndarray, shape (n,)
        What falls, such as temperatures; it may rise again in between. [any]
    level : float
        Value to fall to, in the unit of the values. [any]

    Returns
    -------
    float
        Between two places in proportion; 0 if no value is above, the last place if the last one
        still is. [unit of places]
    """
    above = np.flatnonzero(values > level)
    if not above.size:
        return 0.0
    cut = slice(int(above[-1]), int(above[-1]) + 2)
    return float(np.interp(-level, -values[cut], places[cut]))
