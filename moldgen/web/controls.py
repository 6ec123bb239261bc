"""Controls of the page, made from the lines that command options and job files are made from."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Any

from moldgen.job.command.school_class import ClassCommand
from moldgen.job.form import FormField, form_of
from moldgen.job.outline import Grid
from moldgen.language import in_words
from moldgen.quantity import Quantity
from moldgen.stock import Shop
from moldgen.web.defaults import LARGEST, LARGEST_MM, LESSON_WORDS, USUAL_WORDS
from moldgen.web.wish import COMMANDS, Beginning, face_names, words_of

_STOCK = {
    "plastic": "plastic",
    "machine": "machine",
    "printer": "printer",
    "filament": "filament",
    "strip_heater": "strip_heater",
}
"""Words whose choices are what the shop has, and the shelf they are on."""

_NAMES = {
    "as": "letters on",
    "gauge": "sheet thickness",
    "plastic": "sheet",
    "words": "words, a line each",
    "lesson_min": "length of a lesson",
    "make": "kind",
}
"""What a control is called where the word of the command line says too little."""

_ABOUT = {
    "words": "What the sign says",
    "font": "Face of the letters",
    "make": "A ready-made strip; its legs and bends follow from what it holds",
    "holds": 'A thing or its size: A5, phone, "148 x 105"',
    "lean": "How far its back leans from upright; chosen if left out",
}
"""What a control means where the command line speaks of its own words."""


def usual_controls(shop: Shop) -> list[dict[str, Any]]:
    """Return the controls of what a class has for all its designs; ready for JSON."""
    lines = {line.word: line for line in form_of(COMMANDS[Beginning.WORD].spec)}
    return [*(_control(lines[word], shop) for word in USUAL_WORDS), _largest_control()]


def lesson_controls(shop: Shop) -> list[dict[str, Any]]:
    """Return the controls of how the lessons of a class are; ready for JSON."""
    lines = {line.word: line for line in form_of(ClassCommand)}
    return [_control(lines[word], shop) for word in LESSON_WORDS]


def _largest_control() -> dict[str, Any]:
    return {
        "word": LARGEST, "name": in_words("largest size"), "kind": "number", "unit": "mm",
        "about": in_words(
            "Longest and widest mold that students make; strips may be of any length"
        ),
        "rule": LARGEST_MM.rule, "usual": None, "choices": [], "has_names": False,
    }  # fmt: skip


def control_name(word: str) -> str:
    """Return what a control is called."""
    return in_words(_NAMES.get(word, word.replace("_", " ")))


def controls_of(
    beginning: Beginning, shop: Shop, shapes: Sequence[str] = ()
) -> dict[str, list[dict[str, Any]]]:
    """Return what can be set for a beginning.

    Parameters
    ----------
    beginning : Beginning
        What a design begins with.
    shop : Shop
        What there is to choose from.
    shapes : sequence of str
        Names of the library's shapes, which take much memory to list.

    Returns
    -------
    dict
        ``first`` and ``more``: lists of controls, each with ``word``, ``about``, ``kind``
        (``number``, ``choice``, ``switch``, ``text`` or ``lines``), ``unit``, ``usual``,
        ``choices``, whether they are names (``has_names``), and ``rule``; ready for JSON.
    """
    lines = {line.word: line for line in form_of(COMMANDS[beginning].spec)}
    first, more = words_of(beginning)
    return {
        "first": [_control(lines[word], shop, shapes) for word in first],
        "more": [_control(lines[word], shop, shapes) for word in more],
    }


def _control(line: FormField, shop: Shop, shapes: Sequence[str] = ()) -> dict[str, Any]:
    mark = line.mark
    return {
        "word": line.word,
        "name": control_name(line.word),
        "about": _about(line),
        "kind": _kind(line),
        "unit": mark.unit if isinstance(mark, Quantity) else "",
        "rule": mark.rule if isinstance(mark, Quantity) else "",
        "usual": _usual(line),
        "choices": list(shapes) if line.word == "shape" else _choices(line, shop),
        "has_names": line.word in {*_STOCK, "shape", "font"},
    }


def _about(line: FormField) -> str:
    """Return what it means, without what only the command line has."""
    if line.word in _ABOUT:
        return in_words(_ABOUT[line.word])
    kept = [part for part in in_words(line.mark.about).split(": ") if "moldgen " not in part]
    words = ": ".join(kept)
    return words[:1].upper() + words[1:]


def _kind(line: FormField) -> str:
    if isinstance(line.mark, Quantity):
        return "number"
    if line.kind is bool:
        return "switch"
    if line.item is str:
        return "lines"
    return "choice" if _is_choice(line) else "text"


def _is_choice(line: FormField) -> bool:
    choice = isinstance(line.kind, type) and issubclass(line.kind, StrEnum)
    return choice or line.word in {*_STOCK, "shape", "font"}


def _choices(line: FormField, shop: Shop) -> list[str]:
    if line.word in _STOCK:
        return list(shop.names(_STOCK[line.word]))
    if line.word == "font":
        return list(face_names())
    if isinstance(line.kind, type) and issubclass(line.kind, StrEnum):
        return [choice.value for choice in line.kind]
    return []


def _usual(line: FormField) -> Any:
    if line.required or line.default is None:
        return None
    if isinstance(line.default, Grid):
        return str(line.default)
    if isinstance(line.default, float):
        return f"{line.default:g}"
    return list(line.default) if isinstance(line.default, tuple) else line.default
