"""The recipe for a bent strip: from a job to files and findings."""

from __future__ import annotations

from pathlib import Path

from moldgen.job.strip_spec import StripJob
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress
from moldgen.pipeline.strip.files import strip_output
from moldgen.pipeline.strip.work import build_work
from moldgen.stock import Shop


def make_strip(job: StripJob, *, folder: Path, shop: Shop, progress: Progress) -> Result:
    """Make everything the job of a bent strip asks for.

    Parameters
    ----------
    job : StripJob
        What is wanted.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told of each stage as it begins.

    Raises
    ------
    MoldgenError
        If the strip cannot be laid out or heated: one sentence that says what to change.
    """
    work = build_work(job, folder=folder, shop=shop, progress=progress)
    return strip_output(work).render(progress=progress)
