"""From a job to everything it asks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.finding import Finding, Severity
from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.memo import Memo
from moldgen.old_words import each_once, old_word_text, today_of
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mold.files import mold_output
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress
from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.pipeline.mold.day import TableDay
    from moldgen.pipeline.mold.design import MoldDesign


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldWork:
    """A mold worked out to its day at the table, and what its files are made of.

    Attributes
    ----------
    design : MoldDesign
        What it was made from, and how its air gets out.
    mold : Mold
        The mold, with all that was found.
    day : TableDay
        Heating, cooling and release at the table.
    output : Output
        What can be written.
    """

    design: MoldDesign
    mold: Mold
    day: TableDay
    output: Output


def make(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    progress: Progress,
    chosen: tuple[ChosenValue, ...] = (),
) -> Result:
    """Make everything a job asks for; see `work_out`."""
    work = work_out(job, folder=folder, shop=shop, progress=progress, chosen=chosen)
    return work.output.render(progress=progress)


def work_out(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    progress: Progress,
    drawings: Mapping[str, Drawing] | None = None,
    memo: Memo | None = None,
    chosen: tuple[ChosenValue, ...] = (),
) -> MoldWork:
    """Work out the mold of a job; nothing is drawn or packed yet.

    Parameters
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told of each stage as it begins.
    drawings : mapping, optional
        Drawings in hand, by the name of the SVG file that the job gives for them.
    memo : Memo, optional
        Keeps what is computed for other designs too.
    chosen : tuple of ChosenValue
        What was chosen for the job before, so that it leaves it open no more.

    Raises
    ------
    MoldgenError
        If the job cannot be made: one sentence that says what to change.
    """
    # Heat, air and release are needed here only, and not for checking a part.
    from moldgen.pipeline.mold.design import design_mold

    job = with_names(job)
    tell = telling_first_use(progress)
    design = design_mold(job, folder=folder, shop=shop, progress=tell, drawings=drawings, memo=memo)
    mold, day = design.mold, design.day
    notes = tuple(old_word_notes(each_once((*job.old_words, *shop.old_words))))
    mold = replace(mold, findings=(*mold.findings, *notes)) if notes else mold
    settled = design.request
    assert isinstance(settled, Job)
    output = _output(settled, mold, design, chosen)
    return MoldWork(design=design, mold=mold, day=day, output=output)


def _output(job: Job, mold: Mold, design: MoldDesign, chosen: tuple[ChosenValue, ...]) -> Output:
    """Return what becomes of a mold: of a print, or of boards."""
    setting, rules, day = design.setting, design.rules, design.day
    choices = (*chosen, *design.choices)
    if setting.is_printed:
        return mold_output(job, mold, setting, rules, day=day, choices=choices)
    from moldgen.pipeline.mold.wood_files import wood_output

    bodies = design.features.bodies
    return wood_output(job, mold, setting, rules, bodies=bodies, day=day, choices=choices)


def old_word_notes(old: Iterable[str]) -> Iterator[Finding]:
    """Yield a note on every word of version 0.1."""
    for word in old:
        yield Finding(
            code="old-word",
            severity=Severity.NOTE,
            says=old_word_text(word),
            basis="words of version 0.1 are read as well",
            advice=f"Write {today_of(word)}.",
        )
