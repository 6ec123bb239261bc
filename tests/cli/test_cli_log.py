"""The log command and its functions: what is typed once, and what comes from the job."""

import json
import re
from dataclasses import fields
from datetime import datetime
from typing import Any

import pytest
from conftest import ROOT
from PIL import Image
from support.some import some

import moldgen as mg
from moldgen.cli.app import main
from moldgen.cli.commands import LOG
from moldgen.lesson.log.command import LogAddCommand
from moldgen.lesson.log.job_facts import facts_of_numbers

JOB = ROOT / "examples" / "oar-plate.toml"
NUMBERS = {
    "plastic": "HIPS", "gauge_mm": 1.5, "machine": "classroom-450x300", "filament": "PETG",
    "heat_s": 56.02, "cool_s": 25.23, "print": {"time_s": 13402.5}, "formed_thin_mm": 0.55,
}  # fmt: skip
FROM_JOB = {
    "told_heat_s", "told_cool_s", "computed_cool_s", "told_print_h", "computed_print_h", "filament",
    "printer",
}  # fmt: skip
TYPED_OTHERWISE = {"noted": "on", "thickness_mm": "gauge_mm", "readings": "measured"}


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A person's own folder, and an empty place to work in."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home"


@pytest.fixture
def made(tmp_path):
    """A folder as ``make`` writes it, as far as the log reads it."""
    folder = tmp_path / "outputs" / "oar-rack-plate"
    folder.mkdir(parents=True)
    words = {"title": "Oar rack plate", "numbers": NUMBERS}
    (folder / "findings.json").write_text(json.dumps(words))
    return folder


def run(line, *more, code=0):
    """Carry out a command."""
    assert main([*line.split(), *more]) == code


def last():
    """The note that was kept last."""
    return max(mg.read_log(), key=lambda one: one.number).note


@pytest.mark.parametrize("by", ["folder", "findings", "job file"])
def test_what_the_job_tells_is_not_typed_again(made, by, capsys):
    """Names, sheet and computed times come from the folder, its record, or the job made there."""
    path = {"folder": made, "findings": made / "findings.json", "job file": JOB}[by]

    run("log add", str(path), "--heated", "52", "--measured", "thinnest 0.62 mm")

    note = last()
    assert (note.job, note.machine) == ("Oar rack plate", "classroom-450x300")
    assert (note.plastic, note.thickness_mm, note.filament) == ("HIPS", 1.5, "PETG")
    assert (note.told_heat_s, note.told_cool_s, note.told_print_h) == (56.02, 25.23, 3.7229)
    assert note.readings == (
        mg.CaliperReading(place="thinnest", thickness_mm=0.62, computed_mm=0.55),
    )
    shown = capsys.readouterr().out
    assert shown == "noted as number 1: Oar rack plate, cycle 1, the first of this mold; good\n"


def test_a_job_file_alone_tells_names_and_sheet():
    """Nothing is computed for a note."""
    run("log add", str(JOB))

    assert (last().machine, last().plastic, last().thickness_mm) == (
        "classroom-450x300", "HIPS", 1.5)  # fmt: skip
    assert last().told_heat_s is None


def test_another_sheet_has_no_computed_times(made):
    """What was computed for one sheet is not told of another."""
    run("log add", str(made), "--gauge", "1 mm", "--machine", "bench-250x250")

    assert (last().machine, last().thickness_mm) == ("bench-250x250", 1.0)
    assert (last().told_heat_s, last().told_cool_s) == (None, None)


