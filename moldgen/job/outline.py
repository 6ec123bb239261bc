"""The ways a job file can give an outline; exactly one key says which."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from types import MappingProxyType
from typing import Annotated, NamedTuple

from moldgen.errors import SpecError
from moldgen.outline.choices import Align, Along, StrokeUse
from moldgen.quantity import Meaning, Quantity, Spec

MOST_COMPARTMENTS = 400
_GRID = re.compile(r"\s*(\d{1,4})\s*[x×X]\s*(\d{1,4})\s*")


class Placement(StrEnum):
    """Where an outline lies before it is moved."""

    CENTERED = "centered"
    """Its middle on its parent's middle."""
    AS_DRAWN = "as drawn"
    """Its origin on its parent's middle."""
    BEST = "best"
    """Where its parent's flat has most room for it."""


class Grid(NamedTuple):
    """How many compartments: side by side, and one behind the other."""

    columns: int
    rows: int

    def __str__(self) -> str:
        return f"{self.columns} x {self.rows}"


def grid_from(field: str, words: str) -> Grid:
    """Read ``3 x 2``.

    Raises
    ------
    SpecError
        If it is not two counts, or asks for none or too many compartments.
    """
    match = _GRID.fullmatch(words)
    if match is None:
        raise SpecError(field, "columns x rows", repr(words[:40]), 'Write it like "3 x 2".')
    grid = Grid(int(match[1]), int(match[2]))
    if not 1 <= grid.columns * grid.rows <= MOST_COMPARTMENTS:
        rule = f"1 to {MOST_COMPARTMENTS} compartments"
        raise SpecError(field, rule, str(grid), "Write fewer columns or rows.")
    return grid


Points = tuple[tuple[float, float], ...]
"""Corners in order, x and y. [mm]"""
Numbers = tuple[tuple[str, float], ...]
"""A library shape's own proportions: name and value."""


def _side(about: str) -> Quantity:
    return Quantity("mm", about, above=0, at_most=5000)


def _gap(about: str) -> Quantity:
    return Quantity("mm", about, at_least=0, at_most=1000)


