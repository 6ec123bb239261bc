"""What a job file can say: every word, number and switch of a mold, each on one line."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.job.formats import Format as Format
from moldgen.job.formats import Formats as Formats
from moldgen.job.formats import check_formats
from moldgen.job.outline import JobOutline
from moldgen.language.languages import Language
from moldgen.mold.choices import BuildWay, FormingLook, UndersideKind, VentKind
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.units_text import Units


class Side(StrEnum):
    """Which side of the formed part the mold touches."""

    MALE = "male"
    """The sheet is drawn over the mold."""
    FEMALE = "female"
    """The sheet is drawn into the mold."""


class ReadAt(StrEnum):
    """Where on the wall an outline is measured."""

    TOP = "top"
    FOOT = "foot"
    PART_OUTSIDE = "part-outside"
    PART_INSIDE = "part-inside"


class TrimShape(StrEnum):
    """How the trim line runs round the part."""

    OFFSET = "offset"
    """A smooth curve that follows the mold."""
    CONVEX = "convex"
    """The same, but straight across hollows, so that a straight-edge can be laid to it."""
    ROUNDED = "rounded"
    """A rectangle with round corners."""
    STRAIGHT = "straight"
    """A rectangle, for a straight-edge and a knife."""


class Paper(StrEnum):
    """What the plan at 1:1 is printed on."""

    A4 = "A4"
    LETTER = "Letter"


USUAL_GAUGE_MM = 1.5
"""Thickness of the sheet where nobody says, if nothing speaks against it. [mm]."""

USUAL_FILAMENT = "PETG"
"""What a mold is printed from where nobody says, if it stands the heat."""

USUAL_INSERT = "heat-set M4"
INSERT_WORDS = re.compile(r"none|(?P<kind>heat-set|nut) (?P<thread>\S{1,20})")
"""Such as ``heat-set M4``, ``nut M4`` or ``none``; the thread is looked up in the stock."""

Plastic = Annotated[str, Meaning("plastic of the sheet: moldgen stock sheet lists them")]
Gauge = Annotated[
    float, Quantity("mm", "thickness of the sheet before forming", at_least=0.1, at_most=12)
]
OpenGauge = Annotated[
    float | None,
    Quantity(
        "mm",
        "thickness of the sheet before forming; 1.5, or as gaps allow, if left out",
        at_least=0.1,
        at_most=12,
    ),
]
Date = Annotated[str, Meaning("date for the label, as you write it")]
MachineName = Annotated[str, Meaning("forming table: moldgen stock machine lists them")]
PrinterName = Annotated[str, Meaning("printer: moldgen stock printer lists them")]
FilamentName = Annotated[str, Meaning("filament: moldgen stock filament lists them")]
OpenFilament = Annotated[
    str,
    Meaning("filament: moldgen stock filament lists them; one that stands a class if left out"),
]
StockFile = Annotated[str, Meaning("file with your own stock entries")]
Vents = Annotated[
    VentKind,
    Meaning("slits, drilled or printed: how vents are opened; a hole where no slit has room"),
]
Build = Annotated[BuildWay, Meaning("printed, or wood: sawn from boards, layer by layer")]
MoldSide = Annotated[Side, Meaning("male (sheet drawn over the mold) or female (drawn into it)")]
Shrinkage = Annotated[bool, Meaning("make the mold larger by what the plastic shrinks")]
Look = Annotated[
    FormingLook,
    Meaning(
        "off, preview or fine: how closely the hot sheet is followed; auto tells what is thin in a"
        " deep mold"
    ),
]
CheckPace = Annotated[
    bool,
    Meaning("run the sheet again at half the pace and tell how far thickness may be off by it"),
]
LeastThickness = Annotated[
    float | None,
    Quantity("mm", "thickness wanted everywhere on the formed part", above=0, at_most=12),
]
Tactile = Annotated[
    bool,
    Meaning("whether letters are to be read by touch: height, strokes and spacing are checked"),
]
Flange = Annotated[
    float | None,
    Quantity("mm", "sheet left round the part; by its use if left out", at_least=0, at_most=500),
]
TrimLine = Annotated[
    TrimShape | None,
    Meaning(
        "offset (follows the mold), convex (straight across hollows), rounded (a rectangle with "
        "round corners) or straight (a rectangle); by part and tool if left out"
    ),
]
PlanPaper = Annotated[Paper, Meaning("A4 or Letter, for the plan at 1:1")]
ReadUnits = Annotated[
    Units,
    Meaning("mm or inch, for what people read; a number typed without unit stays in millimeters"),
]
ReadLanguage = Annotated[
    Language,
    Meaning("en, de, es or fr (English, German, Spanish, French), for what people read"),
]
Draft = Annotated[
    float | None,
    Quantity("°", "draft of the walls; by the rules if left out", at_least=0, at_most=60),
]
TopRadius = Annotated[
    float | None,
    Quantity("mm", "radius of top edges; by the rules if left out", at_least=0, at_most=200),
]
BaseRadius = Annotated[
    float | None,
    Quantity(
        "mm", "radius at the base of walls; by the rules if left out", at_least=0, at_most=200
    ),
]
PlanRadius = Annotated[
    float | None,
    Quantity(
        "mm", "radius of corners seen from above; by the rules if left out", at_least=0, at_most=200
    ),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSheet(Spec):
    """The sheet to be formed."""

    plastic: Plastic = "HIPS"
    gauge_mm: OpenGauge = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobVents(Spec):
    """The holes that let the air out."""

    place: Annotated[bool, Meaning("whether vents are placed")] = True
    kind: Vents = VentKind.SLITS
    diameter_mm: Annotated[
        float | None,
        Quantity("mm", "round vents in place of slits; none if left out", above=0, at_most=6),
    ] = None
    spacing_mm: Annotated[
        float,
        Quantity("mm", "greatest distance between vents along a low line", at_least=5, at_most=500),
    ] = 25.0
    ball_mm: Annotated[
        float,
        Quantity("mm", "radius of the ball that stands for the hot sheet", above=0, at_most=60),
    ] = 8.0
    least_air_mm3: Annotated[
        float,
        Quantity("mm³", "trapped air that needs no vent of its own", above=0, at_most=1e6),
    ] = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobForming(Spec):
    """The forming run: what the hot sheet will do."""

    look: Look = FormingLook.AUTO
    least_mm: LeastThickness = None
    sag_mm: Annotated[
        float,
        Quantity(
            "mm", "how deep the sheet hangs when the mold begins to rise", at_least=0, at_most=500
        ),
    ] = 0.0
    check_pace: CheckPace = False
    keep: Annotated[bool, Meaning("whether the run is written as a file, to be read again")] = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobUnderside(Spec):
    """The side of the mold that stands on the table."""

    kind: Annotated[
        UndersideKind, Meaning("relief (channels), feet or flat: how air gets to the table's holes")
    ] = UndersideKind.RELIEF
    depth_mm: Annotated[
        float, Quantity("mm", "depth of the channels, or height of the feet", above=0, at_most=10)
    ] = 1.2
    label: Annotated[bool, Meaning("whether title, sheet, draft and date are sunk in it")] = True
    insert: Annotated[
        str,
        Meaning(
            "threaded insert to lift the mold by: heat-set M4, nut M4 or none; "
            "heat-set M4 where it fits if left out"
        ),
    ] = ""
    pry: Annotated[bool, Meaning("whether the edge gets slots to pry the mold out by")] = False
    arrow: Annotated[bool, Meaning("whether an arrow marks the far side of the table")] = True

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if self.insert and not INSERT_WORDS.fullmatch(self.insert):
            raise SpecError("insert", "like heat-set M4, nut M4 or none", repr(self.insert))

    @property
    def insert_wanted(self) -> tuple[str, str] | None:
        """Kind and thread of the insert, as `moldgen.stock.Shop.insert` looks it up, or None."""
        match = INSERT_WORDS.fullmatch(self.insert or USUAL_INSERT)
        return (match["kind"], match["thread"]) if match and match["kind"] else None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobTrim(Spec):
    """Where the formed part is cut from the sheet."""

    flange_mm: Flange = None
    shape: TrimLine = None


def check_line(field: str, words: str) -> None:
    """Raise `SpecError` unless the words are one line of at most 120 visible characters."""
    if len(words) > 120:
        raise SpecError(field, "at most 120 characters", f"{len(words)}", "Shorten it.")
    if not words.isprintable():
        raise SpecError(field, "one line of plain text", repr(words), "Leave the others out.")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOutput(Spec):
    """What is written."""

    formats: Formats = tuple(Format)
    paper: PlanPaper = Paper.A4
    units: ReadUnits = Units.MM
    link: Annotated[
        str, Meaning("address that the QR code on the job card opens; no code if left out")
    ] = ""

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_formats(self.formats)
        check_line("link", self.link)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFeature(Spec):
    """An outline raised from, or sunk into, the flat it stands on."""

    name: Annotated[str, Meaning("what findings call it")] = ""
    outline: Annotated[JobOutline, Meaning("its outline, seen from above")]
    height_mm: Annotated[
        float | None,
        Quantity(
            "mm",
            "height of the wall, or depth if sunk; by its gaps if left out",
            at_least=0.05,
            at_most=1000,
        ),
    ] = None
    draft_deg: Draft = None
    top_radius_mm: TopRadius = None
    base_radius_mm: BaseRadius = None
    plan_radius_mm: PlanRadius = None
    read_at: Annotated[
        ReadAt,
        Meaning("where the outline is true: top or foot of the wall, part-outside, part-inside"),
    ] = ReadAt.TOP
    even: Annotated[
        bool, Meaning("whether all of it is lowered to the height its thinnest stroke reaches")
    ] = False
    raised: Annotated[tuple[JobFeature, ...], Meaning("features raised from its flat")] = ()
    sunk: Annotated[tuple[JobFeature, ...], Meaning("features sunk into its flat")] = ()

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_line("name", self.name)

    @property
    def wall_mm(self) -> float:
        """Height of the wall, or depth if sunk. [mm].

        Raises
        ------
        SpecError
            If it is still open.
        """
        if self.height_mm is None:
            raise SpecError(f"height of {self.name}", "given or chosen", "nothing")
        return self.height_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class JobBody(JobFeature):
    """A feature that stands on the table."""

    each: Annotated[bool, Meaning("whether every letter or part becomes a mold of its own")] = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MoldRequest(Spec):
    """What is asked of a mold, whatever its walls are made from: all of a job but its features."""

    title: Annotated[str, Meaning("what the job is called")]
    date: Date = ""
    machine: MachineName = "classroom-450x300"
    printer: PrinterName = "medium"
    filament: OpenFilament = ""
    side: MoldSide = Side.MALE
    shrinkage: Shrinkage = False
    tactile: Tactile = False
    stock: StockFile = ""
    sheet: Annotated[JobSheet, Meaning("the sheet to be formed")] = JobSheet()
    vents: Annotated[JobVents, Meaning("the holes that let the air out")] = JobVents()
    forming: Annotated[JobForming, Meaning("the forming run: what the hot sheet will do")] = (
        JobForming()
    )
    underside: Annotated[JobUnderside, Meaning("the side that stands on the table")] = (
        JobUnderside()
    )
    trim: Annotated[JobTrim, Meaning("where the part is cut from the sheet")] = JobTrim()
    output: Annotated[JobOutput, Meaning("what is written")] = JobOutput()
    old_words: tuple[str, ...] = field(default=(), compare=False)
    """Words of version 0.1 that its file says; they are told, and not written again."""

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_line("title", self.title)
        check_line("date", self.date)
        if not self.title.strip():
            raise SpecError("title", "given", "nothing", "Call the job something.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(MoldRequest):
    """Everything moldgen must be told to make a mold."""

    build: Build = BuildWay.PRINTED
    body: Annotated[tuple[JobBody, ...], Meaning("the features that stand on the table")]

    def __post_init__(self) -> None:
        MoldRequest.__post_init__(self)
        if not self.body:
            raise SpecError("body", "given at least once", "nothing", "Write a [[body]].")
        if self.build is BuildWay.WOOD and self.vents.kind is VentKind.PRINTED:
            raise SpecError(
                "vents", "drilled in a mold of wood", "printed", "Leave it out: they are drilled."
            )