def test_a_record_of_a_run_is_one_of_a_mold(tmp_path, capsys):
    """A real run writes what the log reads; another record is one sentence."""
    result = mg.make(mg.sign("A", letter_height=12))
    facts = facts_of_numbers(result.title, result.numbers)
    assert (facts.plastic, facts.machine) == ("HIPS", "classroom-450x300")
    assert facts.told_heat_s == pytest.approx(result.numbers["heat_s"], abs=1e-3)
    assert facts.told_print_h == pytest.approx(result.numbers["print"]["time_s"] / 3600, abs=1e-3)

    for content in (b"{}", b"[]", b'{"title": 3, "numbers": {}}', b"\xff"):
        (tmp_path / "findings.json").write_bytes(content)
        run("log add", str(tmp_path), code=2)
        assert "is not the record of a mold" in capsys.readouterr().err
    run("log add nowhere", code=2)
    run("log add", str(ROOT / "examples/leaflet-holder.toml"), code=2)
    assert "file must be the job of a mold (got a bent strip)" in capsys.readouterr().err


def test_the_next_note_of_a_job_needs_its_name_alone(made, capsys):
    """The log knows the rest; a job that it does not know is one sentence, unless told wholly."""
    run("log add", str(made))
    run("log add --job", "oar RACK plate", "--seen", "web,thin", "--seen", "stuck")
    assert last().cycle == 2
    assert [one.value for one in last().seen] == ["web", "thin", "stuck"]
    assert last().told_heat_s == 56.02

    capsys.readouterr()
    run("log add --job", "Oar rack plat", code=2)
    assert capsys.readouterr().err.startswith(
        "moldgen: --job must be one that the log has a note of (got 'Oar rack plat'). "
    )
    run("log add --job Cup --machine bench-250x250 --plastic ABS --gauge 2")
    assert (last().job, last().plastic, last().machine) == ("Cup", "ABS", "bench-250x250")


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("log add", "file must be the mold's job file, or the folder that make wrote"),
        ("log add F --job X", "--job must be left out beside a file"),
        ("log add F --heated 0", "--heated must be more than 0 s and at most 3600 s (got 0 s)"),
        ("log add F --seen wet", "--seen"),
        ("log add F --seen good,web", "--seen must be good alone"),
        ("log add F --measured corner", "--measured must be a place and a thickness"),
        ("log add F --on yesterday", "--on must be a day, or a day and a time"),
        ("log add F --cycle 1 --on 2026-03-04T10:20", "note must be one that is not there yet"),
        ("log add F --on 2020-01-01 --cycle 3", "the day must be not before number 1"),
        ("log add F --photo F", "is a folder"),
        ("log add F --photo F/findings.json", "is not a picture"),
        ("log add F --photo /etc/passwd", "not a picture"),
        ("log add F --from log.csv", "--from must be used alone"),
        ("log add --from none.csv", "cannot be read"),
        ("log show --plastic wood", "--plastic must be one that the log has a note of"),
        ("log export log.pdf", "file must be a name that ends in .csv, .xlsx or .json"),
        ("log remove 77", "number must be that of a note (got 77)"),
        ("log remove x", "number must be a number"),
        ("log frob", "'frob' does not belong behind moldgen log"),
    ],
)
def test_what_is_wrong_is_one_sentence(made, line, sentence, capsys):
    """Nothing is kept, and no picture is left behind."""
    mg.add_note(made, now=datetime(2026, 3, 4, 10, 20), on="2026-03-04 10:20")
    run(line.replace("F", str(made)), code=2)

    told = capsys.readouterr().err
    assert sentence in told
    assert told.count("\n") == 1
    assert len(mg.read_log()) == 1
    assert not list(made.parents[1].glob("home/log-photos/*"))


def test_a_photo_is_written_anew(made, home, tmp_path):
    """It is small, without what the camera wrote into it, and goes with its last note."""
    exif = Image.Exif()
    exif[0x010F] = "Camera of Ida"
    Image.new("RGB", (3000, 2000), "navy").save(tmp_path / "x.jpg", exif=exif)
    (tmp_path / "x.jpg").rename(tmp_path / "a b'; .jpg")

    for _ in range(2):
        run("log add", str(made), "--photo", "a b'; .jpg")

    (kept,) = (home / "log-photos").glob("[!.]*")
    assert kept.name == last().photo
    assert re.fullmatch(r"[0-9a-f]{24}\.jpg", kept.name)
    assert b"Camera of Ida" not in kept.read_bytes()
    with Image.open(kept) as seen:
        assert seen.size == (1600, 1067)
    run("log remove 1")
    assert kept.exists()
    run("log remove 2")
    assert not kept.exists()


