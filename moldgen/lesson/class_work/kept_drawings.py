"""Files of an earlier run that are drawn anew only when what they show has changed."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

from moldgen.export.atomic import write_together
from moldgen.language import language_now
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
        self._earlier = _read(records / _FILE)
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
        """Write what the files of this run were made of, if it is not what is there.

        Raises
        ------
        FileError
            If it cannot be written.
        """
        if self._now != self._earlier:
            data = json.dumps(self._now, sort_keys=True).encode()
            write_together(self._records, {_FILE: data})

    def _kept(self, name: str, key: str) -> bytes | None:
        known, mark = self._earlier.get(name, ["", ""])
        if known != key:
            return None
        try:
            data = (self._folder / name).read_bytes()
        except OSError:
            return None
        return data if sha256(data).hexdigest() == mark else None


def _read(path: Path) -> dict[str, list[str]]:
    try:
        words = json.loads(path.read_bytes())
        return {name: [str(key), str(mark)] for name, (key, mark) in words.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return {}
