"""What can be typed after the bend command."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from moldgen.bend.preset.choices import StripKind
from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.job.spec import (
    Date,
    FilamentName,
    Format,
    Formats,
    Paper,
    PlanPaper,
    PrinterName,
    ReadUnits,
    StockFile,
)
from moldgen.job.strip_spec import (
    Facing,
    FlatLength,
    JigKind,
    Jigs,
    JobBend,
    Legs,
    LegsMeasured,
    Marks,
    PlasticName,
    StripHeaterName,
)
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.units_text import Units
from moldgen.wording import shown
from moldgen.written_number import parted

_ANGLE = re.compile(r"(?P<angle>.*?)\s*(?P<turn>up|down)?", re.IGNORECASE | re.DOTALL)
_FROM_FLAT = Quantity("°", "rotation from flat", at_least=-180, at_most=180)


@dataclass(frozen=True, slots=True, kw_only=True)
class BendCommand(Spec):
    """What the bend command can say."""

    make: Annotated[
        StripKind | None, Meaning("a ready-made strip, its legs and angles by what it holds")
    ] = None
    holds: Annotated[
        str, Meaning('what it holds, with --make: A5, phone, "148 x 105", "phone 80 x 170 x 14"')
    ] = ""
    mass_g: Annotated[
        float | None,
        Quantity("g", "mass of what it holds, with --make; by its size", above=0, at_most=20_000),
    ] = None
    lean_deg: Annotated[
        float | None,
        Quantity("°", "its back from upright, with --make; chosen", at_least=5, at_most=50),
    ] = None
    legs_mm: Legs = ()
    marks_mm: Marks = ()
    length_mm: FlatLength = None
    legs_by: LegsMeasured = LegsBy.OUTSIDE
    angles: Annotated[
        str,
        Meaning('bends, left to right, from flat: "90,110"; down is -90 or "90 down", a fold 180'),
    ] = ""
    width_mm: Annotated[
        float | None,
        Quantity("mm", "width of the strip; 60, or by what it holds", above=0, at_most=2000),
    ] = None
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
    thickness_mm: Annotated[
        float | None,
        Quantity("mm", "thickness of the sheet; 3, or by what it holds", at_least=0.1, at_most=25),
    ] = None
    strip_heater: StripHeaterName = "wire-600"
    printer: PrinterName = "medium"
    filament: FilamentName = "PETG"
    jigs: Jigs = tuple(JigKind)
    facing_mm: Facing = None
    stock: StockFile = ""
    formats: Formats = tuple(Format)
    paper: PlanPaper = Paper.A4
    units: ReadUnits = Units.MM


def bends_from(command: BendCommand) -> tuple[JobBend, ...]:
    """Return the bends of words such as ``90,-110`` or ``90 up, 110 down``.

    Raises
    ------
    SpecError
        If an angle is no number, is nothing, or beyond 180°.
    """
    return tuple(
        _bend(f"angles {number}", word, command)
        for number, word in enumerate(parted(command.angles), start=1)
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
