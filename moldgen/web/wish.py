"""A wish: what somebody asks for on the page, as the words that a command would have."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any, NamedTuple

from moldgen.api.jobs import from_arguments
from moldgen.errors import SpecError
from moldgen.job.command.bend import BendCommand
from moldgen.job.command.mold import DrawingCommand, SignCommand, TrayCommand
from moldgen.job.command.mold_jobs import drawing_job, sign_job, tray_job
from moldgen.job.command.strip import strip_job
from moldgen.job.spec import Job
from moldgen.job.strip_spec import StripJob
from moldgen.quantity import Spec
from moldgen.wording import one_of

_MOST_VALUES = 40
_MOST_LETTERS = 500
UPLOAD = "upload.svg"
"""What a job of the page calls the drawing that was brought; there is no such file."""


class Beginning(StrEnum):
    """What a design begins with."""

    WORD = "word"
    SHAPE = "shape"
    DRAWING = "drawing"
    PHOTO = "photo"
    TRAY = "tray"
    STRIP = "strip"


class BeginningCommand(NamedTuple):
    """The specification behind a beginning, what makes a job of it, and what is never asked."""

    spec: type[Spec]
    build: Callable[[Any], Job | StripJob]
    first: tuple[str, ...]
    never: tuple[str, ...] = ()


_EVERYWHERE = ("stock", "formats", "paper", "units", "date", "check_pace", "tactile")
COMMANDS: Mapping[Beginning, BeginningCommand] = {
    Beginning.WORD: BeginningCommand(
        SignCommand, sign_job, ("words", "letter_height", "relief", "as", "plastic", "gauge")
    ),
    Beginning.SHAPE: BeginningCommand(
        DrawingCommand,
        drawing_job,
        ("shape", "width", "height", "plastic", "gauge"),
        ("file", "part", "strokes", "layer", "unit"),
    ),
    Beginning.DRAWING: BeginningCommand(
        DrawingCommand,
        drawing_job,
        ("width", "height", "plastic", "gauge"),
        ("file", "shape", "part", "layer", "unit"),
    ),
    Beginning.PHOTO: BeginningCommand(
        DrawingCommand,
        drawing_job,
        ("width", "height", "plastic", "gauge"),
        ("file", "shape", "part", "strokes", "layer", "unit"),
    ),
    Beginning.TRAY: BeginningCommand(
        TrayCommand,
        tray_job,
        ("length", "width", "depth", "compartments", "corner", "plastic", "gauge"),
    ),
    Beginning.STRIP: BeginningCommand(
        BendCommand,
        strip_job,
        ("make", "holds", "lean", "width", "plastic", "thickness"),
        ("marks", "length", "legs_by", "stand"),
    ),
}
"""What stands behind each beginning; ``first`` are the controls that are always seen."""

STARTS: Mapping[Beginning, Mapping[str, Any]] = {
    Beginning.WORD: {"words": ["AHOY"]},
    Beginning.SHAPE: {"shape": "fish"},
    Beginning.DRAWING: {"width": "120"},
    Beginning.PHOTO: {"width": "120"},
    Beginning.TRAY: {"length": "120", "width": "80", "depth": "25"},
    Beginning.STRIP: {"make": "phone-stand"},
}
"""Something real to begin with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignWish:
    """What somebody asks for.

    Attributes
    ----------
    beginning : Beginning
        What it began with.
    values : mapping of str
        What was typed or chosen, by the words of the command; what is left out is chosen.
    """

    beginning: Beginning
    values: Mapping[str, Any]

    @classmethod
    def from_words(cls, words: Mapping[str, Any]) -> DesignWish:
        """Return the wish that JSON tells of.

        Raises
        ------
        SpecError
            If it is none.
        """
        beginning, values = words.get("beginning"), words.get("values")
        if beginning not in set(Beginning) or not isinstance(values, Mapping):
            raise SpecError("beginning", "one of the page's own", str(beginning)[:40])
        return cls(beginning=Beginning(beginning), values=values)

    @property
    def words(self) -> dict[str, Any]:
        """It as JSON."""
        return {"beginning": self.beginning.value, "values": dict(self.values)}

    @property
    def title(self) -> str:
        """What it is called in a list."""
        values = self.values
        if self.beginning is Beginning.WORD:
            lines = values.get("words", "")
            return " / ".join(lines) if isinstance(lines, list) else str(lines)
        if self.beginning is Beginning.TRAY:
            sides = (str(values.get(side, "?")) for side in ("length", "width", "depth"))
            return f"Tray {' x '.join(sides)}"
        if self.beginning is Beginning.STRIP:
            made = str(values.get("make") or "bent strip").replace("-", " ").capitalize()
            return f"{made} for {values['holds']}" if values.get("holds") else made
        return str(values.get("title") or values.get("shape") or self.beginning.value).capitalize()

    def mold_job(self) -> Job:
        """Return the job of the mold.

        Raises
        ------
        SpecError
            If a value is wrong, or it is a strip, which needs no mold.
        """
        job = self.job()
        if not isinstance(job, Job):
            raise SpecError("beginning", "one of a mold", self.beginning.value)
        return job

    def job(self) -> Job | StripJob:
        """Return the job of it.

        Raises
        ------
        SpecError
            If a value is wrong: one sentence with its name.
        """
        command = COMMANDS[self.beginning]
        hidden = {*_EVERYWHERE, *command.never}
        for word in self.values:
            if word in hidden:
                raise SpecError(word, "left to the page", "a value", "Leave it out.")
        if self.values.get("font", "") not in ("", *face_names()):
            raise SpecError("font", one_of(face_names()), str(self.values["font"])[:40])
        given = {word: value for word, value in self.values.items() if value not in ("", None)}
        if self.beginning in (Beginning.DRAWING, Beginning.PHOTO):
            given["file"] = UPLOAD
        return from_arguments(command.spec, command.build, given)


