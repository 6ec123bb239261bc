"""Groups of a class: each with sheets of its own, one after another at the table."""

import csv
import io
from pathlib import Path

import pytest
from support.at_once import AtOnce

import moldgen as mg
from moldgen.job.command.school_class import ClassCommand, GroupSheets
from moldgen.job.formats import Format
from moldgen.lesson.class_work.make import build_class
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.pipeline.stage import quiet
from moldgen.stock import load_shop

ROSTER = "name,word,group\nAda,OAR,bow\nBoris,OAR,stern\nCeline,OAR,bow\nDan,OAR,stern\n"


def built(out, **words):
    """Return the result of a class of two groups, and the rows of a list of it."""
    command = ClassCommand(
        file="r.csv", like="tag.toml", formats=(Format.STL,), stock_sheet="1220 x 610", **words
    )
    result, _ = build_class(
        roster_of_text(ROSTER), mg.sign("NAME", letter_height=14, gauge_mm=1.0), command,
        folder=Path(), out=out, shop=load_shop(user_file=None), progress=quiet, executor=AtOnce(),
    )  # fmt: skip

    def rows(name):
        data = result.files.get(name) or (out / name).read_bytes()
        return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))

    return dict(result.summary), rows


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return where the class lies, so that each mold is built once."""
    return tmp_path_factory.mktemp("class")


def test_each_group_has_sheets_of_its_own_one_after_another(folder):
    """Two groups are two sheets, in the order of the roster; one cut list has both blanks."""
    summary, rows = built(folder)

    assert [(row["shot"], row["name"]) for row in rows("arrangement/placings.csv")] == [
        ("1", "OAR (Ada)"), ("1", "OAR (Celine)"), ("2", "OAR (Boris)"), ("2", "OAR (Dan)"),
    ]  # fmt: skip
    formed = [row for row in rows("timetable.csv") if row["Where"] == "forming table"]
    assert [(row["What"], row["Who"]) for row in formed] == [
        ("Shot 1, group bow", "Ada, Celine"), ("Shot 2, group stern", "Boris, Dan"),
    ]  # fmt: skip
    assert summary["Groups"] == (
        "2 groups on 2 sheets, one after another; mixed they may be fewer (--groups mixed)"
    )
    assert [(row["number"], row["what"]) for row in rows("arrangement/cut-list.csv")[:2]] == [
        ("1", "shot 1"), ("1", "shot 2"),
    ]  # fmt: skip


def test_groups_are_mixed_on_request(folder):
    """All four fit one sheet; nothing is said of groups then."""
    summary, rows = built(folder, groups=GroupSheets.MIXED)

    assert {row["shot"] for row in rows("arrangement/placings.csv")} == {"1"}
    assert "Groups" not in summary


def test_molds_formed_alone_go_group_by_group(folder):
    """Each on a sheet of its own, those of one group before those of the next."""
    _, rows = built(folder, alone=True)
    formed = [row for row in rows("timetable.csv") if row["Where"] == "forming table"]

    assert [row["Who"] for row in formed] == ["Ada", "Celine", "Boris", "Dan"]
