"""What can be typed after ``moldgen log``: add, show, tell, causes, export, remove."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.quantity import Meaning, Quantity, Spec, marks

_NOTED = marks(ShotNote)
"""What the fields of a note mean, in its own words."""

DataFolder = Annotated[str, Meaning("folder of the log and the page; your own if left out")]
OneJob = Annotated[str, Meaning("only notes of this job")]
OneMachine = Annotated[str, Meaning("only notes of this forming machine")]
OnePlastic = Annotated[str, Meaning("only notes of this plastic")]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogAddCommand(Spec):
    """What ``log add`` can say."""

    file: Annotated[
        str,
        Meaning(
            "job file of the mold, or the folder that make wrote: names, sheet and computed times "
            "come from there"
        ),
    ] = ""
    heated_s: Annotated[float | None, _NOTED["heated_s"]] = None
    formed_s: Annotated[float | None, _NOTED["formed_s"]] = None
    cooled_s: Annotated[float | None, _NOTED["cooled_s"]] = None
    seen: Annotated[
        tuple[Outcome, ...],
        Meaning("what the part was like: good, web, hole, thin, lumps, marks, stuck, soft-mold;"
                " may be repeated"),
    ] = (Outcome.GOOD,)  # fmt: skip
    measured: Annotated[
        tuple[str, ...],
        Meaning('thickness at a place, by caliper, "corner 0.62 mm"; may be repeated'),
    ] = ()
    cycle: Annotated[int | None, _NOTED["cycle"]] = None
    mold_ended: Annotated[bool, _NOTED["mold_ended"]] = False
    printed_h: Annotated[float | None, _NOTED["printed_h"]] = None
    photo: Annotated[str, Meaning("picture of the part, a file; a small copy of it is kept")] = ""
    who: Annotated[str, _NOTED["who"]] = ""
    remark: Annotated[str, _NOTED["remark"]] = ""
    on: Annotated[str, Meaning('day of the shot, "2026-03-04" or "2026-03-04 10:20"; now if left'
                               " out")] = ""  # fmt: skip
    job: Annotated[str, Meaning("name of the job, in place of a file: one that the log knows, or"
                                " with machine, plastic and gauge")] = ""  # fmt: skip
    mold: Annotated[str, _NOTED["mold"]] = ""
    machine: Annotated[str, Meaning("forming machine, if not that of the job")] = ""
    plastic: Annotated[str, Meaning("plastic of the sheet, if not that of the job")] = ""
    gauge_mm: Annotated[
        float | None, Quantity("mm", "gauge of the sheet, if not that of the job", above=0,
                               at_most=25)
    ] = None  # fmt: skip
    from_: Annotated[
        str, Meaning("take over the notes of a file that log export wrote, JSON, CSV or XLSX")
    ] = ""
    data: DataFolder = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogShowCommand(Spec):
    """What ``log show`` can say."""

    job: OneJob = ""
    machine: OneMachine = ""
    plastic: OnePlastic = ""
    data: DataFolder = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogExportCommand(Spec):
    """What ``log export`` can say."""

    file: Annotated[str, Meaning("where to write; its ending says how: .csv, .xlsx or .json")]
    job: OneJob = ""
    machine: OneMachine = ""
    plastic: OnePlastic = ""
    data: DataFolder = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRemoveCommand(Spec):
    """What ``log remove`` can say."""

    number: Annotated[
        int, Quantity("", "number of the note, as log show tells it", at_least=1, at_most=10**9)
    ]
    data: DataFolder = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogTellCommand(Spec):
    """What ``log tell`` can say."""

    machine: OneMachine = ""
    data: DataFolder = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogCausesCommand(Spec):
    """What ``log causes`` can say."""

    number: Annotated[
        int, Quantity("", "number of the note, as log show tells it", at_least=1, at_most=10**9)
    ]
    file: Annotated[
        str, Meaning("job file of the mold, or the folder that make wrote, for its own numbers")
    ] = ""
    data: DataFolder = ""
