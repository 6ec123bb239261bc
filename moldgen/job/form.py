"""Form: what may be written for a specification, found out from its one line per field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields
from functools import cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from moldgen.quantity import Meaning, Quantity, Spec, marks

_SUFFIXES = {"mm": "_mm", "mm³": "_mm3", "°": "_deg", "g": "_g", "s": "_s", "h": "_h"}


@dataclass(frozen=True, slots=True)
class Each(Meaning):
    """What a list of numbers means, and what each of them must be."""

    quantity: Quantity

    @property
    def unit(self) -> str:
        """The unit of each."""
        return self.quantity.unit


@dataclass(frozen=True, slots=True)
class FormField:
    """One line of a form.

    Attributes
    ----------
    word : str
        What a person writes: the field without its unit.
    field : str
        The field of the specification.
    mark : Quantity or Meaning
        What it means.
    kind : type
        The field's type; of a field that may be None, the other one.
    default : object
        What holds if nothing is written; `MISSING` if something must be.
    """

    word: str
    field: str
    mark: Quantity | Meaning
    kind: Any
    default: Any

    @property
    def required(self) -> bool:
        """Whether it must be written."""
        return self.default is MISSING

    @property
    def about(self) -> str:
        """Unit and meaning, as in the comments of a job file."""
        unit = unit_of(self.mark)
        return f"{unit}, {self.mark.about}" if unit else self.mark.about

    @property
    def item(self) -> Any:
        """The type of the items of a list, or None."""
        kinds = get_args(self.kind) if get_origin(self.kind) is tuple else ()
        return kinds[0] if kinds else None


def unit_of(mark: Quantity | Meaning) -> str:
    """Return the unit of a number, or of each number of a list; empty for words."""
    return mark.unit if isinstance(mark, Quantity | Each) else ""


def form_of(spec: type[Spec]) -> tuple[FormField, ...]:
    """Return the lines of a specification's form, in field order."""
    return _form(spec)  # type: ignore[arg-type]  # a class can be hashed


@cache
def _form(spec: type[Spec]) -> tuple[FormField, ...]:
    return tuple(_lines(spec))


def _lines(spec: type[Spec]) -> Iterator[FormField]:
    hints = get_type_hints(spec)
    meanings = marks(spec)
    for entry in fields(spec):  # type: ignore[arg-type]  # every Spec is a dataclass
        if entry.name in meanings:
            mark = meanings[entry.name]
            yield FormField(
                _word(entry.name, mark), entry.name, mark, _bare(hints[entry.name]), _default(entry)
            )


def _word(field: str, mark: Quantity | Meaning) -> str:
    return field.removesuffix(_SUFFIXES.get(unit_of(mark), "")).rstrip("_")


def _default(entry: Any) -> Any:
    if entry.default_factory is not MISSING:
        return entry.default_factory()
    return entry.default


def _bare(hint: Any) -> Any:
    """Return a type without ``None``."""
    if get_origin(hint) in (Union, UnionType):
        rest = [kind for kind in get_args(hint) if kind is not type(None)]
        return rest[0] if len(rest) == 1 else hint
    return hint
