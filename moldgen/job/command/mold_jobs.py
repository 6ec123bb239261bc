"""What the short commands stand for: a few words make a whole job."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from math import ceil, radians, tan
from typing import Any

from moldgen.errors import SpecError
from moldgen.job.command.mold import (
    SINGLE,
    DrawingCommand,
    LettersAs,
    MoldOptions,
    SignCommand,
    TrayCommand,
)
from moldgen.job.outline import JobAround, JobDxf, JobOutline, JobShape, JobSvg, JobText
from moldgen.job.spec import Job, JobBody, JobFeature, ReadAt, Side
from moldgen.mold.trim_rule import RIM_MM
from moldgen.outline.choices import StrokeUse

_LAND_MM = 12.0
"""Block left round a recess, so that its wall carries the vacuum (common practice, no source)."""
_LEAN = 0.08
"""Lean of a recess's wall where the rules say its draft: 4.5°, the most of any plastic. [-]."""
_LINE_BREAK = re.compile(r"\s+/\s+")


def sign_job(command: SignCommand) -> Job:
    """Return the job of a sign: letters raised on a plaque, or straight on the table.

    Raises
    ------
    SpecError
        If there are no words, or an option does not go with the others.
    """
    lines = [line for word in command.words for line in _LINE_BREAK.split(word)]
    if not any(line.strip() for line in lines):
        raise SpecError("words", "given", "nothing", 'Write them like "HIGH TIDE".')
    text = JobText(
        text="\n".join(line.strip() for line in lines),
        height_mm=command.letter_height_mm,
        font=command.font,
        align=command.align,
    )
    title = " ".join(" ".join(lines).split())[:60]
    build = _plaque if command.as_ is LettersAs.PLAQUE else _standing
    job = command.job(title, side=Side.MALE, body=build(command, text))
    return replace(job, tactile=command.tactile)


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
    body = JobBody(name="drawing", outline=outline, height_mm=command.height_mm, **_wall(command))
    return command.job(title, side=Side.MALE, body=body)


def _wall(command: MoldOptions) -> Any:
    return command.wall


def _plaque(command: SignCommand, text: JobText) -> JobBody:
    letters = JobFeature(
        name="letters", outline=text, height_mm=command.relief_mm, **_wall(command)
    )
    outline = JobAround(around_mm=command.margin_mm, corner_mm=command.corner_mm)
    return JobBody(
        name="plaque",
        outline=outline,
        height_mm=command.plaque_height_mm,
        raised=(letters,),
        **_wall(command),
    )


def _standing(command: SignCommand, text: JobText) -> JobBody:
    return JobBody(
        name="letters",
        outline=text,
        height_mm=command.relief_mm,
        each=command.as_ is LettersAs.LETTERS,
        **_wall(command),
    )


def _recessed(command: TrayCommand) -> JobBody:
    land_mm = _land_mm(command)
    return JobBody(
        name="block",
        outline=JobAround(around_mm=land_mm, corner_mm=_corner_mm(command) + land_mm),
        height_mm=command.depth_mm + _FLOOR_MM,
        sunk=tuple(_compartments(command)),
        **_wall(command),
    )


def _land_mm(command: TrayCommand) -> float:
    """Return the block left round the recesses, so that its flat top holds the rim. [mm]."""
    rim = RIM_MM if command.flange_mm is None else command.flange_mm
    lean = _LEAN if command.draft_deg is None else tan(radians(command.draft_deg))
    edge = max(command.gauge_mm, _LEAST_EDGE_MM)
    if command.top_radius_mm is not None:
        edge = command.top_radius_mm
    # The recess lies in the formed part, so its mouth is wider by the sheet, its lean and its
    # edge; the block's own edge is round as well.
    return max(_LAND_MM, ceil(rim + command.gauge_mm + lean * command.depth_mm + 2 * edge))


_LEAST_EDGE_MM = 1.5
_FLOOR_MM = 4.0
"""Block left under a recess, room for a vent's land and the channels (derived: 1.6 + 1.2, up)."""


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
    return {"plan_radius_mm": min(_corner_mm(command), _MOST_CORNER * min(size))}


_USUAL_CORNER_MM = 6.0
_MOST_CORNER = 0.4
"""Share of a compartment's smaller side that its corner may be. [-]."""
_FLOOR_CORNER = 0.05
"""Radius that is left of it at the floor, as a share of the depth (common practice, no source)."""


def _corner_mm(command: TrayCommand) -> float:
    """Return the corner asked for, or one that is still round where the sheet is thinnest. [mm]."""
    if command.corner_mm is not None:
        return command.corner_mm
    if command.side is not Side.FEMALE:
        return _USUAL_CORNER_MM
    left_mm = max(command.gauge_mm, _FLOOR_CORNER * command.depth_mm)
    return max(_USUAL_CORNER_MM, ceil(2 * (_LEAN * command.depth_mm + left_mm)) / 2)


_USUAL_GAP_MM = 6.0


def _gap_mm(command: TrayCommand) -> float:
    """Return the gap asked for, or one that leaves a rib two gauges and 2 mm wide. [mm].

    The sheet lies on both sides of the rib, up to four fifths of its gauge thick.
    """
    if command.gap_mm is not None:
        return command.gap_mm
    return max(_USUAL_GAP_MM, ceil(2 * (3.6 * command.gauge_mm + 2)) / 2)


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
        if value and value is not StrokeUse.AUTO:
            raise SpecError(field, f"left out {when}", repr(value), "Leave it out.")
