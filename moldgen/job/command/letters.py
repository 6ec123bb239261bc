"""What can be typed after the letters command: which letters, and how many of each."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated
from unicodedata import normalize

from moldgen.errors import SpecError
from moldgen.fixture.letters.foot import BLANK
from moldgen.job.command.shop import ShopOptions
from moldgen.job.formats import PRINT_FORMATS, PrintFormats, check_formats
from moldgen.quantity import Meaning, Quantity

MOST_KINDS = 300
MOST_PIECES = 600
COMMON = "ETAOINSRHL"
"""The letters that English words need most often (from memory of letter frequency tables)."""
_RANGE = re.compile(r"([^\W_])-([^\W_])|(\S)")
_COUNT = re.compile(r"\s*(\S)\s*=\s*(\d{1,3})\s*")


class Storage(StrEnum):
    """What the letters are kept in."""

    PRINTED = "printed"
    """A tray to print."""
    FORMED = "formed"
    """Job files of molds to form trays over."""
    NONE = "none"


def _whole(about: str, most: float) -> Quantity:
    return Quantity("", about, at_least=0, at_most=most)


@dataclass(frozen=True, slots=True, kw_only=True)
class LettersCommand(ShopOptions):
    """What the letters command can say."""

    characters: Annotated[
        str, Meaning('letters of the set: ranges and signs, "A-Z 0-9 .,!?-&"')
    ] = "A-Z 0-9 .,!?-&"
    common: Annotated[float, _whole("how many of each common letter, E T A O I N S R H L", 50)] = 2
    counts: Annotated[str, Meaning('how many of some letters: "E=4, S=3"')] = ""
    blanks: Annotated[float, _whole("feet without a letter, for the gaps between words", 50)] = 2
    letter_height_mm: Annotated[
        float, Quantity("mm", "height of the capital H", at_least=10, at_most=150)
    ] = 40.0
    font: Annotated[str, Meaning("font by name or file: moldgen fonts lists them")] = ""
    mirrored: Annotated[bool, Meaning("letters that read from the other side of the part")] = False
    word: Annotated[str, Meaning("also make the rail for this word")] = ""
    storage: Annotated[
        Storage,
        Meaning(
            "printed (a tray, a place for each letter), formed (job files of molds for such trays)"
            " or none"
        ),
    ] = Storage.PRINTED
    formats: PrintFormats = PRINT_FORMATS

    def __post_init__(self) -> None:
        ShopOptions.__post_init__(self)
        check_formats(self.formats, PRINT_FORMATS)
        for field in ("common", "blanks"):
            value = getattr(self, field)
            if value != int(value):
                raise SpecError(field, "a whole number", f"{value:g}", "Leave the part out.")


def letter_counts(command: LettersCommand) -> dict[str, int]:
    """Return how many of each letter are made, in the order they are written.

    Raises
    ------
    SpecError
        If there are none, too many, a range runs backward, or a count is for no letter of the
        set.
    """
    counts = {letter: 1 for letter in _letters(command.characters)}
    for letter in COMMON:
        if letter in counts and command.common:
            counts[letter] = int(command.common)
    for letter, count in _told(command.counts):
        if letter not in counts:
            raise SpecError("counts", "for letters of the set", repr(letter), "Add it there.")
        counts[letter] = count
    if command.blanks:
        counts[BLANK] = int(command.blanks)
    counts = {letter: count for letter, count in counts.items() if count}
    _check_numbers(counts)
    return counts


def _letters(words: str) -> Iterator[str]:
    # An accent that is written as a sign of its own belongs to the letter before it.
    for match in _RANGE.finditer(normalize("NFC", words)):
        first, last, single = match.groups()
        if single:
            yield single
            continue
        if not first <= last or ord(last) - ord(first) > MOST_KINDS:
            raise SpecError("characters", "ranges such as A-Z", repr(match[0]), "Turn it round.")
        yield from map(chr, range(ord(first), ord(last) + 1))


def _told(words: str) -> Iterator[tuple[str, int]]:
    for part in filter(str.strip, normalize("NFC", words).split(",")):
        match = _COUNT.fullmatch(part)
        if match is None:
            raise SpecError("counts", 'like "E=4, S=3"', repr(part.strip()[:40]))
        yield match[1], int(match[2])


def _check_numbers(counts: dict[str, int]) -> None:
    if not counts:
        raise SpecError("characters", "given", "nothing", 'Write them like "A-Z 0-9".')
    if len(counts) > MOST_KINDS:
        raise SpecError("characters", f"at most {MOST_KINDS} letters", f"{len(counts)}")
    pieces = sum(Counter(counts).values())
    if pieces > MOST_PIECES:
        raise SpecError("counts", f"at most {MOST_PIECES} pieces in all", f"{pieces}")
