"""A value that nobody asked for, and why it was chosen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from moldgen.export.report.table import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenValue:
    """A value that nobody asked for.

    Attributes
    ----------
    what, value : str
        Such as ``letters`` and ``22 mm``.
    because : str
        Why, in a clause; empty if it is the usual value.
    """

    what: str
    value: str
    because: str = ""

    @property
    def text(self) -> str:
        """Both in a line, with the reason."""
        return self.told(str)

    def told(self, words: Callable[[str], str]) -> str:
        """Return the same in other units or another language."""
        because = f" ({words(self.because)})" if self.because else ""
        return f"{words(self.what)} {words(self.value)}{because}"


def choice_tables(choices: Sequence[ChosenValue]) -> Iterator[Table]:
    """Yield a table of what was chosen, if anything was."""
    rows = tuple((one.what, one.value, one.because or "the usual") for one in choices)
    if rows:
        yield Table(
            title="What was chosen, and why",
            header=("What", "Chosen", "Why"),
            rows=rows,
            note="Nobody asked for these values; write them in the job file to keep them.",
        )
