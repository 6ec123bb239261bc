"""One writer at a time in a folder: a lock that ends with the process that holds it."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from moldgen.errors import FileError
from moldgen.export.refusal import told

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

LOCK_NAME = ".moldgen-lock"
"""The file that is locked; it is there only while somebody writes, or was killed doing so."""
PATIENCE_S = 10.0
"""How long another writer is waited for; a set of files takes a fraction of it. [s]"""
_PAUSE_S = 0.05
_NO_LOCKS = {errno.ENOLCK, errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}
"""What a file system says that has no locks: there, writers are not told apart."""


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold a folder against other writers, waiting `PATIENCE_S` for one that is at work.

    The system gives up the lock of a process that ends, however it ends, so that a file left
    over from one that was killed stands in nobody's way.

    Raises
    ------
    FileError
        If another process goes on writing, or the folder cannot be written.
    """
    path = folder / LOCK_NAME
    handle = _waited_for(path, folder)
    try:
        yield
    finally:
        _release(handle, path)


def _waited_for(path: Path, folder: Path) -> int:
    until = time.monotonic() + PATIENCE_S
    while (handle := _taken(path, folder)) is None:
        if time.monotonic() > until:
            raise FileError(
                f"Another run of moldgen is writing into {folder}. "
                "Wait until it has ended, or choose another folder."
            )
        time.sleep(_PAUSE_S)
    return handle


def _taken(path: Path, folder: Path) -> int | None:
    """Return the open file with its lock, or None while somebody else has it."""
    with told(folder, "folder"):
        handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)
    try:
        # Who held it before may have removed the file that we wait at: then another is there.
        if _lock(handle) and _is_at(handle, path):
            return handle
    except BaseException:
        os.close(handle)
        raise
    os.close(handle)
    return None


def _lock(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno in _NO_LOCKS
    return True


def _is_at(handle: int, path: Path) -> bool:
    with suppress(FileNotFoundError):
        return os.path.samestat(os.fstat(handle), path.lstat())
    return False


def _release(handle: int, path: Path) -> None:
    """Remove the file and give up the lock, in the order in which the system allows it."""
    if sys.platform == "win32":
        os.close(handle)
        # Refused if the next writer has opened it already, who then removes it.
        with suppress(OSError):
            path.unlink(missing_ok=True)
        return
    try:
        with suppress(OSError):
            if _is_at(handle, path):
                path.unlink()
    finally:
        os.close(handle)
