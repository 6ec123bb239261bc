"""What the short commands stand for: a few words make a whole job."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from enum import StrEnum
from typing import Any

from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.job.command import recess
from moldgen.job.command.mold import (
    SINGLE,
    DrawingCommand,
    LettersAs,
    MoldOptions,
    SignCommand,
    TrayCommand,
)
from moldgen.job.command.plaque_edge import plaque_edge
from moldgen.job.form import form_of
from moldgen.job.outline import (
    JobAround,
    JobDxf,
    JobOutline,
    JobShape,
    JobSvg,
    JobText,
    Placement,
)
from moldgen.job.spec import Job, JobBody, JobFeature, ReadAt, Side
from moldgen.mold.choices import HangingHoles
from moldgen.outline.choices import Along, StrokeUse
from moldgen.quantity import Quantity

_LINE_BREAK = re.compile(r"\s+/\s+")


def sign_job(command: SignCommand) -> Job:
    """Return the job of a sign: letters raised on a plaque, or straight on the table.

    Raises
    ------
    SpecError
        If there are no words, or an option does not go with the others.
    """
    lines = _lines(command.words)
    if not any(lines):
        raise SpecError("words", "given", "nothing", 'Write them like "HIGH TIDE".')
    text = JobText(
        text="\n".join(lines),
        height_mm=command.letter_height_mm,
        font=command.font,
        align=command.align,
        **_spacing(command.letter_spacing),
    )
    title = " ".join(" ".join(lines).split())[:60]
    build = _plaque if command.as_ is LettersAs.PLAQUE else _standing
    job = command.job(title, side=Side.MALE, body=build(command, text))
    return replace(job, tactile=command.tactile)


def _spacing(words: str) -> dict[str, Any]:
    """Return the letter spacing of a text: a length, or a share of the letter height."""
    if not words.strip():
        return {}
    field = "tracking" if words.strip().endswith("%") else "letter_spacing_mm"
    (mark,) = (line.mark for line in form_of(JobText) if line.field == field)
    assert isinstance(mark, Quantity)
    return {field: read_number("letter_spacing", words, mark)}


def _lines(words: Iterable[str]) -> list[str]:
    return [line.strip() for word in words for line in _LINE_BREAK.split(word)]


def tray_job(command: TrayCommand) -> Job:
    """Return the job of a tray: recesses in a block, or one block to draw the sheet over.

    Raises
    ------
    SpecError
        If the compartments leave no room, or do not go with the side.
    """
    size = f"{command.length_mm:g} x {command.width_mm:g} x {command.depth_mm:g}"
    build = _recessed if command.side is Side.FEMALE else _block
    return command.job(f"Tray {size}", side=command.side, body=build(command))


def drawing_job(command: DrawingCommand) -> Job:
    """Return the job of a raised drawing or library shape.

    Raises
    ------
    SpecError
        If not exactly one of file and shape is given, or an option belongs to the other kind.
    """
    title, outline = _drawn(command)
    body = JobBody(
        name="drawing",
        outline=outline,
        height_mm=command.height_mm,
        **_word_on(command),
        **_wall(command),
    )
    said = " ".join([title, *command.word.split()])[:60]
    return command.job(said, side=Side.MALE, body=body)


def _word_on(command: DrawingCommand) -> dict[str, Any]:
    """Return the word that a drawing bears, as what is raised from it or sunk into it."""
    lines = _lines([command.word])
    if not any(lines):
        _refuse(command, "without a word", "along", "letter_height_mm", "relief_mm", "sunk", "font")
        return {}
    text = JobText(
        text="\n".join(lines),
        height_mm=command.letter_height_mm,
        font=command.font,
        place=Placement.BEST,
        margin_mm=command.margin_mm,
        along=command.along,
    )
    letters = JobFeature(
        name="letters", outline=text, height_mm=command.relief_mm, **_wall(command)
    )
    return {"sunk" if command.sunk else "raised": (letters,)}


def _wall(command: MoldOptions) -> Any:
    return command.wall


def _plaque(command: SignCommand, text: JobText) -> JobBody:
    letters = JobFeature(
        name="letters", outline=text, height_mm=command.relief_mm, **_wall(command)
    )
    edge = plaque_edge(command)
    outline = JobAround(
        around_mm=edge.margin_mm, corner_mm=command.corner_mm, above_mm=edge.above_mm
    )
    return JobBody(
        name="plaque",
        outline=outline,
        height_mm=command.plaque_height_mm,
        raised=(letters, *edge.features),
        **_wall(command),
    )


def _standing(command: SignCommand, text: JobText) -> JobBody:
    for field in ("border", "hanging_hole"):
        if (asked := getattr(command, field)) and asked is not HangingHoles.NONE:
            raise SpecError(
                field, "left out where letters stand without a plaque", str(asked).lower(),
                "Leave it out, or put the letters on a plaque.",
            )  # fmt: skip
    return JobBody(
        name="letters",
        outline=text,
        height_mm=command.relief_mm,
        each=command.as_ is LettersAs.LETTERS,
        **_wall(command),
    )


def _recessed(command: TrayCommand) -> JobBody:
    land_mm = recess.land_mm(command, command.depth_mm)
    return JobBody(
        name="block",
        outline=JobAround(around_mm=land_mm, corner_mm=_corner_mm(command) + land_mm),
        height_mm=command.depth_mm + recess.FLOOR_MM,
        sunk=tuple(_compartments(command)),
        **_wall(command),
    )


def _compartments(command: TrayCommand) -> list[JobFeature]:
    """Return the recesses, front row first, each in its own place so that each can be changed."""
    columns, rows = command.compartments
    gap_mm = _gap_mm(command)
    across = (command.length_mm - (columns - 1) * gap_mm) / columns
    along = (command.width_mm - (rows - 1) * gap_mm) / rows
    if min(across, along) < 1.0:
        got = f"{across:.3g} x {along:.3g} mm"
        raise SpecError(
            "compartments", "at least 1 mm wide each", got, "Ask for fewer, or a smaller gap."
        )
    if command.corner_mm is not None and command.corner_mm >= min(across, along) / 2:
        rule = f"less than half the smaller side of a compartment, {min(across, along) / 2:.4g} mm"
        raise SpecError("corner_mm", rule, f"{command.corner_mm:.4g} mm", "Use a smaller corner.")
    return [
        _recess(command, (column, row), (across, along))
        for row in range(rows)
        for column in range(columns)
    ]


def _recess(command: TrayCommand, spot: tuple[int, int], size: tuple[float, float]) -> JobFeature:
    (column, row), (columns, rows) = spot, command.compartments
    outline = _box(
        size,
        x_mm=(column - (columns - 1) / 2) * (size[0] + _gap_mm(command)),
        y_mm=(row - (rows - 1) / 2) * (size[1] + _gap_mm(command)),
    )
    many = columns * rows > 1
    name = f"compartment {row * columns + column + 1}" if many else "recess"
    return JobFeature(
        name=name,
        outline=outline,
        height_mm=command.depth_mm,
        read_at=ReadAt.PART_INSIDE,
        **(_wall(command) | _corner(command, size)),
    )


def _block(command: TrayCommand) -> JobBody:
    if command.compartments != SINGLE:
        raise SpecError(
            "compartments",
            "left out with --side male",
            str(command.compartments),
            "Draw the sheet into the mold (--side female), or write a job file.",
        )
    return JobBody(
        name="block",
        outline=_box((command.length_mm, command.width_mm)),
        height_mm=command.depth_mm,
        read_at=ReadAt.PART_INSIDE,
        **(_wall(command) | _corner(command, (command.length_mm, command.width_mm))),
    )


def _box(size: tuple[float, float], *, x_mm: float = 0.0, y_mm: float = 0.0) -> JobShape:
    return JobShape(
        shape="rounded-plaque",
        width_mm=size[0],
        height_mm=size[1],
        x_mm=x_mm,
        y_mm=y_mm,
        proportions=(("corner", 0.0),),
    )


def _corner(command: TrayCommand, size: tuple[float, float]) -> dict[str, float | None]:
    if command.plan_radius_mm is not None:
        return {"plan_radius_mm": command.plan_radius_mm}
    if command.corner_mm is not None:
        return {"plan_radius_mm": command.corner_mm}
    return {"plan_radius_mm": min(_corner_mm(command), recess.MOST_CORNER * min(size))}


def _corner_mm(command: TrayCommand) -> float:
    """Return the corner asked for, or one that is still round where the sheet is thinnest. [mm]."""
    if command.corner_mm is not None:
        return command.corner_mm
    if command.side is not Side.FEMALE:
        return recess.CORNER_MM
    return recess.corner_mm(command, command.depth_mm)


def _gap_mm(command: TrayCommand) -> float:
    return recess.gap_mm(command) if command.gap_mm is None else command.gap_mm


def _drawn(command: DrawingCommand) -> tuple[str, JobOutline]:
    if bool(command.file) == bool(command.shape):
        got = "both" if command.file else "neither"
        raise SpecError("shape", "given, or else a file", got, "Give one of the two.")
    if command.shape:
        _refuse(command, "with --shape", "part", "strokes", "layer", "unit")
        width_mm = 120.0 if command.width_mm is None else command.width_mm
        return command.shape, JobShape(shape=command.shape, width_mm=width_mm)
    stem, _, ending = re.split(r"[/\\]", command.file)[-1].rpartition(".")
    kind = _DRAWINGS.get(ending.lower())
    if kind is None:
        raise SpecError("file", "a drawing that ends in .svg or .dxf", repr(command.file))
    return stem or "drawing", kind(command)


def _svg(command: DrawingCommand) -> JobOutline:
    _refuse(command, "with an SVG, which has them itself", "layer", "unit")
    return JobSvg(
        svg=command.file, part=command.part, strokes=command.strokes, width_mm=command.width_mm
    )


def _dxf(command: DrawingCommand) -> JobOutline:
    _refuse(command, "with a DXF, which has layers", "part", "strokes")
    return JobDxf(
        dxf=command.file, layers=command.layer, unit=command.unit, width_mm=command.width_mm
    )


_DRAWINGS: dict[str, Callable[[DrawingCommand], JobOutline]] = {"svg": _svg, "dxf": _dxf}


def _refuse(command: DrawingCommand, when: str, *fields: str) -> None:
    for field in fields:
        value = getattr(command, field)
        if value and value not in (StrokeUse.AUTO, Along.LINE):
            got = repr(str(value)) if isinstance(value, StrEnum) else repr(value)
            raise SpecError(field, f"left out {when}", got, "Leave it out.")
