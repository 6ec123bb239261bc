"""One definition of each number a person may choose: unit, meaning, limits, spelling."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite
from numbers import Integral, Real
from types import MappingProxyType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from moldgen.errors import SpecError
from moldgen.wording import one_of, shown

# Factor to the first unit of each group. The inch is exactly 25.4 mm, the conventional inch of
# mercury 3.386389 kPa and the degree Fahrenheit 5/9 of a degree Celsius (NIST SP 811, Appendix B).
_SCALES: dict[str, dict[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8, "thou": 0.0254},
    "°": {"°": 1.0, "deg": 1.0},
    "s": {"s": 1.0, "min": 60.0},
    "kPa": {"kPa": 1.0, "bar": 100.0, "mbar": 0.1, "inHg": 3.386389, "psi": 6.894757},
    "°C": {"°C": 1.0, "°F": 5 / 9},
    "": {"": 1.0, "%": 0.01},
}
_ZERO = {"°F": 32.0}
"""Where a scale has its zero, in its own degrees, if not where the first of its group has it."""
_ALSO = {
    '"': "in", "″": "in", "”": "in", "inch": "in", "inches": "in", "millimeters": "mm",
    "degrees": "°", "sec": "s", "C": "°C", "deg C": "°C", "degC": "°C", "° C": "°C",
    "F": "°F", "deg F": "°F", "degF": "°F", "° F": "°F",
}  # fmt: skip
"""Other spellings of the units above."""
_NUMBER = re.compile(
    r"(?P<sign>[-+]?)(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)/(?P<bottom>\d+)"
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

    def allows(self, value: float) -> bool:
        """Return whether a value is finite and within the limits."""
        within = self.above < value < self.below and self.at_least <= value <= self.at_most
        return isfinite(value) and within

    def check(self, field: str, value: float) -> None:
        """Raise `SpecError` unless ``value`` is finite and within the limits."""
        if not self.allows(value):
            # Six digits must not make a number look right that is wrong by less.
            shown = f"{value!r}" if self.allows(float(f"{value:g}")) else f"{value:g}"
            raise SpecError(field, self.rule, f"{shown} {self.unit}".strip())

    def read(self, field: str, words: str | float) -> float:
        """Return the number a person wrote, in this quantity's unit, checked."""
        if isinstance(words, str):
            value = measure(field, words, unit=self.unit)
        else:
            value = self._as_float(field, words)
        self.check(field, value)
        return value

    def _as_float(self, field: str, number: float) -> float:
        try:
            return float(number)
        except OverflowError:  # TOML and JSON have integers too large to be one
            raise SpecError(field, self.rule, "a number beyond all bounds") from None


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a field that is not a number means: a word, a choice or a switch."""

    about: str


class Spec:
    """Base of every specification: refuses bad numbers, and values of another type, when made."""

    __slots__ = ()

    def __post_init__(self) -> None:
        for field, check in checks(type(self)).items():
            check(field, getattr(self, field))


Check = Callable[[str, Any], None]
"""Raises `SpecError` if the value of the field of that name is not what it must be."""


def checks(spec: type[Spec]) -> Mapping[str, Check]:
    """Return the check of every documented field of a specification, in field order."""
    known = _CHECKS.get(spec)
    if known is None:
        hints = get_type_hints(spec)
        found = {field: _check_of(hints[field], mark) for field, mark in marks(spec).items()}
        known = _CHECKS[spec] = MappingProxyType(found)
    return known


_CHECKS: dict[type[Spec], Mapping[str, Check]] = {}


def _check_of(hint: Any, mark: Quantity | Meaning) -> Check:
    """Return the check of a field by its type and its mark."""
    kinds = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    may_miss = type(None) in kinds
    kinds = tuple(kind for kind in kinds if kind is not type(None))
    check = _check_of_kind(kinds[0], mark) if len(kinds) == 1 else _unchecked

    def checked(field: str, value: Any) -> None:
        if value is not None or not may_miss:
            check(field, value)

    return checked


def _check_of_kind(kind: Any, mark: Quantity | Meaning) -> Check:
    if isinstance(mark, Quantity):
        return _number_check(mark)
    if get_origin(kind) is tuple:
        items = get_args(kind)
        each = getattr(mark, "quantity", None)
        if len(items) == 2 and items[1] is Ellipsis:
            return _tuple_check(_check_of_kind(items[0], each or mark))
        return _tuple_check(_unchecked)
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return _choice_check(kind)
    return _type_check(kind) if isinstance(kind, type) else _unchecked


def _number_check(quantity: Quantity) -> Check:
    def check(field: str, value: Any) -> None:
        if isinstance(value, bool) or not isinstance(value, float | int | Real):
            raise SpecError(field, f"a number, {quantity.rule}", shown(value), "Write it like 6.5.")
        quantity.check(field, float(value))

    return check


def _tuple_check(each: Check) -> Check:
    def check(field: str, value: Any) -> None:
        if not isinstance(value, tuple):
            hint = f"Write ({value!r},)." if isinstance(value, str) and len(value) < 40 else ""
            raise SpecError(field, "a tuple", shown(value), hint)
        for number, item in enumerate(value, start=1):
            each(f"{field} {number}", item)

    return check


def _choice_check(choices: type[StrEnum]) -> Check:
    def check(field: str, value: Any) -> None:
        if not isinstance(value, choices):
            rule = f"{one_of([one.value for one in choices])}, of type {choices.__name__}"
            meant = next((one for one in choices if one == value), next(iter(choices)))
            raise SpecError(field, rule, shown(value), f"Write {choices.__name__}.{meant.name}.")

    return check


def _type_check(kind: type) -> Check:
    words = {str: "a text", bool: "True or False", float: "a number", int: "a whole number"}
    rule = words.get(kind, f"of type {kind.__name__}")
    kinds = {float: Real, int: Integral}.get(kind, kind)

    def check(field: str, value: Any) -> None:
        if not isinstance(value, kinds):
            raise SpecError(field, rule, shown(value))

    return check


def _unchecked(field: str, value: Any) -> None:
    """Ask nothing of a value."""


def quantities(spec: type[Spec]) -> dict[str, Quantity]:
    """Return the quantities a specification asks for, in field order."""
    return {field: mark for field, mark in marks(spec).items() if isinstance(mark, Quantity)}


def marks(spec: type[Spec]) -> Mapping[str, Quantity | Meaning]:
    """Return every documented field of a specification, in field order."""
    known = _MARKS.get(spec)
    if known is None:
        known = _MARKS[spec] = MappingProxyType(_found_marks(spec))
    return known


# Looking them up takes longer than everything else about making a small specification.
_MARKS: dict[type[Spec], Mapping[str, Quantity | Meaning]] = {}


def _found_marks(spec: type[Spec]) -> dict[str, Quantity | Meaning]:
    hints: dict[str, Any] = get_type_hints(spec, include_extras=True)
    return {
        field: mark
        for field, hint in hints.items()
        for mark in getattr(hint, "__metadata__", ())
        if isinstance(mark, Quantity | Meaning)
    }


def measure(field: str, words: str, *, unit: str) -> float:
    """Read a written measure such as ``3.5in``, ``6 mm``, ``1/8 in``, ``1 1/2"`` or ``265 °F``.

    Parameters
    ----------
    field : str
        What errors call it.
    words : str
        Number and unit; a bare number is taken in ``unit``, and where ``unit`` is empty,
        ``5 %`` is 0.05.
    unit : str
        The unit of the result.

    Raises
    ------
    SpecError
        If the words are not a number, or carry a unit of another kind.

    Examples
    --------
    >>> measure("gauge", "1/8 in", unit="mm")
    3.175
    >>> measure("set", "266 °F", unit="°C")
    130.0
    """
    text = words.strip()
    match = _NUMBER.match(text)
    scales = _SCALES.get(unit, {unit: 1.0})
    rule = f"a number{_units(scales)}"
    if match is None or (match["bottom"] and float(match["bottom"]) == 0):
        raise SpecError(field, rule, _quoted(words), "Write it like 6.5 or 1/8.")
    suffix = text[match.end() :].strip()
    suffix = suffix if suffix in scales else _ALSO.get(suffix, suffix)
    if suffix and suffix not in scales:
        hint = "Write it like 6.5 or 1/8." if suffix[0] in ",./" else "Correct the unit."
        raise SpecError(field, rule, _quoted(words), hint)
    return (_number(match) - _ZERO.get(suffix, 0.0)) * scales.get(suffix, 1.0)


def _number(match: re.Match[str]) -> float:
    if match["plain"] is not None:
        return float(match["plain"])
    value = float(match["whole"] or 0) + float(match["top"]) / float(match["bottom"])
    return -value if match["sign"] == "-" else value


def _quoted(words: str) -> str:
    return repr(words if len(words) <= 40 else f"{words[:37]}...")


def _units(scales: Mapping[str, float]) -> str:
    if "" in scales:
        return ", plain or in %"
    return f" in {one_of(scales)}"
