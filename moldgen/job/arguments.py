"""Values given by name, typed or passed, become a specification; errors tell those names."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from enum import StrEnum
from numbers import Real
from typing import Any, TypeVar

from moldgen.errors import SpecError
from moldgen.job.form import Each, FormField, form_of
from moldgen.job.outline import Grid
from moldgen.job.read import read_value, spec_of_values
from moldgen.quantity import Spec
from moldgen.wording import nearest, shown

S = TypeVar("S", bound=Spec)
Naming = Callable[[FormField], str]
"""What errors call a line of a form."""


def spec_from_values(spec: type[S], given: Mapping[str, Any], name: Naming) -> S:
    """Return a specification from values by field.

    Parameters
    ----------
    spec : type
        What is wanted.
    given : mapping
        Values as a person writes them: texts, numbers, lists.
    name : callable
        What errors call a line.

    Raises
    ------
    SpecError
        If a value is missing or wrong.
    """
    lines = form_of(spec)
    values = {
        line.field: argument_value(name(line), given[line.field], line)
        for line in lines
        if line.field in given
    }
    for line in lines:
        if line.required and line.field not in values:
            raise SpecError(name(line), "given", "nothing", f"It is: {line.about}.")
    result = spec_of_values(
        spec, values, lines={line.field: name(line) for line in lines}, place=""
    )
    assert isinstance(result, spec)
    return result


def spec_from_arguments(spec: type[S], given: Mapping[str, Any]) -> S:
    """Return a specification from keyword arguments, with or without the unit in their names.

    ``None`` stands for a value that is left out.

    Raises
    ------
    SpecError
        If an argument is unknown, given twice, missing or wrong.
    """
    fields = argument_fields(spec, given)
    names = {field: word for word, field in fields.items()}
    values = {field: given[word] for word, field in fields.items() if given[word] is not None}
    return spec_from_values(spec, values, lambda line: names.get(line.field, line.word))


def argument_fields(spec: type[Spec], given: Mapping[str, Any]) -> dict[str, str]:
    """Return the field that each keyword argument means.

    Raises
    ------
    SpecError
        If an argument is unknown, or one field is given twice.
    """
    words = {word: line.field for line in form_of(spec) for word in (line.word, line.field)}
    fields: dict[str, str] = {}
    for word in given:
        if word not in words:
            known = [line.word for line in form_of(spec)]
            hint = nearest(word[:40], known) or f"There are: {', '.join(known)}."
            raise SpecError("argument", "one that belongs here", shown(word), hint)
        if words[word] in fields.values():
            raise SpecError(word, "given once", "it twice", "Leave one of them out.")
        fields[word] = words[word]
    return fields


def as_argument(problem: SpecError, spec: type[Spec], name: Naming) -> SpecError:
    """Return a failure with the argument's name in place of the field's, if it is one's."""
    for line in form_of(spec):
        if problem.field in (line.field, line.word):
            return problem.at(name(line))
    return problem


def argument_value(name: str, value: Any, line: FormField) -> Any:
    """Return one value as its line wants it.

    A list may be one text; a number may be of any kind, a file name a path.
    """
    if isinstance(value, os.PathLike):
        value = os.fspath(value)
    if isinstance(value, Grid) and line.kind is Grid:
        return value
    if isinstance(line.mark, Each):
        return read_value(name, _listed(value), line)
    if line.item is not None and line.kind is not Grid:
        listed = [value] if isinstance(value, str) else value
        if issubclass(line.item, StrEnum) and isinstance(listed, list | tuple):
            listed = [word for words in listed for word in _words(words)]
        return read_value(name, listed, line)
    return read_value(name, _plain_number(value), line)


def _listed(value: Any) -> Any:
    """Return a list of any kind with plain numbers; a text, or no list, as it is."""
    if isinstance(value, str) or not _is_list(value):
        return value
    return [_plain_number(one) for one in value]


def _words(value: Any) -> Any:
    """Return the words of a text with blanks, commas or semicolons between them."""
    if isinstance(value, StrEnum) or not isinstance(value, str):
        return [value]
    return value.replace(",", " ").replace(";", " ").split()


def _is_list(value: Any) -> bool:
    return hasattr(value, "__iter__") and not isinstance(value, Mapping | bytes)


def _plain_number(value: Any) -> Any:
    """Return a number of any kind, such as one out of an array, as a plain one."""
    odd = isinstance(value, Real) and not isinstance(value, bool | int | float)
    return float(value) if odd else value
