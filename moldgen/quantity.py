"""One definition of each number a person may choose: unit, meaning, limits, spelling."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any, get_type_hints

from moldgen.errors import SpecError

# Factor to the first unit of each group. The inch is exactly 25.4 mm and the conventional
# inch of mercury 3.386389 kPa (NIST SP 811, Appendix B).
_SCALES: dict[str, dict[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, '"': 25.4,
           "″": 25.4, "ft": 304.8, "thou": 0.0254},
    "°": {"°": 1.0, "deg": 1.0},
    "s": {"s": 1.0, "min": 60.0},
    "kPa": {"kPa": 1.0, "bar": 100.0, "mbar": 0.1, "inHg": 3.386389, "psi": 6.894757},
    "%": {"%": 1.0},
}  # fmt: skip
_NUMBER = re.compile(
    r"(?P<sign>[-+]?)(?:(?P<whole>\d+)[ -])?(?P<top>\d+)/(?P<bottom>\d+)"
    r"|(?P<plain>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
)


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a field of a specification means; written as ``Annotated`` metadata.

    The constructor check, the command-line option, the job file's schema and the table in
    the manual are all made from this one line.
    """

    unit: str
    about: str
    above: float = -inf
    at_least: float = -inf
    at_most: float = inf
    below: float = inf

    @property
    def rule(self) -> str:
        """The limits as words, such as ``more than 0 mm``."""
        limits = [
            ("more than", self.above),
            ("at least", self.at_least),
            ("less than", self.below),
            ("at most", self.at_most),
        ]
        words = [
            f"{word} {limit:g} {self.unit}".strip() for word, limit in limits if isfinite(limit)
        ]
        return " and ".join(words) or "a finite number"

    def check(self, field: str, value: float) -> None:
        """Raise `SpecError` unless ``value`` is finite and within the limits."""
        within = self.above < value < self.below and self.at_least <= value <= self.at_most
        if not (isfinite(value) and within):
            raise SpecError(field, self.rule, f"{value:g} {self.unit}".strip())

    def read(self, field: str, words: str | float) -> float:
        """Return the number a person wrote, in this quantity's unit, checked."""
        value = (
            float(words)
            if isinstance(words, int | float)
            else measure(field, words, unit=self.unit)
        )
        self.check(field, value)
        return value


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a field that is not a number means: a word, a choice or a switch."""

    about: str


class Spec:
    """Base of every specification: refuses bad numbers when it is made."""

    __slots__ = ()

    def __post_init__(self) -> None:
        for field, quantity in quantities(type(self)).items():
            value = getattr(self, field)
            if value is not None:
                quantity.check(field, value)


def quantities(spec: type[Spec]) -> dict[str, Quantity]:
    """Return the quantities a specification asks for, in field order."""
    return {field: mark for field, mark in marks(spec).items() if isinstance(mark, Quantity)}


def marks(spec: type[Spec]) -> dict[str, Quantity | Meaning]:
    """Return every documented field of a specification, in field order."""
    hints: dict[str, Any] = get_type_hints(spec, include_extras=True)
    return {
        field: mark
        for field, hint in hints.items()
        for mark in getattr(hint, "__metadata__", ())
        if isinstance(mark, Quantity | Meaning)
    }


def measure(field: str, words: str, *, unit: str) -> float:
    """Read a written measure such as ``3.5in``, ``6 mm``, ``1/8 in`` or ``1 1/2"``.

    A bare number is taken in ``unit``.

    Raises
    ------
    SpecError
        If the words are not a number, or carry a unit of another kind.
    """
    text = words.strip()
    match = _NUMBER.match(text)
    scales = _SCALES.get(unit, {unit: 1.0})
    if match is None or (match["bottom"] and int(match["bottom"]) == 0):
        raise SpecError(
            field, f"a number{_units(scales)}", repr(words), "Write it like 6.5 or 1/8."
        )
    suffix = text[match.end() :].strip()
    if suffix and suffix not in scales:
        raise SpecError(field, f"a number{_units(scales)}", repr(words), "Correct the unit.")
    return _number(match) * scales.get(suffix, 1.0)


def _number(match: re.Match[str]) -> float:
    if match["plain"] is not None:
        return float(match["plain"])
    value = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    return -value if match["sign"] == "-" else value


def _units(scales: dict[str, float]) -> str:
    names = [name for name in scales if name]
    return (
        f" in {', '.join(names[:-1])} or {names[-1]}"
        if len(names) > 1
        else (f" in {names[0]}" if names else "")
    )
