"""What a worker makes of a class: jobs as they were approved, in its folder, under safe names."""

import os
from dataclasses import replace
from types import MappingProxyType, SimpleNamespace
from zipfile import ZipFile

import pytest
from shapely import MultiPolygon, Point, box

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.job.room import OwnRoom
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Stage
from moldgen.stock.experience import (
    NO_NOTES,
    Experience,
    HeatingRecord,
    TableExperience,
    experience_words,
)
from moldgen.stock.shop import own_stock_texts
from moldgen.user_file import HOME
from moldgen.web.workshop import work
from moldgen.web.workshop.folder import ClassFolder
from moldgen.zip_file import zip_bytes

SQUARE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm" viewBox="0 0 80 40">'
    b'<path d="M0 0H80V40H0Z"/></svg>'
)

BY_LOG = Experience(
    tables=(
        TableExperience(
            machine="classroom-450x300",
            heating=HeatingRecord(
                plastics=("HIPS",), means=(0.2, 0.0, 0.0), covariance=((0.01, 0.0, 0.0),) * 3,
                other_width=0.1, scatter=0.1, reach=1.7, n_notes=3,
            ),
        ),
    )
)  # fmt: skip
"""What a log may say."""


class Building:
    """Stands in for what builds molds: takes note, and leaves a ZIP."""

    def __init__(self):
        self.title, self.people, self.how, self.told = "", [], {}, []

    def __call__(self, title, people, command, **how):
        """Build a class."""
        self.title, self.people, self.how = title, people, {**how, "command": command}
        how["progress"](Stage(2, 4, "building molds"))
        finding = Finding(code="x", severity=Severity.NOTE, says="all is well", basis="")
        files = {"class.zip": zip_bytes([("overview.html", b"x")])}
        summary = (("Molds", "1 of 1 person"),)
        return Result(
            title=title, summary=summary, findings=(finding,), files=files, numbers={}
        ), ()


@pytest.fixture
def building(monkeypatch):
    """What builds molds."""
    made = Building()
    monkeypatch.setenv(HOME, os.environ.get(HOME, ""))
    monkeypatch.setattr(work, "build_people", made)
    return made


def person(name, beginning, **values):
    """A person with a wish."""
    return {
        "name": name, "wish": {"beginning": beginning, "values": values}, "upload": "",
        "link": f"http://192.0.2.7:8470/log/of-{name}",
    }  # fmt: skip


def made(path, *people, stock=None, told=None, language="en", experience=MappingProxyType({})):
    """Have a class made; its folder."""
    words = {
        "title": "Boat shed", "folder": str(path), "people": list(people), "stock": stock or {},
        "usual": {"lesson_min": "90"}, "language": language, "key": "the key",
        "experience": dict(experience),
    }  # fmt: skip
    work.make(words, [], (told if told is not None else []).append)
    return ClassFolder(path=path)


def test_jobs_are_built_as_they_were_approved(building, tmp_path):
    """Each person's own, with the name as it was typed, and how the class has it."""
    told = []
    people = (person("Ida", "word", words=["PIER 4"]), person("../Ole", "shape", shape="fish"))

    folder = made(tmp_path, *people, told=told)

    assert [one.entry.name for one in building.people] == ["Ida", "../Ole"]
    assert building.people[0].entry.link == "http://192.0.2.7:8470/log/of-Ida"
    assert building.people[0].job == mg.sign("PIER 4")
    assert building.how["command"].lesson_min == 90
    assert building.how["out"] == folder.built
    assert told == [{"told": "building molds", "share": 0.25}]
    assert folder.made().key == "the key"
    assert folder.made().findings == (("note", "all is well."),)


@pytest.mark.parametrize("experience", [NO_NOTES, BY_LOG])
def test_a_class_is_made_by_the_notes_of_the_log(building, tmp_path, experience):
    """What they say of molds goes to whoever builds the molds; nothing if there are none."""
    made(tmp_path, person("Ida", "word", words=["PIER 4"]), experience=experience_words(experience))

    assert building.how["shop"].experience == experience


