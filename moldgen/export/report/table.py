"""Tables of the report: rows under a header, and text as HTML allows it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from html import escape

from moldgen.errors import SpecError
from moldgen.units_text import as_read, column_as_read, is_as_composed

_NUMBER = re.compile(
    r"^(less than )?[-+−]?[\d.,]+"
    r"( ?(mm|cm|m|s|min|°C|°|%|kPa|MPa|N|mL|L|g|mm²|cm²|cm³|in|ft|in²|in³|°F))?$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under a header; columns of numbers are set to the right.

    Attributes
    ----------
    title : str
        What it lists.
    header : tuple of str
        Names of the columns, with units.
    rows : tuple of tuple of str
        As many cells in each as the header has.
    note : str
        Where the values come from.
    typed : tuple of str
        Columns that hold what people typed, such as names: it stays as it is in every language.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    typed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.header):
                raise SpecError(
                    "rows", f"{len(self.header)} cells wide, as the header", f"{len(row)} cells"
                )


def text_html(words: str) -> str:
    """Escape text, and leave out control characters that HTML does not allow."""
    return escape("".join(c for c in words if c >= " " or c in "\n\t"), quote=True)


def told_html(words: str) -> str:
    """Escape text in the language and the units that it is to be read in now."""
    return text_html(as_read(words))


def table_as_read(table: Table) -> Table:
    """Return a table in the language and the units that it is to be read in now."""
    if is_as_composed():
        return table
    columns = [_column_as_read(table, number, name) for number, name in enumerate(table.header)]
    return replace(
        table,
        title=as_read(table.title),
        header=tuple(name for name, _ in columns),
        rows=tuple(zip(*(cells for _, cells in columns), strict=True)),
        note=as_read(table.note),
    )


def _column_as_read(table: Table, number: int, name: str) -> tuple[str, list[str]]:
    cells = [row[number] for row in table.rows]
    return (as_read(name), cells) if name in table.typed else column_as_read(name, cells)


def table_html(table: Table) -> str:
    """Return a table as HTML, under its title; columns of numbers are set to the right."""
    table = table_as_read(table)
    numeric = [
        bool(table.rows) and all(_NUMBER.match(row[i]) for row in table.rows)
        for i in range(len(table.header))
    ]
    marks = [' class="number"' if yes else "" for yes in numeric]
    head = "".join(
        f'<th scope="col"{mark}>{text_html(name)}</th>'
        for mark, name in zip(marks, table.header, strict=True)
    )
    rows = "\n".join(
        "<tr>"
        + "".join(
            f"<td{mark}>{text_html(cell)}</td>" for mark, cell in zip(marks, row, strict=True)
        )
        + "</tr>"
        for row in table.rows
    )
    note = f'\n<p class="basis">{text_html(table.note)}</p>' if table.note else ""
    return (
        f"<h3>{text_html(table.title)}</h3>\n"
        f'<div class="scroll" tabindex="0" role="region" aria-label="{text_html(table.title)}">\n'
        f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>\n</div>{note}"
    )
