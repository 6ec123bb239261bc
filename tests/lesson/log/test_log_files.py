"""The log as a file: taken over without doubles, whatever stands in it, and refused in words."""

import csv
import io
import json
from dataclasses import replace

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import FileError, MoldgenError, SpecError
from moldgen.execution import run_with
from moldgen.lesson.log.exchange import COLUMNS, ENDINGS, log_bytes, notes_of_bytes, take_over
from moldgen.lesson.log.note_text import note_of_words, note_words, reading_of_text, tidied
from moldgen.lesson.log.photos import forget_photo, keep_photo, kept_photo
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.lesson.log.store import find_notes
from moldgen.limits import Limits

OAR = ShotNote(
    noted="2026-03-04T10:20",
    job="Oar plate",
    machine="classroom-450x300",
    plastic="HIPS",
    thickness_mm=1.5,
    heated_s=52.0,
)
HOSTILE = (
    "=cmd|' /C calc'!A0", "+1+1", "-2", "@SUM(A1)", "'=1", "''+x", '"; DROP TABLE shot_note; --',
    "<script>alert(1)</script>", "{{ 7*7 }}", "\u202eevil\u202c",
    "a,b;c\td\r\ne", "../../etc/passwd", "שלום עולם", "🛶👩‍🔧", "nul\0l", "\ud800", "' OR 1=1", "ﷺ",
)  # fmt: skip

texts = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=40))
names = texts.map(lambda text: f"{text}x")
times = st.none() | st.floats(0.01, 3600).map(lambda time_s: round(time_s, 2))
readings = st.builds(
    CaliperReading,
    place=names,
    thickness_mm=st.integers(1, 2000).map(lambda hundredths: hundredths / 100),
    computed_mm=st.none() | st.integers(1, 2000).map(lambda hundredths: hundredths / 100),
)
some_notes = st.builds(
    ShotNote,
    noted=st.datetimes().map(lambda when: when.replace(year=2026).isoformat()),
    job=names, machine=names, plastic=names, mold=texts, who=texts, remark=texts, filament=texts,
    thickness_mm=st.just(1.5), cycle=st.integers(1, 99),
    heated_s=times, cooled_s=times, told_heat_s=times,
    seen=st.sampled_from([(Outcome.GOOD,), (Outcome.WEB,), (Outcome.HOLE, Outcome.SOFT_MOLD)]),
    readings=st.lists(readings, max_size=3).map(tuple),
    mold_ended=st.booleans(),
).map(tidied)  # fmt: skip


@pytest.mark.parametrize("ending", ENDINGS)
@given(note=some_notes)
def test_whatever_is_written_is_read_again(ending, note):
    """A note of any text comes back as it was, from each kind of file."""
    data = log_bytes([note], ending=ending)

    assert notes_of_bytes(data, name="log") == [note]
    assert log_bytes([note], ending=ending) == data


def test_no_cell_of_a_table_is_a_formula():
    """What a spreadsheet would carry out stands behind a mark, or is a text of the workbook."""
    notes = [replace(OAR, remark=words, cycle=i + 1) for i, words in enumerate(HOSTILE)]
    notes = list(map(tidied, notes))

    text = log_bytes(notes, ending=".csv").decode("utf-8-sig")
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    book = openpyxl.load_workbook(io.BytesIO(log_bytes(notes, ending=".xlsx")))
    kinds = {cell.data_type for row in book.worksheets[0].iter_rows() for cell in row}

    assert len(some(cells)) == len(COLUMNS) * (len(HOSTILE) + 1)
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)
    assert "f" not in kinds


def test_a_spreadsheet_may_have_saved_the_table_again():
    """Semicolons in place of commas, columns in another order, empty rows, decimal commas."""
    text = (
        "job;noted;plastic;machine;thickness_mm;heated_s;seen;readings\n"
        "Oar plate;2026-03-04 10:20;HIPS;classroom-450x300;1,5;52,25;web thin;corner 0.62 mm\n"
        ";;;;;;;\n"
    )

    (note,) = notes_of_bytes(text.encode("cp1252"), name="log")

    reading = CaliperReading(place="corner", thickness_mm=0.62)
    seen = (Outcome.WEB, Outcome.THIN)
    assert note == replace(OAR, heated_s=52.25, seen=seen, readings=(reading,))


