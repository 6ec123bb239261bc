"""Rosters as people keep them: CSV of any spreadsheet, XLSX, pasted lines; and what is refused."""

import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from support.some import some

from moldgen.errors import FileError, MoldgenError, SpecError
from moldgen.execution import run_with
from moldgen.lesson.roster.roster import (
    MOST_PIECES,
    Roster,
    read_roster,
    roster_of_bytes,
    roster_of_text,
)
from moldgen.limits import PAGE, Limits
from moldgen.wording import fold


def names(roster):
    """Return the names of a roster."""
    return [one.name for one in roster.entries]


def book(rows, *, macros=False):
    """Return a workbook of these rows."""
    workbook = Workbook()
    for row in rows:
        workbook.active.append(row)
    stream = io.BytesIO()
    workbook.save(stream)
    if macros:
        with zipfile.ZipFile(stream, "a") as packed:
            packed.writestr("xl/vbaProject.bin", b"Sub AutoOpen()")
    return stream.getvalue()


@pytest.mark.parametrize(
    "text",
    [
        "Ada\nBjörn\nCéline\n",
        "Name\nAda\nBjörn\nCéline",
        "\ufeffName,Word\r\nAda,\r\nBjörn,\r\nCéline,\r\n",
        "name;word\nAda;\nBjörn;\nCéline;\n",
        "Word\tSTUDENT\n\tAda\n\tBjörn\n\tCéline\n",
        "\n\n  Ada \n\nBjörn\n\tCéline\n".replace("\t", ""),
    ],
    ids=["lines", "heading", "bom and crlf", "semicolons", "tabs", "blanks"],
)
def test_names_are_read_however_they_are_listed(text):
    """Separator, heading, marks and blanks do not matter."""
    assert names(roster_of_text(text)) == ["Ada", "Björn", "Céline"]


