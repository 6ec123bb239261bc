"""The arrange command: files and patterns in, templates out; bad input is one sentence."""

import json

import pytest

import moldgen as mg
from moldgen.cli.app import main


@pytest.fixture
def shed(tmp_path, monkeypatch):
    """Return a folder with three jobs of tags, two of which a pattern fits."""
    for name, word in (("tag-1", "OAR"), ("tag-2", "KEEL"), ("bow", "BOW")):
        job = mg.sign(word, letter_height_mm=14, plastic="HIPS", gauge=1)
        (tmp_path / f"{name}.toml").write_text(mg.job_toml(job), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_files_patterns_and_counts_are_arranged(shed, capsys):
    """A file, a pattern of files, and a file twice are five molds, by number and by name."""
    words = ["bow.toml x 2", "tag-*.toml", "tag-1.toml", "--forming", "off", "--formats", "json"]

    assert main(["arrange", *words, "--out", "laid"]) == 0

    numbers = json.loads((shed / "laid/findings.json").read_text(encoding="utf-8"))["numbers"]
    (shot,) = numbers["shots"]
    assert [one["name"] for one in shot["placings"]] == ["BOW", "BOW", "OAR", "KEEL", "OAR"]
    assert [one["file"] for one in shot["placings"]][2:4] == ["tag-1.toml", "tag-2.toml"]
    rows = (shed / "laid/placings.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 1 + 5
    assert "1 shot for 5 molds" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["fin-*.toml"], "files must be a pattern of job files (got none that fits 'fin-*.toml')."),
        (["bow.toml x 0"], "files must be wanted 1 to 1000 times (got 'bow.toml x 0')."),
        (["bow.toml x 999", "tag-1.toml x 2"], "files must be of at most 1000 molds (got 1001)."),
        (["bow.toml", "--stock-sheet", "300 x 200"], "--stock-sheet must be large enough for the"),
        (["bow.toml", "--turns", "half"], "--turns must be none, quarter or any (got 'half')."),
        (["strip.toml"], "files must be jobs of molds (got strip.toml, a bent strip)."),
    ],
)
def test_wrong_words_write_nothing(shed, capsys, words, says):
    """One sentence, exit code 2, and no folder."""
    strip = mg.strip(legs=[80, 120], angles=[90], width=60)
    (shed / "strip.toml").write_text(mg.job_toml(strip), encoding="utf-8")

    assert main(["arrange", *words, "--forming", "off"]) == 2

    assert says in capsys.readouterr().err
    assert not (shed / "outputs").exists()
