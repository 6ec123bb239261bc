"""From a job to everything it asks for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mold.files import mold_made
from moldgen.pipeline.result import Result
from moldgen.stock import Shop

Progress = Callable[[str], None]


def make(job: Job, *, folder: Path, shop: Shop, progress: Progress) -> Result:
    """Make everything a job asks for.

    Parameters
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told the name of each stage as it begins.

    Raises
    ------
    MoldgenError
        If the job cannot be made: one sentence that says what to change.
    """
    # Heat, air and release are needed here only, and not for checking a part.
    from moldgen.pipeline.mold.design import design_mold

    job = with_names(job)
    progress = telling_first_use(progress)
    design = design_mold(job, folder=folder, shop=shop, progress=progress)
    mold, day = design.with_day()
    return mold_made(job, mold, design.setting, design.rules, progress, day=day)
