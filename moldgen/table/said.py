"""Times as they are said at the table: one way of writing them in everything that is told."""

from __future__ import annotations

_COUNTED_s = 99.5
"""Up to here seconds are told one by one, later by fives."""


def clock_words(time_s: float) -> str:
    """Return a time as it is counted at the table: ``32 s``, ``1 min 13 s``, ``2 min 5 s``."""
    whole = max(1, round(time_s)) if time_s < _COUNTED_s else 5 * round(time_s / 5)
    minutes, rest = divmod(whole, 60)
    return " ".join([f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest))
