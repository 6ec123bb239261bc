"""Pictures that notes name: read where it can do no harm, written anew, named by their content."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path

from moldgen.errors import FileError
from moldgen.export.atomic import write_atomic

SIDE_PX = 1600
"""Longest side of what is kept: a part fills a screen."""
_NAME = re.compile(r"[0-9a-f]{24}\.jpg")


def keep_photo(folder: Path, data: bytes) -> str:
    """Write a picture that `photo_from_bytes` made, and return its name.

    Raises
    ------
    FileError
        If the folder cannot be written.
    """
    name = f"{sha256(data).hexdigest()[:24]}.jpg"
    if not (folder / name).exists():
        write_atomic(folder / name, data)
    return name


def is_photo_name(name: str) -> bool:
    """Tell whether a name is one that `keep_photo` gives; no other is ever looked for."""
    return _NAME.fullmatch(name) is not None


def kept_photo(folder: Path, name: str) -> bytes | None:
    """Return a picture by its name; None if it is not here."""
    if not is_photo_name(name):
        return None
    try:
        return (folder / name).read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileError(f"{name} cannot be read: {error.strerror}.") from None


def forget_photo(folder: Path, name: str) -> None:
    """Remove a picture, if it is here.

    Raises
    ------
    FileError
        If it cannot be removed.
    """
    if not is_photo_name(name):
        return
    try:
        (folder / name).unlink(missing_ok=True)
    except OSError as error:
        raise FileError(f"{name} cannot be removed: {error.strerror}.") from None
