"""Bisection: an interval halved until it is as narrow as wanted."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from moldgen.arrays import Flags, Floats

_MOST_ROUNDS = 200
"""Halvings after which any two numbers that differ have met."""


def narrowed(
    beyond: Callable[[float], bool],
    low: float,
    high: float,
    *,
    within: float = 0.0,
    rounds: int = _MOST_ROUNDS,
) -> tuple[float, float]:
    """Return the interval, halved again and again, in which a condition begins to hold.

    Parameters
    ----------
    beyond : callable
        Tells of a number whether the condition holds; from some number on it does.
    low, high : float
        Taken as not beyond and as beyond; neither is asked about. [any unit]
    within : float
        Width at which halving ends; 0 goes on until no number lies between. [unit of low]
    rounds : int
        Halvings after which it ends at the latest.
    """
    for _ in range(rounds):
        middle = (low + high) / 2
        if high - low <= within or middle in (low, high):
            break
        low, high = (low, middle) if beyond(middle) else (middle, high)
    return low, high


def narrowed_each(
    beyond: Callable[[Floats], Flags], low: Floats, high: Floats, *, within: float
) -> tuple[Floats, Floats]:
    """Return many intervals, as wide as each other, halved until they are no wider than asked.

    Parameters
    ----------
    beyond : callable
        Tells of a number for each interval whether its condition holds; from some number on it
        does.
    low, high : ndarray, shape (n,)
        Taken as not beyond and as beyond; neither is asked about. [any unit]
    within : float
        Width at which halving ends, more than 0. [unit of low]
    """
    while len(low) and (high - low).max() > within:
        middle = (low + high) / 2
        is_beyond = beyond(middle)
        low, high = np.where(is_beyond, low, middle), np.where(is_beyond, middle, high)
    return low, high


def first_beyond(beyond: Callable[[int], bool], low: int, high: int) -> int:
    """Return the least whole number for which a condition holds that holds from there on.

    ``low`` is taken as not beyond and ``high`` as beyond; neither is asked about.
    """
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if beyond(middle) else (middle, high)
    return high
