"""The bend command, and making the job file of a bent strip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldgen.cli.deliver import Delivery, check_out, deliver, save_job, shop_of
from moldgen.cli.first_use import prepare_use
from moldgen.cli.old_options import tell_old_words
from moldgen.cli.options import as_option, moved_paths, name_of, spec_from_options, typed_value
from moldgen.cli.progress import Progress
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job import BendCommand, StripJob, strip_job
from moldgen.job.command.mold import MakeCommand
from moldgen.job.form import form_of
from moldgen.old_words import new_name


def do_bend(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a bent strip of typed numbers, or write the job file they stand for."""
    if delivery.also_make and not delivery.save_job:
        raise SpecError("--also-make", "used with --save-job", "no --save-job", "Name a job file.")
    folder = Path(delivery.save_job).parent if delivery.save_job else Path()
    words = moved_paths(spec_from_options(BendCommand, given), folder)
    try:
        job = strip_job(words)
        if delivery.save_job:
            job = _chosen(job, folder)
            save_job(job, delivery, screen)
        if delivery.save_job and not delivery.also_make:
            return 0
        return _make(job, folder, delivery, screen)
    except SpecError as problem:
        raise _told_by_option(problem) from None


def _chosen(job: StripJob, folder: Path) -> StripJob:
    """Return the job with what it leaves open chosen, so that its file holds the values."""
    from moldgen.pipeline.strip.choose import choose_strip

    return choose_strip(job, folder=folder, shop=shop_of(job.stock, folder)).job


def make_loaded(
    job: StripJob, path: Path, given: Mapping[str, Any], delivery: Delivery, screen: Screen
) -> int:
    """Make the strip of a job file, on this day's sheet and machines if they are given.

    Parameters
    ----------
    job : StripJob
        What the file says.
    path : Path
        The job file; other files are looked for beside it.
    given : Mapping[str, Any]
        What was typed, by field.
    delivery : Delivery
        Where the result goes.
    screen : Screen
        Where it is shown.
    """
    if new_name("printer", job.printer) != job.printer:
        tell_old_words([job.printer.casefold()], screen)
    try:
        return _make(changed_strip(job, given), path.parent, delivery, screen)
    except SpecError as problem:
        by_option = as_option(problem, MakeCommand)
        if by_option.field.removeprefix("--").replace("-", "_") in given:
            raise by_option from None
        if problem.field.startswith("--"):
            raise
        raise problem.at(f"{path.name}: {problem.field}") from None


def changed_strip(job: StripJob, given: Mapping[str, Any]) -> StripJob:
    """Return the job with what was typed in place of what its file says.

    Raises
    ------
    SpecError
        If a value is wrong, or the option is for molds only.
    """
    typed = {
        line.field: typed_value(line, given[line.field])
        for line in form_of(MakeCommand)
        if line.field in given and line.field != "file"
    }
    if "machine" in typed:
        hint = "A strip is bent on a strip heater: write strip_heater in the job file."
        raise SpecError("--machine", "left out for a bent strip", repr(typed["machine"]), hint)
    if "stock" in typed:
        typed["stock"] = str(Path(typed["stock"]).resolve())
    fields = {"plastic": "plastic", "gauge_mm": "thickness_mm"}
    strip = {own: typed.pop(field) for field, own in fields.items() if field in typed}
    output = {field: typed.pop(field) for field in ("formats", "paper", "units") if field in typed}
    return replace(
        job, strip=replace(job.strip, **strip), output=replace(job.output, **output), **typed
    )


def _told_by_option(problem: SpecError) -> SpecError:
    """Return a failure with the option in place of the field of the job it stands for."""
    by_option = as_option(problem, BendCommand)
    if by_option is not problem:
        return by_option
    field = problem.field.removeprefix("strip: ")
    if field.startswith("strip, bend ") or field == "bend":
        place = "--angles" if field == "bend" or "angle" in field else f"--{field.split(': ')[-1]}"
        return problem.at(place)
    for line in form_of(BendCommand):
        word, _, rest = field.partition(" ")
        if word in (line.word, line.field):
            return problem.at(f"{name_of(line)} {rest}".strip())
    return problem.at(field)


def _make(job: StripJob, folder: Path, delivery: Delivery, screen: Screen) -> int:
    check_out(delivery, screen)
    shop = shop_of(job.stock, folder)
    tell_old_words(shop.old_words, screen)
    from moldgen.pipeline.strip.make import make_strip  # only now: it brings all the geometry along

    prepare_use("bend", screen, formats=job.output.formats)
    with Progress(screen) as progress:
        made = make_strip(job, folder=folder, shop=shop, progress=progress)
    return deliver(made, job.title, delivery, screen)
