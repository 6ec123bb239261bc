"""The stock as the page has it: the person's own files, read once and written when they change."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from moldgen.errors import FileError, SpecError
from moldgen.export.atomic import write_atomic
from moldgen.limits import PAGE, spoken_size
from moldgen.stock import Shop, shop_from_texts
from moldgen.stock.experience import experience_from_words
from moldgen.user_file import room_file

EXPERIENCE = "experience"
"""The word of an order under which it has what the log says of molds; none without notes."""


class PageStock:
    """What there is in stock; workers, which reach no files, get its texts.

    Parameters
    ----------
    file : path
        The person's own stock file, as the command line reads it. It need not be there.

    Raises
    ------
    MoldgenError
        If a file cannot be read or is wrong.
    """

    def __init__(self, file: Path) -> None:
        self.file = file
        self._writing = threading.Lock()
        self.texts = {path.name: _text(path) for path in (room_file(file), file) if path.exists()}
        self.shop = shop_of(self.texts)

    @property
    def text(self) -> str:
        """The own stock file as it is; empty if there is none."""
        return self.texts.get(self.file.name, "")

    def keep(self, text: str, *, seen: str) -> Shop:
        """Write the own stock file, if all of it is right.

        Parameters
        ----------
        text : str
            The whole file.
        seen : str
            The file that was changed.

        Raises
        ------
        MoldgenError
            If an entry is wrong, or somebody else changed the file; nothing is written then.
        """
        if len(text.encode()) > PAGE.stock_bytes:
            size = spoken_size(PAGE.stock_bytes)
            raise SpecError("stock", f"at most {size}", "more", "Leave something out.")
        with self._writing:
            now = _text(self.file) if self.file.exists() else ""
            if now != seen:
                hint = "Load the page again."
                raise SpecError("stock", "changed as it is seen", "changed elsewhere", hint)
            texts = {**self.texts, self.file.name: text}
            shop = shop_of(texts)
            self.file.parent.mkdir(parents=True, exist_ok=True)
            write_atomic(self.file, text.encode())
            self.texts, self.shop = texts, shop
        return shop


def shop_of(texts: Mapping[str, str], experience: Mapping[str, Any] = MappingProxyType({})) -> Shop:
    """Return the shop that own stock files make, by their names; the last few are kept.

    Parameters
    ----------
    texts : mapping of str to str
        The files.
    experience : mapping
        What the log says of molds on its tables, as `experience_words` tells it.

    Raises
    ------
    MoldgenError
        If a file is wrong.
    """
    shop = _shop_of(tuple(texts.items()))
    return replace(shop, experience=experience_from_words(experience)) if experience else shop


@lru_cache(maxsize=2)
def _shop_of(texts: tuple[tuple[str, str], ...]) -> Shop:
    return shop_from_texts(dict(texts))


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as problem:
        raise FileError(f"{path} cannot be read: {problem}.") from problem