def logs_of(tmp_path, *names):
    """Return empty logs, as several machines have them."""
    return [ShotLog(tmp_path / name) for name in names]


def exported(log, path):
    """Write a log into a file, and return its path."""
    notes = [one.note for one in log.read(find_notes)]
    path.write_bytes(log_bytes(notes, ending=path.suffix))
    return path


def written(path, notes):
    """Write notes into a file, and return its path."""
    path.write_bytes(log_bytes(notes, ending=path.suffix))
    return path


@pytest.mark.parametrize("ending", ENDINGS)
def test_logs_of_two_machines_become_one(tmp_path, ending):
    """Each has all notes then, none twice; taken over again nothing is new."""
    ours = [replace(OAR, cycle=i, noted=f"2026-03-04T10:{i:02}") for i in range(1, 4)]
    theirs = [replace(OAR, job="Tide sign"), ours[1]]
    here, there = logs_of(tmp_path, "here", "there")
    take_over(here, written(tmp_path / f"ours{ending}", ours))
    take_over(there, written(tmp_path / f"theirs{ending}", theirs))

    first = take_over(here, exported(there, tmp_path / f"there{ending}"))
    second = take_over(there, exported(here, tmp_path / f"here{ending}"))
    again = take_over(here, exported(there, tmp_path / f"again{ending}"))

    assert [(one.new, one.known) for one in (first, second, again)] == [(1, 1), (2, 2), (0, 4)]
    kept = [[one.note for one in log.read(find_notes)] for log in (here, there)]
    assert kept[0] == kept[1]
    assert len(kept[0]) == 4


def test_what_contradicts_is_left_out_and_told(tmp_path):
    """The others are kept, and the sentence names note, job, cycle and number."""
    (log,) = logs_of(tmp_path, "here")
    take_over(log, written(tmp_path / "a.json", [OAR]))

    taken = take_over(
        log, written(tmp_path / "b.json", [replace(OAR, noted="2026-03-05"), replace(OAR, job="B")])
    )

    assert (taken.new, taken.known) == (1, 0)
    assert taken.left_out == (
        "note 2 (Oar plate, cycle 1): cycle must be another one (got 1, which number 1 tells of). "
        "Correct the cycle, or remove that note.",
    )


def test_a_removed_note_does_not_come_back(tmp_path):
    """Neither from a file, nor does it stand in the way of typing it anew."""
    (log,) = logs_of(tmp_path, "here")
    path = written(tmp_path / "a.json", [OAR])
    take_over(log, path)
    log.remove(1)

    assert (take_over(log, path).new, take_over(log, path).known) == (0, 1)
    assert log.read(find_notes) == []


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "its first row is another one"),
        (b"name,word\nIda,AHOY\n", "its first row is another one"),
        (b'{"kind": "moldgen class"}', "no log that moldgen exported"),
        (b'{"kind": "moldgen log", "version": 9, "notes": []}', "another version"),
        (b'{"kind": "moldgen log", "version": 1, "notes": [', "is damaged"),
        (b"{" * 9000, "is damaged"),
        (b"PK\x03\x04 no book", "is damaged"),
        (b"noted,job\n2026-03-04,Oar plate\n", "log, row 2: machine must be given"),
        (b"noted,heated_s\n,\n2026-03-04,soon\n", "log, row 3: heated_s must be"),
    ],
)
def test_what_is_no_log_is_one_sentence(data, sentence):
    """It tells what is wrong with the file, or in which row."""
    with pytest.raises(MoldgenError, match=sentence):
        notes_of_bytes(data, name="log")


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("noted", "yesterday", "noted must be a day"),
        ("cycle", 2.5, "cycle must be a whole number"),
        ("cycle", 0, "cycle must be at least 1"),
        ("heated_s", "52 s", "heated_s must be a number"),
        ("heated_s", -3, "heated_s must be more than 0 s"),
        ("thickness_mm", float("nan"), "thickness_mm must be"),
        ("seen", ["wet"], "seen must be good"),
        ("seen", ["good", "web"], "good alone, or what was wrong"),
        ("seen", 4, "seen must be a list"),
        ("readings", [{"place": "x"}], "readings must be of place, thickness_mm"),
        ("readings", ["corner"], "measured must be a place and a thickness"),
        ("readings", ["x 1 mm"] * 13, "readings must be at most 12"),
        ("job", "  \u202e ", "job must be given"),
        ("job", "x" * 121, "job must be at most 120 characters"),
        ("remark", "x" * 2001, "remark must be at most 2000 characters"),
        ("mold_ended", 1, "mold_ended must be True or False"),
        ("color", "red", "note must be of values that a note has"),
    ],
)
def test_a_wrong_value_is_told_by_its_name(name, value, sentence):
    """Nothing is guessed."""
    words = {**note_words(OAR), name: value}

    with pytest.raises(SpecError, match=sentence):
        note_of_words(words)


