"""The compare command: a table on the screen, a picture and rows of numbers in files."""

import json

import pytest

from moldgen.cli.app import main


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch, tmp_path):
    """A job file in an empty folder, and a room of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path / "home"))
    assert main(["sign", "A", "--save-job", "a.toml", "--quiet"]) == 0


def test_a_table_is_shown_and_files_written(tmp_path, capsys):
    """A head, a row for each, and csv, png and json in a folder of the title's name."""
    assert main(["compare", "a.toml", "--gauge", "1, 2", "--forming", "off"]) == 0

    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Compare A"
    assert lines[1].split() == ["findings", "mean", "heating", "cooling", "print"]
    assert [line.split()[:3] for line in lines[2:4]] == [["HIPS", "1", "mm"], ["HIPS", "2", "mm"]]
    assert lines[1].index("heating") == lines[2].index("40 s")
    assert {path.name for path in (tmp_path / "outputs/compare-a").glob("[!.]*")} == {
        "compare-a.csv", "compare-a.png", "findings.json",
    }  # fmt: skip


def test_programs_get_rows(capsys):
    """--json holds a record for each variant."""
    line = ["compare", "a.toml", "--filament", "PLA, PETG", "--forming", "off", "--json"]
    assert main([*line, "--formats", "csv"]) == 0

    told = json.loads(capsys.readouterr().out)
    assert [one["filament"] for one in told["numbers"]["variants"]] == ["PLA", "PETG"]


def test_the_cupboard_is_compared(capsys):
    """With a room and nothing named its sheets are compared, on the table of the job."""
    main(["setup", "--sheets", "ABS 1; HIPS 2", "--machine", "bench-250x250"])
    capsys.readouterr()

    assert main(["compare", "a.toml", "--forming", "off", "--formats", "csv", "--json"]) == 0

    rows = json.loads(capsys.readouterr().out)["numbers"]["variants"]
    assert [(one["plastic"], one["gauge_mm"], one["machine"]) for one in rows] == [
        ("ABS", 1, "classroom-450x300"), ("HIPS", 2, "classroom-450x300"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["a.toml"], "sheet, gauge, machine or filament must be more than one"),
        (["a.toml", "--gauge", "1, 40"], "--gauge 2 must be at least 0.1 mm"),
        (["a.toml", "--sheet", "HIPS, HOPS"], "--sheet must be a plastic in stock (got 'HOPS')"),
        (["a.toml", "--machine", "x, y"], "--machine must be a machine in stock"),
        (["b.toml", "--gauge", "1, 2"], "b.toml cannot be read"),
        (["a.toml", "--gauge", "1, 2", "--formats", "stl"], "--formats must be csv, png or json"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path, capsys, words, sentence):
    """Nothing to compare, what is not in stock, no job: exit code 2 and no files."""
    assert main(["compare", *words]) == 2

    told = capsys.readouterr().err
    assert sentence in told
    assert len(told.splitlines()) == 1
    assert not (tmp_path / "outputs").exists()
