"""What the job file of a bent strip can say: every word and number, each on one line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.errors import SpecError
from moldgen.job.form import Each
from moldgen.job.spec import Date, FilamentName, JobOutput, PrinterName, StockFile, check_line
from moldgen.quantity import Meaning, Quantity, Spec

MOST_BENDS = 12
"""As many as an order of bending can be searched for."""


class JigKind(StrEnum):
    """What can be printed for the bench."""

    BLOCK = "block"
    """Block to bend over, at the pressed angle, one for every bend."""
    PRESS = "press"
    """Press and insert for closed folds."""
    MARKING_GAUGE = "marking-gauge"
    """Gauge with a step for every bend line."""
    ANGLE_GAUGE = "angle-gauge"
    """Gauge that the finished angle must fit."""


PlasticName = Annotated[str, Meaning("plastic of the strip: moldgen stock sheet lists them")]
Thickness = Annotated[float, Quantity("mm", "thickness of the sheet", at_least=0.1, at_most=25)]
StripWidth = Annotated[float, Quantity("mm", "width of the strip", above=0, at_most=2000)]
Legs = Annotated[
    tuple[float, ...],
    Each("legs, left to right, one more than bends", Quantity("mm", "", above=0, at_most=3000)),
]
Marks = Annotated[
    tuple[float, ...],
    Each(
        "bend lines from the left end, in place of legs",
        Quantity("mm", "", above=0, at_most=10000),
    ),
]
FlatLength = Annotated[
    float | None,
    Quantity("mm", "length of the flat strip, with marks", above=0, at_most=10000),
]
LegsMeasured = Annotated[
    LegsBy, Meaning("outside, inside (to the corner of those faces) or flat (to the bend lines)")
]
StripHeaterName = Annotated[
    str, Meaning("strip heater: moldgen stock strip-heater lists them")
]  # fmt: skip
Jigs = Annotated[
    tuple[JigKind, ...],
    Meaning("what is made: block, press, marking-gauge, angle-gauge"),
]
Facing = Annotated[
    float | None,
    Quantity(
        "mm", "wood or metal facing that is glued on the jigs; chosen if left out",
        at_least=0, at_most=6,
    ),
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class JobBend(Spec):
    """A bend of the strip, left to right."""

    angle_deg: Annotated[
        float, Quantity("°", "rotation from flat; 180 is a closed fold", above=0, at_most=180)
    ]
    turn: Annotated[Turn, Meaning("up (toward the marks) or down")] = Turn.UP
    radius_mm: Annotated[
        float | None,
        Quantity("mm", "inside radius; chosen if left out", at_least=0, at_most=1000),
    ] = None
    gap_mm: Annotated[
        float | None, Quantity("mm", "what a closed fold must hold", at_least=0, at_most=500)
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobHole(Spec):
    """A round hole in the flat strip."""

    along_mm: Annotated[
        float, Quantity("mm", "its middle from the left end", at_least=0, at_most=10000)
    ]
    across_mm: Annotated[
        float, Quantity("mm", "its middle from the near edge", at_least=0, at_most=2000)
    ]
    diameter_mm: Annotated[float, Quantity("mm", "its diameter", above=0, at_most=500)]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobStrip(Spec):
    """The strip, as it will be when it is bent."""

    plastic: PlasticName = "PMMA cast"
    thickness_mm: Thickness = 3.0
    width_mm: StripWidth
    legs_mm: Legs = ()
    legs_by: LegsMeasured = LegsBy.OUTSIDE
    marks_mm: Marks = ()
    length_mm: FlatLength = None
    svg: Annotated[
        str, Meaning("drawing of the flat strip, if it is not a rectangle; beside the job")
    ] = ""
    neutral: Annotated[
        float | None,
        Quantity(
            "", "neutral line over thickness, from the inside; 0.5 if left out", above=0, at_most=1
        ),
    ] = None
    overbend_deg: Annotated[
        float | None,
        Quantity("°", "pressed further, for spring back; by the plastic", at_least=0, at_most=30),
    ] = None
    bend: Annotated[tuple[JobBend, ...], Meaning("the bends, left to right")]
    hole: Annotated[tuple[JobHole, ...], Meaning("round holes in the flat strip")] = ()

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        n_bends = len(self.bend)
        if not 1 <= n_bends <= MOST_BENDS:
            hint = "Write a [[strip.bend]] for each." if not n_bends else "Join two strips."
            raise SpecError("bend", f"given 1 to {MOST_BENDS} times", f"{n_bends}", hint)
        if bool(self.legs_mm) == bool(self.marks_mm):
            got = "both" if self.legs_mm else "neither"
            raise SpecError("legs", "given, or else marks", got, "Write one of the two.")
        if self.legs_mm:
            self._check_legs(n_bends)
        else:
            self._check_marks(n_bends)

    def _check_legs(self, n_bends: int) -> None:
        if len(self.legs_mm) != n_bends + 1:
            rule, got = f"one more than the bends, {n_bends + 1}", f"{len(self.legs_mm)}"
            raise SpecError("legs", rule, got, "Give a leg on each side of every bend.")
        if self.length_mm is not None:
            hint = "The length of the flat strip follows from the legs."
            raise SpecError("length", "left out with legs", f"{self.length_mm:g} mm", hint)

    def _check_marks(self, n_bends: int) -> None:
        if len(self.marks_mm) != n_bends:
            rule, got = f"as many as the bends, {n_bends}", f"{len(self.marks_mm)}"
            raise SpecError("marks", rule, got, "Mark each bend.")
        if self.length_mm is None:
            raise SpecError("length", "given with marks", "nothing", "Measure the flat strip.")
        if self.legs_by is not LegsBy.OUTSIDE:
            raise SpecError("legs_by", "left out with marks", repr(str(self.legs_by)))


@dataclass(frozen=True, slots=True, kw_only=True)
class JobJigs(Spec):
    """What is printed for the bench."""

    make: Jigs = tuple(JigKind)
    facing_mm: Facing = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLoad(Spec):
    """A thing that leans on a leg of the bent strip as it stands."""

    name: Annotated[str, Meaning("what it is; phone, card and book need no sizes")]
    leg: Annotated[float, Quantity("", "leg it leans on, from the left", at_least=1, at_most=13)]
    marks: Annotated[bool, Meaning("whether it leans on the face with the marks")] = True
    mass_g: Annotated[float | None, Quantity("g", "its mass", above=0, at_most=100_000)] = None
    height_mm: Annotated[
        float | None, Quantity("mm", "its height as it stands", above=0, at_most=2000)
    ] = None
    thickness_mm: Annotated[
        float | None, Quantity("mm", "from its back to its front", above=0, at_most=500)
    ] = None

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_line("name", self.name)
        check_leg("leg", self.leg)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobStand(Spec):
    """How the bent strip stands on a table, and what it carries."""

    lying: Annotated[
        float | None,
        Quantity("", "leg that lies on the table; as it stands best", at_least=1, at_most=13),
    ] = None
    marks_down: Annotated[bool, Meaning("whether that leg lies with its marks down")] = False
    stands_on: Annotated[
        str, Meaning("what it rests on, as the report tells it; as it stands best")
    ] = ""
    read: Annotated[
        float | None, Quantity("", "leg that a seated person reads", at_least=1, at_most=13)
    ] = None
    read_marks: Annotated[bool, Meaning("whether its face with the marks is read")] = True
    eye_height_mm: Annotated[
        float, Quantity("mm", "eye of the reader over the table", at_least=0, at_most=2000)
    ] = 450.0
    eye_distance_mm: Annotated[
        float, Quantity("mm", "eye of the reader before the stand", above=0, at_most=5000)
    ] = 500.0
    load: Annotated[tuple[JobLoad, ...], Meaning("what leans on it")] = ()

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        for word in ("lying", "read"):
            check_leg(word, getattr(self, word))


@dataclass(frozen=True, slots=True, kw_only=True)
class JobTestStrip(Spec):
    """A test strip of the same sheet, measured; each group of numbers is taken if it is given."""

    flat_mm: Annotated[
        float | None, Quantity("mm", "its length before bending", above=0, at_most=3000)
    ] = None
    legs_mm: Annotated[
        tuple[float, ...],
        Each("both legs to the corner outside, when bent", Quantity("mm", "", above=0)),
    ] = ()
    angle_deg: Annotated[
        float, Quantity("°", "its angle, rotation from flat", at_least=30, at_most=150)
    ] = 90.0
    radius_mm: Annotated[
        float | None, Quantity("mm", "inside radius as it came out", at_least=0, at_most=500)
    ] = None
    pressed_deg: Annotated[
        float | None, Quantity("°", "angle of the jig it was held in", above=0, at_most=180)
    ] = None
    came_out_deg: Annotated[
        float | None, Quantity("°", "angle it had when cold", above=0, at_most=180)
    ] = None
    side_s: Annotated[
        float | None, Quantity("s", "heat of each side that was right", above=0, at_most=3600)
    ] = None

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        self._check_group("flat", "legs and radius", self.flat_mm, self.legs_mm, self.radius_mm)
        self._check_group("pressed", "came_out", self.pressed_deg, self.came_out_deg)
        if self.legs_mm and len(self.legs_mm) != 2:
            raise SpecError("legs", "two", f"{len(self.legs_mm)}", "A test strip has one bend.")

    @staticmethod
    def _check_group(first: str, others: str, *values: object) -> None:
        stated = [value not in (None, ()) for value in values]
        if any(stated) and not all(stated):
            rule = f"given together with {others}"
            raise SpecError(first, rule, "some of them", "Add the others, or leave all out.")


_ALL_FILES = JobOutput()


@dataclass(frozen=True, slots=True, kw_only=True)
class StripJob(Spec):
    """Everything moldgen must be told to lay out, heat and bend a strip."""

    title: Annotated[str, Meaning("what the job is called")]
    date: Date = ""
    strip_heater: StripHeaterName = "wire-600"
    printer: PrinterName = "medium"
    filament: FilamentName = "PETG"
    stock: StockFile = ""
    strip: Annotated[JobStrip, Meaning("the strip that is bent")]
    jigs: Annotated[JobJigs, Meaning("what is printed for the bench")] = JobJigs()
    stand: Annotated[
        JobStand | None, Meaning("how it stands and what it carries; leave out if it does not")
    ] = None
    test_strip: Annotated[JobTestStrip, Meaning("a test strip, measured")] = JobTestStrip()
    output: Annotated[JobOutput, Meaning("what is written")] = _ALL_FILES

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_line("title", self.title)
        check_line("date", self.date)
        if not self.title.strip():
            raise SpecError("title", "given", "nothing", "Call the job something.")


def check_leg(field: str, leg: float | None) -> None:
    """Raise `SpecError` unless a leg is named by a whole number, or not at all."""
    if leg is not None and leg != int(leg):
        raise SpecError(field, "a whole number", f"{leg:g}", "Legs count from the left end, 1.")
