"""Old words: what version 0.1 called things in job files, stock files and on the command line."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import TypeVar

from moldgen.errors import SpecError

V = TypeVar("V")

OLD_WORDS = {
    "station": "machine",
    "rim": "top_radius",
    "root": "base_radius",
    "pull": "draw_direction",
    "pulls": "cycles",
}
"""New word by old one: keys of a job file, sections of a stock file, options without dashes."""
OLD_PRINTERS = {
    "bed-180": "small",
    "bed-220": "medium",
    "bed-250": "long",
    "bed-256": "square",
    "bed-300": "large",
    "bed-350": "extra-large",
}
"""New name by old one, of printers in the stock."""
OLD_COMMANDS = {"coupon": "test-piece"}
"""New command by old one."""


def new_word(word: str, known: Collection[str]) -> str:
    """Return the new word for an old one, where the new one belongs; any other word as it is."""
    new = OLD_WORDS.get(word, "")
    return new if new in known and word not in known else word


def renewed(
    table: Mapping[str, V], known: Collection[str], *, place: str
) -> tuple[dict[str, V], tuple[str, ...]]:
    """Return a table with the new words in place of old ones, and the old words that stood in it.

    Parameters
    ----------
    table : mapping
        What was written, by word.
    known : collection of str
        The words that belong there.
    place : str
        What an error calls the table.

    Raises
    ------
    SpecError
        If an old word and the new one stand side by side.
    """
    words: dict[str, V] = {}
    old = []
    for word, value in table.items():
        new = new_word(word, known)
        if new in words or (new != word and new in table):
            both = " and ".join(one for one in table if new_word(one, known) == new)
            raise SpecError(f"{place}{new}", "given once", both, f"Leave {new} alone.")
        words[new] = value
        old += [word] if new != word else []
    return words, tuple(old)


def each_once(words: Iterable[str]) -> tuple[str, ...]:
    """Return the old words, each once, in the order in which they came."""
    return tuple(dict.fromkeys(words))


def today_of(old: str) -> str:
    """Return what stands for an old word, or for the old name of a printer."""
    return OLD_WORDS.get(old) or OLD_PRINTERS[old]


def new_name(kind: str, name: str) -> str:
    """Return the new name of an entry in the stock for an old one; any other as it is."""
    return OLD_PRINTERS.get(name.casefold(), name) if kind == "printer" else name


def old_word_text(old: str) -> str:
    """Return what a person is told about an old word, a clause."""
    return f"{old} is called {today_of(old)} now"
