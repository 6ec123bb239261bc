"""The letters of a job where they stand, with what each is called in its word."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import MultiPolygon

from moldgen.job.outline import JobText
from moldgen.mold.place.letter import PlacedLetter
from moldgen.mold.place.position import ordinal
from moldgen.outline.lettering.words import LetterInWord, letters_in_words


def placed_letters(outline: JobText, regions: Sequence[MultiPolygon]) -> tuple[PlacedLetter, ...]:
    """Return the letters of a text by their words.

    Parameters
    ----------
    outline : JobText
        The text.
    regions : sequence of MultiPolygon
        Its letters in place, in reading order. [mm]

    Returns
    -------
    tuple of PlacedLetter
        None where a script joins characters, so that letters are not those of the text.
    """
    told = letters_in_words(outline.text)
    if len(told) != len(regions):
        return ()
    return tuple(
        PlacedLetter(
            name=_name(letter), word=_word(letter), region=region, turn_deg=outline.turn_deg
        )
        for letter, region in zip(told, regions, strict=True)
    )


def _name(letter: LetterInWord) -> str:
    which = f"{ordinal(letter.nth)} " if letter.of > 1 else ""
    shown = letter.character if letter.character.isalnum() else f'"{letter.character}"'
    return f"the {which}{shown}"


def _word(letter: LetterInWord) -> str:
    if letter.of_words > 1:
        return f"the {ordinal(letter.nth_word)} {letter.word}"
    return letter.word if len(letter.word) > 1 else ""
