"""TOML from a file or its bytes, every failure one sentence."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from moldgen.errors import FileError


def read_toml(path: Path, *, kind: str, most_bytes: int) -> dict[str, Any]:
    """Read a TOML file.

    Parameters
    ----------
    kind : str
        What errors say the file should be: ``job file``.
    most_bytes : int
        A larger file is something else, and is not read. [bytes]

    Raises
    ------
    FileError
        If the file cannot be read, is too large, or is not TOML.
    """
    try:
        with path.open("rb") as stream:
            words = stream.read(most_bytes + 1)
    except (OSError, ValueError) as problem:
        reason = (getattr(problem, "strerror", "") or "not a usable file name").lower()
        raise FileError(f"{path} cannot be read: {reason}. Check the file name.") from None
    if len(words) > most_bytes:
        size = f"over {most_bytes // 1_000_000} MB"
        raise FileError(f"{path} is too large for a {kind} ({size}). Give the right file.")
    return toml_from_bytes(words, file=str(path), kind=kind)


def toml_from_bytes(words: bytes, *, file: str, kind: str) -> dict[str, Any]:
    """Return what the bytes of a TOML file say; ``file`` is what errors call it.

    Raises
    ------
    FileError
        If they are not TOML; the sentence names the line.
    """
    try:
        # Some editors begin a file with a byte order mark, which TOML does not know.
        return tomllib.loads(words.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise FileError(f"{file} is not text in UTF-8. Give a {kind} (TOML).") from None
    except RecursionError:
        raise FileError(f"{file} is nested too deeply for a {kind}.") from None
    except ValueError as problem:
        said = " ".join(str(problem).split())[:200]
        raise FileError(f"{file} is not TOML: {said}. Correct that place.") from None
