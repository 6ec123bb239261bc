"""One number of the program beside one of the world's."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from moldgen.trust import Trust


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """A number of the program beside one that it had no part in.

    Attributes
    ----------
    trust : Trust
        The promise it belongs to.
    quantity, unit : str
        What it is.
    program : callable
        Computes it.
    known : float or (low, high)
        What it must be, or between what it must lie.
    within : float
        How far off it may be, as a share. [-]
    source : str
        Where the known value comes from.
    wrong : callable
        Computes the same from a plausible wrong input; it must be found out.
    slow : bool
        Left out unless all are asked for.
    """

    trust: Trust
    quantity: str
    unit: str
    program: Callable[[], float]
    known: float | tuple[float, float]
    within: float
    source: str
    wrong: Callable[[], float]
    slow: bool = False

    @cached_property
    def value(self) -> float:
        """The program's number."""
        return float(self.program())

    def off(self, value: float) -> float:
        """Return how far a number is from what is known, as a share; 0 between two bounds."""
        low, high = self.known if isinstance(self.known, tuple) else (self.known, self.known)
        nearest = min(max(value, low), high)
        return value / nearest - 1

    @property
    def known_text(self) -> str:
        """What it must be, in digits."""
        if isinstance(self.known, tuple):
            return " to ".join(f"{one:.4g}" for one in self.known)
        return f"{self.known:.4g}"
