"""What can be typed after the bend command, and the job it stands for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.job.spec import (
    Date,
    FilamentName,
    Format,
    Formats,
    JobOutput,
    Paper,
    PlanPaper,
    PrinterName,
    StockFile,
    check_line,
)
from moldgen.job.strip_spec import (
    Facing,
    FlatLength,
    JigKind,
    Jigs,
    JobBend,
    JobJigs,
    JobStand,
    JobStrip,
    Legs,
    LegsMeasured,
    Marks,
    PlasticName,
    StripHeaterName,
    StripJob,
    StripWidth,
    Thickness,
)
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.wording import shown

_ANGLE = re.compile(r"(?P<angle>.*?)\s*(?P<turn>up|down)?", re.IGNORECASE | re.DOTALL)
_FROM_FLAT = Quantity("°", "rotation from flat", at_least=-180, at_most=180)


@dataclass(frozen=True, slots=True, kw_only=True)
class BendCommand(Spec):
    """What the bend command can say."""

    legs_mm: Legs = ()
    marks_mm: Marks = ()
    length_mm: FlatLength = None
    legs_by: LegsMeasured = LegsBy.OUTSIDE
    angles: Annotated[
        str,
        Meaning('bends, left to right, from flat: "90,110"; down is -90 or "90 down", a fold 180'),
    ]
    width_mm: StripWidth = 60.0
    radius_mm: Annotated[
        float | None,
        Quantity("mm", "inside radius of all bends; chosen if left out", at_least=0, at_most=1000),
    ] = None
    gap_mm: Annotated[
        float | None, Quantity("mm", "what closed folds must hold", at_least=0, at_most=500)
    ] = None
    stand: Annotated[bool, Meaning("check how it stands on a table")] = False
    title: Annotated[str, Meaning("what the job is called; made up if left out")] = ""
    date: Date = ""
    plastic: PlasticName = "PMMA cast"
    thickness_mm: Thickness = 3.0
    strip_heater: StripHeaterName = "wire-600"
    printer: PrinterName = "bed-220"
    filament: FilamentName = "PETG"
    jigs: Jigs = tuple(JigKind)
    facing_mm: Facing = None
    stock: StockFile = ""
    formats: Formats = tuple(Format)
    paper: PlanPaper = Paper.A4


def strip_job(command: BendCommand) -> StripJob:
    """Return the job of a bent strip.

    Raises
    ------
    SpecError
        If legs, marks and angles do not go together.
    """
    check_line("title", command.title)
    bends = bends_from(command)
    if command.gap_mm is not None and not any(bend.angle_deg == 180 for bend in bends):
        raise SpecError("gap", "used with a closed fold, 180", "no such angle", "Leave it out.")
    strip = JobStrip(
        plastic=command.plastic,
        thickness_mm=command.thickness_mm,
        width_mm=command.width_mm,
        legs_mm=command.legs_mm,
        legs_by=command.legs_by,
        marks_mm=command.marks_mm,
        length_mm=command.length_mm,
        bend=bends,
    )
    return StripJob(
        title=command.title or _title(command, bends),
        date=command.date,
        strip_heater=command.strip_heater,
        printer=command.printer,
        filament=command.filament,
        stock=command.stock,
        strip=strip,
        jigs=JobJigs(make=command.jigs, facing_mm=command.facing_mm),
        stand=JobStand() if command.stand else None,
        output=JobOutput(formats=command.formats, paper=command.paper),
    )


def bends_from(command: BendCommand) -> tuple[JobBend, ...]:
    """Return the bends of words such as ``90,-110`` or ``90 up, 110 down``.

    Raises
    ------
    SpecError
        If an angle is no number, is nothing, or beyond 180°.
    """
    return tuple(
        _bend(f"angles {number}", word, command)
        for number, word in enumerate(command.angles.split(","), start=1)
    )


def _bend(place: str, word: str, command: BendCommand) -> JobBend:
    match = _ANGLE.fullmatch(word.strip())
    typed, way = (match["angle"], match["turn"]) if match else (word, None)
    angle = read_number(place, typed, _FROM_FLAT)
    if angle == 0 or (way and angle < 0):
        raise SpecError(place, "like 90, -90 or 90 down", shown(word.strip()), "Leave flats out.")
    turn = Turn(way.lower()) if way else (Turn.DOWN if angle < 0 else Turn.UP)
    fold = abs(angle) == 180
    return JobBend(
        angle_deg=abs(angle),
        turn=turn,
        radius_mm=None if fold and command.gap_mm is not None else command.radius_mm,
        gap_mm=command.gap_mm if fold else None,
    )


def _title(command: BendCommand, bends: tuple[JobBend, ...]) -> str:
    sizes = command.legs_mm or command.marks_mm
    lengths = ", ".join(f"{size:g}" for size in sizes)
    angles = ", ".join(f"{bend.angle_deg:g}" for bend in bends)
    what = "Strip" if command.legs_mm else "Strip marked at"
    return f"{what} {lengths} bent {angles}"[:60]