@pytest.mark.parametrize("kind", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_names_are_read_in_the_letters_of_every_spreadsheet(kind):
    """UTF-8 with and without its mark, UTF-16, and what old programs write."""
    assert names(roster_of_bytes("Ada\nJürgen".encode(kind), name="r.csv")) == ["Ada", "Jürgen"]


def test_a_workbook_is_read_like_a_list(tmp_path):
    """The first sheet counts; numbers are written as people write them."""
    rows = [["Name", "Word", "Pieces", "Group"], ["Ada", "TIDE", 2, 7.0], ["Bo", None, None, None]]
    path = tmp_path / "class.xlsx"
    path.write_bytes(book(rows))
    first, second = read_roster(path).entries

    assert (first.name, first.word, first.pieces, first.group) == ("Ada", "TIDE", 2, "7")
    assert (second.says, second.pieces) == ("Bo", 1)


@pytest.mark.parametrize(
    "text",
    [
        "No\tName\tBorn\n1\tIda Meyer\t2012\n2\tOle Berg\t2013",
        "Surname;First name;Mail\nMeyer;Ida;ida@shed.test\nBerg;Ole;",
        "1,Ida Meyer\n2,Ole Berg\n",
        "Class 7b\n\nMr. Olsen's shed\nName;Word\nIda Meyer;\nOle Berg;",
        "Nachname;Vorname\nMeyer;Ida\nBerg;Ole",
        "Name;Vorname\nMeyer;Ida\nBerg;Ole",
        "Nom;Prénom\nMeyer;Ida\nBerg;Ole",
        "Nombre;Apellidos\nIda;Meyer\nOle;Berg",
        "Name;Vorname\nIda Meyer;Ida\nOle Berg;Ole",
        "Ida Meyer; Ole Berg",
        "Ida Meyer\nOle Berg;\n",
    ],
    ids=[
        "table",
        "two columns",
        "numbers first",
        "title",
        "German",
        "German, name as surname",
        "French",
        "Spanish",
        "whole name beside forename",
        "one line",
        "semicolons",
    ],
)
def test_names_are_found_in_what_a_school_office_has(text):
    """By the heads of the columns, or else in the first column with words."""
    assert names(roster_of_text(text)) == ["Ida Meyer", "Ole Berg"]


def test_names_of_every_script_are_names():
    """From right to left, joined by unseen signs, and emoji of several parts."""
    written = [
        "\u05d0\u05d1\u05d0",
        "\u0645\u06cc\u200c\u0631\u0648\u062f",
        "\U0001f469\u200d\U0001f527",
        "Ada",
    ]

    assert names(roster_of_text("name\n" + "\n".join(written))) == written


def test_a_long_list_of_columns_or_doubles_is_told_in_a_line():
    """The first ones, and how many there are."""
    columns = ",".join(f"c{i}" for i in range(500))
    (note,) = roster_of_text(f"name,{columns}\nAda\n").notes
    (told,) = roster_of_text("\n".join(f"N{i}\nN{i}" for i in range(100))).notes

    assert note.endswith("c6, c7, ... (500 in all).")
    assert told.endswith(", ... (100 in all): they are numbered.")


def test_a_name_with_a_comma_is_one_name():
    """A list without a heading that is parted into two by commas has surname and forename."""
    assert names(roster_of_text("Meyer, Ida\nBerg, Ole")) == ["Meyer, Ida", "Berg, Ole"]


def test_what_stands_above_the_heading_is_told():
    """A title of a few lines is nobody; a list without a heading keeps its first names."""
    titled = roster_of_text("Class 7b\n\nname;style;Stück\nAda;Nunito Black;2\n")
    bare = roster_of_text("Ida Meyer\nOle Berg\n")

    assert titled.notes == ("What stands above the heading is left out: Class 7b.",)
    assert [(one.name, one.font, one.pieces, one.row) for one in titled.entries] == [
        ("Ada", "Nunito Black", 2, 4)
    ]
    assert bare.notes == ()


def test_a_row_of_several_cells_above_a_word_of_headings_is_no_title():
    """Somebody who is called as a column is stays somebody."""
    assert names(roster_of_text("1,Ada\n2,Ole\n3,Nom\n")) == ["Ada", "Ole", "Nom"]
    assert names(roster_of_text("1,Ada\n2,Ole\n\n3,Nom\n")) == ["Ada", "Ole", "Nom"]
    assert names(roster_of_text("Ada\nNom\nOle\n")) == ["Ada", "Nom", "Ole"]


def test_columns_may_stand_in_any_order_and_unknown_ones_are_told():
    """What means nothing here is left out with a note."""
    roster = roster_of_text("born,Sheet colour,name\n2010,red,Ada\n")

    assert (roster.entries[0].name, roster.entries[0].color) == ("Ada", "red")
    assert roster.notes == ("Columns that mean nothing here are left out: born.",)


def test_two_of_one_name_are_numbered_and_keep_their_word():
    """Folders are kept apart; what is raised stays as written; a name that is taken is not used."""
    roster = roster_of_text("Ada\nAda 2\nada\nBo\n\n")

    assert names(roster) == ["Ada", "Ada 2", "ada 3", "Bo"]
    assert [one.says for one in roster.entries] == ["Ada", "Ada 2", "ada", "Bo"]
    assert roster.notes == (
        "1 empty row left out.",
        "More than one is called Ada: they are numbered.",
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "lists nobody"),
        ("1;2\n3;4", "no column of names"),
        ("\n \n", "lists nobody"),
        ("name,word\n", "heading but no names"),
        ("name,word\nAda,\n,TIDE\n", "name in row 3 of the roster must be written"),
        ("name\n=cmd|'/c calc'!A1\n", "name in row 2 of the roster must be a text"),
        ("name,word\nAda,@SUM(1)\n", "word in row 2 of the roster must be a text"),
        ("name\nA\x1b[2Jda\n", "name in row 2 of the roster must be one line"),
        ("name\nAda\u202enob\n", "name in row 2 of the roster must be one line"),
        ("name,word\nAda,T\u2066IDE\u2069\n", "word in row 2 of the roster must be one line"),
        ("name\nAda\n\u200b\n", "name in row 3 of the roster must be one line"),
        ('name\n"Ada\nBo\n', "name in row 2 of the roster must be one line"),
        ("\n".join(map(str, range(10_000))), "roster must be at most 5000 rows (got row 5001)"),
        ("name,pieces\nAda,0\n", "pieces in row 2 of the roster must be a whole number"),
        (f"name,pieces\nAda,{MOST_PIECES + 1}\n", f"from 1 to {MOST_PIECES}"),
        ("name,pieces\nAda,two\n", "(got 'two')"),
        ("name\n" + "A" * 3000, "row 2 of the roster must be at most 2000 letters a cell"),
    ],
)
def test_a_row_that_is_wrong_is_one_sentence_with_its_number(text, words):
    """The sentence names row and column."""
    with pytest.raises(MoldgenError) as told:
        roster_of_text(text)

    assert words in str(told.value)
    assert "\n" not in str(told.value)
    assert "\x1b" not in str(told.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (book([["Ada"]], macros=True), "holds macros, which are never run"),
        (book([["Ada"]])[:300], "is damaged"),
        (b"PK\x03\x04" + b"\0" * 50, "is damaged"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 50, "workbook of the old kind"),
        (b"Ada\0\x01\x02", "no list that can be read"),
    ],
    ids=["macros", "torn", "no book", "old book", "binary"],
)
def test_what_is_no_list_is_refused_in_a_sentence(data, words):
    """Macros are never run, damaged books are not guessed at."""
    with pytest.raises(FileError, match=words):
        roster_of_bytes(data, name="class.xlsx")


