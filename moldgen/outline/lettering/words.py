"""Which word each letter of a text stands in, and which of its kind it is there."""

from __future__ import annotations

import unicodedata
from collections import Counter
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterInWord:
    """A letter by its word.

    Attributes
    ----------
    character : str
        The letter itself.
    nth, of : int
        Which of the same letters of its word it is, from 1, and how many there are.
    word : str
        Its word.
    nth_word, of_words : int
        Which of the same words of the text it is, from 1, and how many there are.
    """

    character: str
    nth: int
    of: int
    word: str
    nth_word: int
    of_words: int


def letters_in_words(text: str) -> tuple[LetterInWord, ...]:
    """Return the letters of a text that have ink, in reading order.

    A mark that cannot be composed with its letter counts as part of it, as in
    `moldgen.outline.lettering.text.Lettering.letters`.
    """
    words = [
        word for line in unicodedata.normalize("NFC", text).splitlines() for word in line.split()
    ]
    of_words = Counter(words)
    so_far: Counter[str] = Counter()
    found: list[LetterInWord] = []
    for word in words:
        so_far[word] += 1
        found += _letters(word, nth_word=so_far[word], of_words=of_words[word])
    return tuple(found)


def _letters(word: str, *, nth_word: int, of_words: int) -> list[LetterInWord]:
    inked = [letter for letter in word if unicodedata.category(letter) not in ("Mn", "Cf", "Zs")]
    of = Counter(inked)
    so_far: Counter[str] = Counter()
    letters = []
    for letter in inked:
        so_far[letter] += 1
        letters.append(
            LetterInWord(
                character=letter, nth=so_far[letter], of=of[letter],
                word=word, nth_word=nth_word, of_words=of_words,
            )
        )  # fmt: skip
    return letters
