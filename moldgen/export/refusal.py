"""What the system refuses to write, as one sentence."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from moldgen.errors import FileError

_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}
_NO_FOLDER = {errno.ENOTDIR, errno.EEXIST}


@contextmanager
def told(path: Path, kind: str) -> Iterator[None]:
    """Turn a failure of the operating system into one sentence.

    Parameters
    ----------
    path : Path
        What the sentence names.
    kind : str
        What it is: ``file`` or ``folder``.

    Raises
    ------
    FileError
        In place of any `OSError`.
    """
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
