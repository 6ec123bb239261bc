"""From a job to everything it asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from moldgen.finding import Finding, Severity
from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.old_words import OLD_WORDS, each_once, old_word_text
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.made import Result
from moldgen.pipeline.mold.files import mold_made
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
    told = old_word_notes(each_once((*job.old_words, *shop.old_words)))
    mold = replace(mold, findings=(*mold.findings, *told))
    return mold_made(job, mold, design.setting, design.rules, progress, working=day)


def old_word_notes(old: Iterable[str]) -> Iterator[Finding]:
    """Yield a note on every word of version 0.1."""
    for word in old:
        yield Finding(
            code="old-word",
            severity=Severity.NOTE,
            says=old_word_text(word),
            basis="words of version 0.1 are read as well",
            advice=f"Write {OLD_WORDS[word]}.",
        )
