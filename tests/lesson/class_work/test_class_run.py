"""A class at work: folders, what is built once, what is kept, what goes wrong."""

import csv
import io
import zipfile
from concurrent.futures import Executor, Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from support.some import some

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.export.report.table import table_as_read
from moldgen.finding import Severity
from moldgen.job.command.school_class import ClassCommand, Sizes
from moldgen.job.formats import Format
from moldgen.job.room import OwnRoom, RoomFilament, RoomSheet
from moldgen.language import Language, speak
from moldgen.lesson.class_work.build import BuildOrder
from moldgen.lesson.class_work.costs import cost_text
from moldgen.lesson.class_work.make import build_class
from moldgen.lesson.class_work.overview import class_rows
from moldgen.lesson.class_work.prints import n_prints
from moldgen.lesson.class_work.record import RECORDS, kept_record
from moldgen.lesson.class_work.shots import single_shots, timetable_rows, timetable_table
from moldgen.lesson.class_work.workbook import csv_table, xlsx_tables
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.lesson.timetable.timetable import plan_lessons
from moldgen.pipeline.stage import quiet
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
TAG = mg.sign("NAME", letter_height=14, gauge_mm=1.0)
NAMES = "name,word,pieces\nADA,,\nBO,,2\nADA,,\n"


class Counter(Executor):
    """Builds at once, and counts what was asked for."""

    def __init__(self):
        self.asked = []

    def submit(self, work, /, *args, **options):
        """Build one mold here."""
        self.asked.append(args[0])
        done = Future()
        done.set_result(work(*args, **options))
        return done


def made(out, text=NAMES, formats=(Format.STL, Format.PNG), like=TAG, alone=True, **how):
    """Make a class; return result, works and what was built."""
    counter = Counter()
    words = ClassCommand(file="r.csv", like="tag.toml", formats=formats, alone=alone, **how)
    result, works = build_class(
        roster_of_text(text), like, words,
        folder=Path(), out=out, shop=SHOP, progress=quiet, executor=counter,
    )  # fmt: skip
    return result, works, counter.asked


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """Return a class that was made once: its folder, result, works and what was built."""
    out = tmp_path_factory.mktemp("class")
    return out, *made(out)


def test_every_person_has_a_folder_with_files_of_the_name(shared):
    """Folders sort as the roster does; two of one name are apart."""
    out, _, works, _ = shared

    assert [work.folder for work in works] == ["1-ada", "2-bo", "3-ada-2"]
    assert (out / "1-ada" / "ada.stl").stat().st_size > 10_000
    assert (out / "3-ada-2" / "ada-2.stl").read_bytes() == (out / "1-ada" / "ada.stl").read_bytes()
    assert (out / "2-bo" / "bo-views.png").exists()


def test_a_class_and_make_give_the_same_mold(tmp_path):
    """The job that stands for a person comes to the same solid by either command."""
    words = ClassCommand(file="r.csv", like="tag.toml", formats=(Format.STL,), sizes=Sizes.OWN)
    _, (work,) = build_class(
        roster_of_text("ADA"), TAG, replace(words, alone=True),
        folder=Path(), out=tmp_path, shop=SHOP, progress=quiet, executor=Counter(),
    )  # fmt: skip
    alone = mg.make(mg.sign("ADA", letter_height=14, gauge_mm=1.0)).files("stl")

    assert (tmp_path / work.folder / "ada.stl").read_bytes() == alone["ada.stl"]


def test_a_mold_that_two_make_is_built_once(shared):
    """ADA and ADA are one mold, BO another."""
    assert len(shared[3]) == 2


def test_a_second_run_builds_only_what_changed(shared, tmp_path):
    """Nothing changed: nothing is built, and every byte stays; one name more: one mold more."""
    out, result, _, _ = shared
    again, works, built = made(out)
    _, more, added = made(out, NAMES + "CEM,,\n")
    made(out)

    assert built == []
    assert [work.is_new for work in works] == [False] * 3
    assert again.files["class-list.csv"] == result.files["class-list.csv"]
    assert again.files["job-cards.pdf"] == result.files["job-cards.pdf"]
    assert len(added) == 1
    assert [work.is_new for work in more] == [False, False, False, True]


