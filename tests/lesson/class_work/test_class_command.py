"""The class command in real processes: side by side, killed in the middle, run again."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import moldgen as mg
from moldgen.export.run_folder import LIST_NAME, run_is_whole
from moldgen.job import job_toml
from moldgen.job.command.arrange import ArrangeCommand, Turns
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.formats import Format
from moldgen.job.spec import Paper
from moldgen.lesson.class_work.record import RECORDS
from moldgen.mold.choices import FormingLook

NAMES = ["ADA", "BO", "CEM", "DEE"]


@pytest.fixture
def place(tmp_path):
    """Return a folder with a roster and a job."""
    job = mg.sign("NAME", letter_height=14, gauge_mm=1.0)
    (tmp_path / "tag.toml").write_text(job_toml(job), encoding="utf-8")
    (tmp_path / "names.csv").write_text("\n".join(NAMES), encoding="utf-8")
    return tmp_path


def command(place, *more):
    """Return the words that make the class of a folder."""
    return [
        sys.executable, "-m", "moldgen", "class", str(place / "names.csv"),
        "--like", str(place / "tag.toml"), "--formats", "stl", "--out", str(place / "out"), *more,
    ]  # fmt: skip


def folders(place):
    """Return the folders that are finished, by name, with their files."""
    return {
        path.parent.name: sorted(one.name for one in path.parent.iterdir() if one.name != LIST_NAME)
        for path in (place / "out").glob(f"*/{LIST_NAME}")
        if path.parent.name not in (RECORDS, "arrangement")
    }


def test_a_class_that_was_killed_goes_on_where_it_was(place):
    """What was finished stays and is not built again; every file that is there is whole."""
    first = subprocess.Popen(command(place, "--workers", "1"), stdout=subprocess.DEVNULL)
    out = place / "out"
    until = time.monotonic() + 120
    while not list(out.glob(f"{RECORDS}/*.json")) and time.monotonic() < until:
        time.sleep(0.02)
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    done = folders(place)
    stamps = {name: (out / name / files[0]).stat().st_mtime_ns for name, files in done.items()}
    second = subprocess.run(command(place), capture_output=True, text=True, check=False)

    assert 1 <= len(done) < len(NAMES)
    assert all(run_is_whole(out / name, files) for name, files in done.items())
    assert second.returncode == 0, second.stderr
    assert "4 of 4 people" in second.stdout
    assert "built anew: the others were there" in second.stdout
    assert sorted(folders(place)) == ["1-ada", "2-bo", "3-cem", "4-dee"]
    assert not [path for path in out.rglob("*") if ".part" in path.name]
    for name, stamp in stamps.items():
        files = done[name]
        assert (out / name / files[0]).stat().st_mtime_ns == stamp


def test_a_class_is_arranged_as_molds_of_job_files_are():
    """What `arrange` takes of layout and stock a class takes too, and hands on."""
    words = ClassCommand(
        file="r.csv", like="tag.toml", tighter=True, seed=7, turns=Turns.ANY, share_flange=True,
        keep_out=("40 x 40 at 0 x 0",), stock_sheet="1220 x 610", kerf_mm=3.0, keep_grain=True,
        formats=(Format.STL,), paper=Paper.LETTER,
    )  # fmt: skip

    assert words.arranging == ArrangeCommand(
        files=("class",), tighter=True, seed=7, turns=Turns.ANY, share_flange=True,
        keep_out=("40 x 40 at 0 x 0",), stock_sheet="1220 x 610", kerf_mm=3.0, keep_grain=True,
        formats=(Format.PDF,), paper=Paper.LETTER, forming=FormingLook.OFF,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["class", "none.csv", "--like", "tag.toml"], "none.csv cannot be read"),
        (["class", "names.csv", "--like", "none.toml"], "none.toml"),
        (["class", "names.csv"], "--like"),
        (
            ["class", "names.csv", "--like", "tag.toml", "--sizes", "two"],
            "--sizes must be one or own",
        ),
        (
            ["class", "names.csv", "--like", "tag.toml", "--kerf", "3"],
            "--stock-sheet must be given with kerf or keep_grain",
        ),
        (
            ["class", "names.csv", "--like", "tag.toml", "--keep-out", "40 x 40"],
            "--keep-out must be a size and the place of its corner",
        ),
        (
            ["class", "names.csv", "--like", "tag.toml", "--printers", "nowhere"],
            "--printers must be",
        ),
    ],
)
def test_what_is_wrong_is_one_sentence_and_nothing_is_written(
    place, words, says, monkeypatch, capsys
):
    """Exit code 2."""
    from moldgen.cli import main

    monkeypatch.chdir(place)

    assert main([*words, "--out", "out"]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert not Path("out").exists()
