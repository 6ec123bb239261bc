"""One definition of each number a person may choose: unit, meaning, limits."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite
from numbers import Integral, Real
from types import MappingProxyType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from moldgen.errors import SpecError
from moldgen.wording import one_of, shown
from moldgen.written_number import measure


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
