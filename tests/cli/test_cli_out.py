"""Where files go: told at once if it cannot be, and nothing of an earlier run left there."""

import json

import pytest

from moldgen.cli.app import main

JSON = ["--formats", "json"]


@pytest.mark.parametrize(
    "words",
    [
        ["sign", "A"],
        ["tray", "120x80x25"],
        ["bend", "--legs", "80,120", "--angles", "90"],
        ["heat", "HIPS"],
        ["fixture", "plug"],
        ["test-piece"],
        ["sign", "A", "--mend"],
    ],
)
def test_a_wrong_folder_is_told_before_the_work(tmp_path, monkeypatch, capsys, words):
    """A file in the folder's place: one sentence, exit code 2, and no stage was begun."""
    (tmp_path / "taken").write_text("")
    monkeypatch.setattr("moldgen.cli.progress.Progress.__enter__", lambda self: pytest.fail("work"))
    monkeypatch.setattr("moldgen.pipeline.mold.mend.mend", lambda *a, **k: pytest.fail("work"))

    assert main([*words, "--out", str(tmp_path / "taken")]) == 2

    assert "taken is a file, not a folder. Choose another folder." in capsys.readouterr().err


def test_a_usual_folder_that_cannot_be_made_is_told(tmp_path, monkeypatch, capsys):
    """Where outputs is a file, that is told before the work as well."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "outputs").write_text("")
    monkeypatch.setattr("moldgen.cli.progress.Progress.__enter__", lambda self: pytest.fail("work"))

    assert main(["sign", "A"]) == 2

    assert "outputs is a file, not a folder" in capsys.readouterr().err


def test_heating_times_alone_need_no_folder(tmp_path, monkeypatch):
    """What writes nothing asks nothing of the folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "outputs").write_text("")

    assert main(["heat", "HIPS", "--quiet"]) == 0


def test_the_second_run_tells_what_it_removed(tmp_path, capsys):
    """Another title into one folder: the files of the first are gone, and that is one line."""
    out = ["--out", str(tmp_path)]
    main(["heat", "HIPS", "--formats", "html,json", *out])
    capsys.readouterr()

    assert main(["heat", "ABS", *JSON, *out]) == 0

    assert "removed 1 file of an earlier run: " in capsys.readouterr().out
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".html"] == []


def test_other_programs_read_clean_json(tmp_path, capsys):
    """With --json what was removed is told beside the JSON, not in it."""
    out = ["--out", str(tmp_path)]
    main(["heat", "HIPS", "--formats", "html,json", *out])
    capsys.readouterr()

    assert main(["heat", "ABS", *JSON, "--json", *out]) == 0

    shown = capsys.readouterr()
    assert "removed 1 file of an earlier run" in shown.err
    assert len(json.loads(shown.out)["files"]) == 1
