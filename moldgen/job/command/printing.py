"""What can be typed after the commands about printing: measure, refit, split, test piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.job.command.shop import DrawDirection, MeshUnit, ShopOptions
from moldgen.job.form import Each
from moldgen.job.formats import (
    PRINT_FORMATS,
    REPORT_FORMATS,
    PrintFormats,
    ReportFormats,
    check_formats,
)
from moldgen.job.spec import FilamentName, PrinterName, ReadUnits, StockFile
from moldgen.printing.choices import PLAYS_MM, SLITS_MM, VENTS_MM, Axis, KeyKind
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.infill import USUAL_INFILL
from moldgen.units_text import Units

MeshFile = Annotated[str, Meaning("part: an STL, 3MF, OBJ, PLY or GLB file")]
Unit = Annotated[
    MeshUnit | None, Meaning("unit of a file that does not say its own; mm if left out")
]
Infill = Annotated[float, Quantity("", "infill, such as 20 %", at_least=0, at_most=1)]
Play = Annotated[
    float, Quantity("mm", "play of a pin in its hole, on the diameter", at_least=0, at_most=1)
]
Pin = Annotated[str, Meaning("pin, such as steel 5; the thickest that fits if left out")]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureCommand(ShopOptions):
    """What the measure command can say."""

    file: MeshFile
    unit: Unit = None
    draw_direction: Annotated[
        DrawDirection, Meaning("draw direction, the way a part comes off: z, -z, x, -x, y or -y")
    ] = DrawDirection.Z
    infill: Infill = USUAL_INFILL
    formats: ReportFormats = REPORT_FORMATS

    def __post_init__(self) -> None:
        ShopOptions.__post_init__(self)
        check_formats(self.formats, REPORT_FORMATS)


@dataclass(frozen=True, slots=True, kw_only=True)
class RefitCommand(ShopOptions):
    """What the refit command can say; the changes are made in this order."""

    file: MeshFile
    unit: Unit = None
    up: Annotated[DrawDirection, Meaning("lay it so that this of its directions points up")] = (
        DrawDirection.Z
    )
    length_mm: Annotated[
        float | None,
        Quantity("mm", "scale it: what a length must be", above=0, at_most=5000),
    ] = None
    measured_mm: Annotated[
        float | None,
        Quantity("mm", "what that length is in the file; its longest side", above=0, at_most=5000),
    ] = None
    mirror: Annotated[Axis | None, Meaning("mirror it left to right (x), y or z")] = None
    cut_mm: Annotated[
        float | None,
        Quantity("mm", "cut it flat at this height and keep the rest", above=0, at_most=5000),
    ] = None
    thicken_mm: Annotated[
        float | None, Quantity("mm", "plastic added under its base", above=0, at_most=500)
    ] = None
    hollow: Annotated[bool, Meaning("hollow it from below, with ribs")] = False
    skin_mm: Annotated[
        float, Quantity("mm", "least thickness left by hollowing", at_least=0.8, at_most=50)
    ] = 2.4
    cell_mm: Annotated[
        float, Quantity("mm", "width of the hollows between ribs", at_least=4, at_most=200)
    ] = 20.0
    vents: Annotated[bool, Meaning("drill vents at its low spots")] = False
    vent_mm: Annotated[
        float | None,
        Quantity("mm", "diameter of the vents; by the plastic if left out", above=0, at_most=6),
    ] = None
    grooves: Annotated[bool, Meaning("cut channels under it that lead vents to the table")] = False
    formats: PrintFormats = PRINT_FORMATS

    def __post_init__(self) -> None:
        ShopOptions.__post_init__(self)
        check_formats(self.formats, PRINT_FORMATS)
        if self.measured_mm is not None and self.length_mm is None:
            raise SpecError("measured_mm", "used with length", "no length", "Say what it must be.")
        if self.grooves and not self.vents:
            raise SpecError("grooves", "used with vents", "no vents", "Write --vents as well.")
        if not self.changes:
            raise SpecError("file", "changed somehow", "no change", "Write --length 63, say.")

    @property
    def changes(self) -> tuple[str, ...]:
        """The changes asked for, in the order they are made."""
        asked = (
            ("up", self.up is not DrawDirection.Z),
            ("length", self.length_mm is not None),
            ("mirror", self.mirror is not None),
            ("cut", self.cut_mm is not None),
            ("thicken", self.thicken_mm is not None),
            ("hollow", self.hollow),
            ("vents", self.vents),
        )
        return tuple(word for word, wanted in asked if wanted)


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitCommand(Spec):
    """What the split command can say."""

    file: MeshFile
    unit: Unit = None
    keys: Annotated[KeyKind, Meaning("dowel (bought pins), printed (printed pins) or none")] = (
        KeyKind.DOWEL
    )
    dowel: Pin = ""
    play_mm: Play = 0.1
    infill: Infill = USUAL_INFILL
    printer: PrinterName = "medium"
    filament: FilamentName = "PETG"
    stock: StockFile = ""
    units: ReadUnits = Units.MM
    formats: PrintFormats = PRINT_FORMATS

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_formats(self.formats, PRINT_FORMATS)


@dataclass(frozen=True, slots=True, kw_only=True)
class TestPieceCommand(Spec):
    """What the test piece command can say."""

    dowel: Annotated[str, Meaning("pin to try, such as steel 5 or wood 6")] = "steel 5"
    plays_mm: Annotated[
        tuple[float, ...],
        Each("plays to try, on the diameter", Quantity("mm", "play", at_least=0, at_most=1)),
    ] = PLAYS_MM
    vents_mm: Annotated[
        tuple[float, ...],
        Each("vent holes to try", Quantity("mm", "hole", at_least=0.1, at_most=12)),
    ] = VENTS_MM
    slits_mm: Annotated[
        tuple[float, ...],
        Each("vent slits to try", Quantity("mm", "slit", at_least=0.05, at_most=3)),
    ] = SLITS_MM
    printer: PrinterName = "medium"
    filament: FilamentName = "PETG"
    stock: StockFile = ""
    units: ReadUnits = Units.MM
    formats: PrintFormats = PRINT_FORMATS

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_formats(self.formats, PRINT_FORMATS)
