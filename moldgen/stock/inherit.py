"""Inherit: an entry that is not written in full takes the rest from another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from moldgen.errors import SpecError
from moldgen.old_words import new_name
from moldgen.stock.shelf import Shelf
from moldgen.stock.stock_file import Row
from moldgen.wording import fold

_OWN = ("title", "aliases")
"""What belongs to one entry alone: two entries with one title could not be told apart."""


def laid_on(below: Shelf[Row], written: Sequence[Row]) -> tuple[Row, ...]:
    """Return the rows of earlier files with those of a later file laid on them.

    A row that names a known entry changes it and keeps its place; any other is added. Both
    take every cell that is not written from the row they are based on, which may stand in the
    same file, before or after.

    Raises
    ------
    SpecError
        If two rows of the file have one name, a row is based on itself in the end or on a row
        that is not there, or an alias is another entry's name.
    """
    by_name: dict[str, Row] = {}
    for row in written:
        if fold(row.name) in by_name:
            other = by_name[fold(row.name)].name
            raise SpecError(row.place(), "written once", f"also {other!r}", "Join the two.")
        by_name[fold(row.name)] = row
    settled = [_settled(row, by_name, below, ()) for row in written]
    result = {fold(row.name): row for row in (*below.entries, *settled)}
    _refuse_taken_aliases(settled, result)
    return tuple(result.values())


def _settled(row: Row, by_name: dict[str, Row], below: Shelf[Row], chain: tuple[str, ...]) -> Row:
    """Return the row with every inherited cell filled in."""
    chain = (*chain, row.name)
    if row.name in chain[:-1]:
        raise SpecError(
            row.place("based_on"),
            "an entry that is not based on this one",
            " -> ".join(chain),
            "Break the circle.",
        )
    known = next((old for old in below.entries if fold(old.name) == fold(row.name)), None)
    # Who calls a printer as moldgen calls it since, and builds on its old name, changes it.
    base_name = new_name(row.kind, row.based_on)
    if known and (not base_name or fold(base_name) == fold(row.name)):
        return replace(
            row, name=known.name, cells={**known.cells, **row.cells}, based_on=known.based_on
        )
    if not row.based_on:
        return row
    # All older rows are asked too: a row that changes one seldom repeats its aliases.
    choice = Shelf(row.kind, (*below.entries, *by_name.values()))
    base = choice.find(row.based_on, field=row.place("based_on"))
    if fold(base.name) in by_name:
        base = _settled(by_name[fold(base.name)], by_name, below, chain)
    inherited = {field: cell for field, cell in base.cells.items() if field not in _OWN}
    return replace(row, cells=inherited | dict(row.cells), based_on=base.name)


def _refuse_taken_aliases(settled: Sequence[Row], result: dict[str, Row]) -> None:
    for row in settled:
        for alias in row.aliases:
            owner = result.get(fold(alias))
            if owner and fold(owner.name) != fold(row.name):
                raise SpecError(
                    row.place("aliases", file=row.cells["aliases"].file),
                    "no other entry's name",
                    repr(alias),
                    "Leave it out.",
                )
