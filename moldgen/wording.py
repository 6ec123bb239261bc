"""How errors say words, values and places."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from math import floor
from typing import Any


def shown(value: Any) -> str:
    """Return a written value as an error shows it: short, on one line."""
    words = repr(value) if not isinstance(value, dict | list) else type(value).__name__
    if hasattr(value, "isoformat"):  # a date or a time of a TOML file
        words = value.isoformat()
    words = {"dict": "a table", "list": "a list", "True": "true", "False": "false"}.get(
        words, words
    )
    return cut_short(words)


def cut_short(words: str) -> str:
    """Return words, or their beginning if nobody would read to their end."""
    return words if len(words) <= 60 else f"{words[:57]}..."


def spot(place: str, word: str) -> str:
    """Return what an error calls a word in a place."""
    return f"{place}: {word}" if place else word


_NEAR = 0.6
"""Likeness from which a name is offered in place of a word, as `difflib` counts it. [-]."""

_LONGEST, _MOST_COMPARED = 60, 2000
"""Longest name, and most names, that are compared with what was written."""

_COUNTED_s = 99.5
"""Up to here seconds are told one by one, later by fives."""


def gauge_text(gauge_mm: float) -> str:
    """Return the thickness of a sheet as it is told everywhere: every digit that it is sold by.

    Parameters
    ----------
    gauge_mm : float
        Thickness. [mm]

    Examples
    --------
    >>> gauge_text(1.016), gauge_text(1.5)
    ('1.016 mm', '1.5 mm')
    """
    return f"{gauge_mm:g} mm"


def clock_text(time_s: float) -> str:
    """Return a time as it is counted at the table: ``32 s``, ``1 min 13 s``, ``2 min 5 s``."""
    whole = max(1, round(time_s)) if time_s < _COUNTED_s else 5 * round(time_s / 5)
    minutes, rest = divmod(whole, 60)
    return " ".join([f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest))


_STEPS_s = ((20.0, 1.0), (60.0, 5.0), (180.0, 10.0), (600.0, 30.0))
"""Below each a time that is not known well is told in steps of the other; in minutes later."""
_SECONDS_ONLY_s = 100.0


def band_text(middle_s: float, low_s: float, high_s: float) -> str:
    """Return a time that is not known well: ``about 50 s (40 to 70)``.

    Parameters
    ----------
    middle_s, low_s, high_s : float
        The time, and between what it lies; all are rounded as a person counts. [s]

    Examples
    --------
    >>> band_text(51.2, 39.4, 68.3)
    'about 50 s (40 to 70)'
    >>> band_text(112.0, 88.0, 149.0)
    'about 1 min 50 s (1 min 30 s to 2 min 30 s)'
    """
    middle_s, low_s, high_s = _counted_band_s(middle_s, low_s, high_s)
    if middle_s < 60 and high_s < _SECONDS_ONLY_s:
        return f"about {middle_s:.0f} s ({low_s:.0f} to {high_s:.0f})"
    return f"about {clock_text(middle_s)} ({clock_text(low_s)} to {clock_text(high_s)})"


def span_text(middle_s: float, low_s: float, high_s: float) -> str:
    """Return between what a time lies that is not known well: ``40 to 70 s``.

    Parameters
    ----------
    middle_s, low_s, high_s : float
        As for `band_text`, whose ends these are. [s]

    Examples
    --------
    >>> span_text(51.2, 39.4, 68.3)
    '40 to 70 s'
    >>> span_text(112.0, 88.0, 149.0)
    '1 min 30 s to 2 min 30 s'
    """
    _, low_s, high_s = _counted_band_s(middle_s, low_s, high_s)
    if high_s < _SECONDS_ONLY_s:
        return f"{low_s:.0f} to {high_s:.0f} s"
    return f"{clock_text(low_s)} to {clock_text(high_s)}"


def span_s(middle_s: float, low_s: float, high_s: float) -> tuple[int, int]:
    """Return the ends of `span_text` in whole seconds. [s].

    Examples
    --------
    >>> span_s(112.0, 88.0, 149.0)
    (90, 150)
    """
    _, low_s, high_s = _counted_band_s(middle_s, low_s, high_s)
    return round(low_s), round(high_s)


def _counted_band_s(middle_s: float, low_s: float, high_s: float) -> tuple[float, float, float]:
    """Return a time and its band as a person counts; what is rounded must not look surer. [s]."""
    middle_s, low_s, high_s = (_counted_s(time_s) for time_s in (middle_s, low_s, high_s))
    low_s = max(1.0, min(low_s, middle_s - _step_s(low_s)))
    return middle_s, low_s, max(high_s, middle_s + _step_s(middle_s))


def about_text(time_s: float) -> str:
    """Return a time that is not known well without its band: ``40 s``, ``1 min 50 s``."""
    return clock_text(_counted_s(time_s))


def earliest_text(time_s: float) -> str:
    """Return a time that must not be missed, never later than it is: ``35 s``, ``1 min 40 s``."""
    step_s = _step_s(time_s)
    return clock_text(max(1.0, step_s * floor(time_s / step_s)))


def _counted_s(time_s: float) -> float:
    step_s = _step_s(time_s)
    return max(1.0, step_s * round(time_s / step_s))


def _step_s(time_s: float) -> float:
    return next((step_s for below_s, step_s in _STEPS_s if time_s < below_s), 60.0)


def listed(words: Sequence[str], *, most: int = 8) -> str:
    """Return words in a row, those beyond a few as their number: ``a, b, ... (40 in all)``."""
    told = ", ".join(words[:most])
    return f"{told}, ... ({len(words)} in all)" if len(words) > most else told


def fold(name: str) -> str:
    """Return a name without what people spell differently: capitals, spaces, hyphens."""
    return "".join(letter for letter in name.casefold() if letter not in " \t-_")


def nearest(word: str, known: Mapping[str, str] | Iterable[str], *, most: int = 3) -> str:
    """Return ``Did you mean A or B?``, or nothing if no known word is near.

    Parameters
    ----------
    word : str
        What was written.
    known : names or mapping
        Names, or the name that each folded spelling stands for.
    most : int
        Names to offer at the most.
    """
    if not isinstance(known, Mapping):
        known = {fold(name): name for name in known}
    # The comparison takes time with the square of the lengths.
    short = islice((name for name in known if len(name) <= _LONGEST), _MOST_COMPARED)
    word = fold(word[: 2 * _LONGEST])
    near = (
        difflib.get_close_matches(word, short, n=most, cutoff=_NEAR)
        if len(word) <= _LONGEST
        else []
    )
    names = dict.fromkeys(known[spelling] for spelling in near)
    return f"Did you mean {one_of(names)}?" if names else ""


def did_you_mean(
    word: str, known: Mapping[str, str] | Iterable[str], *, otherwise: Iterable[str] = ()
) -> str:
    """Return ``Did you mean A or B?``, or the choice there is if nothing is near.

    Words as for `nearest`; the choice is what is known, or `otherwise`.
    """
    known = known if isinstance(known, Mapping) else list(known)
    return nearest(word, known) or f"Choose {one_of(list(otherwise) or known)}."


def one_of(names: Iterable[str]) -> str:
    """Return the names as a choice: ``A, B or C``."""
    *first, last = list(names) or ["nothing"]
    return f"{', '.join(first)} or {last}" if first else last
