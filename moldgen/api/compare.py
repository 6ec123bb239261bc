"""One job made in several ways, side by side."""

from __future__ import annotations

from concurrent.futures import Executor
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

from moldgen.api.call import Stock, given_workers, refuse_other_jobs, shop_from, stock_texts
from moldgen.api.design import KEPT
from moldgen.api.jobs import from_arguments
from moldgen.api.options import CompareArguments
from moldgen.job.command.compare import CompareCommand, variants_of
from moldgen.job.room import OwnRoom
from moldgen.job.spec import Job
from moldgen.pipeline.stage import Progress, quiet

if TYPE_CHECKING:
    from moldgen.pipeline.mold.compare import Comparison


def compare(
    job: Job,
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
    *,
    room: OwnRoom | None = None,
    executor: Executor | None = None,
    **options: Unpack[CompareArguments],
) -> Comparison:
    """Make one job in several sheets, on several tables, of several filaments, and compare.

    Parameters
    ----------
    job : Job
        From `sign`, `tray`, `drawing` or `load_job`.
    stock : Stock or path, optional
        From `load_stock`, or a stock file; what the job names beside the usual if left out.
    folder : path, optional
        Where file names in the job start; the current folder if left out.
    progress : callable, optional
        Told of each mold as it begins.
    room : OwnRoom, optional
        From `room`: its prices count, and its sheets are compared where nothing is named.
    executor : Executor, optional
        Makes the molds side by side; this process, one after the other, if neither it nor
        ``workers`` or ``cluster`` is given. The stock must then be a file, or the usual one.
    **options
        What ``moldgen compare --help`` lists: ``sheet=["HIPS", "PETG"], gauge=[1, 1.5]``.

    Returns
    -------
    Comparison
        ``records`` are its rows of numbers, ``table()`` its rows of words; ``csv_bytes()`` and
        ``png_bytes()`` are what the command writes.

    Raises
    ------
    SpecError
        If an argument is wrong, the stock lacks what is named, or there is nothing to compare.

    Examples
    --------
    >>> import moldgen as mg
    >>> found = mg.compare(mg.sign("PIER"), gauge=[1, 2], forming="off")
    >>> [row["gauge_mm"] for row in found.records]
    [1.0, 2.0]
    """
    refuse_other_jobs(job)
    place = Path(folder)

    def run(command: CompareCommand) -> Comparison:
        from moldgen.pipeline.mold.compare import compare_job

        with given_workers(executor, command) as pool:
            return compare_job(
                job, variants_of(command, job, room), folder=place,
                shop=shop_from(stock, job.stock, place), room=room, look=command.forming,
                progress=progress or quiet, memo=KEPT, pool=pool,
                stock=None if pool is None else stock_texts(stock, job.stock, place),
            )  # fmt: skip

    return from_arguments(CompareCommand, run, {"file": "job.toml", **options})
