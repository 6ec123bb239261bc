"""Files appear whole or not at all, one by one and as a set: see `moldgen.export.swap`."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from moldgen.errors import FileError, SpecError
from moldgen.export.folder_lock import locked
from moldgen.export.refusal import told
from moldgen.export.swap import Interrupted, is_plain_name, settle, swap


def write_atomic(path: Path | str, data: bytes) -> None:
    """Write one file so that nobody ever sees half of it.

    A file of that name is replaced; a missing folder is made.

    Parameters
    ----------
    path : path
        Where the file goes.
    data : bytes
        All of its content.

    Raises
    ------
    FileError
        If the folder or the file cannot be written; an earlier file is then as it was.
    """
    path = Path(path)
    write_together(path.parent, {path.name: data})


def write_together(
    folder: Path | str, files: Mapping[str, bytes], *, without: Iterable[str] = ()
) -> Interrupted | None:
    """Write a set of files into a folder: all of them, or none.

    The whole set is stored beside its place before anything changes, and then swapped by one
    rename for each file (`moldgen.export.swap` says what is seen meanwhile). What a run that was
    killed has left in the folder is finished or undone first. Two writers into one folder wait
    for each other.

    Parameters
    ----------
    folder : path
        Folder of the files; it is made, with its parents, if it is missing.
    files : mapping of str to bytes
        Plain file names (no folders in them) and their content.
    without : iterable of str
        Names of files that go when the new ones come, if they are there.

    Returns
    -------
    Interrupted or None
        What became of the files of a run that was killed; None if there was none.

    Raises
    ------
    SpecError
        If a name is not a plain file name.
    FileError
        If the folder or a file cannot be written, or another run goes on writing into the
        folder; it is then as it was.
    """
    check_names((*files, *(leaving := tuple(without))))
    with held(Path(folder)) as interrupted:
        replace_files(Path(folder), files, leaving)
    return interrupted


def check_folder(folder: Path | str) -> Interrupted | None:
    """Raise `FileError` unless files can be written into a folder.

    The folder is left as it is, but for what a run that was killed has left in it: that is
    finished or undone.

    Parameters
    ----------
    folder : path
        It need not be there: whether it can be made is tried, and undone.

    Returns
    -------
    Interrupted or None
        What became of the files of a run that was killed; None if there was none.

    Raises
    ------
    FileError
        The sentence that `write_together` would tell.
    """
    with _made(Path(folder), keep=False), held(Path(folder)) as interrupted:
        return interrupted


@contextmanager
def held(folder: Path) -> Iterator[Interrupted | None]:
    """Hold a folder against other writers, made if it is missing, with nothing left over in it.

    It gives what became of the files of a run that was killed; None if there was none.

    Raises
    ------
    FileError
        If the folder cannot be written, or another run goes on writing into it.
    """
    with _made(folder), locked(folder):
        yield settle(folder)


def replace_files(folder: Path, files: Mapping[str, bytes], without: Collection[str]) -> None:
    """Swap files of a folder that is held, and remove what version 0.1 left of them.

    What is there as it is to be, byte for byte, is not written again.
    """
    new = {name: data for name, data in files.items() if not _is_there(folder / name, data)}
    leaving = [name for name in without if os.path.lexists(folder / name)]
    if new or leaving:
        swap(folder, new, leaving)
    ours = {name[:40] for name in (*files, *without)}
    with suppress(OSError):
        for path in folder.iterdir():
            passing = _PASSING.fullmatch(path.name)
            if passing and passing[1] in ours:
                path.unlink()


def _is_there(path: Path, data: bytes) -> bool:
    try:
        found = path.lstat()
        is_same_size = stat.S_ISREG(found.st_mode) and found.st_size == len(data)
        return is_same_size and path.read_bytes() == data
    except OSError:
        return False


_PASSING = re.compile(r"\.(.{1,40})\.[0-9a-f]{12}\.part")
"""What version 0.1 called a file that it had not finished."""


def check_names(names: Iterable[str]) -> None:
    """Raise `SpecError` unless every name is that of a file, without folders."""
    for name in names:
        if not is_plain_name(name):
            raise SpecError("file name", "a plain name without folders", repr(name))


@contextmanager
def _made(folder: Path, *, keep: bool = True) -> Iterator[None]:
    """Make a folder with its parents; if what follows fails, or on demand, they go again."""
    missing = [part for part in (folder, *folder.parents) if not part.exists()]
    made: list[Path] = []
    try:
        for part in reversed(missing):
            with told(part, "folder"):
                part.mkdir(exist_ok=True)
            made.append(part)
        if not folder.is_dir():
            raise FileError(f"{folder} is a file, not a folder. Choose another folder.")
        yield
    except BaseException:
        keep = False
        raise
    finally:
        for part in () if keep else reversed(made):
            with suppress(OSError):
                part.rmdir()
