"""From a roster and a job to the folder of a class."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path

from moldgen.errors import SpecError
from moldgen.finding import Finding
from moldgen.job import Job
from moldgen.job.command.school_class import ClassCommand, Sizes
from moldgen.job.room import OwnRoom
from moldgen.lesson.arrange.make import Arrangement
from moldgen.lesson.arrange.told import webs_text
from moldgen.lesson.class_work.class_findings import class_findings
from moldgen.lesson.class_work.costs import cost_text
from moldgen.lesson.class_work.kept_arrangement import KeptArrangement
from moldgen.lesson.class_work.kept_sizes import KeptSizes
from moldgen.lesson.class_work.mold_lives import lives_row, worn_findings
from moldgen.lesson.class_work.one_size import one_sheet, one_size
from moldgen.lesson.class_work.overview import class_files, class_summary
from moldgen.lesson.class_work.person_job import PersonJob, person_jobs
from moldgen.lesson.class_work.prints import (
    class_queue,
    n_prints,
    on_other_printers,
    queue_findings,
    queue_text,
)
from moldgen.lesson.class_work.record import RECORDS
from moldgen.lesson.class_work.run import PersonWork, run_class
from moldgen.lesson.class_work.shots import arrange_class, groups_row, shots_of, single_shots
from moldgen.lesson.roster.roster import Roster
from moldgen.lesson.timetable.timetable import plan_lessons
from moldgen.lesson.timetable.timetable_text import timetable_text
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.pool.processes import local_processes
from moldgen.pool.workers import chosen_workers
from moldgen.stock import Printer, Shop
from moldgen.stock.shop import own_stock_texts

Told = tuple[Finding, ...]


def build_class(
    roster: Roster,
    like: Job,
    words: ClassCommand,
    *,
    folder: Path,
    out: Path,
    shop: Shop,
    progress: Progress,
    room: OwnRoom | None = None,
    executor: Executor | None = None,
) -> tuple[Result, tuple[PersonWork, ...]]:
    """Build a class into a folder, and return what there is to say of it with its common files.

    Parameters
    ----------
    roster : Roster
        Who.
    like : Job
        What they make.
    words : ClassCommand
        How.
    folder : Path
        Where drawings and job files of the roster lie.
    out : Path
        Folder of the class; a folder for each person is made in it.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told of each mold that is done.
    room : OwnRoom, optional
        Whose prices count.
    executor : Executor, optional
        Builds the molds; processes of this machine if left out.

    Raises
    ------
    SpecError
        If nothing of the class can be made.
    FileError
        If a folder cannot be written.
    """
    progress(Stage(1, 3, "reading what each person makes"))
    jobs = person_jobs(roster, like, folder=folder)
    stock = own_stock_texts([Path(words.stock)] if words.stock else [])
    sizes = KeptSizes(out / RECORDS, folder=folder, stock=stock)
    notes = roster.notes
    if words.sizes is Sizes.ONE:
        sized = one_size(
            jobs, like=like, folder=folder, shop=shop, kept=sizes, anew=words.rearrange
        )
        jobs, notes = sized.jobs, (*notes, *sized.notes)
    jobs = one_sheet(jobs, folder=folder, shop=shop, kept=sizes)
    made = build_people(
        class_title(like), jobs, words, folder=folder, out=out, shop=shop, progress=progress,
        notes=notes, room=room, executor=executor,
    )  # fmt: skip
    sizes.keep()
    return made


def build_people(
    title: str,
    jobs: Sequence[PersonJob],
    words: ClassCommand,
    *,
    folder: Path,
    out: Path,
    shop: Shop,
    progress: Progress,
    notes: Sequence[str] = (),
    room: OwnRoom | None = None,
    executor: Executor | None = None,
) -> tuple[Result, tuple[PersonWork, ...]]:
    """Build the jobs of people as they are, as `build_class` does, and return the same.

    Parameters
    ----------
    title : str
        What the class is called.
    jobs : sequence of PersonJob
        What each person makes; `own_jobs` makes them from names and jobs.
    words : ClassCommand
        How; its roster, sizes and what it is like are not looked at.
    folder, out, shop, progress, room, executor
        As `build_class` takes them.
    notes : sequence of str
        What else there is to say, a sentence each.

    Raises
    ------
    SpecError
        If nothing of the class can be made.
    FileError
        If a folder cannot be written.
    """
    stock = own_stock_texts([Path(words.stock)] if words.stock else [])
    # Looked up first, so that a name that is wrong is told before anything is built.
    printers = [shop.printers.find(one.printer, field="printers") for one in words.room_printers]
    with _workers(words, executor) as pool:
        works = run_class(
            jobs, folder=folder, out=out, formats=words.formats, stock=stock,
            mend=words.mend, progress=progress, executor=pool, experience=shop.experience,
        )  # fmt: skip
    if all(work.record.problem for work in works):
        first = works[0]
        raise SpecError(
            "roster", "one of which somebody's mold can be made", f"{len(works)} problems",
            f"{first.entry.name}: {first.record.problem}",
        )  # fmt: skip
    arrangement, told = None, Told()
    if not words.alone:
        arrangement, told = _arranged(
            jobs, works, words, folder=folder, out=out, shop=shop, printers=printers,
            progress=progress,
        )  # fmt: skip
    works = on_other_printers(works, arrangement)
    shots = (
        single_shots(works, by_group=words.by_group)
        if arrangement is None
        else shots_of(arrangement, works)
    )
    plan = plan_lessons(shots, words.lesson)
    queue = class_queue(works, arrangement, words.room_printers, shop=shop)
    findings = (
        *class_findings(works, notes, out=out, mend=words.mend), *told, *queue_findings(queue),
        *worn_findings(works),
    )  # fmt: skip
    counts = n_prints(works, arrangement)
    costs = cost_text(shots, works, room, prints=counts)
    summary = (
        *class_summary(works, counts), *groups_row(shots), *lives_row(works),
        ("Lessons", timetable_text(plan)),
        *((("Print queue", queue_text(queue)),) if queue else ()),
        *((("Costs", costs),) if costs else ()),
        *_webs(arrangement),
    )  # fmt: skip
    files = class_files(
        title,
        works,
        out=out,
        words=words,
        findings=findings,
        summary=summary,
        plan=plan,
        queue=queue,
        shots=shots,
        room=room,
    )
    result = Result(
        title=title,
        summary=summary,
        findings=findings,
        files=files,
        numbers={
            "molds": len(works), "built_now": sum(work.is_new for work in works),
            "shots": len(shots), "lessons": plan.n_lessons,
        },
    )  # fmt: skip
    return result, works


def _arranged(
    jobs: Sequence[PersonJob],
    works: Sequence[PersonWork],
    words: ClassCommand,
    *,
    folder: Path,
    out: Path,
    shop: Shop,
    printers: Sequence[Printer],
    progress: Progress,
) -> tuple[Arrangement | None, Told]:
    """Arrange the molds and write their templates and plates; return what is said of it."""
    kept = KeptArrangement(out, words)
    arrangement = arrange_class(
        jobs, works, folder=folder, out=out, shop=shop, command=kept.command,
        printers=printers, by_group=words.by_group,
        before=kept.earlier, remember=kept.webs.remember, progress=progress,
    )  # fmt: skip
    return arrangement, Told() if arrangement is None else kept.write(arrangement)


def _webs(arrangement: Arrangement | None) -> tuple[tuple[str, str], ...]:
    """Return the row on webs, if the sheet was formed over the shots."""
    if arrangement is None or not arrangement.command.forming.is_asked:
        return ()
    return (("Webs", webs_text(arrangement)),)


@contextmanager
def _workers(words: ClassCommand, executor: Executor | None) -> Iterator[Executor | None]:
    """Yield what was given, a cluster, or so many processes; None leaves it open."""
    if executor is not None:
        yield executor
    elif words.workers == 1:
        with local_processes(1) as pool:
            yield pool
    else:
        with chosen_workers(words) as pool:
            yield pool


def class_title(like: Job) -> str:
    """Return what a class is called: its folder has this name if nobody says otherwise."""
    return f"Class of {like.title}"
