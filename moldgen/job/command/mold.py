"""What can be typed after the short commands, each word on one line."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Annotated

from moldgen.job.command.shop import ShopOptions
from moldgen.job.formats import Format, Formats, check_formats
from moldgen.job.outline import Grid
from moldgen.job.spec import (
    USUAL_GAUGE_MM,
    BaseRadius,
    Build,
    CheckPace,
    Date,
    Draft,
    Flange,
    Job,
    JobBody,
    JobForming,
    JobOutput,
    JobSheet,
    JobTrim,
    JobVents,
    LeastThickness,
    Look,
    MoldRequest,
    MoldSide,
    OpenFilament,
    OpenGauge,
    Paper,
    PlanPaper,
    PlanRadius,
    Shrinkage,
    Side,
    Tactile,
    TopRadius,
    TrimLine,
    Vents,
    check_line,
)
from moldgen.mold.choices import BuildWay, FormingLook, HangingHoles, VentKind
from moldgen.outline.choices import Align, Along, StrokeUse
from moldgen.quantity import Meaning, Quantity

SINGLE = Grid(1, 1)


class LettersAs(StrEnum):
    """What a sign's letters stand on."""

    PLAQUE = "plaque"
    """Raised on a plaque."""
    WORD = "word"
    """Straight on the table, one piece of work."""
    LETTERS = "letters"
    """Straight on the table, one mold per letter."""


def _length(about: str) -> Quantity:
    return Quantity("mm", about, above=0, at_most=2000)


def _margin(about: str) -> Quantity:
    return Quantity("mm", about, at_least=0, at_most=500)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanCommand(ShopOptions):
    """What every command can say that draws a plan at 1:1."""

    formats: Formats = tuple(Format)
    paper: PlanPaper = Paper.A4

    def __post_init__(self) -> None:
        ShopOptions.__post_init__(self)
        check_formats(self.formats)


