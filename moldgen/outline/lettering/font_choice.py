"""The font for a text: the usual one, or one of this computer that has all of its letters."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path

from moldgen.errors import FileError, SpecError
from moldgen.outline.lettering.fonts import (
    FontInfo,
    default_font_path,
    find_font,
    font_folders,
    font_in,
    fonts_in,
    open_face,
)
from moldgen.outline.lettering.shaping import described, open_typeface
from moldgen.typeface.face import load_faces

_NOT_DRAWN = {"Zs", "Zl", "Zp", "Cc", "Cf"}
"""Kinds of characters that need no glyph: blanks and marks of direction."""
_WEIGHTS = ("bold", "semibold", "demibold", "black", "heavy", "medium", "regular", "book")
"""What is wanted of a found font, the best first: the usual one is bold."""
_UNWANTED = ("italic", "oblique", "serif", "mono", "condensed", "thin", "light", "display", "ui")
_HOMES = {"Japanese": "JP", "Korean": "KR", "Chinese": "SC"}
_SCRIPTS = {"CJK": "Chinese", "HIRAGANA": "Japanese", "KATAKANA": "Japanese", "HANGUL": "Korean"}


def font_for(text: str, name: str | None = None) -> FontInfo:
    """Return the font that a text is set in.

    Parameters
    ----------
    text : str
        What is written.
    name : str, optional
        The font a person wants; see `find_font`. By default the usual one, if it has all letters of
        the text, else one that comes along and has, else one of this computer.

    Raises
    ------
    SpecError
        If the name is unknown, or none is given and no font has all letters; the sentence tells the
        script that needs one.
    FileError
        If a file is given that is no font.
    """
    if name is not None:
        return find_font(name)
    usual = font_in(default_font_path())
    return usual if _sets(usual, text) else _found(text, font_folders())


@lru_cache(maxsize=32)
def _found(text: str, folders: tuple[Path, ...]) -> FontInfo:
    wanted = _letters(text)
    private = any(unicodedata.category(c) in ("Co", "Cn") for c in wanted)
    for font in () if private else _candidates(wanted, folders):
        if _sets(font, text):
            return font
    raise _no_font(wanted)


def _candidates(wanted: frozenset[str], folders: tuple[Path, ...]) -> Iterator[FontInfo]:
    """Yield fonts that have all characters: those that come along, then the best of the others."""
    ours = (font_in(face.path) for face in load_faces())
    yield from (font for font in ours if not _missing(font, wanted))
    others = (font for font in fonts_in(folders) if not _missing(font, wanted))
    home = _home_of(wanted)
    yield from sorted(others, key=lambda font: (home not in font.family.split(), *_fitness(font)))


def _home_of(letters: frozenset[str]) -> str:
    """Return the mark of the country whose forms of Chinese characters a text wants."""
    scripts = {script_of(letter) for letter in letters}
    return next((_HOMES[script] for script in _HOMES if script in scripts), "")


def _fitness(font: FontInfo) -> tuple[int, int, int, str, Path, int]:
    said = f"{font.family} {font.style}".casefold()
    words = said.replace("-", " ").split()
    weight = next((k for k, word in enumerate(_WEIGHTS) if word in words), len(_WEIGHTS))
    unwanted = sum(word in words or word in said.split("sans")[-1] for word in _UNWANTED)
    return unwanted, weight, len(words), font.full_name, font.path, font.index


def in_usual_letters(text: str) -> str:
    """Return a text in letters that the usual font has: others are put into plain ones.

    Examples
    --------
    >>> in_usual_letters("Łódź สวัสดี 4")
    'Łódź swasdi 4'
    """
    from anyascii import anyascii

    lacking = _missing(font_in(default_font_path()), _letters(text))
    composed = unicodedata.normalize("NFC", text)
    return "".join(anyascii(c) if c in lacking else c for c in composed)


def _letters(text: str) -> frozenset[str]:
    composed = unicodedata.normalize("NFC", text)
    return frozenset(c for c in composed if unicodedata.category(c) not in _NOT_DRAWN)


def _missing(font: FontInfo, wanted: Iterable[str]) -> frozenset[str]:
    """Return the characters that a font lacks."""
    return frozenset(c for c in wanted if ord(c) not in _known(font.path, font.index))


@lru_cache(maxsize=1024)
def _known(path: Path, index: int) -> frozenset[int]:
    return frozenset(open_face(path, index).unicodes)


def _sets(font: FontInfo, text: str) -> bool:
    """Tell whether a font has a glyph for all that a text is shaped to."""
    try:
        face = open_typeface(font)
        face.cap_height()
        for line in unicodedata.normalize("NFC", text).splitlines():
            face.shaped(line)
    except (SpecError, FileError):
        return False
    return True


def _no_font(wanted: frozenset[str]) -> SpecError:
    """Return what to say where no font has all characters: the first that no usual one has."""
    usual = font_in(default_font_path())
    lacking = sorted(_missing(usual, wanted) or wanted)
    letter = next((c for c in lacking if unicodedata.category(c)[0] == "L"), lacking[0])
    script = script_of(letter)
    return SpecError(
        "text",
        "written in letters that one font of this computer has",
        described(letter),
        f"{script} needs a font: install one, or give its file (--font FILE).",
    )


def script_of(character: str) -> str:
    """Return the script that a character belongs to, as its Unicode name begins.

    Examples
    --------
    >>> script_of("न"), script_of("海")
    ('Devanagari', 'Chinese')
    """
    word = unicodedata.name(character, "This sign").split()[0]
    return _SCRIPTS.get(word, word.capitalize())
