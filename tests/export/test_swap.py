"""How a set is swapped: forced to the disk first, no file ever missing, a person's files kept."""

import json
import os
from contextlib import suppress

import pytest

from moldgen.cli.app import main
from moldgen.export.atomic import check_folder, write_together
from moldgen.export.run_folder import LIST_NAME, write_run
from moldgen.export.swap import STAGING_NAME, Interrupted

OLD = {"a.stl": b"old a", "b.stl": b"old b", "c.svg": b"old c"}
NEW = {"a.stl": b"new a", "b.stl": b"new b", "d.svg": b"new d"}


def content(folder):
    """What every file of a folder holds, but for the list of the run."""
    files = {path.name: path for path in folder.iterdir() if path.name != LIST_NAME}
    return {name: path.read_bytes() if path.is_file() else None for name, path in files.items()}


def killed(monkeypatch, folder, files, *, renames):
    """Write a set in a process that dies after so many renames, as far as one process can tell."""
    plain, left = os.replace, [renames]

    def replace(source, target):
        if not left[0]:
            raise KeyboardInterrupt
        left[0] -= 1
        plain(source, target)

    with monkeypatch.context() as patched, suppress(KeyboardInterrupt):
        patched.setattr("moldgen.export.swap.os.replace", replace)
        patched.setattr("moldgen.export.swap._undo", lambda staging: None)
        write_run(folder, files)


def test_everything_is_forced_to_the_disk_before_the_journal_stands(tmp_path, monkeypatch):
    """A power cut finds the whole set beside its place, or no journal that speaks of it."""
    forced, found = set(), {}
    plain = os.replace

    def replace(source, target):
        staged = tmp_path / STAGING_NAME / "new"
        found.setdefault(os.path.basename(target), {p.stat().st_ino for p in staged.iterdir()})
        assert found[os.path.basename(target)] <= forced
        plain(source, target)

    monkeypatch.setattr(os, "fsync", lambda handle: forced.add(os.fstat(handle).st_ino))
    monkeypatch.setattr("moldgen.export.swap.os.replace", replace)
    write_together(tmp_path, NEW)

    assert list(found) == ["forward.json", "a.stl", "b.stl", "d.svg"]
    assert len(found["forward.json"]) == 3


def test_no_file_is_ever_missing_or_half_written(tmp_path, monkeypatch):
    """Before and after each rename every file that both sets have is there, old or new."""
    write_run(tmp_path, OLD)
    seen, plain = [], os.replace

    def replace(source, target):
        seen.append([(tmp_path / name).read_bytes() for name in ("a.stl", "b.stl")])
        plain(source, target)

    monkeypatch.setattr("moldgen.export.swap.os.replace", replace)
    write_run(tmp_path, NEW)

    old, half, new = [b"old a", b"old b"], [b"new a", b"old b"], [b"new a", b"new b"]
    assert seen == [old, old, half, new, new]


def test_the_list_comes_last(tmp_path, monkeypatch):
    """Until the last rename the list is that of the set before, so that a mix can be told."""
    write_run(tmp_path, OLD)
    killed(monkeypatch, tmp_path, NEW, renames=4)

    listed = json.loads((tmp_path / LIST_NAME).read_bytes())["files"]
    assert (tmp_path / "d.svg").read_bytes() == b"new d"
    assert not (tmp_path / "c.svg").exists()
    assert set(listed) == set(OLD)


def test_a_killed_swap_is_finished_and_said_in_a_line(tmp_path, monkeypatch, capsys):
    """The next run into the folder tells what it found before its own files come."""
    write_run(tmp_path, OLD)
    killed(monkeypatch, tmp_path, NEW, renames=2)

    assert check_folder(tmp_path) is Interrupted.FINISHED
    assert content(tmp_path) == NEW
    killed(monkeypatch, tmp_path, OLD, renames=2)
    assert main(["heat", "HIPS", "--formats", "json", "--out", str(tmp_path)]) == 0
    assert "an earlier run was stopped while it wrote its files here: its set was finished" in (
        capsys.readouterr().err
    )


@pytest.mark.parametrize("killed_at", [6, 7])
def test_an_undoing_that_is_killed_goes_on_backward(tmp_path, monkeypatch, killed_at):
    """Where a rename was refused and the earlier files are half back, the rest of them follows."""
    write_run(tmp_path, OLD)
    plain, renames = os.replace, []

    def replace(source, target):
        renames.append(target)
        if len(renames) == 4:
            raise OSError(5, "Input/output error")
        if len(renames) == killed_at:
            raise KeyboardInterrupt
        plain(source, target)

    with monkeypatch.context() as patched, suppress(KeyboardInterrupt):
        patched.setattr("moldgen.export.swap.os.replace", replace)
        write_run(tmp_path, NEW)
    assert content(tmp_path).keys() > OLD.keys() - {"c.svg"}

    assert check_folder(tmp_path) is Interrupted.UNDONE
    assert content(tmp_path) == OLD


