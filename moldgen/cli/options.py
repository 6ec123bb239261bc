"""What is typed after a command becomes its specification, and errors name the options."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from moldgen.errors import SpecError
from moldgen.job.arguments import argument_value, as_argument, spec_from_values
from moldgen.job.form import Each, FormField, form_of, unit_of
from moldgen.language import as_written, in_words
from moldgen.quantity import Quantity, Spec
from moldgen.written_number import measure, parted_size

S = TypeVar("S", bound=Spec)

POSITIONAL = (
    "words", "things", "files", "length", "width", "depth", "file", "plastic", "address", "number",
)  # fmt: skip
"""Words of a command that are typed without an option name, where they must be given."""


def option(word: str) -> str:
    """Return the option of a word: ``plan_radius`` is ``--plan-radius``."""
    return f"--{word.replace('_', '-')}"


def is_positional(line: FormField) -> bool:
    """Return whether a line is typed without an option name."""
    return line.word in ("file", "fixture") or (line.required and line.word in POSITIONAL)


def name_of(line: FormField) -> str:
    """Return what errors call a line: its option, or its place on the command line."""
    return line.word if is_positional(line) else option(line.word)


def spec_from_options(spec: type[S], given: Mapping[str, Any]) -> S:
    """Return a command's specification from what was typed, by field.

    Raises
    ------
    SpecError
        If a value is wrong; the field names the option.
    """
    return spec_from_values(spec, given, name_of)


def typed_value(line: FormField, typed: Any) -> Any:
    """Return one typed value as its line wants it."""
    return argument_value(name_of(line), typed, line)


def torn_measure(words: Sequence[str], spec: type[Spec]) -> tuple[str, str] | None:
    """Return the option, and the whole, of a measure typed as several words without quotes.

    ``--letter-height 3 1/2in`` is read by the shell as a height of 3 and one word more.
    """
    lengths = {option(line.word) for line in form_of(spec) if unit_of(line.mark) == "mm"}
    until = list(words).index("--") if "--" in words else len(words)
    typed = [part for word in words[:until] for part in _parted(word)]
    for at, name in enumerate(typed):
        if name not in lengths:
            continue
        for count in (3, 2):
            whole = " ".join(typed[at + 1 : at + 1 + count])
            if len(typed) > at + count and _is_measure(whole):
                return name, whole
    return None


def parted_sides(words: Sequence[str], spec: type[Spec]) -> list[str]:
    """Return the words with a size such as ``120x80x25`` as the sides it is made of.

    Only of a command that takes its sides one by one, and never the value of an option. Typed
    without quotes, ``120 x 80 x 25`` is five words.
    """
    count = len([line for line in form_of(spec) if line.word in ("length", "width", "depth")])
    plain = [line for line in form_of(spec) if is_positional(line)]
    if count != len(plain) or count < 2:
        return list(words)
    takes = {option(line.word) for line in form_of(spec) if line.kind is not bool}
    parted: list[str] = []
    rest = list(words)
    while rest and rest[0] != "--":
        sides = () if parted and parted[-1] in takes else _sides_at(rest, count)
        used = sides[1] if sides else 1
        parted, rest = [*parted, *(sides[0] if sides else rest[:1])], rest[used:]
    return parted + rest


def _sides_at(words: list[str], count: int) -> tuple[tuple[str, ...], int] | tuple[()]:
    """Return the sides of the longest size that the words begin with, and how many it takes."""
    for used in range(min(len(words), _LONGEST_SIZE), 0, -1):
        sides = parted_size(" ".join(words[:used]), count)
        if sides and all(_is_measure(side) for side in sides):
            return sides, used
    return ()


_LONGEST_SIZE = 11
"""Words of a size that is typed without quotes: ``5 1/2 in x 3 1/2 in x 1 in``, and no more."""


def _parted(word: str) -> list[str]:
    """Return ``--gap=3`` as option and value, any other word alone."""
    name, equals, value = word.partition("=")
    return [name, value] if equals and name.startswith("--") else [word]


def _is_measure(words: str) -> bool:
    try:
        measure("length", words, unit="mm")
    except SpecError:
        return False
    return True


def as_option(problem: SpecError, spec: type[Spec]) -> SpecError:
    """Return a failure with the option's name in place of the field's, if it is one's."""
    return as_argument(problem, spec, name_of)


def option_help(line: FormField, usual: Any) -> str:
    """Return the help of an option: its meaning, unit and what holds if it is left out."""
    unit = f" [{unit_of(line.mark)}]" if unit_of(line.mark) else ""
    holds = "" if isinstance(usual, bool) else _usual(usual)
    return f"{in_words(line.mark.about)}{unit}{holds}".replace("%", "%%")


def metavar(line: FormField) -> str:
    """Return what stands for an option's value in its help."""
    if isinstance(line.mark, Each):
        return "MM,MM,..."
    if isinstance(line.mark, Quantity):
        return {"mm": "MM", "°": "DEG"}.get(line.mark.unit, "NUMBER")
    if line.word == "stock":
        return "FILE"
    return "CHOICE" if isinstance(line.kind, type) and issubclass(line.kind, StrEnum) else "TEXT"


def moved_paths(words: S, folder: Path) -> S:
    """Return a command's words with its files named from a folder, not from here."""
    fields = {"file": False, "stock": False, "font": True}
    changes = {
        field: moved_path(getattr(words, field), folder)
        for field, may_be_name in fields.items()
        if getattr(words, field, "") and (not may_be_name or _is_file(getattr(words, field)))
    }
    return replace(words, **changes) if changes else words  # type: ignore[type-var]


def _usual(default: Any) -> str:
    if isinstance(default, StrEnum) or (isinstance(default, str) and default):
        return f" ({in_words('usual:')} {default})"
    if isinstance(default, float | int):
        return f" ({in_words('usual:')} {as_written(f'{default:g}')})"
    return ""


def _is_file(font: str) -> bool:
    return any(mark in font for mark in "/\\") or Path(font).suffix.lower() in _FONT_FILES


_FONT_FILES = {".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"}


def moved_path(name: str, folder: Path) -> str:
    """Return the name of a file that was typed here as it is found from a folder."""
    path = Path(name)
    if path.is_absolute():
        return name
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # another drive of Windows
        return path.resolve().as_posix()
