"""Answers that are kept by the mark of the work they belong to, in a folder many can share."""

from __future__ import annotations

import hashlib
import os
import time
from contextlib import suppress
from pathlib import Path

from moldgen.errors import FileError

RESULTS = "MOLDGEN_RESULTS"
"""The variable of the environment that names the folder."""
MOST_MB = 4000.0
"""Beyond this the answers that were not asked for longest are removed. [MB]"""
_ENDING = ".answer"
_OLD_S = 3600.0
"""A file that was begun so long ago is nobody's any more. [s]"""


def kept_result(folder: Path, mark: str) -> bytes | None:
    """Return the answer that is kept; None if there is none that is whole."""
    path = folder / f"{mark}{_ENDING}"
    try:
        data = path.read_bytes()
    except OSError:
        return None
    answer, digest = data[:-32], data[-32:]
    if hashlib.sha256(answer).digest() != digest:
        return None
    with suppress(OSError):
        os.utime(path)
    return answer


def keep_result(folder: Path, mark: str, answer: bytes) -> None:
    """Keep an answer; a folder that cannot be written keeps none, and the work is not lost by it.

    It appears whole or not at all, whoever else keeps the same.
    """
    began = folder / f"{mark}.{os.getpid()}.begun"
    try:
        began.write_bytes(answer + hashlib.sha256(answer).digest())
        began.replace(folder / f"{mark}{_ENDING}")
    except OSError:
        with suppress(OSError):
            began.unlink()


def tidy_results(folder: Path, *, most_MB: float = MOST_MB) -> int:
    """Remove what was not asked for longest, until the rest is small enough; return how many.

    Raises
    ------
    FileError
        If the folder cannot be read.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        kept = [(path.stat(), path) for path in folder.iterdir() if path.suffix == _ENDING]
        for path in folder.glob("*.begun"):
            if path.stat().st_mtime < time.time() - _OLD_S:
                path.unlink(missing_ok=True)
    except OSError as error:
        raise FileError(f"{folder} cannot be used for results: {error.strerror}.") from None
    left_MB = sum(status.st_size for status, _ in kept) / 1e6
    removed = 0
    for status, path in sorted(kept, key=lambda one: (one[0].st_mtime, one[1])):
        if left_MB <= most_MB:
            break
        with suppress(OSError):
            path.unlink()
            left_MB -= status.st_size / 1e6
            removed += 1
    return removed
