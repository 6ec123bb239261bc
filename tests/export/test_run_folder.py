"""Two runs into one folder never mix, and no file of a person's is touched."""

import json
import os

import pytest

import moldgen as mg
from moldgen.errors import FileError
from moldgen.export.atomic import check_folder
from moldgen.export.run_folder import LIST_NAME, write_run

FIRST = {"pier.stl": b"solid", "pier.png": b"picture", "findings.json": b"{}"}


def names(folder):
    """What stands in a folder, but for the list of the run."""
    return {path.name for path in folder.iterdir()} - {LIST_NAME}


def test_what_an_earlier_run_wrote_is_gone(tmp_path):
    """After a run with another title only its own files are there, and it tells which went."""
    write_run(tmp_path, FIRST)

    left = write_run(tmp_path, {"quay.stl": b"other", "findings.json": b"[]"})

    assert names(tmp_path) == {"quay.stl", "findings.json"}
    assert (left.removed, left.kept) == (("pier.stl", "pier.png"), ())
    assert (tmp_path / "findings.json").read_bytes() == b"[]"


def test_a_first_run_removes_nothing(tmp_path):
    """Files that were there before stay, whatever they are called."""
    (tmp_path / "pier-old.stl").write_bytes(b"somebody's")

    left = write_run(tmp_path, FIRST)

    assert (left.removed, left.kept) == ((), ())
    assert names(tmp_path) == {*FIRST, "pier-old.stl"}


def test_a_file_changed_since_is_kept(tmp_path):
    """Somebody wrote into a file of the earlier run: it is theirs now."""
    write_run(tmp_path, FIRST)
    (tmp_path / "pier.png").write_bytes(b"with notes")

    left = write_run(tmp_path, {"quay.stl": b"other"})

    assert left.kept == ("pier.png",)
    assert (tmp_path / "pier.png").read_bytes() == b"with notes"
    assert names(tmp_path) == {"quay.stl", "pier.png"}


def test_a_file_that_somebody_removed_is_not_told(tmp_path):
    """What is gone already is neither removed nor kept."""
    write_run(tmp_path, FIRST)
    (tmp_path / "pier.png").unlink()

    left = write_run(tmp_path, {"pier.stl": b"solid", "findings.json": b"{}"})

    assert (left.removed, left.kept) == ((), ())


def test_a_name_that_differs_in_capitals_only_is_the_new_file(tmp_path):
    """On some disks Pier.stl and pier.stl are one file: it is never removed as left over."""
    write_run(tmp_path, {"Pier.stl": b"solid"})

    left = write_run(tmp_path, {"pier.stl": b"solid"})

    assert left.removed == ()
    assert (tmp_path / "pier.stl").read_bytes() == b"solid"


@pytest.mark.parametrize(
    "words",
    [
        b"",
        b"not json",
        b"[]",
        b'{"files": 3}',
        b'{"files": {"theirs.txt": 4}}',
        b'{"files": {"theirs.txt": "0"}}',
        b"[" * 100_000,
    ],
)
def test_an_unsound_list_removes_nothing(tmp_path, words):
    """Whatever stands in the list's place, a file that it does not prove is left alone."""
    (tmp_path / "theirs.txt").write_bytes(b"theirs")
    (tmp_path / LIST_NAME).write_bytes(words)

    assert write_run(tmp_path, FIRST).removed == ()
    assert names(tmp_path) == {*FIRST, "theirs.txt"}


def test_a_list_cannot_name_a_file_elsewhere(tmp_path):
    """A name with folders in it is no file of this folder, even if its content is as listed."""
    folder = tmp_path / "run"
    write_run(folder, {"theirs.txt": b"theirs"})
    mark = json.loads((folder / LIST_NAME).read_bytes())["files"]["theirs.txt"]
    (tmp_path / "theirs.txt").write_bytes(b"theirs")
    (folder / LIST_NAME).write_text(json.dumps({"files": {"../theirs.txt": mark}}))

    assert write_run(folder, FIRST).removed == ()
    assert (tmp_path / "theirs.txt").exists()


@pytest.mark.parametrize("fails_at", range(1, 9))
def test_a_failure_leaves_the_earlier_run_whole(tmp_path, monkeypatch, fails_at):
    """Wherever a rename fails, the folder is as the earlier run left it, or wholly new."""
    write_run(tmp_path, FIRST)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    renames = {"left": fails_at}
    replace = os.replace

    def failing(old, new):
        renames["left"] -= 1
        if renames["left"] == 0:
            raise OSError(28, "No space left on device")
        replace(old, new)

    monkeypatch.setattr("moldgen.export.swap.os.replace", failing)
    try:
        write_run(tmp_path, {"quay.stl": b"other", "findings.json": b"[]"})
    except FileError:
        assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    else:
        assert names(tmp_path) == {"quay.stl", "findings.json"}


def test_a_folder_is_tried_and_left_as_it_was(tmp_path):
    """Whether files can be written is found out without leaving a trace."""
    check_folder(tmp_path / "new" / "deeper")
    check_folder(tmp_path)

    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    """A file on the way, or in the place of the folder, is one sentence."""
    (tmp_path / "file").write_text("")

    with pytest.raises(FileError, match="is a file, not a folder"):
        check_folder(tmp_path / "file")
    with pytest.raises(FileError, match="file/deeper cannot be written: a folder on the way"):
        check_folder(tmp_path / "file" / "deeper")


def test_a_program_chooses_whether_an_earlier_run_goes(tmp_path):
    """``write`` adds to a folder; with ``replace`` it leaves only the files of this run."""
    result = mg.heat("HIPS")
    result.write(tmp_path, "html", replace=True)
    result.write(tmp_path, "json")
    assert names(tmp_path) == {"report.html", "findings.json"}

    result.write(tmp_path, "json", replace=True)

    assert names(tmp_path) == {"findings.json"}


def test_what_is_there_already_is_not_written_again(tmp_path):
    """A file of the same bytes stays the one it was; one of other bytes goes, however long."""
    write_run(tmp_path, FIRST)
    before = {name: (tmp_path / name).stat().st_ino for name in (*FIRST, LIST_NAME)}

    write_run(tmp_path, FIRST)
    unchanged = {name: (tmp_path / name).stat().st_ino for name in before}
    write_run(tmp_path, {**FIRST, "pier.stl": b"SOLID"})

    assert unchanged == before
    assert (tmp_path / "pier.png").stat().st_ino == before["pier.png"]
    assert (tmp_path / "pier.stl").read_bytes() == b"SOLID"


def test_a_link_gives_way_to_a_file(tmp_path):
    """What it points to is somebody's, and stays as it is."""
    own = tmp_path / "own.stl"
    own.write_bytes(b"solid")
    (tmp_path / "run").mkdir()
    (tmp_path / "run" / "pier.stl").symlink_to(own)

    write_run(tmp_path / "run", FIRST)

    assert not (tmp_path / "run" / "pier.stl").is_symlink()
    assert own.read_bytes() == b"solid"
