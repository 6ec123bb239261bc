"""A text in another language, by the templates it can have been made from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from moldgen.language.catalog import Catalog, Template, catalog_of, filled
from moldgen.language.languages import Language

_MOST_TEMPLATES, _MOST_READINGS, _DEPTH = 24, 300, 7
"""How many templates, and readings by each of them, are compared; how deep values are read."""
_MOST_IN_ALL = 3000
"""Readings of one text and all its parts, after which the best so far counts."""
_MOST_PARTS = 600
"""Parts of one text that are read."""
_MOST_KEPT = 0.5
"""Share of the letters of a text that may stay as they were; more, and all of it stays. [-]."""
_LONGEST = 4000
"""Longer texts are not read. [characters]."""
_WORD = re.compile(r"[^\W\d_]+")
_LOWER = re.compile(r"\b[a-z]{2,}\b")
_COMMAND = re.compile(r"moldgen [\w-]+")
_SPACES = re.compile(r" {2,}")
_TYPED = ("moldgen ", "--keep ", "--up ", "the table ", "the printer ", '"')
"""What stands before a value that is typed or a name of the stock, and stays as it is."""
_ENDS = tuple(re.compile(rf"(?<=[{marks}]) +(?=\S)") for marks in (".!?", ":;"))
"""Where a sentence ends, and where a clause does."""
_ENGLISH = re.compile(
    r"\b(?:the|of|is|are|be|to|not|did|you|an|with|for|in|on|by|it|its|must|at|no|or|and)\b"
)
"""Words by which an English clause is known from a name."""
_SYMBOLS = frozenset(
    "mm cm km m µm in ft kg g t s h ms min x y z N L W J K MPa kPa Pa GPa kN Nm kW Wh kWh bar cm³ "
    "mm² mm³ cm² dpi °C °F".split()
)
_DECIMAL = re.compile(
    r"(?P<kept>--[\w-]+(?:[ =](?:\"[^\"]*\"|\S+))?|`[^`]*`)"
    r"|(?<![\w.,/])(?P<number>[-+−±]?\d+\.\d+)(?![\w]|\.\d)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """A text in the other language, and how many of its letters are still as they were."""

    text: str
    kept: int


def with_comma(text: str) -> str:
    """Return a text with decimal commas, but for what is typed into a command."""
    return _DECIMAL.sub(lambda one: one[0] if one["kept"] else one[0].replace(".", ","), text)


@lru_cache(maxsize=4096)
def read_text(text: str, language: Language) -> str:
    """Return a text in another language than English, its numbers as they are."""
    if len(text) > _LONGEST:
        return text
    body = text.strip()
    start = text.index(body) if body else 0
    told = _Reader(catalog=catalog_of(language)).told(body, _DEPTH)
    if told.kept > _MOST_KEPT * _n_letters(body):
        return text
    return text[:start] + told.text + text[start + len(body) :]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Reads one text, and remembers what its parts were read as."""

    catalog: Catalog
    known: dict[str, _Reading] = field(default_factory=dict)
    left: list[None] = field(default_factory=lambda: [None] * _MOST_IN_ALL)

    def told(self, text: str, depth: int) -> _Reading:
        """Return a text by the reading that leaves the fewest letters as they were."""
        if text in self.catalog.plain:
            return _Reading(text=self.catalog.plain[text], kept=0)
        if _COMMAND.fullmatch(text):
            return _Reading(text=text, kept=0)
        best = _Reading(text=text, kept=_n_letters(text))
        if not best.kept or not depth or len(self.known) > _MOST_PARTS or not self.left:
            return best
        if text not in self.known:
            self.known[text] = best  # while it is being read
            self.known[text] = self._best(text, best, depth)
        return self.known[text]

    def _best(self, text: str, best: _Reading, depth: int) -> _Reading:
        for reading in self._readings(text, depth):
            if reading.kept < best.kept:
                best = reading
            if not best.kept:
                break
        return best

    def _readings(self, text: str, depth: int) -> Iterator[_Reading]:
        n_tried = 0
        for template in self.catalog.templates:
            if template.longest in text:
                found = False
                for values in _values(text, template):
                    found = True
                    if not self.left:
                        return
                    self.left.pop()
                    yield self._by_template(template, values, depth)
                n_tried += found
                if n_tried >= _MOST_TEMPLATES:
                    break
        yield from self._by_sentences(text, depth)
        if text.endswith((".", ":")):
            told = self.told(text[:-1], depth - 1)
            yield _Reading(text=told.text + text[-1], kept=told.kept)
        if text[0] == "(" and text[-1] == ")":
            told = self.told(text[1:-1], depth - 1)
            yield _Reading(text=f"({told.text})", kept=told.kept)
        if text[0].isupper():
            told = self.told(text[0].lower() + text[1:], depth - 1)
            yield _Reading(text=told.text[:1].upper() + told.text[1:], kept=told.kept)

    def _by_template(self, template: Template, values: tuple[str, ...], depth: int) -> _Reading:
        told = [
            _Reading(text=value.strip(), kept=0)
            if before.endswith(_TYPED)
            else self.told(value.strip(), depth - 1)
            for before, value in zip(template.words[:-1], values, strict=True)
        ]
        if template.is_thin and any(one.kept and _is_clause(one.text) for one in told):
            # Half a sentence in one language and half in another is worse than none.
            return _Reading(text="", kept=sum(map(len, values)) + template.n_letters)
        words = {
            name: _with_blanks_of(value, one.text)
            for name, value, one in zip(template.names, values, told, strict=True)
        }
        text = _SPACES.sub(" ", filled(template.told, words)).strip()
        return _Reading(text=text, kept=sum(one.kept for one in told))

    def _by_sentences(self, text: str, depth: int) -> Iterator[_Reading]:
        """Yield a text of several sentences or clauses, each by itself."""
        for end in filter(None, (ends.search(text) for ends in _ENDS)):
            first = self.told(text[: end.start()], depth - 1)
            rest = self.told(text[end.end() :], depth)
            yield _Reading(text=first.text + end[0] + rest.text, kept=first.kept + rest.kept)


