"""Several molds on one sheet, from Python."""

from __future__ import annotations

from collections.abc import Iterable
from os import PathLike
from pathlib import Path
from typing import Unpack

from moldgen.api.call import Stock, shop_from
from moldgen.api.design import KEPT
from moldgen.api.jobs import from_arguments
from moldgen.api.options import ArrangeArguments
from moldgen.errors import SpecError
from moldgen.job import Job
from moldgen.job.command.arrange import ArrangeCommand
from moldgen.lesson.arrange.files import arrangement_output
from moldgen.lesson.arrange.make import arrange_jobs
from moldgen.lesson.arrange.result import ArrangementResult
from moldgen.pipeline.stage import Progress, quiet
from moldgen.wording import shown


def arrange(
    jobs: Iterable[Job],
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
    **options: Unpack[ArrangeArguments],
) -> ArrangementResult:
    """Lay the molds of jobs out on forming shots, printer beds and stock sheets.

    Parameters
    ----------
    jobs : iterable of Job
        From `sign`, `tray`, `drawing` or `load_job`; each as often as it is to be formed.
    stock : Stock or path, optional
        From `load_stock`, or a stock file; the usual stock if left out.
    folder : path, optional
        Where file names in the jobs start; the current folder if left out.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen arrange --help`` lists: ``tighter=True, turns="any"``.

    Returns
    -------
    ArrangementResult
        ``arrangement`` is where everything lies; ``write`` writes the templates.

    Raises
    ------
    SpecError
        If an argument is wrong, or the jobs name several tables.
    MoldgenError
        If a mold cannot be made.

    Examples
    --------
    >>> import moldgen as mg
    >>> tags = [mg.sign(word, letter_height_mm=20) for word in ("PIER", "QUAY")]
    >>> mg.arrange(tags, forming="off").arrangement.shots[0].layout.shots[0].pieces
    (0, 1)
    """
    named = _named(jobs)
    place = Path(folder)

    def run(command: ArrangeCommand) -> ArrangementResult:
        work = arrange_jobs(
            named, command, shop=shop_from(stock), folder=place, memo=KEPT,
            progress=progress or quiet,
        )  # fmt: skip
        return ArrangementResult(output=arrangement_output(work), arrangement=work)

    return from_arguments(ArrangeCommand, run, {"files": ["in hand"], **options})


def _named(jobs: Iterable[Job]) -> list[tuple[Job, Path]]:
    """Return jobs with a name for each that differs, in the place of its file."""
    named: list[tuple[Job, Path]] = []
    known: dict[Job, Path] = {}
    for job in jobs:
        if not isinstance(job, Job):
            raise SpecError("jobs", "jobs of molds", shown(job), "load_job reads a job file.")
        known.setdefault(job, Path(f"job-{len(known) + 1}"))
        named.append((job, known[job]))
    if not named:
        raise SpecError("jobs", "at least one job", "none", "Give a list of jobs.")
    return named