@pytest.mark.parametrize("harm", ["removed", "changed", "no record", "torn record"])
def test_what_is_not_whole_is_built_again(tmp_path, harm):
    """A file that is missing or changed, and a record that cannot be read, are no finished work."""
    made(tmp_path, "name\nADA\n", formats=(Format.STL,))
    stl = tmp_path / "1-ada" / "ada.stl"
    whole = stl.read_bytes()
    record = next((tmp_path / RECORDS).glob("*.json"))
    {
        "removed": stl.unlink,
        "changed": lambda: stl.write_bytes(whole[:-1]),
        "no record": record.unlink,
        "torn record": lambda: record.write_text(record.read_text()[:50]),
    }[harm]()
    _, _, built = made(tmp_path, "name\nADA\n", formats=(Format.STL,))

    assert len(built) == 1
    assert stl.read_bytes() == whole


def test_records_of_what_is_made_no_more_go_and_folders_of_nobody_are_told(tmp_path):
    """A folder may hold what somebody wants to keep: it stays, with a note."""
    made(tmp_path, "name\nADA\nBO\n", formats=(Format.STL,))
    result, _, _ = made(tmp_path, "name\nADA\n", formats=(Format.STL,))
    notes = [one.says for one in result.findings if one.severity is Severity.NOTE]

    assert len(list((tmp_path / RECORDS).glob("*.json"))) == 1
    assert (tmp_path / "2-bo" / "bo.stl").exists()
    assert len(notes) == 1
    assert "2-bo" in notes[0]


def test_one_that_cannot_be_made_is_told_and_the_others_go_on(tmp_path):
    """The finding names person and row; the list holds the problem."""
    text = "name,font\nADA,\nBO,no such font\n"
    result, works, _ = made(tmp_path, text, formats=(Format.STL,))
    stops = [one for one in result.findings if one.severity is Severity.STOP]

    assert [bool(work.folder) for work in works] == [True, False]
    assert len(stops) == 1
    assert stops[0].says.startswith("BO (row 3) has no mold: ")
    assert "no such font" in result.files["class-list.csv"].decode("utf-8-sig")
    assert not list(tmp_path.glob("2-*"))


def test_a_class_of_which_nothing_can_be_made_is_refused(tmp_path):
    """One sentence, and no list of nothing."""
    with pytest.raises(SpecError, match="no such font"):
        made(tmp_path, "name,font\nADA,no such font\n")
    assert not (tmp_path / "overview.html").exists()


def test_the_list_tells_the_figures_of_every_mold(shared):
    """Sizes, hours, grams and folders stand in both lists alike."""
    _, result, works, _ = shared
    rows = list(csv.DictReader(io.StringIO(result.files["class-list.csv"].decode("utf-8-sig"))))
    book = openpyxl.load_workbook(io.BytesIO(result.files["class-list.xlsx"]))
    head, *cells = [list(row) for row in book["Class"].iter_rows(values_only=True)]

    assert [row["Name"] for row in rows] == ["ADA", "BO", "ADA 2"]
    for row, cell, work in zip(some(rows), cells, works, strict=True):
        numbers = work.record.numbers
        assert float(row["Width (mm)"]) == pytest.approx(numbers["width_mm"], abs=0.06)
        assert float(row["Print (h)"]) == pytest.approx(numbers["print"]["time_s"] / 3600, abs=0.01)
        assert cell[head.index("Folder")] == row["Folder"] == work.folder
        assert cell[head.index("Pieces")] == int(row["Pieces"])


def test_there_is_a_card_for_each_piece_with_the_name_on_it(shared):
    """Two pieces, two cards; a card that was read back from its record is the same."""
    out, result, works, _ = shared
    pdf = result.files["job-cards.pdf"]
    card = works[0].record.card
    (key,) = {
        path.stem for path in (out / RECORDS).glob("*.json")
        if kept_record(out, path.stem).card.title == card.title
    }  # fmt: skip
    read = kept_record(out, key).card

    assert pdf.count(b"/Type /Page ") == 4
    assert pdf.count(b"<" + b"ADA 2".hex().encode() + b"> Tj") == 1
    assert (read.steps, read.cautions, read.foot) == (card.steps, card.cautions, card.foot)
    assert len(read.plan.items) >= 5


