"""Which word each letter of a text stands in."""

import pytest

from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.outline.lettering.words import letters_in_words


def test_letters_know_their_word_and_which_of_their_kind_they_are():
    """Repeated letters and repeated words are counted in reading order, line after line."""
    told = letters_in_words("ROW ON\nROW")

    assert [(one.character, one.nth, one.of) for one in told] == [
        ("R", 1, 1), ("O", 1, 1), ("W", 1, 1), ("O", 1, 1), ("N", 1, 1), ("R", 1, 1), ("O", 1, 1),
        ("W", 1, 1),
    ]  # fmt: skip
    assert [(one.word, one.nth_word, one.of_words) for one in told[::3]] == [
        ("ROW", 1, 2), ("ON", 1, 1), ("ROW", 2, 2),
    ]  # fmt: skip
    assert [(one.nth, one.of) for one in letters_in_words("KEEL")] == [
        (1, 1), (1, 2), (2, 2), (1, 1),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["PIER 4", "Gull & Tern", "Zoe\u0308", "VARNISH ROOM\nNO FLAMES"])
def test_they_are_the_letters_that_are_drawn(text):
    """As many as the outline has, in its order, an accent with its letter."""
    drawn = outline_from_text(TextSpec(text=text, height_mm=20.0)).letters

    told = letters_in_words(text)
    assert len(told) == len(drawn) > 2
    assert told[0].character == drawn[0].name
