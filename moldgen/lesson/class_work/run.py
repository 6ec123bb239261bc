"""A class at work: every different mold built once, side by side, a folder for each person."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from moldgen.errors import MoldgenError
from moldgen.execution import n_processors
from moldgen.export.run_folder import LIST_NAME, write_run
from moldgen.finding import counted
from moldgen.job.formats import Format
from moldgen.lesson.class_work.build import BuiltMold, built_of, named_for, order_for
from moldgen.lesson.class_work.left_whole import LeftWhole, PersonPlace
from moldgen.lesson.class_work.person_job import PersonJob
from moldgen.lesson.class_work.record import (
    MoldRecord,
    forget_records,
    keep_record,
    kept_record,
    record_key,
)
from moldgen.lesson.roster.roster import RosterEntry
from moldgen.pipeline.file_name import names_apart
from moldgen.pipeline.stage import Progress, Stage
from moldgen.pool.answers import answers
from moldgen.pool.piece import answer_of
from moldgen.pool.processes import local_processes
from moldgen.stock.experience import NO_NOTES, Experience


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonWork:
    """What became of one person's job.

    Attributes
    ----------
    entry : RosterEntry
        Who.
    folder : str
        Name of the person's folder in that of the class; empty if there is none.
    record : MoldRecord
        What is known of the mold, or why there is none.
    changes : tuple of str
        What was changed for this person.
    is_new : bool
        Whether it was built in this run; otherwise it was there.
    """

    entry: RosterEntry
    folder: str
    record: MoldRecord
    changes: tuple[str, ...] = ()
    is_new: bool = True


def run_class(
    jobs: Sequence[PersonJob],
    *,
    folder: Path,
    out: Path,
    formats: Sequence[Format],
    stock: Mapping[str, str],
    mend: bool = False,
    progress: Progress,
    executor: Executor | None = None,
    experience: Experience = NO_NOTES,
) -> tuple[PersonWork, ...]:
    """Build what each person of a class makes, and write it into a folder of the person's own.

    Every different mold is built once. What an earlier run left whole is not built again, so that
    a run that was stopped goes on where it was. What cannot be built is told and the others go on.

    Parameters
    ----------
    jobs : sequence of PersonJob
        Of the class.
    folder : Path
        Where paths in the jobs start.
    out : Path
        Folder of the class.
    formats : sequence of Format
        Files to write for each.
    stock : dict of str to str
        Own stock files, by name.
    mend : bool
        Whether each job is changed so that nothing of it needs a look.
    progress : callable
        Told of each mold that is done.
    executor : Executor, optional
        Builds them; processes on this machine, one for each processor, if left out.
    experience : Experience
        What notes of the tables say.

    Raises
    ------
    FileError
        If a folder cannot be written.
    GeometryError
        If a process that builds them dies.
    """
    places, whole = _places(jobs), LeftWhole(out)
    made: dict[int, PersonWork] = {}
    keys: set[str] = set()
    orders: list[tuple[int, bytes]] = []
    for i, one in enumerate(jobs):
        if one.job is None:
            record = MoldRecord(numbers={}, problem=one.problem)
            made[i] = PersonWork(entry=one.entry, folder="", record=record)
            continue
        try:
            order = order_for(
                one.job, folder=folder, stock=stock, formats=formats, mend=mend,
                experience=experience,
            )  # fmt: skip
        except MoldgenError as error:
            record = MoldRecord(numbers={}, problem=str(error))
            made[i] = PersonWork(entry=one.entry, folder="", record=record)
            continue
        piece = order.piece()
        keys.add(key := record_key(piece))
        kept = kept_record(out, key)
        if kept is None or not whole.has(places[i], kept):
            orders.append((i, piece))
        else:
            made[i] = PersonWork(
                entry=one.entry, folder=places[i].folder, record=kept, is_new=False,
                changes=(*one.changes, *kept.changes),
            )  # fmt: skip
    for i, record in _built(orders, places, out, progress=progress, executor=executor):
        there = "" if record.problem else places[i].folder
        made[i] = PersonWork(
            entry=jobs[i].entry,
            folder=there,
            record=record,
            changes=(*jobs[i].changes, *record.changes),
        )
    whole.leave(places)
    forget_records(out, frozenset(keys))
    return tuple(made[i] for i in range(len(jobs)))


def folders_of_nobody(out: Path, works: Sequence[PersonWork]) -> list[str]:
    """Return the folders that an earlier run made for people who are in the roster no more."""
    now = {work.folder for work in works}
    made = (path.parent.name for path in out.glob(f"*/{LIST_NAME}"))
    return sorted(name for name in made if name not in now)


def _places(jobs: Sequence[PersonJob]) -> list[PersonPlace]:
    """Return folder and file names, which sort as the roster does."""
    digits = len(str(len(jobs)))
    stems = names_apart(one.entry.name for one in jobs)
    return [
        PersonPlace(folder=f"{i:0{digits}d}-{stem}", stem=stem)
        for i, stem in enumerate(stems, start=1)
    ]


def _built(
    orders: Sequence[tuple[int, bytes]],
    places: Sequence[PersonPlace],
    out: Path,
    *,
    progress: Progress,
    executor: Executor | None,
) -> Iterator[tuple[int, MoldRecord]]:
    """Yield which person's mold is built, as it is written."""
    asked = _asked(orders)
    if not asked:
        return
    progress(Stage(1, len(asked), "building molds"))
    threads = n_processors() if executor is None and len(asked) == 1 else 1
    done = 0
    with _workers(len(asked), executor) as pool:
        pieces = list(asked)
        for number, answer in answers(pool, pieces, threads=threads):
            piece, built = pieces[number], _outcome(answer)
            record = replace(built.record, key=record_key(piece))
            done += 1
            for i in asked[piece]:
                if not record.problem:
                    write_run(out / places[i].folder, named_for(built.files, places[i].stem))
                yield i, record
            if not record.problem:
                keep_record(out, record)
            progress(Stage(done, len(asked), f"{done} of {counted(len(asked), 'mold')} built"))


def _asked(orders: Sequence[tuple[int, bytes]]) -> dict[bytes, list[int]]:
    """Return each different piece of work, and which people wait for it."""
    asked: dict[bytes, list[int]] = {}
    for i, piece in orders:
        asked.setdefault(piece, []).append(i)
    return asked


def _outcome(answer: bytes) -> BuiltMold:
    """Return what was built; what cannot be built is a problem, so that the others go on."""
    try:
        return built_of(answer_of(answer))
    except MoldgenError as error:
        return BuiltMold(record=MoldRecord(numbers={}, problem=str(error)), files={})


@contextmanager
def _workers(n_jobs: int, executor: Executor | None) -> Iterator[Executor]:
    """Yield what builds molds: what was given, or new processes on this machine."""
    if executor is not None:
        yield executor
        return
    with local_processes(min(n_jobs, n_processors())) as pool:
        yield pool