def test_a_run_killed_before_its_journal_never_was(tmp_path, monkeypatch):
    """What it had stored beside is thrown away, and the set before stands."""
    write_run(tmp_path, OLD)
    killed(monkeypatch, tmp_path, NEW, renames=0)
    assert (tmp_path / STAGING_NAME).is_dir()

    assert write_run(tmp_path, NEW).interrupted is Interrupted.UNDONE
    assert content(tmp_path) == NEW


def test_what_a_person_changed_meanwhile_is_theirs(tmp_path, monkeypatch):
    """A file of the unfinished set that somebody has written since is not replaced or removed."""
    write_run(tmp_path, OLD)
    killed(monkeypatch, tmp_path, NEW, renames=2)
    (tmp_path / "b.stl").write_bytes(b"theirs by now")
    (tmp_path / "d.svg").write_bytes(b"theirs as well")

    check_folder(tmp_path)

    theirs = {"b.stl": b"theirs by now", "d.svg": b"theirs as well"}
    assert content(tmp_path) == {"a.stl": b"new a", **theirs}


@pytest.mark.parametrize(
    "journal",
    [
        b"",
        b"[]",
        b'{"changes": [["../theirs", [6, 0], null]]}',
        b'{"changes": [["theirs", null]]}',
    ],
)
def test_a_journal_that_is_none_of_ours_moves_nothing(tmp_path, journal):
    """What is damaged, or leads out of the folder, is thrown away."""
    folder = tmp_path / "run"
    write_run(folder, OLD)
    (tmp_path / "theirs").write_bytes(b"theirs")
    os.utime(tmp_path / "theirs", ns=(0, 0))
    (folder / STAGING_NAME / "new").mkdir(parents=True)
    (folder / STAGING_NAME / "forward.json").write_bytes(journal)

    check_folder(folder)

    assert (tmp_path / "theirs").exists()
    assert content(folder) == OLD


def test_a_disk_without_links_gets_copies(tmp_path, monkeypatch):
    """The earlier files come back from copies if a rename is refused."""

    def no_links(*_, **__):
        raise OSError(1, "Operation not permitted")

    write_run(tmp_path, OLD)
    monkeypatch.setattr("moldgen.export.swap.os.link", no_links)
    plain, renames = os.replace, iter(range(100))

    def replace(source, target):
        if next(renames) == 2:
            raise OSError(5, "Input/output error")
        plain(source, target)

    monkeypatch.setattr("moldgen.export.swap.os.replace", replace)
    with pytest.raises(OSError, match=r"b\.stl cannot be written: input/output error"):
        write_run(tmp_path, NEW)

    assert content(tmp_path) == OLD


def test_a_link_in_the_folder_is_replaced_and_not_followed(tmp_path):
    """The file that a link of the person's leads to stays as it is."""
    (tmp_path / "theirs").write_bytes(b"theirs")
    folder = tmp_path / "run"
    folder.mkdir()
    (folder / "a.stl").symlink_to(tmp_path / "theirs")

    write_run(folder, NEW)

    assert (tmp_path / "theirs").read_bytes() == b"theirs"
    assert content(folder) == NEW
    assert not (folder / "a.stl").is_symlink()


def test_a_file_that_may_not_be_read_is_kept(tmp_path, monkeypatch):
    """Nobody can tell whether it is still as an earlier run wrote it: it stays, and is told."""
    write_run(tmp_path, OLD)
    (tmp_path / "c.svg").chmod(0)
    if os.access(tmp_path / "c.svg", os.R_OK):  # whoever may do everything reads it all the same
        plain = type(tmp_path).read_bytes

        def refuse(path):
            if path.name == "c.svg":
                raise PermissionError(13, "Permission denied")
            return plain(path)

        monkeypatch.setattr(type(tmp_path), "read_bytes", refuse)

    assert write_run(tmp_path, NEW).kept == ("c.svg",)


def test_what_version_0_1_left_of_these_files_is_swept(tmp_path):
    """Its passing files of this set go; what only looks like them stays."""
    ours = [".a.stl.0123456789ab.part", ".b.stl.ba9876543210.part"]
    theirs = [".x.stl.0123456789ab.part", ".a.stl.part", "a.stl.0123456789ab.part"]
    for name in ours + theirs:
        (tmp_path / name).write_bytes(b"")

    write_run(tmp_path, NEW)

    assert set(content(tmp_path)) == {*NEW, *theirs}


def test_the_staging_folder_may_be_a_link_to_a_folder_of_theirs(tmp_path):
    """Nothing behind a link is swept; the run is refused in one sentence."""
    theirs = tmp_path / "theirs" / "new"
    theirs.mkdir(parents=True)
    (theirs / "a.stl").write_bytes(b"theirs")
    folder = tmp_path / "run"
    folder.mkdir()
    (folder / STAGING_NAME).symlink_to(theirs.parent)

    with pytest.raises(OSError, match=r"\.moldgen-writing is in the way\. Remove it"):
        write_run(folder, NEW)

    assert (theirs / "a.stl").read_bytes() == b"theirs"
