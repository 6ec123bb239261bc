"""What one run of a class knows, in words that the next one reads."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from moldgen.export.atomic import write_together

T = TypeVar("T")
_UNSOUND = (OSError, ValueError, KeyError, TypeError, IndexError, AttributeError)


def read_kept(path: Path, read: Callable[[Any], T]) -> T | None:
    """Return what a file tells; None if there is no sound one.

    Parameters
    ----------
    path : Path
        Of the file.
    read : callable
        Makes it of the words; any of the errors of wrong words may leave it.
    """
    try:
        return read(json.loads(path.read_bytes()))
    except _UNSOUND:
        return None


def write_kept(path: Path, words: Mapping[str, object]) -> None:
    """Write words that JSON can hold into a file, unless just these are there, or none at all.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    if words or path.exists():
        data = json.dumps(words, ensure_ascii=False, sort_keys=True).encode()
        write_together(path.parent, {path.name: data})
