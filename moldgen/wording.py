"""How errors say words, values and places."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from typing import Any


def nearest(word: str, known: list[str], *, most: int = 3) -> str:
    """Return ``Did you mean A or B?``, or nothing if no known word is near."""
    folded = {name.casefold().replace("-", "_"): name for name in known}
    near = difflib.get_close_matches(word.casefold().replace("-", "_"), folded, n=most, cutoff=0.6)
    return f"Did you mean {one_of([folded[name] for name in near])}?" if near else ""


def shown(value: Any) -> str:
    """Return a written value as an error shows it: short, on one line."""
    words = repr(value) if not isinstance(value, dict | list) else type(value).__name__
    words = {"dict": "a table", "list": "a list", "True": "true", "False": "false"}.get(
        words, words
    )
    return words if len(words) <= 60 else f"{words[:57]}..."


def spot(place: str, word: str) -> str:
    """Return what an error calls a word in a place."""
    return f"{place}: {word}" if place else word


_COUNTED_s = 99.5
"""Up to here seconds are told one by one, later by fives."""


def clock_text(time_s: float) -> str:
    """Return a time as it is counted at the table: ``32 s``, ``1 min 13 s``, ``2 min 5 s``."""
    whole = max(1, round(time_s)) if time_s < _COUNTED_s else 5 * round(time_s / 5)
    minutes, rest = divmod(whole, 60)
    return " ".join([f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest))


def fold(name: str) -> str:
    """Return a name without what people spell differently: capitals, spaces, hyphens."""
    return "".join(letter for letter in name.casefold() if letter not in " \t-_")


def did_you_mean(word: str, spellings: dict[str, str], *, otherwise: Sequence[str]) -> str:
    """Return ``Did you mean A or B?``, or the whole choice if nothing is near.

    Parameters
    ----------
    word : str
        What was written.
    spellings : dict
        Folded spelling to the name it stands for.
    otherwise : sequence of str
        The choice to list if no spelling is near.
    """
    near = difflib.get_close_matches(fold(word), spellings, n=3, cutoff=0.6)
    names = list(dict.fromkeys(spellings[spelling] for spelling in near))
    return f"Did you mean {one_of(names)}?" if names else f"Choose {one_of(otherwise)}."


def one_of(names: Iterable[str]) -> str:
    """Return the names as a choice: ``A, B or C``."""
    *first, last = list(names) or ["nothing"]
    return f"{', '.join(first)} or {last}" if first else last
