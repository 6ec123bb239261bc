"""Shelf: the entries of one kind, found by any of their names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from moldgen.errors import SpecError
from moldgen.old_words import new_name
from moldgen.wording import did_you_mean, fold


class NamedEntry(Protocol):
    """Anything with a name, a title and other names."""

    @property
    def name(self) -> str:
        """The short name."""

    @property
    def title(self) -> str:
        """The name in words."""

    @property
    def aliases(self) -> tuple[str, ...]:
        """Other names."""


T = TypeVar("T", bound=NamedEntry)


@dataclass(frozen=True, slots=True)
class Shelf(Generic[T]):
    """The entries of one kind, in the order they were written."""

    kind: str
    entries: tuple[T, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The short names."""
        return tuple(entry.name for entry in self.entries)

    def get(self, name: str) -> T | None:
        """Return the entry of that name, title or alias, or None.

        Capitals, spaces, hyphens and underscores make no difference; a name goes before a
        title, a title before an alias, a later entry before an earlier one, all before names of
        version 0.1.
        """
        wanted = fold(name)
        for spellings in (_name, _title, _aliases):
            for entry in reversed(self.entries):
                if any(wanted == fold(word) for word in spellings(entry)):
                    return entry
        new = new_name(self.kind, name)
        return None if new == name else self.get(new)

    def find(self, name: str, *, field: str = "") -> T:
        """Return the entry of that name, title or alias.

        Raises
        ------
        SpecError
            If there is none; the hint gives the nearest names. ``field`` is what the error
            calls the place where the name was written, the kind by default.
        """
        entry = self.get(name)
        if entry is None:
            raise SpecError(
                field or self.kind, f"a {self.kind} in stock", repr(name), self.hint(name)
            )
        return entry

    def hint(self, name: str) -> str:
        """Return a sentence with the nearest names, or with all of them if none is near."""
        spellings = {
            fold(word): entry.name
            for entry in self.entries
            for words in (_aliases, _title, _name)
            for word in words(entry)
        }
        return did_you_mean(name, spellings, otherwise=self.names)


def _name(entry: NamedEntry) -> tuple[str, ...]:
    return (entry.name,)


def _title(entry: NamedEntry) -> tuple[str, ...]:
    return (entry.title,) if entry.title else ()


def _aliases(entry: NamedEntry) -> tuple[str, ...]:
    return entry.aliases
