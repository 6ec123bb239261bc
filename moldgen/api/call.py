"""What every call shares: the stock, progress, and arguments read into a command."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.api.jobs import from_arguments
from moldgen.api.run_result import RunResult
from moldgen.errors import SpecError
from moldgen.job.spec import Job
from moldgen.named_file import path_in
from moldgen.pipeline.stage import Progress, quiet
from moldgen.quantity import Spec
from moldgen.stock import Shop, load_shop
from moldgen.wording import shown

if TYPE_CHECKING:
    from moldgen.pipeline.output import Output

Stock = Shop | str | PathLike[str] | None


def shop_from(stock: Stock, named: str = "", folder: Path = Path()) -> Shop:
    """Return the stock that is given, or the usual one with the file that a job names."""
    if isinstance(stock, Shop):
        return stock
    if stock is None:
        return load_shop([path_in(folder, named, field="stock")] if named else [])
    if not isinstance(stock, str | PathLike):
        rule = "a stock, or the name of a stock file"
        raise SpecError("stock", rule, shown(stock), "load_stock reads one.")
    return load_shop([Path(stock)])


def refuse_other_jobs(job: object) -> None:
    """Raise `SpecError` unless this is the job of a mold."""
    if not isinstance(job, Job):
        raise SpecError("job", "a job of a mold", shown(job), "load_job reads a job file.")


def run_output(
    command: type[Spec],
    run: Callable[[Any, Shop, Progress], Output],
    given: Mapping[str, Any],
    stock: Stock,
    progress: Progress | None,
) -> RunResult:
    """Return what a command makes of keyword arguments.

    Raises
    ------
    MoldgenError
        If an argument is wrong, or it cannot be made.
    """

    def output(spec: Spec) -> Output:
        return run(spec, shop_from(stock), progress or quiet)

    return RunResult(output=from_arguments(command, output, given))
