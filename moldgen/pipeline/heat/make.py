"""The recipe for a sheet's heat: from words to rows, findings and, if wanted, files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from moldgen.job.command.heat import HeatCommand
from moldgen.pipeline.heat.rows import numbers_of, summary_of
from moldgen.pipeline.heat.work import N_STAGES, HeatWork, heat_work
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import Shop
from moldgen.wording import gauge_text

if TYPE_CHECKING:
    from moldgen.pipeline.output import Output


def heat_sheet(
    command: HeatCommand,
    *,
    shop: Shop,
    with_files: bool,
    progress: Progress = quiet,
) -> Result:
    """Work out a sheet's heat on a machine.

    Parameters
    ----------
    command : HeatCommand
        What is wanted.
    shop : Shop
        What there is.
    with_files : bool
        Whether picture, report and numbers are made too.
    progress : callable
        Told of each stage as it begins.

    Raises
    ------
    SpecError
        If the sheet cannot be heated, or a word is wrong: one sentence that says what to change.
    """
    if with_files:
        return design_heat(command, shop=shop, progress=progress).render(progress=progress)
    work = heat_work(command, shop, others=bool(command.seen), progress=progress)
    progress(Stage(N_STAGES, N_STAGES, "putting it in words"))
    return _told(command, work)


def design_heat(command: HeatCommand, *, shop: Shop, progress: Progress = quiet) -> Output:
    """Work out a sheet's heat on a machine, and what its files are made of.

    Raises
    ------
    SpecError
        If the sheet cannot be heated, or a word is wrong: one sentence that says what to change.
    """
    from moldgen.pipeline.heat.files import heat_output  # it brings pictures along

    work = heat_work(command, shop, progress=progress)
    return heat_output(work, _told(command, work))


def _told(command: HeatCommand, work: HeatWork) -> Result:
    return Result(
        title=heat_title(command),
        summary=summary_of(work),
        findings=work.findings,
        numbers=numbers_of(work),
        units=command.units,
    )


def heat_title(command: HeatCommand) -> str:
    """Return what the work is called."""
    return f"Heating {command.plastic}, {gauge_text(command.gauge_mm)}"