def _is_clause(text: str) -> bool:
    """Return whether what stayed in English is a clause, and no name."""
    return len(_LOWER.findall(text)) > 1 or _ENGLISH.search(text) is not None


def _with_blanks_of(value: str, told: str) -> str:
    """Return a told value between the blanks that stood round it."""
    if not value.strip():
        return value
    return value[: len(value) - len(value.lstrip())] + told + value[len(value.rstrip()) :]


def _values(text: str, template: Template) -> Iterator[tuple[str, ...]]:
    """Yield the values that a template makes this text with."""
    first, *between, last = template.words
    ending = last.rstrip() if text.endswith(last.rstrip()) else last
    if not text.startswith(first) or not text.endswith(ending):
        return
    if not _parts_words(text, len(first)):
        return
    end = len(text) - len(ending)
    for number, values in enumerate(_split(text, len(first), end, between)):
        if number >= _MOST_READINGS:
            return
        yield values


def _split(text: str, start: int, end: int, between: list[str]) -> Iterator[tuple[str, ...]]:
    if not between:
        if start <= end and _parts_words(text, end):
            yield (text[start:end],)
        return
    word, *others = between
    at = text.find(word, start, end)
    if at < 0 and not others and word.strip() and text[start:end].endswith(word.rstrip()):
        # Nothing came behind the last blank, and the blank was cut off.
        yield text[start : end - len(word.rstrip())], ""
    while at >= 0:
        if not (_parts_words(text, at) and _parts_words(text, at + len(word))):
            at = text.find(word, at + 1, end)
            continue
        for rest in _split(text, at + len(word), end, others):
            yield text[start:at], *rest
        at = text.find(word, at + 1, end)


def _parts_words(text: str, at: int) -> bool:
    """Return whether a place in a text is not within a word."""
    return not (0 < at < len(text) and text[at - 1].isalpha() and text[at].isalpha())


def _n_letters(text: str) -> int:
    """Return how many letters of a text are words, and no symbols of units."""
    return sum(len(word) for word in _WORD.findall(text) if word not in _SYMBOLS)
