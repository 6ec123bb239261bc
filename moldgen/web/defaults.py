"""What a class has for all its designs, and how its lessons are: read, checked, and begun with."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor
from typing import Any

from moldgen.api.jobs import from_arguments
from moldgen.errors import SpecError
from moldgen.job.command.school_class import ClassCommand
from moldgen.quantity import Quantity
from moldgen.web.wish import Beginning, DesignWish, checked_values
from moldgen.wording import one_of
from moldgen.written_number import measure

USUAL_WORDS = ("plastic", "gauge", "machine", "printer", "filament")
"""What a class may have for all its designs, by the words of commands."""
LESSON_WORDS = ("lesson_min", "trim_places", "workstations", "stock_sheet", "paper")
"""How the lessons of a class are, by the words of the class command."""
LARGEST, OFFERED = "largest", "offered"
NO_LOG, YES = "no_log", "yes"
"""Whether times are told as computed, whatever the log says of the table; and that they are."""
LARGEST_MM = Quantity("mm", "longest and widest mold that students make", at_least=80, at_most=700)
_SHAPE_MM, _SHAPE_ROUND_MM = 120.0, 2.0
"""Width of a shape that nobody asked for, and what its walls may add. [mm]."""
_ROUND_MM = {Beginning.DRAWING: 2.0, Beginning.PHOTO: 2.0, Beginning.TRAY: 40.0}
"""How much longer a mold begins than what is asked for: walls, or the land of a tray. [mm]."""
_WORD_MM, _ROUND_WORD_MM, _WORD_SHARE = 155.0, 26.0, 4.4
"""Length of the first word as it begins, what of it lies round the letters, and the length of the
word over the height of its letters. [mm, mm, -]."""


def checked_usual(given: Any) -> dict[str, Any]:
    """Return what a class has, as it is kept; what is empty is left out.

    Parameters
    ----------
    given : mapping of str
        By `USUAL_WORDS`, `LESSON_WORDS`, ``largest`` (a length), ``offered`` (beginnings) and
        ``no_log`` (yes).

    Raises
    ------
    SpecError
        If something is wrong: one sentence with its name.
    """
    if isinstance(given, Mapping) and given.get(OFFERED) == []:
        raise SpecError(OFFERED, "at least one beginning", "none", "Tick what students may make.")
    known = {*USUAL_WORDS, *LESSON_WORDS, LARGEST, OFFERED, NO_LOG}
    usual = {word: value for word, value in checked_values(given).items() if value}
    for word in usual:
        if word not in known:
            raise SpecError(word[:40], "one that a class has", "another", "Leave it out.")
    designs = {word: usual[word] for word in USUAL_WORDS if word in usual}
    # One sentence now, rather than one for each student later.
    DesignWish(beginning=Beginning.WORD, values={"words": ["A"], **designs}).job()
    class_command(usual)
    if usual.get(NO_LOG, YES) != YES:
        raise SpecError(NO_LOG, YES, str(usual[NO_LOG])[:40], "Or leave it out.")
    LARGEST_MM.check(LARGEST, largest_mm(usual) or LARGEST_MM.at_least or 0.0)
    if len(offered(usual)) == len(Beginning):
        usual.pop(OFFERED, None)
    return usual


def class_command(usual: Mapping[str, Any]) -> ClassCommand:
    """Return the class command that the defaults of a class stand for.

    Raises
    ------
    SpecError
        If one of them is wrong.
    """
    given = {word: usual[word] for word in LESSON_WORDS if usual.get(word)}
    fixed = {"file": "approved designs", "like": "their own", "sizes": "own", "workers": 1}
    return from_arguments(ClassCommand, lambda command: command, {**fixed, **given})


def largest_mm(usual: Mapping[str, Any]) -> float | None:
    """Return the longest side, seen from above, of what students make; None if it is open. [mm].

    Raises
    ------
    SpecError
        If it is no length.
    """
    words = usual.get(LARGEST)
    return measure(LARGEST, str(words), unit="mm") if words else None


def goes_by_log(usual: Mapping[str, Any]) -> bool:
    """Tell whether the times of a class go by the notes of the log, as they do if left open."""
    return not usual.get(NO_LOG)


def offered(usual: Mapping[str, Any]) -> tuple[Beginning, ...]:
    """Return what students may begin with: all, unless the class says otherwise.

    Raises
    ------
    SpecError
        If one of them is none.
    """
    words = usual.get(OFFERED) or list(Beginning)
    listed = words if isinstance(words, list) else [words]
    for word in listed:
        if word not in set(Beginning):
            raise SpecError(OFFERED, one_of(list(Beginning)), str(word)[:40])
    return tuple(one for one in Beginning if one in listed)


def start_within(
    beginning: Beginning, start: Mapping[str, Any], most_mm: float | None, *, aspect: float = 1.0
) -> dict[str, Any]:
    """Return what a design begins with, no larger than its class makes.

    Parameters
    ----------
    beginning : Beginning
        What it begins with.
    start : mapping of str
        Its values.
    most_mm : float or None
        Longest side that is made. [mm]
    aspect : float
        Height over width of a shape. [-]
    """
    if most_mm is None:
        return dict(start)
    within: dict[str, Any] = {}
    if beginning in _ROUND_MM:
        side_mm = floor(most_mm - _ROUND_MM[beginning])
        sides = [side for side in ("length", "width") if side in start]
        within = {side: f"{side_mm}" for side in sides if float(start[side]) > side_mm}
    if beginning is Beginning.WORD and most_mm < _WORD_MM:
        within["letter_height"] = f"{floor((most_mm - _ROUND_WORD_MM) / _WORD_SHARE)}"
    if beginning is Beginning.SHAPE and _SHAPE_MM * max(1.0, aspect) > most_mm:
        within["width"] = f"{floor((most_mm - _SHAPE_ROUND_MM) / max(1.0, aspect))}"
    return {**start, **within}
