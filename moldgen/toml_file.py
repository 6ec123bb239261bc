"""TOML from a file or its bytes, every failure one sentence."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from moldgen.errors import FileError
from moldgen.execution import limits_now
from moldgen.limits import spoken_size
from moldgen.named_file import bounded_bytes, told, visible

_RUN = re.compile(rb"[\w.\-\"' \t]++")
"""What a key is made of; the parser takes time with the square of its parts."""


def read_toml(path: Path, *, kind: str, most_bytes: float) -> dict[str, Any]:
    """Read a TOML file.

    Parameters
    ----------
    kind : str
        What errors say the file should be: ``job file``.
    most_bytes : float
        A larger file is something else, and is not read. [bytes]

    Raises
    ------
    FileError
        If the file cannot be read, is too large, or is not TOML.
    """
    try:
        words = bounded_bytes(path, most_bytes)
    except (OSError, ValueError) as problem:
        reason = (getattr(problem, "strerror", "") or "not a usable file name").lower()
        raise FileError(f"{told(path)} cannot be read: {reason}. Check the file name.") from None
    if len(words) > most_bytes:
        size = f"over {spoken_size(most_bytes)}"
        raise FileError(f"{told(path)} is too large for a {kind} ({size}). Give the right file.")
    return toml_from_bytes(words, file=told(path), kind=kind)


def toml_from_bytes(words: bytes, *, file: str, kind: str) -> dict[str, Any]:
    """Return what the bytes of a TOML file say; ``file`` is what errors call it.

    Raises
    ------
    FileError
        If they are not TOML; the sentence names the line.
    """
    _refuse_long_keys(words, file, kind)
    try:
        # Some editors begin a file with a byte order mark, which TOML does not know.
        return tomllib.loads(words.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise FileError(f"{file} is not text in UTF-8. Give a {kind} (TOML).") from None
    except RecursionError:
        raise FileError(f"{file} is nested too deeply for a {kind}.") from None
    except ValueError as problem:
        said = visible(" ".join(str(problem).split())[:200])
        raise FileError(f"{file} is not TOML: {said}. Correct that place.") from None


def _refuse_long_keys(words: bytes, file: str, kind: str) -> None:
    most = limits_now().key_characters
    for run in _RUN.finditer(words):
        if run.end() - run.start() > most:
            line = words.count(b"\n", 0, run.start()) + 1
            raise FileError(
                f"{file} has a word of over {most:,.0f} characters in line {line}, longer than "
                f"any of a {kind}. Shorten it."
            )
