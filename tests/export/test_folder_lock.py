"""Two writers into one folder: one after the other, or one clear sentence."""

import errno
import subprocess
import sys
import threading

import pytest

from moldgen.errors import FileError
from moldgen.export.atomic import check_folder, write_together
from moldgen.export.folder_lock import LOCK_NAME, locked

FILES = {"mold.stl": b"solid"}
HOLDER = """
import sys, time
from pathlib import Path
from moldgen.export.folder_lock import locked
with locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(600)
"""


@pytest.fixture
def no_patience(monkeypatch):
    """Nobody is waited for."""
    monkeypatch.setattr("moldgen.export.folder_lock.PATIENCE_S", 0.0)


def names(folder):
    """Everything in a folder."""
    return sorted(path.name for path in folder.iterdir())


@pytest.mark.parametrize("write", [lambda at: write_together(at, FILES), check_folder])
def test_the_second_writer_gets_one_sentence(tmp_path, no_patience, write):
    """It names the folder and what to do, and nothing was written."""
    with locked(tmp_path):
        with pytest.raises(FileError, match=r"Another run of moldgen is writing into .*\. Wait"):
            write(tmp_path)
        assert names(tmp_path) == [LOCK_NAME]

    assert names(tmp_path) == []


def test_the_second_writer_waits_for_a_short_first(tmp_path, monkeypatch):
    """It writes as soon as the first has ended."""
    first = locked(tmp_path)
    first.__enter__()
    waited = []

    def pause(seconds):
        waited.append(seconds)
        if len(waited) == 3:
            first.__exit__(None, None, None)

    monkeypatch.setattr("moldgen.export.folder_lock.time.sleep", pause)
    write_together(tmp_path, FILES)

    assert (len(waited), names(tmp_path)) == (3, ["mold.stl"])


def test_two_folders_have_two_locks(tmp_path, no_patience):
    """Who writes into one folder stands in nobody's way in another."""
    (tmp_path / "a").mkdir()
    with locked(tmp_path / "a"):
        write_together(tmp_path / "b", FILES)

    assert names(tmp_path / "b") == ["mold.stl"]


def test_a_process_that_was_killed_holds_nothing(tmp_path, no_patience):
    """Its lock is refused while it lives, ends with it, and the file it left is swept."""
    words = [sys.executable, "-c", HOLDER, str(tmp_path)]
    with subprocess.Popen(words, stdout=subprocess.PIPE) as holder:
        holder.stdout.readline()
        with pytest.raises(FileError, match="Another run"):
            write_together(tmp_path, FILES)
        holder.kill()
    assert names(tmp_path) == [LOCK_NAME]

    write_together(tmp_path, FILES)

    assert names(tmp_path) == ["mold.stl"]


def test_a_lock_file_that_is_removed_meanwhile_is_no_lock(tmp_path, monkeypatch):
    """Who locks the file that the one before has just removed takes the new one instead."""
    from moldgen.export import folder_lock

    plain, tries = folder_lock._lock, []

    def lock(handle):
        tries.append(handle)
        if len(tries) == 1:
            (tmp_path / LOCK_NAME).unlink()
        return plain(handle)

    monkeypatch.setattr(folder_lock, "_lock", lock)
    with locked(tmp_path):
        assert names(tmp_path) == [LOCK_NAME]
    assert len(tries) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="another call there")
def test_a_file_system_without_locks_is_written_all_the_same(tmp_path, monkeypatch, no_patience):
    """There, writers are not told apart."""

    def no_locks(*_):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr("fcntl.flock", no_locks)
    write_together(tmp_path, FILES)

    assert names(tmp_path) == ["mold.stl"]


def test_writers_side_by_side_leave_one_set(tmp_path):
    """Eight threads at once: each waits for the others, and the last set stands whole."""
    sets = [{f"{k}.stl": bytes([n]) for k in range(5)} for n in range(8)]
    threads = [threading.Thread(target=write_together, args=(tmp_path, one)) for one in sets]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    there = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert there in sets
