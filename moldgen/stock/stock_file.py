"""Page: one stock file as it was written, before anything is looked up or checked for range."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Any

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.file_value import read_text
from moldgen.named_file import told, visible
from moldgen.old_words import new_name, renewed
from moldgen.toml_file import read_toml, toml_from_bytes
from moldgen.wording import did_you_mean, fold, one_of

_KIND = "stock file"


class How(StrEnum):
    """How a value came to be known."""

    PUBLISHED = "published"
    FROM_MEMORY = "from memory"
    COMMON_PRACTICE = "common practice"
    DERIVED = "derived"


@dataclass(frozen=True, slots=True)
class StockValue:
    """One written value, where it comes from, the file it stands in, and what it lies between."""

    value: Any
    source: str
    file: str
    between: Any = None


@dataclass(frozen=True, slots=True)
class Row:
    """One written entry."""

    kind: str
    name: str
    file: str
    cells: Mapping[str, StockValue] = field(default_factory=dict)
    based_on: str = ""

    @property
    def title(self) -> str:
        """The name in words, if one was written."""
        title = self.cells["title"].value if "title" in self.cells else ""
        return title if isinstance(title, str) else ""

    @property
    def aliases(self) -> tuple[str, ...]:
        """The other names that were written."""
        words = self.cells["aliases"].value if "aliases" in self.cells else []
        # Kinds are checked when the entry is made; until then a wrong one is no name.
        listed = words if isinstance(words, list) else []
        return tuple(word for word in listed if isinstance(word, str))

    def place(self, field_name: str = "", *, file: str = "") -> str:
        """Return what an error calls this entry, or one of its fields."""
        place = f'{file or self.file}: {self.kind} "{self.name}"'
        return f"{place}, {field_name}" if field_name else place


@dataclass(frozen=True, slots=True)
class StockPage:
    """One file: its rows by kind, and the words of version 0.1 it has for sections."""

    rows: Mapping[str, Sequence[Row]]
    old_words: tuple[str, ...] = ()


def load_page(path: Path, kinds: Sequence[str], *, beside: str = "") -> StockPage:
    """Read a stock file; a section of the name ``beside`` is left to others.

    Raises
    ------
    FileError
        If the file cannot be read or is not TOML.
    SpecError
        If a section, an entry or a source is not written as it must be.
    """
    sections = read_toml(path, kind=_KIND, most_bytes=limits_now().stock_bytes)
    sections.pop(beside, None)
    return _page(sections, kinds, file=told(path), origin=f"own entry in {visible(path.name)}")


def page_from_bytes(
    words: bytes, kinds: Sequence[str], *, file: str, origin: str, beside: str = ""
) -> StockPage:
    """Return the rows written in a stock file.

    Parameters
    ----------
    words : bytes
        The file, UTF-8.
    kinds : sequence of str
        The sections a file may have, besides ``source``.
    file : str
        What errors call the file.
    origin : str
        The source of every value that names none.
    beside : str, optional
        A section that is left to others.
    """
    sections = toml_from_bytes(words, file=file, kind=_KIND)
    sections.pop(beside, None)
    return _page(sections, kinds, file=file, origin=origin)


def _page(sections: dict[str, Any], kinds: Sequence[str], *, file: str, origin: str) -> StockPage:
    sources = _sources(sections.pop("source", {}), file)
    sections, old = renewed(sections, kinds, place=f"{file}: section ")
    for kind in sections:
        if kind not in kinds:
            hint = did_you_mean(kind, kinds)
            raise SpecError(f"{file}: section", one_of(kinds), repr(kind), hint)
    old += tuple(
        name for kind, entries in sections.items() for name in _table(entries, f"{file}: {kind}")
        if new_name(kind, name) != name
    )  # fmt: skip
    rows = {
        kind: [
            _row(kind, new_name(kind, name), entry, file=file, sources=sources, origin=origin)
            for name, entry in _table(entries, f"{file}: {kind}").items()
        ]
        for kind, entries in sections.items()
    }
    return StockPage(rows, old)


def _sources(section: Any, file: str) -> dict[str, tuple[str, str]]:
    """Return, by key, what a source says and how it is known."""
    sources = {}
    for key, source in _table(section, f"{file}: source").items():
        place = f'{file}: source "{key}"'
        parts = _parts(source, place, ("says", "how"))
        if parts.keys() != {"says", "how"}:
            raise SpecError(place, "made of says and how", one_of(parts), "Write both.")
        if parts["how"] not in list(How):
            raise SpecError(f"{place}, how", one_of(How), repr(parts["how"]))
        sources[key] = (read_text(f"{place}, says", parts["says"]), str(parts["how"]))
    return sources


def _row(
    kind: str,
    name: str,
    entry: Any,
    *,
    file: str,
    sources: Mapping[str, tuple[str, str]],
    origin: str,
) -> Row:
    row = Row(kind, name, file)
    if not fold(name):
        raise SpecError(row.place("name"), "a word", repr(name), "Give the entry a name.")
    cells = {
        key: _cell(value, row.place(key), file, sources, origin)
        for key, value in _table(entry, row.place()).items()
    }
    base = cells.pop("based_on", None)
    based_on = read_text(row.place("based_on"), base.value) if base else ""
    return Row(kind, name, file, cells, based_on)


def _cell(
    value: Any, place: str, file: str, sources: Mapping[str, tuple[str, str]], origin: str
) -> StockValue:
    if not isinstance(value, dict):
        return StockValue(value, origin, file)
    parts = _parts(value, place, ("value", "source", "note", "between"))
    if "value" not in parts:
        raise SpecError(f"{place}, value", "given", "nothing", "Write { value = ... }.")
    key = read_text(f"{place}, source", parts.get("source", origin))
    note = f", {read_text(f'{place}, note', parts['note'])}" if "note" in parts else ""
    says, how = sources.get(key, (key, ""))
    source = f"{says}{note}" + (f" ({how})" if how else "")
    return StockValue(parts["value"], source, file, parts.get("between"))


def _table(value: Any, place: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise SpecError(place, "a table", repr(value), 'Write it as [kind."name"].')
    return value


def _parts(value: Any, place: str, known: Sequence[str]) -> dict[str, Any]:
    parts = _table(value, place)
    for key in parts:
        if key not in known:
            raise SpecError(place, f"made of {one_of(known)}", repr(key), "Correct the word.")
    return parts