@dataclass(frozen=True, slots=True, kw_only=True)
class MoldOptions(PlanCommand):
    """What every short command that makes a mold can say."""

    gauge_mm: OpenGauge = None  # type: ignore[assignment]  # a mold's sheet may be left open
    filament: OpenFilament = ""
    title: Annotated[str, Meaning("what the job is called; made up if left out")] = ""
    date: Date = ""
    draft_deg: Draft = None
    top_radius_mm: TopRadius = None
    base_radius_mm: BaseRadius = None
    plan_radius_mm: PlanRadius = None
    flange_mm: Flange = None
    trim_shape: TrimLine = None
    shrinkage: Shrinkage = False
    vents: Vents = VentKind.SLITS
    forming: Look = FormingLook.AUTO
    check_pace: CheckPace = False
    least_mm: LeastThickness = None

    def job(self, title: str, *, side: Side, body: JobBody) -> Job:
        """Return the job these words and a body make."""
        asked = self.request(title, side=side)
        return Job(body=(body,), **{one.name: getattr(asked, one.name) for one in fields(asked)})

    def request(self, title: str, *, side: Side) -> MoldRequest:
        """Return what these words ask of a mold, whatever its walls are made from."""
        check_line("title", self.title)
        return MoldRequest(
            title=self.title or title,
            date=self.date,
            machine=self.machine,
            printer=self.printer,
            filament=self.filament,
            stock=self.stock,
            side=side,
            shrinkage=self.shrinkage,
            sheet=JobSheet(plastic=self.plastic, gauge_mm=self.gauge_mm),
            vents=JobVents(kind=self.vents),
            forming=JobForming(
                look=self.forming, check_pace=self.check_pace, least_mm=self.least_mm
            ),
            trim=JobTrim(flange_mm=self.flange_mm, shape=self.trim_shape),
            output=JobOutput(formats=self.formats, paper=self.paper, units=self.units),
        )

    @property
    def sheet_mm(self) -> float:
        """The gauge asked for, or the usual one that sizes are reckoned with until it is chosen."""
        return USUAL_GAUGE_MM if self.gauge_mm is None else self.gauge_mm

    @property
    def wall(self) -> dict[str, float | None]:
        """Draft and radii, as every feature of the job gets them."""
        return {
            "draft_deg": self.draft_deg,
            "top_radius_mm": self.top_radius_mm,
            "base_radius_mm": self.base_radius_mm,
            "plan_radius_mm": self.plan_radius_mm,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltMoldOptions(MoldOptions):
    """What a short command can say whose mold may be built from boards as well."""

    build: Build = BuildWay.PRINTED

    def job(self, title: str, *, side: Side, body: JobBody) -> Job:
        """Return the job these words and a body make."""
        return replace(MoldOptions.job(self, title, side=side, body=body), build=self.build)


@dataclass(frozen=True, slots=True, kw_only=True)
class SignCommand(BuiltMoldOptions):
    """What the sign command can say."""

    words: Annotated[
        tuple[str, ...], Meaning('words of the sign; each one in quotes, or after " / ", is a line')
    ]
    as_: Annotated[
        LettersAs,
        Meaning(
            "plaque (letters raised on it), word (straight on the table) or letters (one each)"
        ),
    ] = LettersAs.PLAQUE
    letter_height_mm: Annotated[
        float | None,
        Quantity(
            "mm",
            "height of the capital H; 30, or as there is room, if left out",
            at_least=1,
            at_most=2000,
        ),
    ] = None
    relief_mm: Annotated[
        float | None,
        _length(
            "how far letters stand out; 4 on a plaque, else 12, or as their gaps allow, if left out"
        ),
    ] = None
    plaque_height_mm: Annotated[float, _length("height of the plaque")] = 6.0
    margin_mm: Annotated[
        float | None,
        _margin("plaque round the letters; 12, or what a border takes, if left out"),
    ] = None
    corner_mm: Annotated[float, _margin("radius of the plaque's corners")] = 8.0
    font: Annotated[str, Meaning("font by name or file: moldgen fonts lists them")] = ""
    align: Annotated[Align, Meaning("left, center or right: where lines meet")] = Align.CENTER
    letter_spacing: Annotated[
        str,
        Meaning('added between letters, such as "1 mm", or "10 %" of their height'),
    ] = ""
    border: Annotated[bool, Meaning("whether a rim is raised along the plaque's edge")] = False
    hanging_hole: Annotated[
        HangingHoles,
        Meaning("none, one or two: marks above the words, to drill the formed part by"),
    ] = HangingHoles.NONE
    tactile: Tactile = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayCommand(BuiltMoldOptions):
    """What the tray command can say."""

    length_mm: Annotated[float, _length("inside of the formed tray, left to right")]
    width_mm: Annotated[float, _length("inside of the formed tray, front to back")]
    depth_mm: Annotated[float, _length("depth of the formed tray")]
    compartments: Annotated[Grid, Meaning('compartments, such as "3 x 2"')] = SINGLE
    gap_mm: Annotated[
        float | None, _length("between compartments; as the sheet needs if left out")
    ] = None
    corner_mm: Annotated[
        float | None, _margin("radius of corners, seen from above; by the depth if left out")
    ] = None
    side: MoldSide = Side.FEMALE


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingCommand(BuiltMoldOptions):
    """What the raise command can say."""

    file: Annotated[str, Meaning("drawing to raise: an SVG or DXF file")] = ""
    shape: Annotated[str, Meaning("shape of the library in place of a file")] = ""
    height_mm: Annotated[
        float | None, _length("height of the mold; 12, or as its gaps allow, if left out")
    ] = None
    width_mm: Annotated[
        float | None, _length("width it is scaled to; as drawn if left out, a shape 120")
    ] = None
    part: Annotated[str, Meaning("one part of an SVG, by id, label or number")] = ""
    strokes: Annotated[
        StrokeUse, Meaning("auto, ignore or outline: what becomes of drawn lines in an SVG")
    ] = StrokeUse.AUTO
    word: Annotated[
        str, Meaning('word on its flat, as large as there is room; " / " starts a new line')
    ] = ""
    along: Annotated[
        Along,
        Meaning("line, edge (the upper edge of the shape) or circle (inside it): what it follows"),
    ] = Along.LINE
    letter_height_mm: Annotated[
        float | None,
        Quantity(
            "mm",
            "height of the capital H; the largest that fits, if left out",
            at_least=1,
            at_most=2000,
        ),
    ] = None
    relief_mm: Annotated[
        float | None,
        _length("how far letters stand out; 4, or as their gaps allow, if left out"),
    ] = None
    sunk: Annotated[bool, Meaning("whether letters are sunk into the shape")] = False
    margin_mm: Annotated[float, _margin("from the word to the edge of the shape's flat")] = 4.0
    font: Annotated[str, Meaning("font by name or file: moldgen fonts lists them")] = ""
    layer: Annotated[tuple[str, ...], Meaning("layer of a DXF to read; may be repeated")] = ()
    unit: Annotated[str, Meaning("unit of a DXF that does not say its own")] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MakeCommand(PlanCommand):
    """What the make command can say in place of what the job file says."""

    file: Annotated[str, Meaning("job file (TOML)")]
    date: Date = ""