def test_a_wrong_note_in_a_file_keeps_all_others_out(tmp_path):
    """The sentence tells the file, the note and the value."""
    (log,) = logs_of(tmp_path, "here")
    words = json.loads(log_bytes([OAR, replace(OAR, job="B")], ending=".json"))
    words["notes"][1]["seen"] = ["wet"]
    path = tmp_path / "log.json"
    path.write_text(json.dumps(words))

    with pytest.raises(SpecError, match=r"log\.json, note 2: seen must be good"):
        take_over(log, path)
    assert log.read(find_notes) == []


def test_a_file_has_limits():
    """Neither a huge file nor too many notes are read."""
    data = log_bytes([OAR, replace(OAR, cycle=2)], ending=".json")
    with (
        run_with(limits=Limits(log_bytes=100)),
        pytest.raises(FileError, match="larger than a log"),
    ):
        notes_of_bytes(data, name="log")
    with run_with(limits=Limits(log_rows=1)), pytest.raises(FileError, match="more than 1 notes"):
        notes_of_bytes(data, name="log")


def test_only_pictures_of_the_log_are_looked_for(tmp_path):
    """No name leads out of their folder, or to what somebody else put into it."""
    folder = tmp_path / "log-photos"
    name = keep_photo(folder, b"small")
    (tmp_path / "page.sqlite").write_bytes(b"names")
    (folder / "other.jpg").write_bytes(b"other")

    assert kept_photo(folder, name) == b"small"
    for other in some(["../page.sqlite", "other.jpg", "", f"../log-photos/{name}"]):
        assert kept_photo(folder, other) is None
        forget_photo(folder, other)
    assert {one.name for one in folder.glob("[!.]*")} == {name, "other.jpg"}
    forget_photo(folder, name)
    assert kept_photo(folder, name) is None


@pytest.mark.parametrize(
    ("text", "place", "thickness_mm", "computed_mm"),
    [
        ("corner 0.62 mm", "corner", 0.62, None),
        ("corner 2 0,62mm", "corner 2", 0.62, None),
        ("rim .031 in", "rim", 0.7874, None),
        ("left 0.6 (computed 0.55 mm)", "left", 0.6, 0.55),
        ("left 0.6 mm computed 0.55", "left", 0.6, 0.55),
    ],
)
def test_a_thickness_is_read_as_people_write_it(text, place, thickness_mm, computed_mm):
    """A place, a number with or without unit, and what was computed if somebody knows it."""
    read = reading_of_text(text)

    assert (read.place, read.computed_mm) == (place, computed_mm)
    assert read.thickness_mm == pytest.approx(thickness_mm)
