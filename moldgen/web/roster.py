"""Names of a class from what a school office has: a pasted list, a CSV file, an XLSX file.

Nothing but names is taken, and whatever a cell holds is text: a formula is never computed.
"""

from __future__ import annotations

import csv
import zlib
from collections.abc import Iterator, Sequence
from io import BytesIO, StringIO
from zipfile import BadZipFile, ZipFile

from moldgen.errors import FileError, SpecError

MOST_NAMES = 400
_MOST_BYTES = 2_000_000
_MOST_UNPACKED_BYTES = 20_000_000
_MOST_COLUMNS = 60
_SURNAME = ("last name", "surname", "family name", "lastname")
_FORENAME = ("first name", "given name", "forename", "firstname")
_NAME = ("name", "names", "student", "student name", "pupil", "full name")

Rows = Sequence[Sequence[str]]


def names_in_lines(text: str) -> list[str]:
    """Return the names of a list that was typed or pasted, one to a line or parted by semicolons.

    What was copied out of a spreadsheet has tabs between its columns, and is read as a table.

    Raises
    ------
    SpecError
        If there are too many.
    """
    if "\t" in text:
        return names_in_table([row for row in csv.reader(StringIO(text), delimiter="\t")])
    return _few([line.strip() for line in text.replace(";", "\n").splitlines() if line.strip()])


def names_in_file(data: bytes) -> list[str]:
    """Return the names in a CSV or XLSX file.

    Raises
    ------
    FileError
        If it is neither, or larger than a roster is.
    SpecError
        If there are too many names, or none.
    """
    if len(data) > _MOST_BYTES:
        raise FileError("This file is too large for a roster: at most 2 MB.")
    return names_in_table(_sheet_rows(data) if data[:2] == b"PK" else _csv_rows(data))


def names_in_table(rows: Rows) -> list[str]:
    """Return the names in a table: its columns of names, or the first that holds words.

    Raises
    ------
    SpecError
        If there are too many names, or none.
    """
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    head = [" ".join(cell.casefold().split()) for cell in rows[0]] if rows else []
    columns = _named_columns(head)
    names = [
        " ".join(cell.strip() for cell in (row[k] for k in columns if k < len(row)) if cell.strip())
        for row in rows[1:]
    ] if columns else _first_words(rows)  # fmt: skip
    names = [name for name in names if name]
    if not names:
        raise SpecError(
            "names", "a list with a name in each line", "none", "Give a column of names."
        )
    return _few(names)


def _named_columns(head: Sequence[str]) -> list[int]:
    """Return the columns of forename and surname, or of the name, by their heads."""
    pair = [_column(head, _FORENAME), _column(head, _SURNAME)]
    if None not in pair:
        return [k for k in pair if k is not None]
    whole = _column(head, _NAME)
    return [] if whole is None else [whole]


def _column(head: Sequence[str], words: Sequence[str]) -> int | None:
    return next((k for k, cell in enumerate(head) if cell in words), None)


def _first_words(rows: Rows) -> list[str]:
    """Return the first column in which most cells hold a letter."""
    for k in range(max(map(len, rows), default=0)):
        cells = [row[k].strip() for row in rows if k < len(row)]
        if sum(any(map(str.isalpha, cell)) for cell in cells) > len(cells) / 2:
            return cells
    return []


def _few(names: list[str]) -> list[str]:
    if len(names) > MOST_NAMES:
        raise SpecError(
            "names", f"at most {MOST_NAMES}", f"{len(names)}", "Take one class at a time."
        )
    return names


def _csv_rows(data: bytes) -> Rows:
    text = _decoded(data)
    head = text.partition("\n")[0]
    delimiter = max("\t;,", key=head.count)
    try:
        return list(csv.reader(StringIO(text), delimiter=delimiter))
    except csv.Error as problem:
        raise FileError(f"This is no list that can be read: {problem}.") from None


def _decoded(data: bytes) -> str:
    for encoding in (
        ("utf-16",) if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    ):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise FileError("This is no list that can be read: give CSV or XLSX.")


def _sheet_rows(data: bytes) -> Rows:
    """Return the cells of the first sheet of a workbook, as text."""
    _refuse_large(data)
    from openpyxl import load_workbook

    try:
        book = load_workbook(BytesIO(data), read_only=True, data_only=False, keep_links=False)
        return list(_cells(book.worksheets[0]))
    except Exception as problem:  # whatever reading a damaged workbook may raise
        if isinstance(problem, SpecError):
            raise
        raise FileError("This workbook cannot be read: save it as CSV.") from None


def _cells(sheet: object) -> Iterator[list[str]]:
    rows = sheet.iter_rows(values_only=True, max_col=_MOST_COLUMNS)  # type: ignore[attr-defined]
    for number, row in enumerate(rows):
        if number > 4 * MOST_NAMES:
            raise SpecError("names", f"at most {MOST_NAMES}", "more", "Take one class at a time.")
        yield ["" if cell is None else str(cell) for cell in row]


def _refuse_large(data: bytes) -> None:
    """Refuse an archive that turns out to be larger than a roster is."""
    try:
        with ZipFile(BytesIO(data)) as archive:
            is_large = _unpacked_bytes(archive) > _MOST_UNPACKED_BYTES
    except (BadZipFile, RuntimeError, NotImplementedError, OSError, zlib.error, EOFError):
        raise FileError("This workbook cannot be read: save it as CSV.") from None
    if is_large:
        raise FileError("This workbook is too large for a roster.")


def _unpacked_bytes(archive: ZipFile) -> int:
    """Return how large all of it is, counted and not believed; it stops beyond what may be."""
    total = 0
    for entry in archive.infolist():
        with archive.open(entry) as packed:
            while total <= _MOST_UNPACKED_BYTES and (part := packed.read(65536)):
                total += len(part)
    return total
