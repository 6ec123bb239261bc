"""Colors of sheets in a class: a shot has one, and cards, lists and stock tell which."""

import csv
import io
from pathlib import Path

import pytest
from support.at_once import AtOnce
from support.pdf_text import pdf_pages

import moldgen as mg
from moldgen.export.card.job_card import CardStep, JobCard
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.formats import Format
from moldgen.lesson.class_work.make import build_class
from moldgen.lesson.class_work.record import MoldRecord, for_person
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.class_work.shots import sheet_colors
from moldgen.lesson.roster.roster import RosterEntry, roster_of_text
from moldgen.pipeline.stage import quiet
from moldgen.stock import load_shop

ROSTER = "name,word,color,pieces\nAda,OAR,red,\nBoris,OAR,white,2\nCeline,OAR,,\nDan,OAR,Red,\n"


@pytest.fixture(scope="module")
def colored(tmp_path_factory):
    """Return the folder and the files of a class whose sheets are red and white."""
    out = tmp_path_factory.mktemp("class")
    words = ClassCommand(
        file="r.csv", like="tag.toml", formats=(Format.STL,), stock_sheet="1220 x 610"
    )
    result, _ = build_class(
        roster_of_text(ROSTER), mg.sign("NAME", letter_height=14, gauge_mm=1.0), words,
        folder=Path(), out=out, shop=load_shop(user_file=None), progress=quiet, executor=AtOnce(),
    )  # fmt: skip
    return out, result.files


def rows_of(path):
    """Return the rows of a list."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


def test_each_color_has_its_own_shots(colored):
    """No sheet has molds of two colors on it; who named none has the color of most pieces."""
    rows = rows_of(colored[0] / "arrangement" / "placings.csv")

    assert [(row["shot"], row["sheet"], row["name"]) for row in rows] == [
        ("1", "HIPS 1 mm, red", "OAR (Ada)"), ("1", "HIPS 1 mm, red", "OAR (Dan)"),
        ("2", "HIPS 1 mm, white", "OAR (Boris)"), ("2", "HIPS 1 mm, white", "OAR (Boris)"),
        ("2", "HIPS 1 mm, white", "OAR (Celine)"),
    ]  # fmt: skip


def test_stock_is_cut_by_color_and_blanks_have_the_numbers_of_the_shots(colored):
    """The blank of the second shot is that of the other color."""
    rows = rows_of(colored[0] / "arrangement" / "cut-list.csv")

    assert [(row["sheet"], row["what"]) for row in rows if row["what"] != "offcut"] == [
        ("HIPS 1 mm, red", "shot 1"), ("HIPS 1 mm, white", "shot 2"),
    ]  # fmt: skip


def test_cards_tell_shot_and_color(colored):
    """Each piece has a card that says in which shot it is formed, and from what."""
    cards = [[line.text for line in lines] for lines in pdf_pages(colored[1]["job-cards.pdf"])]

    told = [
        (who, "1 of 2" in card, "2 of 2" in card, "HIPS 1 mm, white" in card)
        for card in cards
        for who in ("Ada", "Boris", "Celine", "Dan")
        if who in card
    ]
    assert told == [
        ("Ada", True, False, False), ("Boris", False, True, True), ("Boris", False, True, True),
        ("Celine", False, True, True), ("Dan", True, False, False),
    ]  # fmt: skip


def work(name, color, pieces=1, sheet="HIPS 1 mm"):
    """Return what became of a person's job, as far as colors go by it."""
    entry = RosterEntry(row=1, name=name, color=color, pieces=pieces)
    return PersonWork(entry=entry, folder=name, record=MoldRecord(numbers={}, sheet_words=sheet))


def test_who_names_no_color_takes_the_usual_one_of_the_same_sheet():
    """Pieces count, not people; a sheet of which nobody named a color has none."""
    works = [
        work("a", "red"), work("b", "red"), work("c", "blue", pieces=3), work("d", ""),
        work("e", "", sheet="PETG 1 mm"),
    ]  # fmt: skip

    assert sheet_colors(works) == ("red", "red", "blue", "blue", "")


def test_a_card_without_color_or_shot_stays_as_it_is():
    """A class of one, formed in any sheet, is told neither."""
    card = JobCard(title="OAR", steps=(CardStep(name="Sheet", value="HIPS 1 mm"),), cautions=())

    assert for_person(card, "Ada").steps == card.steps
    assert for_person(card, "Ada", color="red", shot="1 of 2").steps == (
        CardStep(name="Shot", value="1 of 2"), CardStep(name="Sheet", value="HIPS 1 mm, red"),
    )  # fmt: skip
