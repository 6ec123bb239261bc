"""The language of the command line: as typed, else that of the room."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.errors import FileError, SpecError
from moldgen.language import Language, language_of
from moldgen.user_file import room_file, user_stock_file

OPTION = "--language"


def language_wanted(words: Sequence[str]) -> Language:
    """Return the language that was typed; that of the room if none was.

    Raises
    ------
    SpecError
        If there is no such language.
    """
    typed = _typed(words)
    if typed is None:
        return _of_room()
    try:
        return language_of(typed)
    except SpecError as problem:
        raise problem.at(OPTION) from None


def without_language(words: Sequence[str]) -> list[str]:
    """Return the words of a command without the language that stands before its name."""
    rest = list(words)
    while rest and rest[0].partition("=")[0] == OPTION:
        rest = rest[1:] if "=" in rest[0] else rest[2:]
    return rest


def _typed(words: Sequence[str]) -> str | None:
    """Return what was typed last behind the option, None if nothing was."""
    until = list(words).index("--") if "--" in words else len(words)
    found = None
    for number, word in enumerate(words[:until]):
        name, equals, value = word.partition("=")
        if name == OPTION:
            found = value if equals else next(iter(words[number + 1 : until]), "")
    return found


def _of_room() -> Language:
    path = room_file(user_stock_file())
    if not path.exists():
        return Language.EN
    from moldgen.job.room import load_room

    try:
        return load_room().language
    except (FileError, SpecError):  # the command tells what is wrong with it
        return Language.EN
