"""What every call shares: the stock, progress, and arguments read into a command."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from contextlib import contextmanager
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.api.jobs import from_arguments
from moldgen.api.run_result import RunResult
from moldgen.errors import SpecError
from moldgen.job.spec import Job
from moldgen.named_file import path_in
from moldgen.pipeline.stage import Progress, quiet
from moldgen.pool.workers import WorkerWish, chosen_workers
from moldgen.quantity import Spec
from moldgen.stock import Shop, load_shop
from moldgen.stock.shop import own_stock_texts
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


def stock_texts(stock: Stock, named: str = "", folder: Path = Path()) -> dict[str, str]:
    """Return the own stock files behind what `shop_from` takes, by name.

    Raises
    ------
    SpecError
        If a stock is given that was read before: workers elsewhere need the files.
    """
    if isinstance(stock, Shop):
        rule = "the name of a stock file where others do the work"
        raise SpecError("stock", rule, "a stock in hand", "Save its entries in a file.")
    own = Path(stock) if stock is not None else path_in(folder, named, field="stock")
    return own_stock_texts([own] if stock is not None or named else [])


@contextmanager
def given_workers(executor: Executor | None, wish: WorkerWish) -> Iterator[Executor | None]:
    """Yield the executor that is given, else the workers that are asked for; None for neither."""
    if executor is not None:
        yield executor
        return
    with chosen_workers(wish) as pool:
        yield pool


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
