"""From a roster and a job to the folder of a class."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.job import Job
from moldgen.job.command.school_class import ClassCommand, Sizes
from moldgen.job.room import OwnRoom
from moldgen.lesson.arrange.make import Arrangement
from moldgen.lesson.arrange.told import webs_text
from moldgen.lesson.class_work.costs import cost_text
from moldgen.lesson.class_work.kept_arrangement import ARRANGEMENT, KeptArrangement
from moldgen.lesson.class_work.kept_sizes import KeptSizes
from moldgen.lesson.class_work.mold_lives import lives_row, worn_findings
from moldgen.lesson.class_work.one_size import one_sheet, one_size
from moldgen.lesson.class_work.overview import class_files, class_summary
from moldgen.lesson.class_work.person_job import PersonJob, person_jobs
from moldgen.lesson.class_work.prints import class_queue, queue_findings, queue_text
from moldgen.lesson.class_work.record import RECORDS
from moldgen.lesson.class_work.run import (
    PersonWork,
    folders_of_nobody,
    run_class,
)
from moldgen.lesson.class_work.shots import arrange_class, shots_of, single_shots
from moldgen.lesson.roster.roster import Roster
from moldgen.lesson.timetable.timetable import plan_lessons, timetable_text
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.pool.address import cluster_address
from moldgen.pool.cluster import cluster_workers
from moldgen.pool.processes import local_processes
from moldgen.stock import Shop
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
    if words.sizes is Sizes.ONE:
        jobs = one_size(jobs, folder=folder, shop=shop, kept=sizes)
    jobs = one_sheet(jobs, folder=folder, shop=shop, kept=sizes)
    made = build_people(
        class_title(like), jobs, words, folder=folder, out=out, shop=shop, progress=progress,
        notes=roster.notes, room=room, executor=executor,
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
    with _chosen_workers(words, executor) as pool:
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
            jobs, works, words, folder=folder, out=out, shop=shop, progress=progress
        )
    shots = single_shots(works) if arrangement is None else shots_of(arrangement, works)
    plan = plan_lessons(shots, words.lesson)
    queue = class_queue(works, arrangement, words.room_printers, shop=shop)
    findings = (
        *_findings(works, [*notes, *_other_folders(out, works)]), *told, *queue_findings(queue),
        *worn_findings(works),
    )  # fmt: skip
    costs = cost_text(shots, works, room)
    summary = (
        *class_summary(works), *lives_row(works), ("Lessons", timetable_text(plan)),
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
    progress: Progress,
) -> tuple[Arrangement | None, Told]:
    """Arrange the molds and write their templates and plates; return what is said of it."""
    kept = KeptArrangement(out, words)
    arrangement = arrange_class(
        jobs, works, folder=folder, out=out, shop=shop, command=kept.command,
        before=kept.earlier, remember=kept.webs.remember, progress=progress,
    )  # fmt: skip
    return arrangement, Told() if arrangement is None else kept.write(arrangement)


def _webs(arrangement: Arrangement | None) -> tuple[tuple[str, str], ...]:
    """Return the row on webs, if the sheet was formed over the shots."""
    if arrangement is None or not arrangement.command.forming.is_asked:
        return ()
    return (("Webs", webs_text(arrangement)),)


def _other_folders(out: Path, works: Sequence[PersonWork]) -> list[str]:
    others = [name for name in folders_of_nobody(out, works) if name != ARRANGEMENT]
    told = "Folders of an earlier run, of nobody in the roster now, are left as they are"
    return [f"{told}: {', '.join(others)}."] if others else []


@contextmanager
def _chosen_workers(words: ClassCommand, executor: Executor | None) -> Iterator[Executor | None]:
    """Yield what was given, a cluster, or so many processes; None leaves it open."""
    if executor is not None:
        yield executor
    elif words.cluster:
        with cluster_workers(cluster_address(words.cluster, words.cluster_keys)) as pool:
            yield pool
    elif words.workers:
        with local_processes(words.workers) as pool:
            yield pool
    else:
        yield None


def _findings(works: Sequence[PersonWork], notes: Sequence[str]) -> list[Finding]:
    """Return what a person can act on: who has no mold, whose mold does not form."""
    found = [
        Finding(
            code="class-note", severity=Severity.NOTE, says=note.rstrip("."),
            basis="the roster", advice="",
        )
        for note in notes
    ]  # fmt: skip
    for work in works:
        who = work.entry.who
        if work.record.problem:
            found.append(
                Finding(
                    code="class-left-out", severity=Severity.STOP,
                    says=f"{who} has no mold: {work.record.problem.rstrip('.')}",
                    basis="the roster" if work.entry.row else "the job of this person",
                    advice="Change the row and run the same command again." if work.entry.row
                    else "Change that job and make the class again.",
                )
            )  # fmt: skip
        elif work.record.stops or work.record.cautions:
            severity = Severity.STOP if work.record.stops else Severity.CAUTION
            found.append(
                Finding(
                    code="class-look", severity=severity,
                    says=f"{who}: {work.record.findings[0].rstrip('.')}",
                    basis="the checks of that mold",
                )
            )  # fmt: skip
    return sorted(found, key=lambda one: list(Severity).index(one.severity), reverse=True)


def class_title(like: Job) -> str:
    """Return what a class is called: its folder has this name if nobody says otherwise."""
    return f"Class of {like.title}"
