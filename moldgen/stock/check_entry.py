"""Checked: what was written becomes numbers in their units, words, lists and whole entries."""

from __future__ import annotations

from dataclasses import MISSING, fields
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, get_args, get_type_hints

from moldgen.errors import SpecError
from moldgen.file_value import read_choice, read_number, read_text
from moldgen.quantity import Meaning, Quantity, marks
from moldgen.stock.entry import Entry
from moldgen.stock.stock_file import Row
from moldgen.wording import did_you_mean, shown

E = TypeVar("E", bound=Entry)

_GIVEN = ("name", "based_on")
"""Fields that are not written in a cell: the heading and the inheritance."""


def checked_entry(row: Row, spec: type[E]) -> E:
    """Return a written entry as its specification, every value checked.

    Raises
    ------
    SpecError
        If a field is unknown, missing, of the wrong kind or out of range, or two fields
        contradict each other; the sentence names file, entry and field.
    """
    meanings, hints = _form(spec)  # type: ignore[arg-type]  # a class can be hashed
    _refuse_unknown(row, tuple(meanings))
    _refuse_missing(row, spec)
    values = {
        field: checked_value(
            row.place(field, file=cell.file), cell.value, meanings[field], hints[field]
        )
        for field, cell in row.cells.items()
    }
    values = {"title": row.name} | values
    sources = {field: cell.source for field, cell in row.cells.items() if cell.source}
    bands = {
        field: _checked_band(
            row.place(field, file=cell.file), cell.between, values[field], meanings[field]
        )
        for field, cell in row.cells.items()
        if cell.between is not None
    }
    try:
        return spec(name=row.name, based_on=row.based_on, sources=sources, bands=bands, **values)
    except SpecError as problem:
        raise problem.at(row.place(problem.field)) from None


def checked_value(place: str, value: Any, mark: Quantity | Meaning, hint: Any) -> Any:
    """Return a written value as its field wants it.

    Parameters
    ----------
    place : str
        What errors call the field.
    value : object
        What the file says: number, text, list, switch, date or table.
    mark : Quantity or Meaning
        What the field means.
    hint : type
        The field's type.

    Raises
    ------
    SpecError
        If the value is of another kind, out of range or in a wrong unit.
    """
    if isinstance(mark, Quantity):
        number = read_number(place, value, mark)
        return _whole(place, number) if hint is int else number
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return read_choice(place, value, hint)
    return _words(place, value) if str in get_args(hint) else read_text(place, value)


def _checked_band(
    place: str, between: Any, value: Any, mark: Quantity | Meaning
) -> tuple[float, float]:
    """Return what a number lies between, both ends read and checked like the number."""
    if not isinstance(mark, Quantity):
        raise SpecError(f"{place}, between", "left out for what is no number", "it")
    rule = "two values, the first at most the value and the second at least"
    if not isinstance(between, list) or len(between) != 2:
        raise SpecError(f"{place}, between", rule, shown(between), "Write [low, high].")
    low, high = (read_number(f"{place}, between", end, mark) for end in between)
    if not low <= value <= high:
        got = f"{low:g} and {high:g} around {value:g}"
        raise SpecError(f"{place}, between", rule, got, "Correct one of the three.")
    return low, high


@cache
def _form(spec: type[Entry]) -> tuple[dict[str, Quantity | Meaning], dict[str, Any]]:
    """Return what each field that may be written means, and its type; slow to find out."""
    meanings = {field: mark for field, mark in marks(spec).items() if field not in _GIVEN}
    return meanings, get_type_hints(spec)


def _refuse_unknown(row: Row, known: tuple[str, ...]) -> None:
    for field, cell in row.cells.items():
        if field not in known:
            hint = did_you_mean(field, known)
            raise SpecError(
                row.place(file=cell.file), f"made of fields of a {row.kind}", repr(field), hint
            )


def _refuse_missing(row: Row, spec: type[Entry]) -> None:
    for field in fields(spec):
        free = field.default is not MISSING or field.default_factory is not MISSING
        if not free and field.name not in row.cells and field.name not in _GIVEN:
            raise SpecError(
                row.place(field.name),
                "given",
                "nothing",
                f'Write it, or write based_on = "..." to take it from another {row.kind}.',
            )


def _whole(place: str, number: float) -> int:
    if number != int(number):
        raise SpecError(place, "a whole number", f"{number:g}", "Leave out the fraction.")
    return int(number)


def _words(place: str, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise SpecError(place, "a list of texts", shown(value), 'Write it like ["a", "b"].')
    return tuple(read_text(place, word) for word in value)