def test_what_contradicts_leaves_no_picture(made, home, tmp_path):
    """A picture of a note that is refused goes again."""
    Image.new("RGB", (40, 40), "navy").save(tmp_path / "x.png")
    run("log add", str(made), "--cycle", "3")

    run("log add", str(made), "--cycle", "3", "--on", "2027-01-01", "--photo", "x.png", code=2)

    assert not list((home / "log-photos").glob("[!.]*"))


def test_the_table_tells_each_mold_newest_last(made, capsys):
    """Times beside those of the card, what was seen, what was measured, and in own words."""
    run("log add", str(made), "--heated", "52", "--seen", "web", "--remark", "\x1b[31m=1+1")
    run("log add", str(made), "--mold-ended", "--who", "Ida")
    run("log add --job Cup --machine bench-250x250 --plastic ABS --gauge 2")
    capsys.readouterr()

    run("log show")

    lines = capsys.readouterr().out.splitlines()
    assert lines[1] == "Cup"
    assert lines[5] == "Oar rack plate"
    assert re.match(r"No\. +Cycle +Day +Sheet +Heated +Formed +Cooled +Seen +More", lines[6])
    assert re.match(r"1 +1 +\S+ \S+ +HIPS 1\.5 mm +52 s \(56 s\) +- +- +web +\[31m=1\+1",
                    lines[7])  # fmt: skip
    assert re.match(r"2 +2 .* good +mold given up; Ida", lines[8])
    run("log show --job", "Cup")
    assert "Oar" not in capsys.readouterr().out


def test_an_empty_log_says_how_to_begin(capsys):
    """Nothing is noted."""
    run("log show")
    assert "Nothing is noted yet. moldgen log add" in capsys.readouterr().out


def test_a_log_goes_from_machine_to_machine(made, tmp_path, capsys):
    """Exported, taken over once, and never twice."""
    run("log add", str(made))
    run("log export log.xlsx")
    run("log add --from log.xlsx --data other")
    run("log add --from log.xlsx --data other")

    told = capsys.readouterr().out.splitlines()[1:]
    assert told == [
        "1 note in log.xlsx", "1 note taken over, 0 known before",
        "0 notes taken over, 1 known before",
    ]  # fmt: skip
    assert [one.note for one in mg.read_log(data=tmp_path / "other")] == [last()]


def test_help_of_the_log_names_its_parts(capsys):
    """Each part with what it is for, and help of its own."""
    run("log --help")
    whole = capsys.readouterr().out
    for name, part in some(LOG.items()):
        assert f"  {name:<8}{part.about}" in whole
        run(f"log {name} --help")
        shown = capsys.readouterr().out
        assert shown.startswith(f"usage: moldgen log {name}")
        assert f"Example: moldgen log {name}" in shown


def test_every_value_of_a_note_can_be_typed_or_comes_from_the_job():
    """No field of a note is out of reach of the command."""
    typed = {one.name for one in fields(LogAddCommand)}
    of_note = {one.name for one in fields(mg.ShotNote)}

    assert {TYPED_OTHERWISE.get(name, name) for name in of_note - FROM_JOB} <= typed
    assert FROM_JOB <= of_note


def test_the_functions_say_what_the_command_says(made):
    """A note from a program is the note of the command; it is read by job and removed."""
    run("log add", str(made), "--heated", "52 s", "--on", "2026-03-04")
    kept = mg.add_note(made, heated_s=52, on="2026-03-04", data=made / "other")

    assert kept.note == last()
    assert mg.read_log(job="oar rack plate")[0].note == kept.note
    mg.remove_note(1)
    assert mg.read_log() == ()
    wrong: dict[str, Any] = {"heat": 52}
    with pytest.raises(mg.SpecError, match="argument must be one that belongs here"):
        mg.add_note(made, **wrong)
