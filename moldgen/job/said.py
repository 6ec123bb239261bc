"""How errors say words, values and places."""

from __future__ import annotations

import difflib
from typing import Any

from moldgen.stock.shelf import one_of


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
