"""A class at work: every different mold built once, side by side, a folder for each person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from moldgen.errors import GeometryError
from moldgen.execution import SameContextThread, checkpoint, n_processors
from moldgen.export.run_folder import LIST_NAME, run_is_whole, write_run
from moldgen.finding import counted
from moldgen.job import job_toml
from moldgen.job.formats import Format
from moldgen.language import language_now
from moldgen.lesson.class_work.build import BuildOrder, BuiltMold, build_mold, distinct, named_for
from moldgen.lesson.class_work.person_job import PersonJob
from moldgen.lesson.class_work.record import (
    MoldRecord,
    forget_records,
    keep_record,
    kept_record,
    key_of,
    record_of,
)
from moldgen.lesson.roster.roster import RosterEntry
from moldgen.pipeline.file_name import names_apart
from moldgen.pipeline.stage import Progress, Stage


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _PersonPlace:
    number: int
    folder: str
    stem: str


def run_class(
    jobs: Sequence[PersonJob],
    *,
    folder: Path,
    out: Path,
    formats: Sequence[Format],
    stock: str,
    progress: Progress,
    executor: Executor | None = None,
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
    stock : str
        Stock file; the usual one if empty.
    progress : callable
        Told of each mold that is done.
    executor : Executor, optional
        Builds them; processes on this machine, one for each processor, if left out.

    Raises
    ------
    FileError
        If a folder cannot be written.
    GeometryError
        If a process that builds them dies.
    """
    places = _places(jobs)
    made: dict[int, PersonWork] = {}
    keys: set[str] = set()
    orders: list[tuple[int, BuildOrder]] = []
    for i, one in enumerate(jobs):
        if one.job is None:
            record = MoldRecord(numbers={}, problem=one.problem)
            made[i] = PersonWork(entry=one.entry, folder="", record=record)
            continue
        order = BuildOrder(
            job_text=job_toml(one.job), folder=str(folder), stock=stock, formats=tuple(formats),
            language=language_now(),
        )  # fmt: skip
        keys.add(key_of(order))
        kept = _kept(out, places[i], order)
        if kept is None:
            orders.append((i, order))
        else:
            made[i] = PersonWork(
                entry=one.entry, folder=places[i].folder, record=kept, changes=one.changes,
                is_new=False,
            )  # fmt: skip
    for i, record in _built(orders, places, out, progress=progress, executor=executor):
        there = "" if record.problem else places[i].folder
        made[i] = PersonWork(
            entry=jobs[i].entry, folder=there, record=record, changes=jobs[i].changes
        )
    forget_records(out, frozenset(keys))
    return tuple(made[i] for i in range(len(jobs)))


def folders_of_nobody(out: Path, works: Sequence[PersonWork]) -> list[str]:
    """Return the folders that an earlier run made for people who are in the roster no more."""
    now = {work.folder for work in works}
    made = (path.parent.name for path in out.glob(f"*/{LIST_NAME}"))
    return sorted(name for name in made if name not in now)


def _places(jobs: Sequence[PersonJob]) -> list[_PersonPlace]:
    """Return folder and file names, which sort as the roster does."""
    digits = len(str(len(jobs)))
    stems = names_apart(one.entry.name for one in jobs)
    return [
        _PersonPlace(number=i, folder=f"{i:0{digits}d}-{stem}", stem=stem)
        for i, stem in enumerate(stems, start=1)
    ]


def _kept(out: Path, place: _PersonPlace, order: BuildOrder) -> MoldRecord | None:
    """Return the record of what an earlier run left whole for a person; None otherwise."""
    record = kept_record(out, key_of(order))
    if record is None:
        return None
    names = named_for(dict.fromkeys(record.endings, b""), place.stem)
    return record if run_is_whole(out / place.folder, names) else None


def _built(
    orders: Sequence[tuple[int, BuildOrder]],
    places: Sequence[_PersonPlace],
    out: Path,
    *,
    progress: Progress,
    executor: Executor | None,
) -> Iterator[tuple[int, MoldRecord]]:
    """Yield which person's mold is built, as it is written."""
    asked = distinct([order for _, order in orders])
    if not asked:
        return
    progress(Stage(1, len(asked), "building molds"))
    with _workers(len(asked), executor) as pool:
        waiting: dict[Future[BuiltMold], BuildOrder] = {
            pool.submit(build_mold, order): order for order in asked
        }
        try:
            for done, future in enumerate(as_completed(waiting), start=1):
                checkpoint()
                order, built = waiting[future], _outcome(future)
                record = record_of(built)
                for which in asked[order]:
                    i = orders[which][0]
                    if not record.problem:
                        write_run(out / places[i].folder, named_for(built.files, places[i].stem))
                    yield i, record
                if not record.problem:
                    keep_record(out, key_of(order), record)
                progress(Stage(done, len(asked), f"{done} of {counted(len(asked), 'mold')} built"))
        finally:
            for future in waiting:
                future.cancel()


def _outcome(future: Future[BuiltMold]) -> BuiltMold:
    from concurrent.futures.process import BrokenProcessPool

    try:
        return future.result()
    except BrokenProcessPool:
        raise GeometryError(
            "A process that builds molds ended by itself, perhaps for want of memory. What was "
            "finished is kept: run the same command again, with --workers 1 if it happens again."
        ) from None


@contextmanager
def _workers(n_jobs: int, executor: Executor | None) -> Iterator[Executor]:
    """Yield what builds molds: what was given, or new processes on this machine."""
    if executor is not None:
        yield executor
        return
    with local_workers(min(n_jobs, n_processors())) as pool:
        yield pool


@contextmanager
def local_workers(n: int) -> Iterator[Executor]:
    """Yield so many processes on this machine, each on one thread; one is this process itself."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    if n <= 1:
        with SameContextThread() as thread:
            yield thread
        return

    with ProcessPoolExecutor(n, mp_context=get_context("spawn"), initializer=_begin) as pool:
        yield pool


def _begin() -> None:
    """Make a process ready: one kernel thread, and Ctrl-C is the business of who started it."""
    import os
    import signal

    os.environ["NUMBA_NUM_THREADS"] = "1"
    signal.signal(signal.SIGINT, signal.SIG_IGN)
