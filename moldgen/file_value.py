"""A value of a file as a typed value: number, numbers, choice or text, checked where it stands."""

from __future__ import annotations

import datetime
from enum import StrEnum
from typing import Any, TypeVar

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.quantity import Quantity
from moldgen.wording import nearest, one_of, shown
from moldgen.written_number import parted

C = TypeVar("C", bound=StrEnum)


def read_number(place: str, value: Any, quantity: Quantity) -> float:
    """Return a number or a written measure, checked, in the quantity's unit."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise SpecError(place, f"a number, {quantity.rule}", shown(value), "Write it like 6.5.")
    if isinstance(value, str) and len(value) > limits_now().number_characters:
        raise SpecError(place, "a number", shown(value), "Write it like 6.5.")
    return quantity.read(place, value)


def read_numbers(place: str, value: Any, quantity: Quantity) -> tuple[float, ...]:
    """Return numbers from a list, or from one text such as ``80, 120``, as `read_number`."""
    if isinstance(value, str) and len(value) <= limits_now().text_characters:
        value = parted(value)
    if not isinstance(value, list | tuple):
        raise SpecError(place, "a list of numbers", shown(value), "Write it like [80, 120, 60].")
    return tuple(
        read_number(f"{place} {number}", entry, quantity)
        for number, entry in enumerate(value, start=1)
    )


def read_choice(place: str, value: Any, choices: type[C]) -> C:
    """Return the choice a person wrote; capitals make no difference."""
    for choice in choices:
        if isinstance(value, str) and value.strip().casefold() == choice.casefold():
            return choice
    hint = nearest(str(value)[:40], list(choices), most=1) if isinstance(value, str) else ""
    raise SpecError(place, one_of(list(choices)), shown(value), hint)


def read_text(place: str, value: Any) -> str:
    """Return a text, or a date as text; too long and unprintable ones are refused."""
    if isinstance(value, datetime.date | datetime.datetime):
        return value.isoformat()
    if not isinstance(value, str):
        raise SpecError(place, "a text in quotes", shown(value), "Put it in quotes.")
    most = limits_now().text_characters
    if len(value) > most:
        rule = f"at most {most:g} characters"
        raise SpecError(place, rule, f"{len(value)}", "Shorten it.")
    if "\0" in value or any("\ud800" <= letter <= "\udfff" for letter in value):
        raise SpecError(place, "plain text", shown(value), "Write it again.")
    return value
