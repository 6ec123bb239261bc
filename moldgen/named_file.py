"""A file that somebody names: where it may lie, how much of it is read, and what it is called."""

from __future__ import annotations

import errno
import os
import stat
import unicodedata
from pathlib import Path, PureWindowsPath

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.wording import shown


def bounded_bytes(path: Path, most_bytes: float) -> bytes:
    """Return the content of a regular file, or one byte more than the most of a larger one.

    Devices and pipes have no end, so that no size is to be trusted.

    Raises
    ------
    OSError
        If there is no such file, it is a folder, not a regular file, or may not be read.
    """
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, "Is a directory", str(path))
    if not stat.S_ISREG(mode):
        raise OSError(errno.EINVAL, "Not a regular file", str(path))
    with path.open("rb") as stream:
        return stream.read(int(most_bytes) + 1)


def path_in(folder: Path, name: str, *, field: str) -> Path:
    """Return where a file lies that a job names.

    Raises
    ------
    SpecError
        If only files beside the job may be named, and it lies elsewhere.
    """
    if limits_now().own_folder and not is_plain(name):
        raise SpecError(
            field, "the plain name of a file beside the job", shown(name),
            "Leave out folders, and send the file with the job.",
        )  # fmt: skip
    return folder / name


def place_to_write(name: str, *, field: str) -> Path:
    """Return where something is to be written that somebody names.

    Raises
    ------
    SpecError
        If no disk takes such a name.
    """
    if "\0" in name:
        raise SpecError(field, "plain text", shown(name), "Write it again.")
    if any(len(os.fsencode(part)) > _NAME_BYTES for part in Path(name).parts):
        raise SpecError(
            field, f"made of names of at most {_NAME_BYTES} bytes", shown(name), "Shorten it."
        )
    return Path(name)


_NAME_BYTES = 255
"""Longest name of a file or folder, of NTFS, APFS and ext4 alike. [bytes]"""


def is_plain(name: str) -> bool:
    """Tell whether a name says no folder, on any system."""
    parts = PureWindowsPath(name)
    return bool(name) and name == parts.name and not name.startswith(("~", ".")) and ":" not in name


def told(path: Path | str) -> str:
    """Return what a sentence calls a file: its whole path, or only its name for a stranger.

    What a terminal would obey is written out.
    """
    return visible(Path(path).name if limits_now().own_folder else str(path))


def visible(words: str) -> str:
    r"""Return words with control signs written out, as ``\x1b`` for the escape."""
    if words.isprintable():
        return words
    return "".join(_written_out(letter) for letter in words)


def _written_out(letter: str) -> str:
    if letter.isprintable() or unicodedata.category(letter) == "Zs":
        return letter
    return letter.encode("unicode_escape").decode("ascii")
