"""Options of version 0.1: taken as the new ones, and told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from moldgen.cli.options import option
from moldgen.errors import SpecError
from moldgen.job.form import form_of
from moldgen.old_words import OLD_WORDS, new_word, old_word_text

if TYPE_CHECKING:
    from moldgen.cli.screen import Screen
    from moldgen.quantity import Spec


def renewed_options(
    words: Sequence[str], spec: type[Spec]
) -> tuple[list[str], tuple[tuple[str, str], ...]]:
    """Return what was typed with new options in place of old ones, and each pair of old and new.

    Raises
    ------
    SpecError
        If an old option and the new one are typed together.
    """
    known = [line.word for line in form_of(spec)]
    now = {
        option(old): option(new) for old, new in OLD_WORDS.items() if new_word(old, known) == new
    }
    until = list(words).index("--") if "--" in words else len(words)
    names = [word.partition("=")[0] for word in words[:until]]
    typed = dict.fromkeys(name for name in names if name in now)
    for old in typed:
        if now[old] in names:
            both = f"{old} and {now[old]}"
            raise SpecError(now[old], "given once", both, f"Leave {now[old]} alone.")
    taken = [
        word if name not in now else f"{now[name]}{word.removeprefix(name)}"
        for name, word in zip(names, words[:until], strict=True)
    ]
    return [*taken, *words[until:]], tuple((old, now[old]) for old in typed)


def tell_old_words(old: Iterable[str], screen: Screen) -> None:
    """Tell on the error stream which words of a stock file are old, unless asked to be quiet."""
    tell_notes((old_word_text(word) for word in old), screen)


def tell_notes(notes: Iterable[str], screen: Screen) -> None:
    """Write notes on the error stream, unless asked to be quiet."""
    if not screen.quiet:
        screen.err.write("".join(f"moldgen: note: {note}.\n" for note in notes))
