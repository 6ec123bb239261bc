"""Doubt: how far a computed time may be off, from what its values lie between."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, inf, log
from typing import Any, TypeVar

from moldgen.quantity import Quantity, marks
from moldgen.stock.entry import Entry

E = TypeVar("E", bound=Entry)

HEAT_FIELDS = (
    "conductivity_W_mK", "density_kg_m3", "specific_heat_J_kgK", "specific_heat_hot_J_kgK",
    "melting_kJ_kg",
)  # fmt: skip
"""What heat through a sheet or a print depends on."""
_HOPELESS = log(3.0)
"""What never comes any more is as doubtful as can be told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What makes a time uncertain.

    Attributes
    ----------
    what : str
        In words.
    sooner, later : float
        How much shorter and longer it makes it, as logarithms; neither is negative. [-]
    """

    what: str
    sooner: float
    later: float

    @classmethod
    def even(cls, what: str, share: float) -> Doubt:
        """Return one that goes as far either way."""
        return cls(what=what, sooner=share, later=share)

    @classmethod
    def between(cls, what: str, middle_s: float, ends_s: Iterable[float]) -> Doubt:
        """Return what the times at the ends of a value's band say."""
        swings = [0.0, *(_swing(end_s, middle_s) for end_s in ends_s)]
        return cls(what=what, sooner=abs(min(swings)), later=max(swings))


def band_s(middle_s: float, doubts: Sequence[Doubt]) -> tuple[float, float]:
    """Return between what a time lies, its doubts put together as independent ones. [s]."""
    sooner = hypot(*(doubt.sooner for doubt in doubts))
    later = hypot(*(doubt.later for doubt in doubts))
    return middle_s * exp(-sooner), middle_s * exp(later)


def varied(entry: E, fields: Iterable[str]) -> Iterator[tuple[str, tuple[E, E]]]:
    """Yield each field that has a band, in words, and the entry at both ends of it."""
    about = marks(type(entry))
    for field in fields:
        mark = about.get(field)
        ends = entry.ends(field) if isinstance(mark, Quantity) else None
        if ends is None or not isinstance(mark, Quantity):
            continue
        words = f"{mark.about} {ends[0]:g} to {ends[1]:g} {mark.unit}".rstrip()
        changed: tuple[dict[str, Any], ...] = ({field: ends[0]}, {field: ends[1]})
        low, high = (replace(entry, **one) for one in changed)
        yield words, (low, high)


def _swing(end_s: float, middle_s: float) -> float:
    return log(end_s / middle_s) if 0 < end_s < inf else _HOPELESS
