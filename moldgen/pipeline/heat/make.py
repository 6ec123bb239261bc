"""The recipe for a sheet's heat: from words to rows, findings and, if wanted, files."""

from __future__ import annotations

from collections.abc import Callable

from moldgen.job.command.heat import HeatCommand
from moldgen.pipeline.heat.rows import numbers_of, summary_of
from moldgen.pipeline.heat.work import N_STAGES, heat_work
from moldgen.pipeline.result import Result
from moldgen.stock import Shop


def heat_sheet(
    command: HeatCommand,
    *,
    shop: Shop,
    with_files: bool,
    progress: Callable[[str], None] = lambda stage: None,
) -> Result:
    """Work out a sheet's heat on a station.

    Parameters
    ----------
    command : HeatCommand
        What is wanted.
    shop : Shop
        What there is.
    with_files : bool
        Whether picture, report and numbers are made too.
    progress : callable
        Told the name of each stage as it begins.

    Raises
    ------
    SpecError
        If the sheet cannot be heated, or a word is wrong: one sentence that says what to change.
    """
    work = heat_work(command, shop, others=with_files or bool(command.seen), progress=progress)
    progress(f"{N_STAGES}/{N_STAGES} " + ("writing files" if with_files else "putting it in words"))
    made = Result(
        title=heat_title(command),
        summary=summary_of(work),
        findings=work.findings,
        numbers=numbers_of(work),
    )
    if not with_files:
        return made
    from moldgen.pipeline.heat.files import heat_made

    return heat_made(work, made)


def heat_title(command: HeatCommand) -> str:
    """Return what the work is called."""
    return f"Heating {command.plastic}, {command.gauge_mm:.3g} mm"
