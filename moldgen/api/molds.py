"""Molds and strips: from a job, or from a shape that somebody brings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Unpack, overload

from moldgen.api.design import KEPT
from moldgen.api.jobs import from_arguments
from moldgen.api.mold_result import MoldResult
from moldgen.api.options import (
    AdaptArguments,
    FileName,
)
from moldgen.api.strip_result import StripResult
from moldgen.errors import SpecError
from moldgen.job.command.adapt import AdaptCommand
from moldgen.job.spec import Job
from moldgen.job.strip_spec import StripJob
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.stage import Progress, quiet
from moldgen.wording import shown

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.pipeline.mold.make import MoldWork


from moldgen.api.call import Stock, shop_from


@overload
def make(
    job: Job,
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
    *,
    drawings: Mapping[str, Drawing] | None = None,
) -> MoldResult: ...


@overload
def make(
    job: StripJob,
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
) -> StripResult: ...


def make(
    job: Job | StripJob,
    stock: Stock = None,
    folder: str | PathLike[str] = ".",
    progress: Progress | None = None,
    *,
    drawings: Mapping[str, Drawing] | None = None,
) -> MoldResult | StripResult:
    """Make the mold, or the bent strip, of a job; no file is written.

    Parameters
    ----------
    job : Job or StripJob
        From `sign`, `tray`, `drawing`, `strip` or `load_job`.
    stock : Stock or path, optional
        From `load_stock`, or a stock file; what the job names beside the usual if left out.
    folder : path, optional
        Where file names in the job start; the current folder if left out.
    progress : callable, optional
        Told of each stage as it begins.
    drawings : mapping of str to Drawing, optional
        Drawings in hand, such as from `outline_from_svg`, by the SVG name that the job gives.

    Returns
    -------
    MoldResult or StripResult
        Findings, solids and figures; files when they are asked for.

    Raises
    ------
    MoldgenError
        If the job cannot be made: one sentence that says what to change.
    """
    place, tell = Path(folder), progress or quiet
    if isinstance(job, StripJob):
        from moldgen.pipeline.strip.files import strip_output
        from moldgen.pipeline.strip.work import build_work

        shop = shop_from(stock, job.stock, place)
        strip = build_work(job, folder=place, shop=shop, progress=tell)
        return StripResult(output=strip_output(strip), strip=strip)
    if not isinstance(job, Job):
        rule, hint = "a job of a mold or a strip", "load_job reads a job file."
        raise SpecError("job", rule, shown(job), hint)
    from moldgen.pipeline.mold.make import work_out

    asked, shop = job, shop_from(stock, job.stock, place)

    def design(look: FormingLook, tell: Progress) -> MoldWork:
        wanted = replace(asked, forming=replace(asked.forming, look=look))
        return work_out(
            wanted, folder=place, shop=shop, progress=tell, drawings=drawings, memo=KEPT
        )

    return _mold_result(job.forming.look, design, tell)


def adapt(
    file: FileName,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[AdaptArguments],
) -> MoldResult:
    """Make a part, a picture or a height map formable, and the mold of it.

    Parameters
    ----------
    file : path
        A mesh (STL, 3MF, OBJ, PLY, GLB) or a picture (PNG, JPEG, TIFF).
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen adapt --help`` lists.

    Returns
    -------
    MoldResult
        Findings, solids and figures; files when they are asked for.

    Raises
    ------
    MoldgenError
        If it cannot be read or made: one sentence that says what to change.
    """
    shop = shop_from(stock)

    def run(command: AdaptCommand) -> MoldResult:
        from moldgen.pipeline.brought.adapt import design_adapted

        def design(look: FormingLook, tell: Progress) -> MoldWork:
            wanted = replace(command, forming=look)
            return design_adapted(Path(command.file), command=wanted, shop=shop, progress=tell)

        return _mold_result(command.forming, design, progress or quiet)

    return from_arguments(AdaptCommand, run, {"file": file, **options})


def _mold_result(
    look: FormingLook, design: Callable[[FormingLook, Progress], MoldWork], tell: Progress
) -> MoldResult:
    work = design(look, tell)
    return MoldResult(output=work.output, work=work, form_again=design)