def test_molds_that_are_formed_alone_take_a_shot_each(shared):
    """Four pieces, four shots; the lists tell who is where when."""
    _, result, _, _ = shared
    rows = list(csv.DictReader(io.StringIO(result.files["timetable.csv"].decode("utf-8-sig"))))
    book = openpyxl.load_workbook(io.BytesIO(result.files["class-list.xlsx"]))

    assert result.numbers["shots"] == 4
    assert [row["Who"] for row in rows if row["Where"] == "forming table"] == [
        "ADA", "BO", "BO", "ADA 2",
    ]  # fmt: skip
    assert next(row["Begin"] for row in rows if row["Where"] == "forming table") == "10:00"
    assert {row["Begin"] for row in rows if row["Where"] == "drilling"} == {"0:00"}
    assert book["Timetable"].max_row == len(rows) + 1
    assert dict(result.summary)["Lessons"].startswith("4 shots in one lesson of 45 min")


def test_molds_of_a_class_are_arranged_on_sheets(tmp_path):
    """One shot takes four tags; templates lie in a folder, everybody is on the timetable."""
    result, works, _ = made(tmp_path, alone=False, stock_sheet="1220 x 610")
    listed = (tmp_path / "arrangement" / "placings.csv").read_text(encoding="utf-8")
    placings = list(csv.DictReader(io.StringIO(listed)))
    timetable = result.files["timetable.csv"].decode("utf-8-sig")

    assert result.numbers["shots"] == 1
    assert len(placings) == 4
    assert (tmp_path / "arrangement" / "shot-1.pdf").stat().st_size > 1000
    assert "offcut" in (tmp_path / "arrangement" / "cut-list.csv").read_text(encoding="utf-8")
    assert '"ADA, BO, BO, ADA 2"' in timetable
    assert not [one for one in result.findings if "Folders of an earlier run" in one.says]
    assert all(work.record.numbers["trim_s"] > 120 for work in some(works))


def test_a_shot_takes_as_long_as_its_slowest_mold(shared):
    """Ends of the bands: nobody has to hurry."""
    works = shared[2]
    first, *_ = single_shots(works)
    told = works[0].record.numbers

    assert first.heat_s == pytest.approx(told["heat_band_s"][1])
    assert first.cool_s == pytest.approx(told["cool_band_s"][1])
    assert first.people == ("ADA",)


def test_all_of_it_is_in_one_file_too(shared, monkeypatch):
    """The ZIP holds lists, cards and every folder; a class too large for it has none."""
    out, result, _, _ = shared
    with zipfile.ZipFile(io.BytesIO(result.files["class.zip"])) as packed:
        names = set(packed.namelist())
        stl = packed.read("1-ada/ada.stl")
    monkeypatch.setattr("moldgen.lesson.class_work.packed.LARGEST_ZIP_BYTES", 1000)
    small, _, _ = made(out)

    assert {"overview.html", "job-cards.pdf", "class-list.csv", "3-ada-2/ada-2.stl"} <= names
    assert not [name for name in names if "/." in name or name.startswith(".")]
    assert stl == (out / "1-ada" / "ada.stl").read_bytes()
    assert "class.zip" not in small.files


def test_the_overview_shows_the_class(shared):
    """One page: who makes what, with one picture of the molds."""
    page = shared[1].files["overview.html"].decode()

    assert page.count("<img") == 1
    assert all(name in page for name in ("ADA", "BO", "ADA 2", "Who makes what"))
    assert "http" not in page.replace("http-equiv", "")


def test_tables_hold_no_formulas():
    """A word that begins like one is text, in CSV by a mark before it."""
    rows: list[list[str | float | None]] = [
        ["Name"], ["=1+1"], ["+49"], ["-5"], ["@x"], [3.5], [None]
    ]  # fmt: skip
    lines = csv_table(rows).decode("utf-8-sig").split("\r\n")
    sheet = openpyxl.load_workbook(io.BytesIO(xlsx_tables([("A", rows)])))["A"]

    assert lines[1:5] == ["'=1+1", "'+49", "'-5", "'@x"]
    assert lines[5] == "3.5"
    assert [cell.data_type for cell in sheet["A"]][:6] == ["s", "s", "s", "s", "s", "n"]
    assert sheet["A2"].value == "=1+1"


def test_workbooks_are_always_the_same_bytes(monkeypatch):
    """No hour of writing is in them."""
    first = xlsx_tables([("A", [["Name"], ["Ada"]])])
    monkeypatch.setattr("time.localtime", lambda *_: (2031, 2, 3, 4, 5, 6, 0, 0, 0))

    assert xlsx_tables([("A", [["Name"], ["Ada"]])]) == first
    with zipfile.ZipFile(io.BytesIO(first)) as packed:
        core = packed.read("docProps/core.xml")
    assert core.count(b"2000-01-01T00:00:00Z") == 2


