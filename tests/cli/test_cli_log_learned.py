"""What the log teaches, typed: tell, causes, and commands that go by it or do not."""

import json
import re

import pytest

from moldgen.cli.app import main

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