def test_a_workbook_that_is_no_workbook_inside_is_refused():
    """A ZIP of something else is told as what it is not."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("notes.txt", "hello")

    with pytest.raises(FileError, match="no workbook that can be read"):
        roster_of_bytes(stream.getvalue(), name="class.xlsx")


def test_a_book_that_unpacks_to_far_more_is_refused_before_it_is_unpacked():
    """A few kilobytes that hold megabytes of blanks are told by their list of contents."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 30_000_000)

    with pytest.raises(FileError, match="unpacks to more than 20 MB, far more than a class"):
        roster_of_bytes(stream.getvalue(), name="class.xlsx")


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (Limits(roster_bytes=10), "larger than 10 bytes"),
        (Limits(roster_rows=2), "roster must be at most 2 rows"),
        (Limits(text_characters=3), "at most 3 letters a cell"),
    ],
)
def test_each_limit_holds(limits, words):
    """Bytes, rows and letters are counted, for text and workbook alike."""
    rows = [["Adam"], ["Bob"], ["Cem"]]
    for data in (book(rows), b"Adam\nBob\nCem\n"):
        with run_with(limits=limits), pytest.raises(MoldgenError, match=words):
            roster_of_bytes(data, name="class.xlsx")


def test_the_page_reads_a_school_and_no_more():
    """400 rows of a page, 5000 at one's own machine."""
    many = "\n".join(f"Name {i}" for i in range(401))

    assert len(roster_of_text(many).entries) == 401
    with run_with(limits=PAGE), pytest.raises(SpecError, match="at most 400 rows"):
        roster_of_text(many)


def test_a_roster_that_is_not_there_is_told(tmp_path):
    """The sentence names the file."""
    with pytest.raises(FileError, match=r"class\.csv cannot be read"):
        read_roster(tmp_path / "class.csv")


WORDS = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=12)


@given(st.lists(WORDS, min_size=1, max_size=12))
def test_any_names_give_a_roster_with_names_apart_or_one_sentence(words):
    """Emoji, other scripts and signs are names like any others."""
    told = ""
    try:
        roster = roster_of_text("Name\n" + "\n".join(words))
    except MoldgenError as error:
        told = str(error)
    if told:
        assert "\n" not in told
        return
    folded = [fold(one.name) for one in some(roster.entries)]

    assert isinstance(roster, Roster)
    assert len(set(folded)) == len(folded)
