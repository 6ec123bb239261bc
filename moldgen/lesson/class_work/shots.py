"""The molds of a class on forming shots, and the lessons these take."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from moldgen.export.report.table import Table
from moldgen.job.command.arrange import ArrangeCommand
from moldgen.job.formats import Format
from moldgen.job.spec import Paper
from moldgen.language import in_words
from moldgen.lesson.arrange.make import Arrangement, arrange_jobs
from moldgen.lesson.arrange.told import numbered_shots
from moldgen.lesson.class_work.person_job import PersonJob
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.class_work.workbook import Row
from moldgen.lesson.timetable.timetable import ShotWork, Timetable, time_text
from moldgen.memo import Memo
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.mold.design import MOST_BYTES
from moldgen.pipeline.stage import Progress
from moldgen.stock import Shop

ARRANGEMENT = "arrangement"
"""Folder of the templates and plates, in the folder of the class."""
_USUAL_HEAT_s = 60.0
"""Where a table has no time for a sheet, which a finding of the mold tells. [s]."""


def arrange_class(
    jobs: Sequence[PersonJob],
    works: Sequence[PersonWork],
    *,
    folder: Path,
    shop: Shop,
    paper: Paper,
    stock_sheet: str,
    plates: bool,
    progress: Progress,
) -> Arrangement | None:
    """Return the molds of a class arranged on forming shots; None if there are none.

    Parameters
    ----------
    jobs, works : sequence of PersonJob, PersonWork
        What each person makes, and what became of it.
    folder : Path
        Where paths in the jobs start.
    shop : Shop
        What there is to make them with.
    paper : Paper
        Of the templates.
    stock_sheet : str
        What the blanks are cut from, ``1220 x 610``; no cut list if empty.
    plates : bool
        Whether the plates for the printer are written too, which takes longer.
    progress : callable
        Told of each stage.

    Raises
    ------
    SpecError
        If the jobs name several tables or printers.
    """
    # By its number each person's mold is one of its own, whatever people are called.
    wanted = [
        (one.job, Path(str(i)))
        for i, (one, work) in enumerate(zip(jobs, works, strict=True))
        if one.job is not None and not work.record.problem
        for _ in range(one.entry.pieces)
    ]
    if not wanted:
        return None
    formats = (Format.PDF, Format.PNG, Format.HTML) + (Format.THREE_MF,) * plates
    command = ArrangeCommand(
        files=("class",),
        formats=formats,
        paper=paper,
        forming=FormingLook.OFF,
        stock_sheet=stock_sheet,
    )
    return arrange_jobs(
        wanted, command, shop=shop, folder=folder, memo=Memo(MOST_BYTES), progress=progress
    )


def shots_of(arrangement: Arrangement, works: Sequence[PersonWork]) -> tuple[ShotWork, ...]:
    """Return the work of each shot of an arrangement."""
    return tuple(
        _shot_work(f"Shot {number}", [works[int(shots.molds[k].file)] for k in shot.pieces])
        for number, shots, shot in numbered_shots(arrangement)
    )


def single_shots(works: Sequence[PersonWork]) -> tuple[ShotWork, ...]:
    """Return the work of a class of which every mold is formed alone."""
    alone = [work for work in works if not work.record.problem for _ in range(work.entry.pieces)]
    return tuple(_shot_work(f"Shot {i}", [work]) for i, work in enumerate(alone, start=1))


def _shot_work(name: str, works: Sequence[PersonWork]) -> ShotWork:
    """Return the work of one shot: as long as its slowest mold takes."""
    told = [work.record.numbers for work in works]
    return ShotWork(
        name=name,
        people=tuple(work.entry.name for work in works),
        heat_s=max(_longest(one, "heat") or _USUAL_HEAT_s for one in told),
        cool_s=max(_longest(one, "cool") for one in told),
        trim_s=sum(one["trim_s"] for one in told) / len(told),
        mold=" and ".join(dict.fromkeys(work.folder for work in works)),
        rest_s=max(one.get("pause_s") or 0.0 for one in told),
    )


def _longest(numbers: Mapping[str, object], what: str) -> float:
    """Return the end of a band of times, or the time where there is no band. [s]."""
    band = numbers.get(f"{what}_band_s")
    if isinstance(band, list) and band:
        return float(band[-1])
    time_s = numbers.get(f"{what}_s")
    return float(time_s) if isinstance(time_s, int | float) else 0.0


_HEAD = ("Lesson", "Begin", "End", "Where", "What", "Who")


def timetable_rows(plan: Timetable) -> list[Row]:
    """Return a timetable as a list: a heading, and a row for each piece of work."""
    return [
        tuple(in_words(name) for name in _HEAD),
        *(
            (*times, in_words(where), in_words(shot), who)
            for *times, where, shot, who in _rows(plan)
        ),
    ]


def timetable_table(plan: Timetable) -> Table:
    """Return a timetable as a table of the report."""
    return Table(title="Timetable", header=_HEAD, rows=tuple(_rows(plan)), typed=("Who",))


def _rows(plan: Timetable) -> Iterator[tuple[str, ...]]:
    """Yield the work in order; what begins and ends together at one station is one row."""
    together: dict[tuple[int, float, float, str, str], list[str]] = defaultdict(list)
    for slot in plan.slots:
        key = (slot.lesson, slot.start_s, slot.end_s, slot.station.value, slot.shot)
        together[key] += slot.people
    for (lesson, start_s, end_s, where, shot), people in together.items():
        who = ", ".join(people)
        yield (str(lesson), time_text(start_s), time_text(end_s), where, shot, who)