def test_it_is_told_in_the_language_of_the_teacher(building, tmp_path):
    """Rows and findings, and how far it is."""
    folder = made(tmp_path, person("Ida", "word", words=["PIER 4"]), language="de")

    assert dict(folder.made().summary) == {"Formen": "1 von 1 Person"}


def test_a_drawing_lies_beside_the_jobs(building, tmp_path):
    """Its outline is what was brought; what came in is gone, and another has another name."""
    (tmp_path / "uploads").mkdir()
    (tmp_path / "uploads" / "0").write_bytes(SQUARE)

    folder = made(tmp_path, person("Ida", "drawing", width="60"))

    (job,) = [one.job for one in building.people]
    (drawing,) = folder.drawings.glob("*.svg")
    assert job.body[0].outline.svg == drawing.name
    assert mg.outline_from_svg(drawing.read_bytes()).region.bounds == pytest.approx((0, 0, 80, 40))
    assert building.how["folder"] == folder.drawings
    assert not folder.uploads.exists()


def test_an_outline_reads_back_as_it_is():
    """With holes, and wherever it lies."""
    ring = Point(30, 40).buffer(20).difference(Point(32, 41).buffer(8))
    region = MultiPolygon([ring, box(-70, -10, -20, 5)])

    again = mg.outline_from_svg(work.region_svg_bytes(region.geoms)).region

    moved = again.bounds[0] - region.bounds[0], again.bounds[1] - region.bounds[1]
    from shapely.affinity import translate

    assert translate(again, -moved[0], -moved[1]).symmetric_difference(region).area < 1e-2


def test_strips_have_folders_of_their_own(building, tmp_path, monkeypatch):
    """Beside the molds, under names that every system stores; nothing climbs out."""
    made_of = []

    def make(job):
        made_of.append(job)
        return SimpleNamespace(files=lambda: {"layout.pdf": b"%PDF"})

    monkeypatch.setattr("moldgen.api.molds.make", make)
    strip = person("../../Ole", "strip", make="book-end", width="80")

    folder = made(tmp_path, person("Ida", "word", words=["PIER 4"]), strip, strip)

    with ZipFile(folder.zip) as packed:
        names = packed.namelist()
    assert names == ["overview.html", "strips/ole/layout.pdf", "strips/ole-2/layout.pdf"]
    assert made_of == [mg.strip(make="book-end", width="80")] * 2


def test_what_cannot_be_made_is_told_by_name(building, tmp_path):
    """And the others go on; a class of strips alone is refused."""
    wrong = person("Ole", "strip", make="book-end", width="wide")
    folder = made(tmp_path, person("Ida", "word", words=["PIER 4"]), wrong)

    severity, words = folder.made().findings[0]
    assert severity == "stop"
    assert words.startswith("Ole: width must be")
    with pytest.raises(SpecError, match="at least one mold"):
        made(tmp_path, wrong)


def test_molds_are_built_with_the_stock_of_the_page(building, tmp_path):
    """It goes along with each mold, which another stock makes another mold; none is left over."""
    text = '[printer.Corner]\nbased_on = "large"\nbed_width_mm = 310\n'
    ida = person("Ida", "word", words=["PIER 4"])

    made(tmp_path, ida, stock={"stock.toml": text})
    assert "Corner" in building.how["shop"].names("printer")
    assert own_stock_texts() == {"stock.toml": text}
    made(tmp_path, ida, stock={"stock.toml": text + "\n"})
    assert own_stock_texts() == {"stock.toml": text + "\n"}
    made(tmp_path, ida)

    assert own_stock_texts() == {}
    assert "Corner" not in building.how["shop"].names("printer")
    assert building.how["room"] == OwnRoom()


def test_a_class_too_large_for_one_file_is_told(building, tmp_path, monkeypatch):
    """With the folder it lies in; what was made before stays."""
    ida = person("Ida", "word", words=["PIER 4"])
    before = made(tmp_path, ida).made()

    def without_zip(*args, **how):
        result, works = building(*args, **how)
        return replace(result, files={}), works

    monkeypatch.setattr(work, "build_people", without_zip)
    with pytest.raises(mg.FileError, match="too large for one file"):
        made(tmp_path, ida)

    assert ClassFolder(path=tmp_path).made() == before
