"""What the short commands stand for: a few words make a whole job."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from moldgen.errors import SpecError
from moldgen.job.command.mold import (
    SINGLE,
    DrawingWords,
    LettersAs,
    MoldWords,
    SignWords,
    TrayWords,
)
from moldgen.job.outline import JobAround, JobDxf, JobOutline, JobShape, JobSvg, JobText, Strokes
from moldgen.job.spec import Job, JobBody, JobFeature, ReadAt, Side

_LAND_MM = 12.0
"""Block left round a recess, so that its wall carries the vacuum (common practice, no source)."""
_LINE_BREAK = re.compile(r"\s+/\s+")


def sign_job(words: SignWords) -> Job:
    """Return the job of a sign: letters raised on a plaque, or straight on the table.

    Raises
    ------
    SpecError
        If there are no words, or an option does not go with the others.
    """
    lines = [line for word in words.words for line in _LINE_BREAK.split(word)]
    if not any(line.strip() for line in lines):
        raise SpecError("words", "given", "nothing", 'Write them like "HIGH TIDE".')
    text = JobText(
        text="\n".join(line.strip() for line in lines),
        height_mm=words.letter_height_mm,
        font=words.font,
        align=words.align,
    )
    title = " ".join(" ".join(lines).split())[:60]
    build = _plaque if words.as_ is LettersAs.PLAQUE else _standing
    job = words.job(title, side=Side.MALE, body=build(words, text))
    return replace(job, tactile=words.tactile)


def tray_job(words: TrayWords) -> Job:
    """Return the job of a tray: recesses in a block, or one block to draw the sheet over.

    Raises
    ------
    SpecError
        If the compartments leave no room, or do not go with the side.
    """
    size = f"{words.length_mm:g} x {words.width_mm:g} x {words.depth_mm:g}"
    build = _recessed if words.side is Side.FEMALE else _block
    return words.job(f"Tray {size}", side=words.side, body=build(words))


def drawing_job(words: DrawingWords) -> Job:
    """Return the job of a raised drawing or library shape.

    Raises
    ------
    SpecError
        If not exactly one of file and shape is given, or an option belongs to the other kind.
    """
    title, outline = _drawn(words)
    body = JobBody(name="drawing", outline=outline, height_mm=words.height_mm, **_wall(words))
    return words.job(title, side=Side.MALE, body=body)


def _wall(words: MoldWords) -> Any:
    return words.wall


def _plaque(words: SignWords, text: JobText) -> JobBody:
    letters = JobFeature(
        name="letters", outline=text, height_mm=words.relief_mm or 4.0, **_wall(words)
    )
    outline = JobAround(around_mm=words.margin_mm, corner_mm=words.corner_mm)
    return JobBody(
        name="plaque",
        outline=outline,
        height_mm=words.plaque_height_mm,
        raised=(letters,),
        **_wall(words),
    )


def _standing(words: SignWords, text: JobText) -> JobBody:
    return JobBody(
        name="letters",
        outline=text,
        height_mm=words.relief_mm or 12.0,
        each=words.as_ is LettersAs.LETTERS,
        **_wall(words),
    )


def _recessed(words: TrayWords) -> JobBody:
    return JobBody(
        name="block",
        outline=JobAround(around_mm=_LAND_MM, corner_mm=words.corner_mm + _LAND_MM),
        height_mm=words.depth_mm + _FLOOR_MM,
        sunk=tuple(_compartments(words)),
        **_wall(words),
    )


_FLOOR_MM = 4.0
"""Block left under a recess, room for a vent's land and the channels (derived: 1.6 + 1.2, up)."""


def _compartments(words: TrayWords) -> list[JobFeature]:
    """Return the recesses, front row first, each in its own place so that each can be changed."""
    columns, rows = words.compartments
    across = (words.length_mm - (columns - 1) * words.gap_mm) / columns
    along = (words.width_mm - (rows - 1) * words.gap_mm) / rows
    if min(across, along) < 1.0:
        got = f"{across:.3g} x {along:.3g} mm"
        raise SpecError(
            "compartments", "at least 1 mm wide each", got, "Ask for fewer, or a smaller gap."
        )
    if words.corner_mm >= min(across, along) / 2:
        rule = f"less than half the smaller side of a compartment, {min(across, along) / 2:.4g} mm"
        raise SpecError("corner_mm", rule, f"{words.corner_mm:.4g} mm", "Use a smaller corner.")
    return [
        _recess(words, (column, row), (across, along))
        for row in range(rows)
        for column in range(columns)
    ]


def _recess(words: TrayWords, spot: tuple[int, int], size: tuple[float, float]) -> JobFeature:
    (column, row), (columns, rows) = spot, words.compartments
    outline = _box(
        size,
        x_mm=(column - (columns - 1) / 2) * (size[0] + words.gap_mm),
        y_mm=(row - (rows - 1) / 2) * (size[1] + words.gap_mm),
    )
    many = columns * rows > 1
    name = f"compartment {row * columns + column + 1}" if many else "recess"
    return JobFeature(
        name=name,
        outline=outline,
        height_mm=words.depth_mm,
        read_at=ReadAt.PART_INSIDE,
        **(_wall(words) | _corner(words)),
    )


def _block(words: TrayWords) -> JobBody:
    if words.compartments != SINGLE:
        raise SpecError(
            "compartments",
            "left out with --side male",
            str(words.compartments),
            "Draw the sheet into the mold (--side female), or write a job file.",
        )
    return JobBody(
        name="block",
        outline=_box((words.length_mm, words.width_mm)),
        height_mm=words.depth_mm,
        read_at=ReadAt.PART_INSIDE,
        **(_wall(words) | _corner(words)),
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


def _corner(words: TrayWords) -> dict[str, float | None]:
    chosen = words.plan_radius_mm
    return {"plan_radius_mm": words.corner_mm if chosen is None else chosen}


def _drawn(words: DrawingWords) -> tuple[str, JobOutline]:
    if bool(words.file) == bool(words.shape):
        got = "both" if words.file else "neither"
        raise SpecError("shape", "given, or else a file", got, "Give one of the two.")
    if words.shape:
        _refuse(words, "with --shape", "part", "strokes", "layer", "unit")
        width_mm = 120.0 if words.width_mm is None else words.width_mm
        return words.shape, JobShape(shape=words.shape, width_mm=width_mm)
    stem, _, ending = re.split(r"[/\\]", words.file)[-1].rpartition(".")
    kind = _DRAWINGS.get(ending.lower())
    if kind is None:
        raise SpecError("file", "a drawing that ends in .svg or .dxf", repr(words.file))
    return stem or "drawing", kind(words)


def _svg(words: DrawingWords) -> JobOutline:
    _refuse(words, "with an SVG, which has them itself", "layer", "unit")
    return JobSvg(svg=words.file, part=words.part, strokes=words.strokes, width_mm=words.width_mm)


def _dxf(words: DrawingWords) -> JobOutline:
    _refuse(words, "with a DXF, which has layers", "part", "strokes")
    return JobDxf(dxf=words.file, layers=words.layer, unit=words.unit, width_mm=words.width_mm)


_DRAWINGS: dict[str, Callable[[DrawingWords], JobOutline]] = {"svg": _svg, "dxf": _dxf}


def _refuse(words: DrawingWords, when: str, *fields: str) -> None:
    for field in fields:
        value = getattr(words, field)
        if value and value is not Strokes.IGNORE:
            raise SpecError(field, f"left out {when}", repr(value), "Leave it out.")
