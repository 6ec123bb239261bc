"""What is said of a roster that was read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from moldgen.finding import counted
from moldgen.wording import listed


def roster_notes(
    title: Sequence[str], unknown: Sequence[str], n_empty: int, doubles: Sequence[str]
) -> Iterator[str]:
    """Yield what was left out or changed of a list, a sentence each.

    Parameters
    ----------
    title : sequence of str
        What stands above the heading.
    unknown : sequence of str
        Columns that mean nothing here.
    n_empty : int
        Rows without a word.
    doubles : sequence of str
        Names that stand there more than once.
    """
    if title:
        yield f"What stands above the heading is left out: {listed(title)}."
    if unknown:
        yield f"Columns that mean nothing here are left out: {listed(unknown)}."
    if n_empty:
        yield f"{counted(n_empty, 'empty row')} left out."
    if doubles:
        yield f"More than one is called {listed(doubles)}: they are numbered."