def test_a_class_is_made_from_python(tmp_path):
    """Names in a list, or a file; the folder holds lists and cards."""
    done = mg.make_class(["ADA"], TAG, tmp_path / "out", alone=True, formats="stl", workers=1)

    assert [work.entry.name for work in done.people] == ["ADA"]
    assert dict(done.summary)["Molds"] == "1 of 1 person"
    assert (done.folder / "1-ada" / "ada.stl").exists()
    assert (done.folder / "job-cards.pdf").exists()
    wrong: Any = "tag.toml"
    with pytest.raises(SpecError, match="like must be the job of a mold"):
        mg.make_class(["ADA"], wrong, tmp_path)
    with pytest.raises(mg.FileError, match="cannot be read"):
        mg.make_class(tmp_path / "none.csv", TAG, tmp_path)


def test_people_with_jobs_of_their_own_are_a_class(tmp_path):
    """Nothing is changed of a job; two of one name are apart, one that fails is told by name."""
    mine = mg.sign("ADA", letter_height=14, gauge_mm=1.0)
    broken = replace(mine, machine="the barge")
    people = [("Ida", mine), ("Ida", mine), ("../Ole", broken)]

    done = mg.make_class(people, None, tmp_path, alone=True, formats="stl", workers=1)

    assert [work.folder for work in done.people] == ["1-ida", "2-ida-2", ""]
    assert [work.entry.name for work in done.people] == ["Ida", "Ida 2", "../Ole"]
    made = (tmp_path / "2-ida-2" / "ida-2.stl").read_bytes()
    assert made == mg.make(mine).files("stl")["ada.stl"]
    assert "../Ole has no mold" in str(done.findings[0])
    assert "row" not in str(done.findings[0])
    with pytest.raises(SpecError, match="the job of Ida must be the job of a mold"):
        mg.make_class([("Ida", "tag.toml")], None, tmp_path)  # type: ignore[list-item]
    with pytest.raises(SpecError, match="like must be the job of a mold"):
        mg.make_class(["Ida"], None, tmp_path)


def test_a_class_costs_what_its_sheets_and_filament_cost(shared):
    """Four sheets of 2.50; three prints at 20 a kilogram; without prices nothing is told."""
    works = shared[2]
    shots = single_shots(works)
    room = OwnRoom(
        currency="EUR",
        sheet=(RoomSheet(plastic="HIPS", gauge_mm=1.0, price=2.5),),
        filament=(RoomFilament(filament="PETG", price_kg=20.0),),
    )
    grams = sum(work.record.numbers["print"]["mass_g"] for work in works)
    prints = n_prints(works, None)

    assert cost_text(shots, works, room, prints=prints) == (
        f"sheets 10.00 EUR, filament {0.02 * grams:.2f} EUR"
    )
    other = replace(room, sheet=(RoomSheet(plastic="HIPS", gauge_mm=1.5, price=2.5),))
    assert cost_text(shots, works, other, prints=prints) == f"filament {0.02 * grams:.2f} EUR"
    assert cost_text(shots, works, OwnRoom(), prints=prints) == ""
    assert cost_text(shots, works, None, prints=prints) == ""


def test_a_class_is_told_in_the_language_of_its_readers(shared):
    """Heads and places are turned, names and words of people are not; nothing is taken over."""
    order = BuildOrder(job_text="x", files={}, stock={})
    plan = plan_lessons(single_shots(shared[2]), ClassCommand(file="r.csv", like="t.toml").lesson)
    with speak(Language.DE):
        head, *rows = timetable_rows(plan)
        table = table_as_read(
            replace(timetable_table(plan), rows=(("1", "0", "1", "x", "y", "Web"),))
        )
        names, *_ = class_rows(shared[2], None)

    assert head == ("Unterrichtsstunde", "Beginn", "Ende", "Wo", "Was", "Wer")
    assert {row[3] for row in rows} == {"Formtisch", "Beschneiden", "Bohren"}
    assert ("Formtisch", "Durchgang 1", "ADA") in [row[3:] for row in rows]
    assert table.rows[0][5] == "Web"
    assert names[1:4] == ("Wort", "Gruppe", "Plattenfarbe")
    assert order.piece() != replace(order, language=Language.DE).piece()