@cache
def face_names() -> tuple[str, ...]:
    """Return the faces that the page offers: those that come along; no file can be named."""
    from moldgen.typeface.face import load_faces

    return tuple(face.name for face in load_faces())


def words_of(beginning: Beginning) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the words that are always asked for, and those that "more" shows."""
    from moldgen.job.form import form_of

    command = COMMANDS[beginning]
    hidden = {*_EVERYWHERE, *command.never, *command.first}
    rest = tuple(line.word for line in form_of(command.spec) if line.word not in hidden)
    return command.first, rest


def beginning_values(
    beginning: Beginning, usual: Mapping[str, Any], asked: Mapping[str, Any]
) -> dict[str, Any]:
    """Return what a design begins with.

    Parameters
    ----------
    beginning : Beginning
        What it begins with.
    usual : mapping of str
        What designs of the class have; the sheet of a mold is none for a strip.
    asked : mapping of str
        What was chosen, such as a shape.
    """
    first, more = words_of(beginning)
    has = {*first, *more} - ({"plastic"} if beginning is Beginning.STRIP else set())
    kept = {word: value for word, value in usual.items() if word in has}
    return {**kept, **STARTS[beginning], **asked}


def checked_values(values: Any) -> dict[str, Any]:
    """Return the values of a wish: a few short texts, numbers and switches, or lines.

    Raises
    ------
    SpecError
        If they are anything else.
    """
    if not isinstance(values, dict) or len(values) > _MOST_VALUES:
        raise SpecError("values", f"at most {_MOST_VALUES}", "others")
    for word, value in values.items():
        lines = value if isinstance(value, list) else [value]
        for line in lines:
            if not isinstance(line, str | bool | int | float | None):
                raise SpecError(word[:40], "a text, a number or a switch", "something else")
        if sum(len(str(line)) for line in lines) > _MOST_LETTERS:
            raise SpecError(word[:40], f"at most {_MOST_LETTERS} letters", "more")
    return values
