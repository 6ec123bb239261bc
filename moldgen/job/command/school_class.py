"""What can be typed after the class command: a roster, and what the class makes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.export.card.label_grid import LabelGrid
from moldgen.job.cluster_words import (
    ClusterKeys,
    ClusterWord,
    WorkerCount,
    check_worker_words,
)
from moldgen.job.command.arrange import (
    ArrangeCommand,
    CutKerf,
    KeptGrain,
    KeptOut,
    MoldTurns,
    SearchSeed,
    SharedFlange,
    StockSheet,
    Tighter,
    Turns,
)
from moldgen.job.formats import Format, check_formats
from moldgen.job.label_words import label_grid_from
from moldgen.job.lesson_spec import LessonSpec, TrimPlaces, stations_from
from moldgen.job.printer_words import RoomPrinter, printers_from
from moldgen.job.spec import Look, Paper, PlanPaper, StockFile
from moldgen.mold.choices import FormingLook
from moldgen.quantity import Meaning, Quantity, Spec

CLASS_FORMATS = (Format.STL, Format.THREE_MF, Format.PDF, Format.PNG)
"""What is written for each person if nobody says otherwise."""


class Sizes(StrEnum):
    """How large the plaques of a class are."""

    ONE = "one"
    """All alike, as the longest word needs; the longest ones get smaller letters."""
    OWN = "own"
    """Each as its word needs."""


class GroupSheets(StrEnum):
    """Whether groups of a class share sheets."""

    OWN = "own"
    """Each group has sheets of its own, and they go to the table one after another."""
    MIXED = "mixed"
    """Sheets are filled with the molds of all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassCommand(Spec):
    """What the class command can say."""

    file: Annotated[
        str,
        Meaning(
            "list of the class, CSV or XLSX: a column name, and if wanted word, shape, drawing, "
            "font, color, group, job, pieces; without a heading the first column has the names"
        ),
    ]
    like: Annotated[
        str, Meaning("job file (TOML) of what they make; its first text is everybody's own word")
    ]
    sizes: Annotated[Sizes, Meaning("one (plaques alike) or own (each as its word needs)")] = (
        Sizes.ONE
    )
    groups: Annotated[
        GroupSheets,
        Meaning("own (each group of the list has sheets of its own) or mixed (fewer sheets)"),
    ] = GroupSheets.OWN
    alone: Annotated[
        bool, Meaning("form every mold on a sheet of its own; several on one if left out")
    ] = False
    rearrange: Annotated[
        bool,
        Meaning(
            "choose the size of all plaques and lay all molds out anew, also where those of an "
            "earlier run would do"
        ),
    ] = False
    mend: Annotated[
        bool,
        Meaning("change each job as little as clears its cautions; sheet and machines stay"),
    ] = False
    forming: Look = FormingLook.OFF
    lesson_min: Annotated[
        float, Quantity("min", "length of a lesson", at_least=10, at_most=600)
    ] = 45.0
    trim_places: TrimPlaces = 4
    workstations: Annotated[
        tuple[str, ...],
        Meaning(
            'where else people work, "strip heater 1 x 6 min; drawing 10 x 15 min; drilling 2": '
            "places and, for each part or person, minutes; may be repeated"
        ),
    ] = ()
    tighter: Tighter = False
    seed: SearchSeed = 0
    turns: MoldTurns = Turns.QUARTER
    share_flange: SharedFlange = False
    keep_out: KeptOut = ()
    stock_sheet: StockSheet = ""
    kerf_mm: CutKerf = 0.0
    keep_grain: KeptGrain = False
    workers: WorkerCount = 0
    cluster: ClusterWord = ""
    cluster_keys: ClusterKeys = ""
    printers: Annotated[
        tuple[str, ...],
        Meaning(
            'printers that print side by side, "2 x medium; large"; may be repeated; the one of '
            "the jobs if left out"
        ),
    ] = ()
    labels: Annotated[
        str,
        Meaning(
            'sheet of labels, "3 x 8 of 70 x 37 mm", with ", 3 x 0 mm apart" if they are; a usual '
            "grid of the paper if left out"
        ),
    ] = ""
    paper: PlanPaper = Paper.A4
    stock: StockFile = ""
    formats: Annotated[
        tuple[Format, ...], Meaning("files for each person: stl, 3mf, glb, svg, dxf, pdf, png")
    ] = CLASS_FORMATS

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        self.lesson  # noqa: B018 -- made, so that a lesson too short is refused at once
        self.room_printers  # noqa: B018
        self.label_grid  # noqa: B018 -- read, so that a grid that does not fit is refused too
        check_formats(self.formats, list(Format))
        check_worker_words(self.workers, self.cluster, self.cluster_keys)
        self.arranging  # noqa: B018 -- made, so that what it says wrong is refused at once

    @property
    def by_group(self) -> bool:
        """Whether each group of the roster has sheets of its own."""
        return self.groups is GroupSheets.OWN

    @property
    def lesson(self) -> LessonSpec:
        """The lesson that is planned for."""
        return LessonSpec(
            length_min=self.lesson_min, trim_places=self.trim_places,
            stations=stations_from("workstations", self.workstations),
        )  # fmt: skip

    @property
    def arranging(self) -> ArrangeCommand:
        """How the molds are arranged.

        Templates on paper are always written; pictures and plates if there are such files for
        people.
        """
        formats = [Format.PDF]
        if {Format.PNG, Format.HTML} & set(self.formats):
            formats += [Format.PNG, Format.HTML]
        if Format.THREE_MF in self.formats:
            formats.append(Format.THREE_MF)
        same = (
            "tighter", "seed", "turns", "share_flange", "keep_out", "stock_sheet", "kerf_mm",
            "keep_grain", "forming", "paper",
        )  # fmt: skip
        values = {name: getattr(self, name) for name in same}
        return ArrangeCommand(files=("class",), formats=tuple(formats), **values)

    @property
    def label_grid(self) -> LabelGrid:
        """How labels lie on the paper."""
        return label_grid_from("labels", self.labels, self.paper)

    @property
    def room_printers(self) -> tuple[RoomPrinter, ...]:
        """The printers that print side by side; none if the jobs say on which."""
        return printers_from("printers", self.printers)