def _shift(about: str) -> Quantity:
    return Quantity("mm", about, at_least=-5000, at_most=5000)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOutline(Spec):
    """What every outline can say, whatever its kind."""

    x_mm: Annotated[float, _shift("moved to the right")] = 0.0
    y_mm: Annotated[float, _shift("moved to the far side")] = 0.0
    turn_deg: Annotated[
        float, Quantity("°", "turned counter-clockwise", at_least=-360, at_most=360)
    ] = 0.0
    mirror: Annotated[bool, Meaning("whether left and right are swapped")] = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobDrawn(JobOutline):
    """An outline with a size and a middle of its own."""

    place: Annotated[
        Placement,
        Meaning(
            "centered on the parent, as drawn (the drawing's origin there), or best (where the "
            "parent's flat has most room)"
        ),
    ] = Placement.CENTERED
    margin_mm: Annotated[
        float, _gap("kept from the edge of the parent's flat, at its best place or along a curve")
    ] = 4.0
    width_mm: Annotated[float | None, _side("width it is scaled to")] = None
    height_mm: Annotated[float | None, _side("height it is scaled to")] = None
    play_mm: Annotated[float, _gap("grown by this all round: play round a thing")] = 0.0
    grip_mm: Annotated[
        float, _gap("two half rounds of this diameter on its long sides, for the fingers")
    ] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobText(JobDrawn):
    """Words in a font."""

    text: Annotated[str, Meaning("words of the sign; a line break starts a new line")]
    height_mm: Annotated[
        float | None,
        Quantity(
            "mm", "height of the capital H; as there is room if left out", at_least=1, at_most=2000
        ),
    ] = None
    font: Annotated[str, Meaning("font by name or file; a bold sans serif if left out")] = ""
    align: Annotated[Align, Meaning("left, center or right: where lines meet")] = Align.CENTER
    along: Annotated[
        Along,
        Meaning(
            "line (straight), edge (the upper edge of the parent's flat) or circle (inside it)"
        ),
    ] = Along.LINE
    letter_spacing_mm: Annotated[
        float, Quantity("mm", "added between letters", at_least=-100, at_most=1000)
    ] = 0.0
    tracking: Annotated[
        float,
        Quantity("", "added between letters, as a share of their height", at_least=-0.5, at_most=5),
    ] = 0.0
    line_spacing: Annotated[
        float, Quantity("", "from line to line, in cap heights", at_least=0.5, at_most=10)
    ] = 1.6

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_not_empty("text", self.text, "Write the words of the sign.")
        if self.height_mm is not None and self.width_mm is not None:
            raise SpecError("height", "given, or else width", "both", "Write one of the two.")
        if self.along is not Along.LINE:
            self._check_curved()

    def _check_curved(self) -> None:
        """Refuse what does not go with words along a curve."""
        if len(self.text.splitlines()) > 1:
            raise SpecError("text", "one line where it follows a curve", "more", "Write one line.")
        for field, usual in (("width_mm", None), ("turn_deg", 0.0), ("mirror", False)):
            if getattr(self, field) != usual:
                got = f"{getattr(self, field)}"
                raise SpecError(field, "left out where words follow a curve", got, "Leave it out.")

    @property
    def is_open(self) -> bool:
        """Whether its size is left to what there is room for."""
        return self.height_mm is None and self.width_mm is None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSvg(JobDrawn):
    """A drawing in an SVG file."""

    svg: Annotated[str, Meaning("SVG file, beside the job")]
    part: Annotated[str, Meaning("id, label or number of one part; all if left out")] = ""
    strokes: Annotated[
        StrokeUse, Meaning("auto, ignore or outline: what becomes of drawn lines")
    ] = StrokeUse.AUTO

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_not_empty("svg", self.svg, "Name the drawing's file.")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobDxf(JobDrawn):
    """A drawing in a DXF file."""

    dxf: Annotated[str, Meaning("DXF file, beside the job")]
    layers: Annotated[tuple[str, ...], Meaning("layers to read; all that are on if left out")] = ()
    unit: Annotated[str, Meaning("unit of the drawing, where its file does not say it")] = ""

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_not_empty("dxf", self.dxf, "Name the drawing's file.")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPicture(JobDrawn):
    """A thing photographed from above, dark on light or light on dark: its outline is traced."""

    picture: Annotated[str, Meaning("photograph (PNG, JPEG or TIFF), beside the job")]

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_not_empty("picture", self.picture, "Name the photograph's file.")
        if self.height_mm is None and self.width_mm is None:
            hint = "Measure the thing; a photograph does not tell its size."
            raise SpecError("width", "given, or else height", "neither", hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobShape(JobDrawn):
    """A shape of the library."""

    shape: Annotated[str, Meaning("shape of the library: moldgen shapes lists them")]
    width_mm: Annotated[float | None, _side("width of the shape")] = None
    height_mm: Annotated[float | None, _side("height of the shape")] = None
    proportions: Annotated[Numbers, Meaning("the shape's own proportions")] = ()

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_not_empty("shape", self.shape, "Name a shape of the library.")
        if self.height_mm is None and self.width_mm is None:
            raise SpecError("width", "given, or else height", "neither", "Write one or both.")
        own = {line.name for line in fields(self)}
        for name, _ in self.proportions:
            if name in own:
                hint = f"Give {name} by itself."
                raise SpecError("proportions", "those of the shape alone", repr(name), hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPoints(JobDrawn):
    """Corners one by one."""

    points: Annotated[Points, Meaning("corners in order, [x, y] in mm")]

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if not 3 <= len(self.points) <= 20000:
            raise SpecError("points", "3 to 20000 corners", f"{len(self.points)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobInset(JobOutline):
    """The parent's flat, moved in."""

    inset_mm: Annotated[float, _gap("how far inside the edge of the parent's flat")]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobBorder(JobOutline):
    """A ring along the edge of the parent's flat."""

    border_mm: Annotated[float, _side("width of the ring along the parent's flat")]
    inset_mm: Annotated[float, _gap("how far inside the edge of the parent's flat")] = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobGrid(JobOutline):
    """Compartments that share the parent's flat."""

    grid: Annotated[Grid, Meaning("compartments: columns x rows")]
    gap_mm: Annotated[float, _gap("between compartments")] = 6.0
    inset_mm: Annotated[float, _gap("from the edge of the parent's flat")] = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobAround(JobOutline):
    """A rounded rectangle round the feature's own children."""

    around_mm: Annotated[float, _gap("margin all round what stands on it")]
    corner_mm: Annotated[float, _gap("radius of its corners, seen from above")] = 0.0
    above_mm: Annotated[float, _gap("more margin above what stands on it")] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobHanging(JobOutline):
    """Marks for holes that a part is hung by, along the upper edge of the parent's flat."""

    hanging_mm: Annotated[
        float,
        Quantity("mm", "hole to be drilled in the formed part", at_least=2, at_most=20),
    ]
    two: Annotated[bool, Meaning("whether there are two, left and right; else one")] = False
    inset_mm: Annotated[float, _gap("from the edge of the parent's flat to the hole's center")] = (
        8.0
    )


OUTLINE_KINDS: Mapping[str, type[JobOutline]] = MappingProxyType(
    {
        "text": JobText,
        "svg": JobSvg,
        "dxf": JobDxf,
        "picture": JobPicture,
        "shape": JobShape,
        "points": JobPoints,
        "border": JobBorder,
        "grid": JobGrid,
        "around": JobAround,
        "hanging": JobHanging,
        "inset": JobInset,
    }
)
"""The key that says the kind, and what the kind can say. ``inset`` alone is a kind too."""


def _check_not_empty(field: str, words: str, hint: str) -> None:
    if not words.strip():
        raise SpecError(field, "given", "nothing", hint)
