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
    return float(fallen_each(places[None], values[None], level)[0])


def fallen_each(places: Floats, values: Floats, level: float | Floats) -> Floats:
    """Return the same for each of many courses at once.

    Parameters
    ----------
    places : ndarray, shape (n,) or (k, n)
        As in `fallen_at`, for all courses or for each. [any]
    values : ndarray, shape (k, n)
        A course in each row. [any]
    level : float or ndarray, shape (k,)
        Value to fall to. [any]

    Returns
    -------
    ndarray, shape (k,)
        As in `fallen_at`. [unit of places]
    """
    n, each = values.shape[1], np.arange(len(values))
    places = np.broadcast_to(places, values.shape)
    above = values > np.reshape(level, (-1, 1))
    last = n - 1 - above[:, ::-1].argmax(axis=1)
    after = np.minimum(last + 1, n - 1)
    before, drop = places[each, last], values[each, last] - values[each, after]
    # The last place has nothing after it to fall to.
    share = (values[each, last] - level) / np.where(last < after, drop, np.inf)
    fallen: Floats = before + share * (places[each, after] - before)
    return np.where(above.any(axis=1), fallen, 0.0)
