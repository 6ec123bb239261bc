"""The mark of what a job is made from: its words, the stock file, and the files that it names."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Sequence
from hashlib import file_digest, sha256
from pathlib import Path

_NAMES_FILE = re.compile(r"^\s*(svg|dxf|picture|font)\s*=", re.MULTILINE)
_FILE_WORDS = ("svg", "dxf", "picture", "font")
"""Words of a job file under which the name of another file may stand."""
_DIGITS = 24
_KEY = re.compile(rf"[0-9a-f]{{{_DIGITS}}}")


def job_key(words: Sequence[str], job_text: str, *, folder: Path, stock: str) -> str:
    """Return a mark of what is asked, and of all files that the answer depends on.

    Parameters
    ----------
    words : sequence of str
        What is asked.
    job_text : str
        The job file; drawings, pictures and fonts that it names count by what is in them.
    folder : Path
        Where file names in it start.
    stock : str
        Stock file; the usual one if empty.
    """
    mark = sha256(json.dumps(list(words)).encode())
    for path in (*([Path(stock)] if stock else []), *_files_of(job_text, folder)):
        mark.update(_content_mark(path))
    return mark.hexdigest()[:_DIGITS]


def is_job_key(word: str) -> bool:
    """Tell whether a word is such a mark."""
    return _KEY.fullmatch(word) is not None


def _files_of(job_text: str, folder: Path) -> Iterator[Path]:
    if _NAMES_FILE.search(job_text):
        yield from (folder / name for name in _named(tomllib.loads(job_text)))


def _named(words: object) -> Iterator[str]:
    if isinstance(words, dict):
        yield from (
            value for name, value in words.items() if name in _FILE_WORDS and isinstance(value, str)
        )
        words = list(words.values())
    if isinstance(words, list):
        for one in words:
            yield from _named(one)


def _content_mark(path: Path) -> bytes:
    """Return the mark of a file; nothing where there is none, as for a font that has a name."""
    try:
        if not path.is_file():
            return b""
        with path.open("rb") as file:
            return file_digest(file, "sha256").digest()
    except OSError:
        return b""
