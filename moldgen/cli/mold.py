"""What each command does: words in, one call, files out, the result shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from moldgen.cli.deliver import Delivery, deliver, save_job, shop_of
from moldgen.cli.first_use import prepare_job
from moldgen.cli.options import as_option, moved_path, moved_paths, spec_from_options
from moldgen.cli.progress import Progress
from moldgen.cli.screen import Screen, show_mended
from moldgen.errors import FileError, OutlineError, SpecError
from moldgen.job import (
    DrawingCommand,
    Job,
    SignCommand,
    TrayCommand,
    drawing_job,
    sign_job,
    tray_job,
)
from moldgen.job.command.mold import MoldOptions
from moldgen.job.command.nest import NestCommand, nest_job


def do_mold(
    builder: Callable[[Any], Job],
    spec: type[MoldOptions],
    given: Mapping[str, Any],
    delivery: Delivery,
    screen: Screen,
) -> int:
    """Carry out a short command: make the mold, or write the job file it stands for.

    Parameters
    ----------
    builder : Callable[[Any], Job]
        Makes the job of the options.
    spec : type[MoldOptions]
        What the command can say.
    given : Mapping[str, Any]
        What was typed, by field.
    delivery : Delivery
        Where the result goes.
    screen : Screen
        Where it is shown.
    """
    if delivery.also_make and not delivery.save_job:
        raise SpecError("--also-make", "used with --save-job", "no --save-job", "Name a job file.")
    folder = Path(delivery.save_job).parent if delivery.save_job else Path()
    words = moved_paths(spec_from_options(spec, given), folder)
    try:
        job = mended(builder(words), folder, delivery, screen)
        if delivery.save_job:
            job = _chosen(job, folder)
            save_job(job, delivery, screen)
        if delivery.save_job and not delivery.also_make:
            return 0
        return make_and_deliver(job, folder, delivery, screen)
    except SpecError as problem:
        raise as_option(problem, spec) from None


def do_sign(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a sign of words."""
    return do_mold(sign_job, SignCommand, given, delivery, screen)


def do_tray(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a tray of numbers."""
    return do_mold(tray_job, TrayCommand, given, delivery, screen)


def do_nest(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a tray of nests for things."""
    folder = Path(delivery.save_job).parent if delivery.save_job else Path()

    def build(words: NestCommand) -> Job:
        from moldgen.printing.bed_fit import usable_bed_mm

        printer = shop_of(words.stock, folder).printer(words.printer)
        return nest_job(
            words,
            bed_mm=usable_bed_mm(printer)[:2],
            from_folder=lambda file: moved_path(file, folder),
        )

    return do_mold(build, NestCommand, given, delivery, screen)


def do_raise(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a mold of a drawing or a library shape."""
    return do_mold(drawing_job, DrawingCommand, given, delivery, screen)


def mended(job: Job, folder: Path, delivery: Delivery, screen: Screen) -> Job:
    """Return the job, mended and told of if that is wanted.

    Raises
    ------
    SpecError
        If something is to be kept and nothing is mended.
    """
    if not delivery.mend:
        if delivery.keep:
            raise SpecError(
                "--keep", "used with --mend", "no --mend", "Add --mend, or leave it out."
            )
        return job
    from moldgen.pipeline.mold.mend import mend

    shop = shop_of(job.stock, folder)
    prepare_job(job, screen)
    found = mend(job, folder=folder, shop=shop, refuse=delivery.keep)
    if not delivery.as_json:
        show_mended(found, screen)
    return found.job


def _chosen(job: Job, folder: Path) -> Job:
    """Return the job with what it leaves open chosen, so that its file holds the values.

    A drawing or a font may still be missing when the job file is written.
    """
    from moldgen.pipeline.mold.choose import choose
    from moldgen.pipeline.setting import setting_of

    setting = setting_of(job, shop_of(job.stock, folder))
    try:
        return choose(job, setting=setting, folder=folder).job
    except (FileError, OutlineError):
        return job


def make_and_deliver(job: Job, folder: Path, delivery: Delivery, screen: Screen) -> int:
    """Make a job's mold and hand over what it asks for; return the exit code."""
    shop = shop_of(job.stock, folder)
    from moldgen.pipeline.mold.make import make  # only now: it brings all the geometry along

    prepare_job(job, screen)
    with Progress(screen) as progress:
        made = make(job, folder=folder, shop=shop, progress=progress)
    return deliver(made, job.title, delivery, screen)
