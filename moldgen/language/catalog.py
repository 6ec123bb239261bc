"""Catalogs: the sentences of one language, read from a file of the form of GNU gettext."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from moldgen.language.languages import Language

_FOLDER = Path(__file__).parent / "catalogs"
_THIN = 5
"""Letters of its own up to which a template says little. [-]."""
_VALUE = re.compile(r"(?<!\{)\{(\w+)\}(?!\})")
_ENTRY = re.compile(r'^(msgid|msgstr)? ?(".*")$')


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A sentence with names for its values, taken apart, and what it is in another language.

    Attributes
    ----------
    words : tuple of str
        What stands before, between and behind the values.
    names : tuple of str
        Of the values; one fewer than `words`.
    told : str
        The sentence in the other language, with the same names.
    """

    words: tuple[str, ...]
    names: tuple[str, ...]
    told: str

    @property
    def n_letters(self) -> int:
        """How much of a text is the template's own."""
        return sum(map(len, self.words))

    @property
    def is_thin(self) -> bool:
        """Whether it has hardly a word of its own, as one that joins two clauses."""
        return sum(letter.isalpha() for word in self.words for letter in word) <= _THIN

    @property
    def longest(self) -> str:
        """The longest of its words: a text without them is not made from it."""
        return max(self.words, key=len).strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalog:
    """What sentences are in one language.

    Attributes
    ----------
    plain : mapping
        Sentences without values, by what they are in English.
    templates : tuple of Template
        Those with values; those with the most words of their own come first.
    """

    plain: Mapping[str, str]
    templates: tuple[Template, ...]


@cache
def catalog_of(language: Language) -> Catalog:
    """Return the catalog of a language, read once."""
    return made_catalog(dict(read_entries(catalog_path(language).read_text(encoding="utf-8"))))


def catalog_path(language: Language) -> Path:
    """Return the file of a language's catalog."""
    return _FOLDER / f"{language}.po"


def made_catalog(entries: Mapping[str, str]) -> Catalog:
    """Return a catalog of entries: English, and the same in the other language."""
    plain, templates = {}, []
    for english, told in entries.items():
        parts = _VALUE.split(english)
        words = tuple(_unescaped(part) for part in parts[::2])
        if len(parts) == 1:
            plain[words[0]] = _unescaped(told)
        elif told:
            templates.append(Template(words=words, names=tuple(parts[1::2]), told=told))
    templates.sort(key=lambda one: -one.n_letters)
    return Catalog(plain=plain, templates=tuple(templates))


def filled(told: str, values: Mapping[str, str]) -> str:
    """Return a template with its values."""
    parts = _VALUE.split(told)
    parts[::2] = map(_unescaped, parts[::2])
    parts[1::2] = (values[name] for name in parts[1::2])
    return "".join(parts)


def _unescaped(words: str) -> str:
    return words.replace("{{", "{").replace("}}", "}")


def read_entries(text: str) -> Iterator[tuple[str, str]]:
    """Yield the entries of a catalog file: English, and the other language; not its head."""
    parts: dict[str, str] = {}
    kind = ""
    for line in [*text.splitlines(), 'msgid ""']:
        match = _ENTRY.match(line)
        if match is None:
            continue
        kind = match[1] or kind
        if match[1] == "msgid":
            if parts.get("msgid"):
                yield parts["msgid"], parts.get("msgstr", "")
            parts = {}
        parts[kind] = parts.get(kind, "") + str(ast.literal_eval(match[2]))
