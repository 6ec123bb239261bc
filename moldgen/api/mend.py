"""A job mended: the smallest changes that leave nothing grave to say of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from concurrent.futures import Executor
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.api.call import Stock, refuse_other_jobs, shop_from, stock_texts
from moldgen.api.design import KEPT
from moldgen.job.spec import Job

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.pipeline.mold.mended import MendedJob


def mend(
    job: Job,
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    *,
    refuse: Collection[str] = (),
    drawings: Mapping[str, Drawing] | None = None,
    executor: Executor | None = None,
) -> MendedJob:
    """Return a job with the smallest changes that clear its cautions and stops.

    Every finding names its cures; each is tried, and what leaves the least to complain of is kept.

    Parameters
    ----------
    job : Job
        From `sign`, `tray`, `drawing` or `load_job`.
    stock : Stock or path, optional
        From `load_stock`, or a stock file; what the job names beside the usual if left out.
    folder : path, optional
        Where file names in the job start; the current folder if left out.
    refuse : collection of str
        Changes that must not be made, such as ``"letters.height"`` or ``"gauge"``.
    drawings : mapping of str to Drawing, optional
        Drawings in hand, such as from `outline_from_svg`, by the SVG name that the job gives.
    executor : Executor, optional
        Tries several changes at a time; this process, one after the other, if left out, or with
        drawings in hand. The stock must then be a file, or the usual one.

    Returns
    -------
    MendedJob
        Its ``job`` is to be made; ``changes`` tell what was changed, ``before`` and ``after`` what
        is found; ``ways`` are the nearest ways where something grave is left.

    Raises
    ------
    SpecError
        If the job is none, or its stock lacks what it names.
    MoldgenError
        If it cannot be made as it stands.

    Examples
    --------
    >>> import moldgen as mg
    >>> mended = mg.mend(mg.sign("SLIP", letter_height_mm=20, relief_mm=9, gauge_mm=1.0))
    >>> [change.name for change in mended.changes], mended.is_clear
    (['letters.height'], True)
    """
    refuse_other_jobs(job)
    from moldgen.pipeline.mold.mend import mend as mend_job

    place = Path(folder)
    shop = shop_from(stock, job.stock, place)
    return mend_job(
        job, folder=place, shop=shop, refuse=refuse, drawings=drawings, memo=KEPT, pool=executor,
        stock=None if executor is None else stock_texts(stock, job.stock, place),
    )  # fmt: skip
