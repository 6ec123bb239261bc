"""A mold in stages, for a program that shows it while it changes."""

from __future__ import annotations

from collections.abc import Mapping
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.api.call import Stock, refuse_other_jobs, shop_from
from moldgen.errors import SpecError
from moldgen.job.spec import Job
from moldgen.memo import Memo
from moldgen.pipeline.stage import Progress, quiet
from moldgen.wording import one_of, shown

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.pipeline.mold.design import MoldDesign
    from moldgen.pipeline.mold.quality import Quality

KEPT = Memo(2**28)
"""Stages of the designs of this process, up to 256 MiB: what did not change is not done again."""


def design(
    job: Job,
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
    *,
    quality: str = "preview",
    drawings: Mapping[str, Drawing] | None = None,
) -> MoldDesign:
    """Return the mold of a job in stages: each is computed when it is asked for.

    ``raw`` is the walls, ``checked`` the mold with its findings, ``formed`` the sheet over it if
    the job asks for a forming run, ``day`` the day at the table, ``mold`` all of it. What another
    design of this process had in common is not computed again.

    Parameters
    ----------
    job : Job
        From `sign`, `tray`, `drawing` or `load_job`.
    stock : Stock or path, optional
        From `load_stock`, or a stock file; what the job names beside the usual if left out.
    folder : path, optional
        Where file names in the job start; the current folder if left out.
    progress : callable, optional
        Told of each `Stage` as it begins.
    quality : {"preview", "final"}
        How closely it is built: a preview has coarser chords and nothing cut from below.
    drawings : mapping of str to Drawing, optional
        Drawings in hand, such as from `outline_from_svg`, by the SVG name that the job gives.

    Returns
    -------
    MoldDesign
        Whose stages raise a `MoldgenError` if the mold cannot be made.

    Raises
    ------
    SpecError
        If the job is none, its stock lacks what it names, or the quality is unknown.

    Examples
    --------
    >>> import moldgen as mg
    >>> seen = mg.design(mg.sign("PIER 4"))
    >>> len(seen.raw.meshes)
    1
    """
    refuse_other_jobs(job)
    from moldgen.pipeline.mold.design import design_mold

    place = Path(folder)
    return design_mold(
        job,
        folder=place,
        shop=shop_from(stock, job.stock, place),
        progress=progress or quiet,
        drawings=drawings,
        quality=_quality(quality),
        memo=KEPT,
    )


def _quality(word: str) -> Quality:
    from moldgen.pipeline.mold.quality import Quality

    if word not in set(Quality):
        raise SpecError("quality", one_of(Quality), shown(word))
    return Quality(word)
