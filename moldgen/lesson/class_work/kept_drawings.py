"""Files of an earlier run that are drawn anew only when what they show has changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from moldgen.language import language_now
from moldgen.lesson.class_work.kept_words import read_kept, write_kept
from moldgen.memo import content_key
from moldgen.units_text import units_now
from moldgen.version import __version__

_FILE = "drawings.kept"


class KeptDrawings:
    """Files in a folder, known by what they are made of.

    Parameters
    ----------
    folder : Path
        Where an earlier run wrote them.
    records : Path
        Folder in which is kept what they were made of.
    """

    def __init__(self, folder: Path, records: Path) -> None:
        self._folder, self._records = folder, records
        self._earlier = read_kept(records / _FILE, _marks) or {}
        self._now: dict[str, list[str]] = {}

    def drawn(self, name: str, made_of: Sequence[object], draw: Callable[[], bytes]) -> bytes:
        """Return a file as an earlier run left it, if it is still whole and made of the same.

        Parameters
        ----------
        name : str
            Of the file.
        made_of : sequence
            What `content_key` knows.
        draw : callable
            Makes it.
        """
        # Language and units are not in it, but in what people read.
        said = (__version__, language_now().value, units_now().value)
        key = content_key(*said, *made_of).hex()
        data = self._kept(name, key)
        if data is None:
            data = draw()
        self._now[name] = [key, sha256(data).hexdigest()]
        return data

    def keep(self) -> None:
        """Write what the files of this run were made of.

        Raises
        ------
        FileError
            If it cannot be written.
        """
        write_kept(self._records / _FILE, self._now)

    def _kept(self, name: str, key: str) -> bytes | None:
        known, mark = self._earlier.get(name, ["", ""])
        if known != key:
            return None
        try:
            data = (self._folder / name).read_bytes()
        except OSError:
            return None
        return data if sha256(data).hexdigest() == mark else None


def _marks(words: Any) -> dict[str, list[str]]:
    return {name: [str(key), str(mark)] for name, (key, mark) in words.items()}
