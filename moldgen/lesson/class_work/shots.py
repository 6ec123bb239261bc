"""The molds of a class on forming shots, and the lessons these take."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from moldgen.export.report.table import Table
from moldgen.finding import counted
from moldgen.job.command.arrange import ArrangeCommand
from moldgen.language import in_words
from moldgen.lesson.arrange.earlier import EarlierArrangement
from moldgen.lesson.arrange.make import Arrangement, arrange_molds
from moldgen.lesson.arrange.told import numbered_shots
from moldgen.lesson.arrange.webs import FormsShots
from moldgen.lesson.class_work.person_job import PersonJob
from moldgen.lesson.class_work.person_mold import person_mold
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.class_work.workbook import Row
from moldgen.lesson.timetable.timetable_text import time_text
from moldgen.lesson.timetable.work import PartWork, ShotWork, Timetable
from moldgen.pipeline.stage import Progress
from moldgen.stock import Printer, Shop

_DRILL_HANDLING_s, _HOLE_s = 30.0, 15.0
"""To clamp a mold and let it go, and to drill one hole (common practice, no source)."""
_USUAL_HEAT_s = 60.0
"""Where a table has no time for a sheet, which a finding of the mold tells. [s]."""


def arrange_class(
    jobs: Sequence[PersonJob],
    works: Sequence[PersonWork],
    *,
    folder: Path,
    out: Path,
    shop: Shop,
    command: ArrangeCommand,
    printers: Sequence[Printer] = (),
    by_group: bool = False,
    before: EarlierArrangement | None = None,
    remember: Callable[[FormsShots], FormsShots] = lambda forms: forms,
    progress: Progress,
) -> Arrangement | None:
    """Return the molds of a class arranged on forming shots; None if there are none.

    Parameters
    ----------
    jobs, works : sequence of PersonJob, PersonWork
        What each person makes, and what became of it.
    folder : Path
        Where paths in the jobs start.
    out : Path
        Folder of the class, where the finished molds lie.
    shop : Shop
        What there is to make them with.
    command : ArrangeCommand
        How.
    printers : sequence of Printer
        Those that there are as well, for molds that their own one has no room for.
    by_group : bool
        Whether the molds of each group of the roster stand on sheets of its own.
    before : EarlierArrangement, optional
        Where they lay in an earlier run.
    remember : callable
        Given what forms the sheet over a shot, returns what may know the answer already.
    progress : callable
        Told of each stage.

    Raises
    ------
    SpecError
        If the jobs name several tables.
    """
    # By its number each person's mold is one of its own, whatever people are called.
    there = {
        Path(str(i)): (one.job, work)
        for i, (one, work) in enumerate(zip(jobs, works, strict=True))
        if one.job is not None and not work.record.problem
    }
    if not there:
        return None
    titles = Counter(job.title for job, _ in there.values())
    names = {
        number: job.title if titles[job.title] == 1 else f"{job.title} ({work.entry.name})"
        for number, (job, work) in there.items()
    }
    molds = [
        person_mold(
            job,
            work,
            number,
            name=names[number],
            folder=folder,
            out=out,
            shop=shop,
            color=color,
            group=work.entry.group if by_group else "",
        )
        for (number, (job, work)), color in zip(
            there.items(), sheet_colors([work for _, work in there.values()]), strict=True
        )
    ]
    wanted = [
        mold
        for mold, (_, work) in zip(molds, there.values(), strict=True)
        for _ in range(work.entry.pieces)
    ]
    return arrange_molds(
        wanted, command, printers=printers, before=before, remember=remember, progress=progress
    )


def sheet_colors(works: Sequence[PersonWork]) -> tuple[str, ...]:
    """Return of which color the sheet of each person is.

    Who named none has that which most pieces of the same sheet have; none if nobody named one.
    """
    pieces: dict[str, Counter[str]] = defaultdict(Counter)
    for work in works:
        named = work.entry.pieces if work.entry.color else 0
        pieces[work.record.sheet_words][work.entry.color] += named
    usual = {sheet: max(counts, key=lambda one: counts[one]) for sheet, counts in pieces.items()}
    return tuple(work.entry.color or usual[work.record.sheet_words] for work in works)


def shots_of(arrangement: Arrangement, works: Sequence[PersonWork]) -> tuple[ShotWork, ...]:
    """Return the work of each shot of an arrangement."""
    drilled: set[str] = set()
    return tuple(
        _shot_work(
            f"Shot {number}",
            [works[int(shots.molds[k].file)] for k in shot.pieces],
            drilled,
            color=shots.molds[0].color,
            group=shots.molds[0].group,
        )
        for number, shots, shot in numbered_shots(arrangement)
    )


def single_shots(works: Sequence[PersonWork], *, by_group: bool = False) -> tuple[ShotWork, ...]:
    """Return the work of a class of which every mold is formed alone, if asked group by group."""
    order = {name: k for k, name in enumerate(dict.fromkeys(work.entry.group for work in works))}
    works = sorted(works, key=lambda work: order[work.entry.group]) if by_group else works
    alone = [work for work in works if not work.record.problem for _ in range(work.entry.pieces)]
    drilled: set[str] = set()
    return tuple(
        _shot_work(
            f"Shot {i}",
            [work],
            drilled,
            color=work.entry.color,
            group=work.entry.group if by_group else "",
        )
        for i, work in enumerate(alone, start=1)
    )


def groups_row(shots: Sequence[ShotWork]) -> tuple[tuple[str, str], ...]:
    """Return the row on groups that have sheets of their own, if there are any."""
    names = list(dict.fromkeys(shot.group for shot in shots if shot.group))
    if not names:
        return ()
    sheets = counted(len(shots), "sheet")
    told = f"{counted(len(names), 'group')} on {sheets}, one after another; mixed they may be fewer"
    return (("Groups", f"{told} (--groups mixed)"),)


def _shot_work(
    name: str, works: Sequence[PersonWork], drilled: set[str], *, color: str, group: str
) -> ShotWork:
    """Return the work of one shot, as long as its slowest mold takes.

    ``drilled`` has the folders of the molds that were drilled before, and gets those of this shot.
    """
    told = [work.record.numbers for work in works]
    return ShotWork(
        name=name,
        parts=tuple(_part_work(work, drilled) for work in works),
        heat_s=max(_longest(one, "heat") or _USUAL_HEAT_s for one in told),
        cool_s=max(_longest(one, "cool") for one in told),
        molds=tuple(dict.fromkeys(work.folder for work in works)),
        rest_s=max(one.get("pause_s") or 0.0 for one in told),
        color=color,
        group=group,
    )


def _part_work(work: PersonWork, drilled: set[str]) -> PartWork:
    """Return what one part takes beside forming; its mold is drilled once."""
    numbers = work.record.numbers
    n_holes = 0 if work.folder in drilled else numbers.get("vents_to_drill") or 0
    drilled.add(work.folder)
    return PartWork(
        person=work.entry.name, trim_s=numbers["trim_s"],
        drill_s=_DRILL_HANDLING_s + _HOLE_s * n_holes if n_holes else 0.0,
    )  # fmt: skip


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
    groups = {shot.name: shot.group for shot in plan.shots}
    for slot in plan.slots:
        what = _shot_words(slot.shot, groups.get(slot.shot, ""))
        together[slot.lesson, slot.start_s, slot.end_s, slot.station.value, what] += slot.people
    for (lesson, start_s, end_s, where, what), people in together.items():
        who = ", ".join(people)
        yield (str(lesson), time_text(start_s), time_text(end_s), where, what, who)


def _shot_words(name: str, group: str) -> str:
    """Return what a shot is called, with the group whose molds alone are on it."""
    return f"{name}, group {group}" if group else name
