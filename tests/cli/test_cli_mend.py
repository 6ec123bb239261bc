"""Mending from the command line: what was changed is said, what is kept stays, slips are told."""

import tomllib

import pytest

from moldgen.cli import main

DEEP = ["sign", "SLIP", "--letter-height", "20", "--relief", "9", "--gauge", "1"]


def test_a_mended_job_is_told_and_saved(tmp_path, capsys):
    """The change stands on the screen and in the job file, and how to keep the old value."""
    path = tmp_path / "slip.toml"

    assert main([*DEEP, "--mend", "--save-job", str(path)]) == 0
    said = capsys.readouterr().out

    assert "cautions before, no caution now" in said
    assert "letters.height: 9 mm -> " in said
    assert "--keep letters.height" in said
    job = tomllib.loads(path.read_text(encoding="utf-8"))
    assert job["body"][0]["raised"][0]["height"] < 9


def test_what_is_kept_stays(tmp_path, capsys):
    """The search goes round it."""
    path = tmp_path / "slip.toml"

    assert main([*DEEP, "--mend", "--keep", "letters.height", "--save-job", str(path)]) == 0
    assert tomllib.loads(path.read_text(encoding="utf-8"))["body"][0]["raised"][0]["height"] == 9
    assert "letters.height:" not in capsys.readouterr().out


def test_keeping_without_mending_is_a_slip(tmp_path, capsys):
    """One sentence, and nothing is written."""
    path = tmp_path / "slip.toml"

    assert main([*DEEP, "--keep", "gauge", "--save-job", str(path)]) == 2
    assert "--keep must be used with --mend" in capsys.readouterr().err
    assert not path.exists()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--workers", "2"], "--workers and --cluster must be used with --mend"),
        (["--mend", "--workers", "2", "--cluster", "shed:8786"], "--workers must be left out with"),
        (["--mend", "--cluster-keys", "keys"], "--cluster-keys must be left out without a cluster"),
        (["--mend", "--cluster", "shed:8786"], "--cluster-keys must be given for a cluster on"),
    ],
)
def test_workers_without_sense_are_a_slip(tmp_path, capsys, words, sentence):
    """One sentence that names the option, and nothing is written."""
    path = tmp_path / "slip.toml"

    assert main([*DEEP, *words, "--save-job", str(path)]) == 2
    told = capsys.readouterr().err
    assert sentence in told
    assert len(told.splitlines()) == 1
    assert not path.exists()


def test_what_was_chosen_is_said_with_reasons_on_request(tmp_path, capsys):
    """In a line; why, with --why; and a saved job holds the values."""
    path = tmp_path / "buoy.toml"
    words = ["sign", "LOW WATER CHANNEL BUOY", "--formats", "stl", "--out", str(tmp_path / "out")]

    assert main(words) == 0
    plain = " ".join(capsys.readouterr().out.split())
    assert main([*words, "--why"]) == 0
    reasoned = " ".join(capsys.readouterr().out.split())
    assert main([*words, "--save-job", str(path)]) == 0

    assert "chosen for you: words on" in plain
    assert "--why: the reasons" in plain
    assert "so they can be larger" not in plain
    assert "so they can be larger" in reasoned
    letters = tomllib.loads(path.read_text(encoding="utf-8"))["body"][0]["raised"][0]
    assert letters["outline"]["height"] <= 30
    assert "\n" in letters["outline"]["text"]


@pytest.mark.parametrize("more", [["--mend"], ["--save-job", "buoy.toml", "--also-make"]])
def test_what_was_chosen_is_said_of_a_job_that_is_fully_chosen(more, tmp_path, capsys, monkeypatch):
    """Mended or saved before it is made, the line stands on the screen and in the report."""
    monkeypatch.chdir(tmp_path)
    words = ["sign", "PIER 4", "--formats", "html", "--out", str(tmp_path / "out"), "--why"]

    assert main([*words, *more]) == 0
    said = " ".join(capsys.readouterr().out.split())
    (report,) = (tmp_path / "out").rglob("report.html")

    assert "chosen for you: letters 30 mm; height of letters 4 mm" in said
    assert "height of letters" in report.read_text(encoding="utf-8")


def test_what_was_mended_is_no_longer_chosen(tmp_path, capsys):
    """A value that mending changed is told as a change, and not as a choice as well."""
    words = ["sign", "SLIP", "--letter-height", "20", "--gauge", "1", "--relief", "9"]

    assert main([*words, "--mend", "--formats", "stl", "--out", str(tmp_path / "out")]) == 0
    assert "chosen for you: height of letters" not in " ".join(capsys.readouterr().out.split())
