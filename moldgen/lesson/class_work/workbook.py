"""Tables as CSV and as a workbook (XLSX), the same bytes each time; no cell is ever a formula."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Sequence
from datetime import datetime

from moldgen.zip_file import zip_bytes

Row = Sequence[str | float | int | None]

_DATE = datetime(2000, 1, 1)
_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")
_CORE = "docProps/core.xml"
_WIDEST = 60
_BEGINS_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_table(rows: Sequence[Row]) -> bytes:
    """Return rows as CSV, UTF-8 with the mark by which spreadsheets know it."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\r\n").writerows([list(map(_plain, row)) for row in rows])
    return stream.getvalue().encode("utf-8-sig")


def _plain(cell: str | float | None) -> str | float | None:
    """Return a cell that no spreadsheet takes for a formula."""
    if isinstance(cell, str) and cell.startswith(_BEGINS_FORMULA):
        return f"'{cell}"
    return cell


def xlsx_tables(tables: Sequence[tuple[str, Sequence[Row]]]) -> bytes:
    """Return tables as a workbook, a sheet each, the first row of each in bold and kept in sight.

    Parameters
    ----------
    tables : sequence of (str, rows)
        Title of each sheet, and its rows, the heading first.
    """
    # Only a workbook needs it.
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    book.remove(book.active)
    book.properties.created = _DATE
    for title, rows in tables:
        sheet = book.create_sheet(title)
        sheet.freeze_panes = "A2"
        for i, row in enumerate(rows, start=1):
            for j, value in enumerate(row, start=1):
                cell = sheet.cell(i, j, value)
                if isinstance(value, str):
                    cell.data_type = "s"
                if i == 1:
                    cell.font = Font(bold=True)
        for column in sheet.columns:
            longest = max(len(str(cell.value or "")) for cell in column)
            sheet.column_dimensions[column[0].column_letter].width = min(_WIDEST, longest + 2)
    stream = io.BytesIO()
    book.save(stream)
    return _undated(stream.getvalue())


def _undated(book: bytes) -> bytes:
    """Return a workbook without the time at which it was written."""
    with zipfile.ZipFile(io.BytesIO(book)) as old:
        parts = [(name, old.read(name)) for name in old.namelist()]
    return zip_bytes(
        (name, _MODIFIED.sub(rb"\g<1>2000-01-01T00:00:00Z", data) if name == _CORE else data)
        for name, data in parts
    )
