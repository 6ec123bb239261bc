"""A set of files that takes the place of another: stored beside it, written down, swapped.

A set goes through three states, each begun by one rename, so that whoever comes after a run that
was killed knows which one it was in:

1. *Staging.* All files are written into a hidden folder inside the folder they are for
   (`STAGING_NAME`, on the same disk), the earlier ones are linked there, all is forced to the
   disk. Nothing of the folder itself has changed: what is left of this state is thrown away.
2. *Forward.* A journal says which files change, and how each looked before. Now every new file is
   renamed over the earlier one, and those that go are removed. What is left of this state is
   finished: each step is done if it has not been.
3. *Back.* A step was refused, or the person stopped the run: the journal is renamed and the
   earlier files are put back. What is left of this state is undone in the same way.

Every single file is there at every instant, and whole. No file system renames several files in
one step, though: who reads the folder during the swap, which is one rename for each file and takes
a few milliseconds, may find new files beside earlier ones; and if a process is killed just then, so
may everybody until the next run into that folder, which finishes it.

A file that somebody has changed since the journal was written, by its size and time, is theirs:
it is neither replaced nor removed.
"""

from __future__ import annotations

import json
import os
import shutil
import stat
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from moldgen.errors import FileError
from moldgen.export.refusal import told

STAGING_NAME = ".moldgen-writing"
"""The hidden folder in which a set is put together."""
_NEW, _OLD, _DRAFT = "new", "old", "draft.json"
_FORWARD, _BACK = "forward.json", "back.json"

Stamp = tuple[int, int]
"""By what a file is known again: size and time of the last change. [bytes, ns]"""


class Interrupted(StrEnum):
    """What became of the files of a run that was killed while it wrote them."""

    FINISHED = "finished"
    UNDONE = "undone"


@dataclass(frozen=True, slots=True)
class _Change:
    """How one file looks before and after; None where there is none."""

    name: str
    before: Stamp | None
    after: Stamp | None


def is_plain_name(name: str) -> bool:
    """Return whether a name is that of a file, without folders."""
    return bool(name) and name not in {".", ".."} and not set(name) & set("/\\\0")


def swap(folder: Path, files: Mapping[str, bytes], without: Iterable[str]) -> None:
    """Put files into a folder and take others out of it, as one step as far as disks allow.

    Parameters
    ----------
    folder : Path
        Held by the caller (`folder_lock.locked`), with nothing left over in it (`settle`).
    files : mapping of str to bytes
        Plain file names and their content.
    without : iterable of str
        Names of files that go, if they are there.

    Raises
    ------
    FileError
        If a file cannot be written. The folder is then as it was; if even putting the earlier
        files back is refused, the next run does so.
    """
    staging = folder / STAGING_NAME
    with told(staging, "folder"):
        try:
            staging.mkdir()
        except FileExistsError:
            raise FileError(
                f"{staging} is in the way. Remove it, or choose another folder."
            ) from None
    try:
        changes = _staged(staging, files, without)
        with told(staging, "folder"):
            os.replace(staging / _DRAFT, staging / _FORWARD)
            _sync_folder(staging)
        _go_forward(staging, changes)
        _end(staging)
    except BaseException:
        _undo(staging)
        raise


def settle(folder: Path) -> Interrupted | None:
    """Finish or undo what a run that was killed has left in a folder.

    Parameters
    ----------
    folder : Path
        Held by the caller (`folder_lock.locked`).

    Returns
    -------
    Interrupted or None
        What was done; None if there was nothing to do.

    Raises
    ------
    FileError
        If a file cannot be written; the next run tries again.
    """
    staging = folder / STAGING_NAME
    if staging.is_symlink() or not staging.is_dir():
        return None
    ended = Interrupted.UNDONE if (staging / _NEW).is_dir() else None
    if (changes := _journal(staging / _FORWARD)) is not None:
        _go_forward(staging, changes, later=True)
        ended = Interrupted.FINISHED
    elif (changes := _journal(staging / _BACK)) is not None:
        _go_back(staging, changes, later=True)
    _end(staging)
    return ended


def _staged(
    staging: Path, files: Mapping[str, bytes], without: Iterable[str]
) -> tuple[_Change, ...]:
    """Store new files, earlier ones and the draft of the journal beside the folder's files."""
    with told(staging, "folder"):
        for folder in (staging / _NEW, staging / _OLD):
            folder.mkdir()
    # Those that go come first: until the last rename the folder is then seen to be unfinished
    # by whoever compares it with a list that comes last among the files.
    leaving = [_leaving(staging, name) for name in without]
    arriving = [_arriving(staging, name, data) for name, data in files.items()]
    changes = (*filter(None, leaving), *arriving)
    with told(staging, "folder"):
        (staging / _DRAFT).write_bytes(_journal_bytes(changes))
        _sync(staging / _DRAFT, *(staging / _NEW / name for name in files))
        for folder in (staging / _NEW, staging / _OLD):
            _sync_folder(folder)
    return changes


