"""Words on more lines than one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from moldgen.job.outline import JobText

MOST_LINES = 4


def broken(text: JobText) -> Iterator[JobText]:
    """Yield the words on more lines than one, as even as they get."""
    words = text.text.split(" ")
    if "\n" in text.text or len(words) < 2:
        return
    for n_lines in range(2, min(MOST_LINES, len(words)) + 1):
        yield replace(text, text="\n".join(_even_lines(words, n_lines)))


def _even_lines(words: Sequence[str], n_lines: int) -> tuple[str, ...]:
    """Return words on so many lines, the longest as short as can be."""
    ways = combinations(range(1, len(words)), n_lines - 1)
    lines = (
        tuple(" ".join(words[a:b]) for a, b in zip((0, *cuts), (*cuts, len(words)), strict=True))
        for cuts in ways
    )
    return min(lines, key=lambda way: max(map(len, way)))
