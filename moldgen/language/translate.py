"""A text in another language, by the templates it can have been made from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from moldgen.language.catalog import Catalog, Template, catalog_of, filled
from moldgen.language.languages import Language, language_now

_MOST_TEMPLATES, _MOST_READINGS, _DEPTH = 24, 40, 7
"""How many templates, and readings by each of them, are compared; how deep values are read."""
_LONGEST = 4000
"""Longer texts are not read. [characters]."""
_WORD = re.compile(r"[^\W\d_]{2,}")
_SENTENCE_END = re.compile(r"(?<=[.!?:;]) +(?=\S)")
_SYMBOLS = frozenset(
    "mm cm km µm in ft kg ms min MPa kPa Pa GPa kN Nm kW Wh kWh bar cm³ mm² mm³ cm² dpi °C °F".split()
)
_DECIMAL = re.compile(r"(?P<kept>--[\w-]+(?:[ =](?:\"[^\"]*\"|\S+))?|`[^`]*`)|(?<![\w.,/])(?P<number>[-+−±]?\d+\.\d+)(?![\w]|\.\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """A text in the other language, and how many of its letters are still as they were."""

    text: str
    kept: int


def translated(text: str, language: Language | None = None) -> str:
    """Return a text in the language that is read now, with its decimal sign.

    Parameters
    ----------
    text : str
        Composed in English. What no template tells, such as a name, stays as it is.
    language : Language, optional
        Another than is read now.
    """
    language = language_now() if language is None else language
    if language is Language.EN or not text:
        return text
    return with_comma(_read(text, language).text)


def in_words(text: str) -> str:
    """Return a text in the language that is read now, its numbers as they are."""
    language = language_now()
    return text if language is Language.EN or not text else _read(text, language).text


def as_written(text: str) -> str:
    """Return a text with the decimal sign of the language that is read now."""
    return text if language_now() is Language.EN else with_comma(text)


def untranslated(text: str, language: Language) -> int:
    """Return how many letters of a text stay in English, names among them."""
    return _read(text, language).kept


def with_comma(text: str) -> str:
    """Return a text with decimal commas, but for what is typed into a command."""
    return _DECIMAL.sub(lambda one: one[0] if one["kept"] else one[0].replace(".", ","), text)


@lru_cache(maxsize=4096)
def _read(text: str, language: Language) -> _Told:
    if len(text) > _LONGEST:
        return _Told(text=text, kept=_n_letters(text))
    body = text.strip()
    start = text.index(body) if body else 0
    told = _told(body, catalog_of(language), _DEPTH)
    return _Told(text=text[:start] + told.text + text[start + len(body) :], kept=told.kept)


def _told(text: str, catalog: Catalog, depth: int) -> _Told:
    """Return a text by the reading that leaves the fewest letters as they were."""
    if text in catalog.plain:
        return _Told(text=catalog.plain[text], kept=0)
    best = _Told(text=text, kept=_n_letters(text))
    if not best.kept or not depth:
        return best
    for reading in _readings(text, catalog, depth):
        if reading.kept < best.kept:
            best = reading
        if not best.kept:
            break
    return best


def _readings(text: str, catalog: Catalog, depth: int) -> Iterator[_Told]:
    n_tried = 0
    for template in catalog.templates:
        if template.longest in text:
            found = False
            for values in _values(text, template):
                found = True
                yield _by_template(template, values, catalog, depth)
            n_tried += found
            if n_tried >= _MOST_TEMPLATES:
                break
    yield from _by_sentences(text, catalog, depth)
    if text[0].isupper():
        told = _told(text[0].lower() + text[1:], catalog, depth - 1)
        yield _Told(text=told.text[:1].upper() + told.text[1:], kept=told.kept)


def _by_template(
    template: Template, values: tuple[str, ...], catalog: Catalog, depth: int
) -> _Told:
    told = [_told(value.strip(), catalog, depth - 1) for value in values]
    words = {
        name: value[: len(value) - len(value.lstrip())]
        + one.text
        + value[len(value.rstrip()) :] * bool(value.strip())
        for name, value, one in zip(template.names, values, told, strict=True)
    }
    return _Told(text=filled(template.told, words), kept=sum(one.kept for one in told))


def _by_sentences(text: str, catalog: Catalog, depth: int) -> Iterator[_Told]:
    """Yield a text of several sentences, each by itself."""
    end = _SENTENCE_END.search(text)
    if end is not None:
        first = _told(text[: end.start()], catalog, depth - 1)
        rest = _told(text[end.end() :], catalog, depth)
        yield _Told(text=first.text + end[0] + rest.text, kept=first.kept + rest.kept)


def _values(text: str, template: Template) -> Iterator[tuple[str, ...]]:
    """Yield the values that a template makes this text with."""
    first, *between, last = template.words
    ending = last.rstrip() if text.endswith(last.rstrip()) else last
    if not text.startswith(first) or not text.endswith(ending):
        return
    end = len(text) - len(ending)
    for number, values in enumerate(_split(text, len(first), end, between)):
        if number >= _MOST_READINGS:
            return
        yield values


def _split(text: str, start: int, end: int, between: list[str]) -> Iterator[tuple[str, ...]]:
    if not between:
        if start <= end:
            yield (text[start:end],)
        return
    word, *others = between
    at = text.find(word, start, end)
    if at < 0 and not others and word.strip() and text[start:end].endswith(word.rstrip()):
        # Nothing came behind the last blank, and the blank was cut off.
        yield text[start : end - len(word.rstrip())], ""
    while at >= 0:
        for rest in _split(text, at + len(word), end, others):
            yield text[start:at], *rest
        at = text.find(word, at + 1, end)


def _n_letters(text: str) -> int:
    """Return how many letters of a text are words, and no symbols of units."""
    return sum(len(word) for word in _WORD.findall(text) if word not in _SYMBOLS)
