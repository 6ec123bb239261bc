"""A value that nobody asked for, and why it was chosen."""

from __future__ import annotations

from dataclasses import dataclass


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
        return f"{self.what} {self.value}" + (f" ({self.because})" if self.because else "")
