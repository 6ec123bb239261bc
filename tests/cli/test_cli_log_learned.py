"""What the log teaches, typed: tell, causes, and commands that go by it or do not."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from moldgen.cli.app import main
from moldgen.lesson.log.exchange import log_bytes
from moldgen.lesson.log.shot_note import ShotNote

SHEET = "--machine classroom-450x300 --plastic HIPS --gauge 1.5"


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A person's own folder, and an empty place to work in."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home"


def run(line, *, code=0):
    """Carry out a command."""
    assert main(line.split()) == code


def noted(*seconds):
    """Note sheets that were heated so long, a day each."""
    for day, heated_s in enumerate(seconds, start=1):
        run(f"log add --job PIER {SHEET} --heated {heated_s} --on 2026-03-{day:02d} --cycle {day}")


def heat(capsys, line=""):
    """Return what the heat command tells programs."""
    capsys.readouterr()
    run(f"heat HIPS --json {line}")
    return json.loads(capsys.readouterr().out)


def test_heat_goes_by_the_log_unless_told_not_to(capsys, home):
    """Without notes and with --no-log the time is as computed; with notes it is theirs."""
    plain = heat(capsys)
    assert not home.exists()
    noted(70, 72, 71)
    by_log, without = heat(capsys), heat(capsys, "--no-log")

    assert without == plain
    assert by_log["numbers"]["heat_notes"] == 3
    assert by_log["numbers"]["heat_s"] > 1.2 * plain["numbers"]["heat_s"]


def test_the_log_of_another_table_changes_nothing(capsys):
    """Times of one table say nothing of another."""
    plain = heat(capsys, "--machine bench-250x250")
    noted(70, 72, 71)

    assert heat(capsys, "--machine bench-250x250") == plain


def test_tell_says_each_thing_with_its_range_and_notes(capsys):
    """A sentence for the table, and a row for each sheet beside what is computed."""
    noted(70, 72, 71, 170)
    capsys.readouterr()
    run("log tell")
    out = capsys.readouterr().out

    assert "Classroom table\n" in out
    words = " ".join(out.split())
    assert re.search(
        r"Heating on this table takes 1\.2\d times what is computed \(1\.1\d to 1\.4\d; 3 notes\)",
        words,
    )
    assert "2 min 50 s: this note contradicts the others" in words
    (row,) = [line for line in out.splitlines() if line.startswith("HIPS 1.5 mm")]
    assert row.split()[-3:] == ["56", "s", "3"]


def taken_over(*notes):
    """Take notes over from a file, as of another computer."""
    Path("log.json").write_bytes(log_bytes(notes, ending=".json"))
    run("log add --from log.json")


SHOT = ShotNote(
    noted="2026-03-01T10:20", job="PIER", machine="classroom-450x300", plastic="HIPS",
    thickness_mm=1.5, cooled_s=40.0, told_cool_s=25.0, printed_h=6.0, told_print_h=4.0,
    printer="medium", filament="PETG", cycle=9, mold_ended=True,
)  # fmt: skip


def test_cooling_and_lives_go_by_the_log_unless_told_not_to(capsys):
    """With --no-log nothing of the notes is told; with notes time, life and their number are."""
    plain = heat(capsys)
    taken_over(SHOT)
    by_log, without = heat(capsys), heat(capsys, "--no-log")

    assert without == plain
    assert by_log["numbers"]["cool_notes"] == 1
    assert by_log["numbers"]["cool_s"] > 1.1 * plain["numbers"]["cool_s"]
    assert heat(capsys, "--filament PETG")["numbers"]["cycles_stood_ended"] == 1


def test_a_mold_goes_by_the_log_unless_told_not_to(capsys):
    """Print time and cooling of a mold are those of the log, and as computed with --no-log."""

    def numbers(line=""):
        capsys.readouterr()
        run(f"sign I --letter-height 20 --gauge 1.5 --forming off --formats stl --json {line}")
        return json.loads(capsys.readouterr().out)["numbers"]

    taken_over(SHOT)
    by_log, without = numbers(), numbers("--no-log")

    assert by_log["print"]["notes"] == by_log["cool_notes"] == by_log["cycles_stood_molds"] == 1
    assert by_log["print"]["time_s"] > 1.1 * without["print"]["time_s"]
    assert {"cool_notes", "cycles_stood_molds"}.isdisjoint(without)


def test_tell_names_what_contradicts_and_each_printer(capsys):
    """A time ten times the others is named; hours stand under the printer that they are of."""
    others = [replace(SHOT, job=f"PIER {n}", noted=f"2026-03-{n:02d}T10:20") for n in (2, 3)]
    taken_over(SHOT, *others, replace(SHOT, job="BUOY", cooled_s=400.0))
    capsys.readouterr()
    run("log tell")
    out = capsys.readouterr().out
    words = " ".join(out.split())

    assert "BUOY: HIPS 1.5 mm, 6 min 40 s: this note on cooling contradicts the others" in words
    assert re.search(r"Parts stay on the mold 1\.\d\d times as long as computed .* 3 notes", words)
    assert re.search(r"Desktop printer Printing takes 1\.\d\d times what is est", words)


def test_tell_without_notes_is_one_line(capsys):
    """An empty log says nothing of a table."""
    run("log tell")
    assert capsys.readouterr().out == "The notes say nothing of a table yet.\n"
    run("log tell --machine barge", code=2)
    assert "--machine must be one that the log has a note of" in capsys.readouterr().err


def test_causes_are_told_with_their_commands(capsys):
    """The likeliest cause stands first, with both times and the command."""
    noted(70, 72, 71)
    run(f"log add --job BUOY {SHEET} --heated 95 --seen web")
    capsys.readouterr()
    run("log causes 4")
    out = capsys.readouterr().out

    assert out.startswith("1. web: the sheet was too hot")
    assert "it was heated 1 min 35 s, this table takes 1 min 11 s" in out
    assert "   moldgen arrange buoy.toml --gap 20\n" in out
    run("log causes 1")
    assert capsys.readouterr().out == "Nothing was wrong with that part.\n"


def test_causes_of_no_note_are_refused(capsys):
    """A number that no note has gets one sentence."""
    run("log causes 7", code=2)

    assert "number must be that of a note (got 7)." in capsys.readouterr().err


@pytest.mark.parametrize(("typed", "sentence"), [("import", "export"), ("tel", "tell")])
def test_a_slip_behind_log_names_what_is_meant(typed, sentence, capsys):
    """What does not belong behind the command is refused with the nearest that does."""
    run(f"log {typed} log.json", code=2)
    assert f"'{typed}' does not belong behind moldgen log. " in (err := capsys.readouterr().err)
    assert sentence in err