def _leaving(staging: Path, name: str) -> _Change | None:
    before = _kept(staging, name)
    return before and _Change(name, before, None)


def _arriving(staging: Path, name: str, data: bytes) -> _Change:
    new = staging / _NEW / name
    before = _kept(staging, name)
    with told(staging.parent / name, "file"):
        with new.open("xb") as file:
            file.write(data)
        return _Change(name, before, _stamp(new))


def _kept(staging: Path, name: str) -> Stamp | None:
    """Keep a second name, or else a copy, of an earlier file; return its stamp."""
    place, old = staging.parent / name, staging / _OLD / name
    with told(place, "file"):
        if place.is_dir() and not place.is_symlink():
            raise FileError(f"{place} is a folder, so no file can take its name. Choose another.")
        before = _stamp(place)
        if before is not None:
            try:
                os.link(place, old, follow_symlinks=False)
            except (OSError, NotImplementedError):  # disks of cameras and sticks have no links
                shutil.copy2(place, old, follow_symlinks=False)
    return before


def _go_forward(staging: Path, changes: Iterable[_Change], *, later: bool = False) -> None:
    """Put every new file in its place that is not there; ``later`` spares what changed since."""
    for change in changes:
        place, new = staging.parent / change.name, staging / _NEW / change.name
        with told(place, "file"):
            if later and _stamp(place) != change.before:
                continue
            if change.after is None:
                place.unlink(missing_ok=True)
            elif _stamp(new) is not None:
                os.replace(new, place)
    _sync_folder(staging.parent)


def _go_back(staging: Path, changes: Iterable[_Change], *, later: bool = False) -> None:
    """Put every earlier file back that is not there; ``later`` spares what changed since."""
    for change in changes:
        place, old = staging.parent / change.name, staging / _OLD / change.name
        with told(place, "file"):
            if change.after is not None and _stamp(staging / _NEW / change.name) is not None:
                continue  # it was never replaced
            if later and _stamp(place) != change.after:
                continue
            if change.before is None:
                place.unlink(missing_ok=True)
            elif _stamp(old) is not None:
                os.replace(old, place)
    _sync_folder(staging.parent)


def _undo(staging: Path) -> None:
    """Put the earlier files back, whatever stopped the run; what is refused is left to the next."""
    with suppress(OSError):
        if (changes := _journal(staging / _FORWARD)) is not None:
            os.replace(staging / _FORWARD, staging / _BACK)
            _go_back(staging, changes)
        _end(staging)


def _end(staging: Path) -> None:
    """Remove the staging folder when every file is in its place.

    The new files in it go before the journal: one that is found without them says that all is
    done. The earlier ones go after it, since a journal may still need them.
    """
    shutil.rmtree(staging / _NEW, ignore_errors=True)
    for journal in (_FORWARD, _BACK):
        with suppress(OSError):
            (staging / journal).unlink(missing_ok=True)
    shutil.rmtree(staging, ignore_errors=True)


def _journal_bytes(changes: Iterable[_Change]) -> bytes:
    rows = [[change.name, change.before, change.after] for change in changes]
    return json.dumps({"changes": rows}, indent=1).encode()


def _journal(path: Path) -> tuple[_Change, ...] | None:
    """Return what a journal says; None if there is none that this program wrote."""
    try:
        rows = json.loads(path.read_bytes())["changes"]
        changes = tuple(_Change(str(n), _read(before), _read(after)) for n, before, after in rows)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return changes if all(is_plain_name(change.name) for change in changes) else None


def _read(stamp: Iterable[int] | None) -> Stamp | None:
    if stamp is None:
        return None
    size, changed = stamp
    return int(size), int(changed)


def _stamp(path: Path) -> Stamp | None:
    """Return the stamp of a file, or of a link itself; None if nothing is there."""
    try:
        found = path.lstat()
    except FileNotFoundError:
        return None
    # What is no file, such as a folder, is like no stamp of ours.
    return (found.st_size, found.st_mtime_ns) if not stat.S_ISDIR(found.st_mode) else (-1, 0)


def _sync(*paths: Path) -> None:
    """Force files to the disk; all at the end, since the first takes most of the others along."""
    for path in paths:
        with path.open("r+b") as file:
            os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Force renames in a folder to the disk, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
