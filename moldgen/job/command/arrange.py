"""What can be typed after the arrange command: jobs, and how their molds may be laid out."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.job.formats import Format, check_formats
from moldgen.job.spec import Look, Paper, PlanPaper, ReadUnits, StockFile
from moldgen.mold.choices import FormingLook
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.units_text import Units
from moldgen.wording import shown
from moldgen.written_number import measure, parted_size

ARRANGE_FORMATS = (
    Format.THREE_MF,
    Format.SVG,
    Format.DXF,
    Format.PDF,
    Format.PNG,
    Format.HTML,
    Format.JSON,
)
"""What can be written of an arrangement."""
USUAL_ARRANGE_FORMATS = tuple(kind for kind in ARRANGE_FORMATS if kind is not Format.THREE_MF)
"""What is written if nobody says: all but the plates, for which every mold must be finished."""
MOST_COPIES = 1000
StockSheet = Annotated[
    str, Meaning('stock that blanks are cut from, "1220 x 610"; no cut list if left out')
]
_COPIES = re.compile(r"(?P<file>.*\S)\s+x\s*(?P<count>\d{1,6})\s*")
_FINE_DEG = 15.0


class Turns(StrEnum):
    """How a mold may be turned on the sheet."""

    NONE = "none"
    """All stand upright."""
    QUARTER = "quarter"
    """By right angles."""
    ANY = "any"
    """By any multiple of 15°, where packing tighter is asked for."""

    @property
    def degrees(self) -> tuple[float, ...]:
        """The turns, counter-clockwise. [°]."""
        if self is Turns.NONE:
            return (0.0,)
        step = 90.0 if self is Turns.QUARTER else _FINE_DEG
        return tuple(k * step for k in range(round(360 / step)))


Tighter = Annotated[bool, Meaning("search for fewer sheets; takes seconds, not an instant")]
SearchSeed = Annotated[
    int, Quantity("", "another number, another search", at_least=0, at_most=1_000_000)
]
MoldTurns = Annotated[Turns, Meaning("how molds may be turned: none, quarter or any")]
SharedFlange = Annotated[
    bool, Meaning("one cut between two parts is enough; each keeps half of the sheet there")
]
KeptOut = Annotated[
    tuple[str, ...],
    Meaning(
        'where no mold may stand: "40 x 40 at 0 x 0", width and depth, and its lower left '
        "corner from that of the opening; several parted by semicolons"
    ),
]
CutKerf = Annotated[
    float, Quantity("mm", "what a cut takes away; 0 for a knife", at_least=0, at_most=20)
]
KeptGrain = Annotated[bool, Meaning("no blank may lie across the grain of the film")]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArrangeCommand(Spec):
    """What the arrange command can say."""

    files: Annotated[
        tuple[str, ...],
        Meaning(
            'job files (TOML) of molds, each as often as it is to be formed: "tag-*.toml" for all '
            'of a kind, "buoy.toml x 3" for three'
        ),
    ]
    tighter: Tighter = False
    seed: SearchSeed = 0
    turns: MoldTurns = Turns.QUARTER
    share_flange: SharedFlange = False
    gap_mm: Annotated[
        float | None,
        Quantity("mm", "least distance of all molds, beside the rules", at_least=0, at_most=1000),
    ] = None
    keep_out: KeptOut = ()
    stock_sheet: StockSheet = ""
    kerf_mm: CutKerf = 0.0
    keep_grain: KeptGrain = False
    machine: Annotated[str, Meaning("forming table; as the jobs say if left out")] = ""
    printer: Annotated[str, Meaning("printer; as the jobs say if left out")] = ""
    forming: Look = FormingLook.PREVIEW
    paper: PlanPaper = Paper.A4
    units: ReadUnits = Units.MM
    stock: StockFile = ""
    formats: Annotated[
        tuple[Format, ...],
        Meaning("files to write: 3mf (plates; takes longer), svg, dxf, pdf, png, html, json"),
    ] = USUAL_ARRANGE_FORMATS

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_formats(self.formats, ARRANGE_FORMATS)
        if not self.files:
            raise SpecError("files", "given", "nothing", "Name the job files of molds.")
        for words in self.files:
            file_and_count(words)
        if self.stock_sheet:
            self.stock_sheet_mm  # noqa: B018 -- read, so that a wrong size is refused at once
        elif self.kerf_mm or self.keep_grain:
            raise SpecError(
                "stock_sheet", "given with kerf or keep_grain", "nothing", 'Write "1220 x 610".'
            )
        self.keep_outs_mm  # noqa: B018

    @property
    def stock_sheet_mm(self) -> tuple[float, float]:
        """Width and depth of a stock sheet. [mm]."""
        return _size("stock_sheet", self.stock_sheet)

    @property
    def keep_outs_mm(self) -> tuple[tuple[float, float, float, float], ...]:
        """Rectangles that are kept free: x, y, width, depth. [mm]."""
        words = (part.strip() for one in self.keep_out for part in one.split(";"))
        return tuple(_keep_out(part) for part in words if part)


def file_and_count(words: str) -> tuple[str, int]:
    """Return a file, or a pattern of files, and how often each of them is wanted.

    Raises
    ------
    SpecError
        If the count is none.
    """
    match = _COPIES.fullmatch(words)
    name, count = (match["file"], int(match["count"])) if match else (words.strip(), 1)
    if not name:
        raise SpecError("files", "names of job files", shown(words), "Write buoy.toml.")
    if not 1 <= count <= MOST_COPIES:
        raise SpecError("files", f"wanted 1 to {MOST_COPIES} times", shown(words), "Write x 3.")
    return name, count


def _size(field: str, words: str) -> tuple[float, float]:
    sides = parted_size(words, 2)
    if len(sides) != 2:
        raise SpecError(field, "a width and a depth", shown(words), 'Write it like "1220 x 610".')
    limits = Quantity("mm", "side", above=0, at_most=10_000)
    width, depth = (measure(field, side, unit="mm") for side in sides)
    limits.check(field, width)
    limits.check(field, depth)
    return width, depth


def _keep_out(words: str) -> tuple[float, float, float, float]:
    size, at, corner = words.partition(" at ")
    hint = 'Write it like "40 x 40 at 0 x 0".'
    if not at:
        raise SpecError("keep_out", "a size and the place of its corner", shown(words), hint)
    places = parted_size(corner, 2)
    if len(places) != 2:
        raise SpecError("keep_out", "placed by two lengths", shown(corner), hint)
    x, y = (measure("keep_out", place, unit="mm") for place in places)
    return (x, y, *_size("keep_out", size))
