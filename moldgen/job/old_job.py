"""Job files of version 0.1: the same table with the words of today."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from moldgen.job.form import form_of
from moldgen.job.spec import Job, JobFeature
from moldgen.old_words import each_once, new_name, renewed
from moldgen.quantity import Spec


def renewed_job(words: Any) -> tuple[Any, tuple[str, ...]]:
    """Return a mold's words with new ones in place of old ones, and the old words, each once.

    Raises
    ------
    SpecError
        If an old word and the new one stand side by side; the field names the place.
    """
    old: list[str] = []
    new = _renewed("", words, Job, old)
    printer = new.get("printer") if isinstance(new, dict) else None
    if isinstance(printer, str) and new_name("printer", printer) != printer:
        new["printer"] = new_name("printer", printer)
        old.append(printer)
    return new, each_once(old)


def _renewed(place: str, table: Any, spec: type[Spec], old: list[str]) -> Any:
    """Return one table; what is no table is left for the reader to refuse."""
    if not isinstance(table, Mapping):
        return table
    known = [line.word for line in form_of(spec)]
    new, found = renewed(table, known, place=f"{place}: " if place else "")
    old += found
    for word, kind in _features_of(spec):
        if isinstance(new.get(word), list | tuple):
            new[word] = [
                _renewed(f"{place}, {word} {number}".removeprefix(", "), one, kind, old)
                for number, one in enumerate(new[word], start=1)
            ]
    return new


def _features_of(spec: type[Spec]) -> Iterator[tuple[str, type[Spec]]]:
    for line in form_of(spec):
        if isinstance(line.item, type) and issubclass(line.item, JobFeature):
            yield line.word, line.item
