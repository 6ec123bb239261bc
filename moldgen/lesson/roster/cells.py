"""Rows of cells from what a list is kept in: CSV, XLSX, or lines that somebody pastes."""

from __future__ import annotations

import csv
import io
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now
from moldgen.limits import spoken_size
from moldgen.named_file import bounded_bytes, told

Cells = tuple[str, ...]
"""The cells of one row, without blanks at their ends."""

_SEPARATORS = ("\t", ";", ",")
_MOST_COLUMNS = 60
_PACKED = b"PK\x03\x04"
_OLD_BOOK = b"\xd0\xcf\x11\xe0"
_SAVE_AS = "Save it as XLSX or CSV, or paste the names."


def cells_of_file(path: Path) -> list[Cells]:
    """Return the rows of a CSV or XLSX file.

    Raises
    ------
    FileError
        If it cannot be read, is too large, or is no list.
    """
    try:
        words = bounded_bytes(path, limits_now().roster_bytes)
    except OSError as error:
        raise FileError(f"{told(path)} cannot be read: {error.strerror or error}.") from None
    return cells_of_bytes(words, name=told(path))


def cells_of_bytes(words: bytes, *, name: str) -> list[Cells]:
    """Return the rows of a CSV or XLSX file in hand.

    Parameters
    ----------
    words : bytes
        Its content.
    name : str
        What sentences call it.

    Raises
    ------
    FileError
        If it is too large, or is no list.
    """
    most = limits_now().roster_bytes
    if len(words) > most:
        raise FileError(
            f"{name} is larger than {spoken_size(most)}, far more than a class. {_SAVE_AS}"
        )
    if words.startswith(_OLD_BOOK):
        raise FileError(f"{name} is a workbook of the old kind (XLS). {_SAVE_AS}")
    return _of_book(words, name) if words.startswith(_PACKED) else cells_of_text(_text(words, name))


def cells_of_text(text: str) -> list[Cells]:
    """Return the rows of a text: parted by tabs, semicolons or commas, whichever there are.

    Lines without any of them are rows of one cell.
    """
    lines = text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    rows = csv.reader(io.StringIO(lines, newline=""), delimiter=_separator(lines))
    try:
        return list(_within_limits(tuple(map(str.strip, row)) for row in rows))
    except csv.Error as error:
        raise FileError(f"The list cannot be read: {error}. {_SAVE_AS}") from None


def _separator(lines: str) -> str:
    """Return what parts cells: what stands in most lines, tabs before semicolons before commas."""
    some = [line for line in lines.split("\n") if line.strip()]
    counts = {one: sum(one in line for line in some) for one in _SEPARATORS}
    return max(_SEPARATORS, key=lambda one: counts[one])


def _text(words: bytes, name: str) -> str:
    """Return the text of a file as spreadsheets write it: UTF-8, UTF-16, or Windows-1252."""
    kinds = ("utf-16",) if words[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    for kind in kinds:
        try:
            text = words.decode(kind)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise FileError(f"{name} is no list that can be read. {_SAVE_AS}")


def _of_book(words: bytes, name: str) -> list[Cells]:
    _check_book(words, name)
    # Only a workbook needs it.
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(words), read_only=True, keep_links=False)
        cells = book.worksheets[0].iter_rows(values_only=True, max_col=_MOST_COLUMNS)
        rows = list(_within_limits(tuple(map(_said, row)) for row in cells))
        book.close()
    except SpecError:
        raise
    except Exception as error:  # the library raises many kinds
        raise FileError(f"{name} is no workbook that can be read. {_SAVE_AS}") from error
    return rows


def _check_book(words: bytes, name: str) -> None:
    """Refuse what unpacks to far more than a list, and programs in it."""
    try:
        with zipfile.ZipFile(io.BytesIO(words)) as book:
            if any("vbaproject" in one.lower() for one in book.namelist()):
                raise FileError(
                    f"{name} holds macros, which are never run. Save it as XLSX without them."
                )
            most = int(limits_now().roster_unpacked_bytes)
            if _unpacked_bytes(book, most) > most:
                raise FileError(
                    f"{name} unpacks to more than {spoken_size(most)}, far more than a class. "
                    f"{_SAVE_AS}"
                )
    except FileError:
        raise
    # Whatever reading a damaged archive may raise.
    except (zipfile.BadZipFile, zlib.error, RuntimeError, ValueError, OSError, EOFError):
        raise FileError(f"{name} is damaged. {_SAVE_AS}") from None


def _unpacked_bytes(book: zipfile.ZipFile, most: int) -> int:
    """Return how large all of it is, counted and not believed; it stops beyond the most."""
    total = 0
    for entry in book.infolist():
        with book.open(entry) as packed:
            while total <= most and (part := packed.read(65536)):
                total += len(part)
    return total


def _said(value: object) -> str:
    """Return a cell as it is read: whole numbers without a point."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return str(value).strip()


def _within_limits(rows: Iterator[Cells]) -> Iterator[Cells]:
    most_rows, most_letters = limits_now().roster_rows, limits_now().text_characters
    for number, row in enumerate(rows, start=1):
        if number > most_rows:
            raise SpecError(
                "roster", f"at most {most_rows:g} rows", f"row {number}", "Split it into classes."
            )
        longest = max(map(len, row), default=0)
        if longest > most_letters:
            raise SpecError(
                f"row {number} of the roster", f"at most {most_letters:g} letters a cell",
                f"{longest}", "Shorten it.",
            )  # fmt: skip
        yield row
