"""Files appear whole or not at all: written beside their place, then renamed into it."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from moldgen.errors import FileError, SpecError

_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}
_NO_FOLDER = {errno.ENOTDIR, errno.EEXIST}


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


def check_folder(folder: Path | str) -> None:
    """Raise `FileError` unless files can be written into a folder; leave everything as it is.

    Parameters
    ----------
    folder : path
        It need not be there: whether it can be made is tried, and undone.

    Raises
    ------
    FileError
        The sentence that `write_together` would tell.
    """
    folder = Path(folder)
    with ExitStack() as undo:
        _make_folder(folder, undo)
        _write_beside(folder / "files", b"", undo, told_as=folder)


def write_together(
    folder: Path | str, files: Mapping[str, bytes], *, without: Iterable[str] = ()
) -> None:
    """Write a set of files into a folder: all of them, or none.

    Every file is first written under a passing name beside its place, and the set is renamed
    only when the last byte is stored. If a rename fails, the earlier files are put back.
    This guards against a full disk or a stopped program, not against a power cut.

    Parameters
    ----------
    folder : path
        Folder of the files; it is made, with its parents, if it is missing.
    files : mapping of str to bytes
        Plain file names (no folders in them) and their content.
    without : iterable of str
        Names of files that go when the new ones come, if they are there.

    Raises
    ------
    SpecError
        If a name is not a plain file name.
    FileError
        If the folder or a file cannot be written; the folder is then as it was.
    """
    folder = Path(folder)
    for name in (*files, *(leaving := tuple(without))):
        _check_name(name)
    with ExitStack() as undo:
        _make_folder(folder, undo)
        beside = {name: _write_beside(folder / name, data, undo) for name, data in files.items()}
        earlier = [_move_into_place(beside[name], folder / name, undo) for name in files]
        earlier += [_move_away(folder / name, undo) for name in leaving]
        undo.pop_all()
    for old in filter(None, earlier):
        with suppress(OSError):
            old.unlink()


def is_plain_name(name: str) -> bool:
    """Return whether a name is that of a file, without folders."""
    return bool(name) and name not in {".", ".."} and not set(name) & set("/\\\0")


def _check_name(name: str) -> None:
    if not is_plain_name(name):
        raise SpecError("file name", "a plain name without folders", repr(name))


def _make_folder(folder: Path, undo: ExitStack) -> None:
    missing = [part for part in (folder, *folder.parents) if not part.exists()]
    for part in reversed(missing):
        with _told(part, "folder"):
            part.mkdir(exist_ok=True)
        undo.callback(_drop_folder, part)
    if not folder.is_dir():
        raise FileError(f"{folder} is a file, not a folder. Choose another folder.")


def _write_beside(path: Path, data: bytes, undo: ExitStack, *, told_as: Path | None = None) -> Path:
    beside = _passing_name(path)
    with _told(told_as or path, "folder" if told_as else "file"):
        if path.is_dir():
            raise FileError(f"{path} is a folder, so no file can take its name. Choose another.")
        # Exclusive creation: a passing name is never somebody else's file.
        with beside.open("xb") as file:
            undo.callback(_drop_file, beside)
            file.write(data)
    return beside


def _move_into_place(beside: Path, path: Path, undo: ExitStack) -> Path | None:
    """Rename ``beside`` to ``path``; return where the earlier file waits, if there was one."""
    earlier = _move_away(path, undo)
    with _told(path, "file"):
        if earlier is None:
            undo.callback(_drop_file, path)
        os.replace(beside, path)
    return earlier


def _move_away(path: Path, undo: ExitStack) -> Path | None:
    """Rename a file to a passing name, and return that; None if there is no such file."""
    if not path.exists():
        return None
    earlier = _passing_name(path)
    with _told(path, "file"):
        os.replace(path, earlier)
        undo.callback(_put_back, earlier, path)
    return earlier


def _passing_name(path: Path) -> Path:
    # Cut short: the passing name must not be longer than a file system allows (255 bytes).
    return path.with_name(f".{path.name[:40]}.{secrets.token_hex(6)}.part")


def _drop_file(path: Path) -> None:
    with suppress(OSError):
        path.unlink(missing_ok=True)


def _drop_folder(path: Path) -> None:
    with suppress(OSError):
        path.rmdir()


def _put_back(earlier: Path, path: Path) -> None:
    with suppress(OSError):
        os.replace(earlier, path)


@contextmanager
def _told(path: Path, kind: str) -> Iterator[None]:
    """Turn an operating-system failure into one sentence about ``path``."""
    try:
        yield
    except FileError:
        raise
    except OSError as error:
        raise FileError(f"{path} cannot be written: {_reason(error, kind)}") from error


def _reason(error: OSError, kind: str) -> str:
    if error.errno in _FULL:
        return "the disk is full. Make room, or choose another folder."
    if error.errno in _FORBIDDEN:
        return f"this {kind} may not be changed. Choose a folder you may write to."
    if error.errno in _NO_FOLDER:
        return "a folder on the way to it is a file. Choose another folder."
    if error.errno == errno.ENAMETOOLONG:
        return "the name is too long. Choose a shorter one."
    return f"{(error.strerror or 'the system refused').lower()}. Choose another folder."
