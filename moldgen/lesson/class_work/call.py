"""A class from Python: names in, a folder for each person out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from os import PathLike
from pathlib import Path
from typing import Unpack

from moldgen.api.call import shop_from
from moldgen.api.jobs import from_arguments
from moldgen.api.options import ClassArguments
from moldgen.errors import SpecError
from moldgen.export.run_folder import write_run
from moldgen.finding import Finding
from moldgen.job import Job
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.room import OwnRoom
from moldgen.lesson.class_work.make import build_class, build_people
from moldgen.lesson.class_work.person_job import own_jobs
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.roster.roster import read_roster, roster_of_text
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, quiet
from moldgen.stock.experience import NO_NOTES, Experience
from moldgen.wording import shown


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClassResult:
    """A class that was made.

    Attributes
    ----------
    folder : Path
        Where it lies: a folder for each person, the lists, the cards.
    people : tuple of PersonWork
        What became of each job, in the order of the roster.
    summary : tuple of (str, str)
        Rows a person reads at a glance.
    findings : tuple of Finding
        Who has no mold, and whose mold needs a look.
    """

    folder: Path
    people: tuple[PersonWork, ...]
    summary: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]


def make_class(
    roster: str | PathLike[str] | Iterable[str | tuple[str, Job]],
    like: Job | None,
    out: str | PathLike[str],
    *,
    stock: str | PathLike[str] | None = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
    room: OwnRoom | None = None,
    executor: Executor | None = None,
    experience: Experience = NO_NOTES,
    **options: Unpack[ClassArguments],
) -> ClassResult:
    """Make what each person of a class makes, and write it into a folder.

    Parameters
    ----------
    roster : path, iterable of str, or iterable of (str, Job)
        A list of the class, CSV or XLSX; or the names; or names with a job each.
    like : Job or None
        What they make: its first text is everybody's own word. None for people who have a job
        each, of which nothing is changed.
    out : path
        Folder of the class. What an earlier run left whole there is not built again.
    stock : path, optional
        Stock file; the usual stock if left out. Each process reads it for itself.
    folder : path, optional
        Where file names in jobs and roster start; the current folder if left out.
    progress : callable, optional
        Told of each mold that is done.
    room : OwnRoom, optional
        From `room`: its prices count.
    executor : Executor, optional
        Builds the molds; processes on this machine, one for each processor, if left out.
    experience : Experience, optional
        From `experience_of`: what is told goes by it.
    **options
        What ``moldgen class --help`` lists: ``sizes="own", lesson_min=90``.

    Returns
    -------
    ClassResult
        What became of each job.

    Raises
    ------
    SpecError
        If an argument or a row is wrong, or nothing of the class can be made.
    FileError
        If the roster cannot be read, or a folder cannot be written.
    """
    file, target = "" if stock is None else str(Path(stock)), Path(out)
    build = _building(roster, like)

    def run(words: ClassCommand) -> ClassResult:
        result, works = build(
            words=words, folder=Path(folder), out=target, 
            shop=replace(shop_from(stock), experience=experience),
            progress=progress or quiet, room=room, executor=executor,
        )  # fmt: skip
        write_run(target, result.files)
        return ClassResult(
            folder=target, people=works, summary=result.summary, findings=result.findings
        )

    return from_arguments(
        ClassCommand, run, {"file": "in hand", "like": "in hand", "stock": file, **options}
    )


def _building(
    roster: str | PathLike[str] | Iterable[str | tuple[str, Job]], like: Job | None
) -> Callable[..., tuple[Result, tuple[PersonWork, ...]]]:
    """Return what builds a class: of a roster and what it is like, or of a job for each."""
    if isinstance(roster, str | PathLike):
        return partial(build_class, read_roster(Path(roster)), _mold_job("like", like))
    people = list(roster)
    pairs = [one for one in people if not isinstance(one, str)]
    if like is None and pairs and len(pairs) == len(people):
        own = [(name, _mold_job(f"the job of {name}", job)) for name, job in pairs]
        return partial(build_people, "Class", own_jobs(own))
    names = "\n".join(map(str, people))
    return partial(build_class, roster_of_text(f"name\n{names}"), _mold_job("like", like))


def _mold_job(field: str, job: object) -> Job:
    if not isinstance(job, Job):
        raise SpecError(field, "the job of a mold", shown(job), "load_job reads a job file.")
    return job
