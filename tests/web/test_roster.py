"""Rosters: names out of what a school office has, and nothing else."""

from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from openpyxl import Workbook

from moldgen.errors import FileError, SpecError
from moldgen.web.roster import MOST_NAMES, names_in_file, names_in_lines


def book(*rows):
    """A workbook with these rows, as bytes."""
    made = Workbook()
    for row in rows:
        made.active.append(row)
    stream = BytesIO()
    made.save(stream)
    return stream.getvalue()


@pytest.mark.parametrize(("text", "names"), [
    ("Ida\nOle; Åse\n\n", ["Ida", "Ole", "Åse"]),
    ("Meyer, Ida\nBerg, Ole", ["Meyer, Ida", "Berg, Ole"]),
    ("No\tName\tBorn\n1\tIda\t2012\n2\tOle\t2013", ["Ida", "Ole"]),
    ("", []),
])  # fmt: skip
def test_a_pasted_list_gives_its_names(text, names):
    """Lines, semicolons, or what was copied out of a spreadsheet."""
    assert names_in_lines(text) == names


@pytest.mark.parametrize("data", [
    b"Surname;First name;Mail\nMeyer;Ida;ida@shed.test\nBerg;Ole;",
    "\ufeffName,Group\nIda Meyer,A\nOle Berg,B\n".encode(),
    "1,Ida Meyer\n2,Ole Berg\n".encode("utf-16"),
    "No;Full name\n1;Ida Meyer\n2;Ole Berg".encode("cp1252"),
    book(["Group", "First name", "Last name"], ["A", "Ida", "Meyer"], ["B", "Ole", "Berg"]),
    book([1, "Ida Meyer"], [2, "Ole Berg"], [None, None]),
])  # fmt: skip
def test_a_file_gives_its_names_and_nothing_else(data):
    """By the heads of its columns, or else the first column with words."""
    assert names_in_file(data) == ["Ida Meyer", "Ole Berg"]


def test_a_formula_is_text():
    """It is never computed, in a workbook and in a list."""
    formula = '=HYPERLINK("x","Ida")'

    assert names_in_file(book(["Name"], [formula])) == [formula]
    assert names_in_file(b"Name\n=1+1\n") == ["=1+1"]


def bomb():
    """A small workbook of 40 MB."""
    stream = BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b" " * 40_000_000)
    return stream.getvalue()


@pytest.mark.parametrize(("data", "sentence"), [
    (b"PK\x03\x04 broken", "cannot be read"),
    (bomb(), "too large"),
    (b"x" * 2_000_001, "too large"),
    (b"\x00\x01\x02", "cannot|no list"),
])  # fmt: skip
def test_what_is_no_roster_is_refused(data, sentence):
    """One sentence, and no harm."""
    with pytest.raises(FileError, match=sentence):
        names_in_file(data)


@pytest.mark.parametrize("data", [
    b"\n".join(b"Ida %d" % n for n in range(MOST_NAMES + 1)), b"1;2\n3;4", b"", book(["Name"]),
])  # fmt: skip
def test_too_many_names_or_none_are_refused(data):
    """The sentence says how many may be."""
    with pytest.raises(SpecError, match="names must be"):
        names_in_file(data)
