"""Roster: who is in a class, and what each of them makes."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from moldgen.errors import FileError, SpecError
from moldgen.lesson.roster.cells import Cells, cells_of_bytes, cells_of_file, cells_of_text
from moldgen.lesson.roster.column_names import COLUMN_NAMES
from moldgen.lesson.roster.roster_notes import roster_notes
from moldgen.wording import fold, shown

MOST_PIECES = 40
"""So many of one thing a person may make; more is a slip. [-]."""


_BEGINS_FORMULA = ("=", "@")
_TURN_TEXT = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Signs that turn the order of what stands around them: a name looks like another one."""
_MOST_ABOVE = 6
"""In so many rows from the first one that holds something a heading is looked for. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RosterEntry:
    """One person of a class.

    Attributes
    ----------
    row : int
        Row of the list, from 1; 0 for who stands in none.
    name : str
        As it was written; with a number behind it where another has the same.
    word : str
        What is raised; the name if empty.
    shape, drawing, font, color, group, job : str
        Outline of the library, drawing beside the roster, font, color of the sheet, group, and
        job file of the person's own; empty for what the class makes.
    pieces : int
        How many of it.
    link : str
        What the code on the job card opens, no column of a list; none if empty.
    """

    row: int
    name: str
    word: str = ""
    shape: str = ""
    drawing: str = ""
    font: str = ""
    color: str = ""
    group: str = ""
    job: str = ""
    pieces: int = 1
    link: str = ""

    @property
    def who(self) -> str:
        """The name, with the row where it stands."""
        return f"{self.name} (row {self.row})" if self.row else self.name

    @property
    def says(self) -> str:
        """What is raised on what this person makes."""
        return self.word or self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Roster:
    """A class.

    Attributes
    ----------
    entries : tuple of RosterEntry
        In the order of the list.
    notes : tuple of str
        What was left out or changed, a sentence each.
    """

    entries: tuple[RosterEntry, ...]
    notes: tuple[str, ...] = ()


def read_roster(path: Path) -> Roster:
    """Return the roster in a CSV or XLSX file.

    Raises
    ------
    FileError
        If the file cannot be read, or lists nobody.
    SpecError
        If a row is not what a roster has; the sentence names row and column.
    """
    return roster_of_cells(cells_of_file(path))


def roster_of_bytes(words: bytes, *, name: str) -> Roster:
    """Return the roster in a CSV or XLSX file in hand; raises as `read_roster`."""
    return roster_of_cells(cells_of_bytes(words, name=name))


def roster_of_text(text: str) -> Roster:
    """Return the roster in pasted lines; raises as `read_roster`.

    Without a heading, what is parted by semicolons are names as well.
    """
    rows = cells_of_text(text)
    if ";" in text and any(map(any, rows)) and not _has_heading(rows) and "\t" not in text:
        rows = [(cell,) for row in rows for cell in row or ("",)]
    return roster_of_cells(rows)


def roster_of_cells(rows: Sequence[Cells]) -> Roster:
    """Return a roster from rows of cells.

    A row that names its columns is followed, the first one or below a title of a few lines;
    without one the names stand in the first column that holds words.

    Raises
    ------
    FileError
        If nobody is listed.
    SpecError
        If a row is not what a roster has.
    """
    if not any(any(row) for row in rows):
        raise FileError("The roster lists nobody: write one name a line.")
    top = _top(rows)
    head = _head(rows, top)
    columns, unknown = _columns(rows[head])
    first = head + 1 if columns else head
    title = [cell for row in rows[top:head] for cell in row if cell]
    written = [(i + 1, row) for i, row in enumerate(rows) if i >= first]
    if not columns:
        written = _bare_names(written)
        columns = {"name": 0}
    entries = [_entry(number, row, columns) for number, row in written if any(row)]
    if not entries:
        raise FileError("The roster has a heading but no names: write one name a line.")
    n_empty = sum(not any(row) for _, row in written)
    apart, doubles = told_apart(entries)
    return Roster(entries=tuple(apart), notes=tuple(roster_notes(title, unknown, n_empty, doubles)))


def _top(rows: Sequence[Cells]) -> int:
    """Return the first row that holds something."""
    return next(i for i, row in enumerate(rows) if any(row))


def _head(rows: Sequence[Cells], top: int) -> int:
    """Return which row names the columns: below lines of a title, if it is not the top one."""
    for i in range(top, min(top + _MOST_ABOVE, len(rows))):
        n_columns = len(_columns(rows[i])[0])
        if n_columns > 1 or (n_columns and (i == top or not any(rows[i - 1]))):
            return i
        if sum(map(bool, rows[i])) > 1:
            break
    return top


def _has_heading(rows: Sequence[Cells]) -> bool:
    return bool(_columns(rows[_head(rows, _top(rows))])[0])


def _bare_names(rows: Sequence[tuple[int, Cells]]) -> list[tuple[int, Cells]]:
    """Return rows of one cell, the name, of a list without a heading.

    It stands in the first column in which most cells hold a letter. Where that is the first of
    two, both are the name: ``Meyer, Ida``.
    """
    width = max(len(row) for _, row in rows)
    column = next((k for k in range(width) if _holds_words(rows, k)), None)
    if column is None:
        raise FileError("The roster has no column of names: write one name a line.")
    if column == 0 and width == 2 and _holds_words(rows, 1):
        return [(number, (", ".join(filter(None, row)),)) for number, row in rows]
    return [(number, row[column : column + 1]) for number, row in rows]


def _holds_words(rows: Sequence[tuple[int, Cells]], column: int) -> bool:
    cells = [row[column] for _, row in rows if column < len(row) and row[column]]
    return 2 * sum(any(map(str.isalpha, cell)) for cell in cells) > len(cells)


def _columns(row: Cells) -> tuple[dict[str, int], list[str]]:
    """Return the place of each column that a heading names, and names that mean nothing here."""
    known = {fold(word): column for column, words in COLUMN_NAMES.items() for word in words}
    columns: dict[str, int] = {}
    unknown = []
    for i, cell in enumerate(row):
        column = known.get(fold(cell))
        if column is None:
            unknown += [cell] if cell else []
        else:
            columns.setdefault(column, i)
    named = "name" in columns or {"forename", "surname"} <= columns.keys()
    return (columns, unknown) if named else ({}, [])


def _entry(number: int, row: Cells, columns: dict[str, int]) -> RosterEntry:
    cells = {column: row[i] if i < len(row) else "" for column, i in columns.items()}
    for column, cell in cells.items():
        _check_cell(number, column, cell)
    cells["name"] = _whole_name(
        cells.get("name", ""), cells.pop("forename", ""), cells.pop("surname", "")
    )
    if not cells["name"]:
        raise SpecError(
            f"name in row {number} of the roster", "written", "an empty cell",
            "Write the name, or remove the row.",
        )  # fmt: skip
    pieces = _pieces(number, cells.pop("pieces", ""))
    return RosterEntry(row=number, pieces=pieces, **cells)


def _whole_name(name: str, forename: str, surname: str) -> str:
    """Return a name of the columns that there are; beside a forename a name is the surname."""
    if name and forename and fold(forename) not in fold(name):
        return f"{forename} {name}"
    if name and surname and fold(surname) not in fold(name):
        return f"{name} {surname}"
    return name or " ".join(filter(None, (forename, surname)))


def _check_cell(number: int, column: str, cell: str) -> None:
    where = f"{column} in row {number} of the roster"
    if cell.startswith(_BEGINS_FORMULA):
        raise SpecError(where, "a text", f"the formula {shown(cell[:40])}", "Write it out.")
    odd = any(
        unicodedata.category(letter) in ("Cc", "Co", "Cs") or letter in _TURN_TEXT
        for letter in cell
    )
    # Signs that join letters are part of names in some scripts, and alone are nothing.
    unseen = bool(cell) and all(unicodedata.category(letter) == "Cf" for letter in cell)
    if odd or unseen:
        raise SpecError(
            where, "one line that can be read", shown(cell[:40]), "Remove the odd signs."
        )


def _pieces(number: int, cell: str) -> int:
    if not cell:
        return 1
    if cell.isdecimal() and 1 <= int(cell) <= MOST_PIECES:
        return int(cell)
    raise SpecError(
        f"pieces in row {number} of the roster", f"a whole number from 1 to {MOST_PIECES}",
        shown(cell[:40]),
    )  # fmt: skip


def told_apart(entries: Sequence[RosterEntry]) -> tuple[list[RosterEntry], list[str]]:
    """Return the entries, each with a name of its own; and the names that stood there twice.

    What is raised stays as it was written.
    """
    counts = Counter(fold(one.name) for one in entries)
    seen: Counter[str] = Counter()
    taken = set(counts)
    apart = []
    for one in entries:
        name = fold(one.name)
        seen[name] += 1
        number = seen[name]
        while number > 1 and fold(f"{one.name} {number}") in taken:
            number += 1
        renamed = one.name if number == 1 else f"{one.name} {number}"
        taken.add(fold(renamed))
        apart.append(replace(one, name=renamed, word=one.says))
    doubles = {fold(one.name): one.name for one in reversed(entries) if counts[fold(one.name)] > 1}
    return apart, list(doubles.values())
