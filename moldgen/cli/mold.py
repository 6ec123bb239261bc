"""What each command does: words in, one call, files out, the result shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from moldgen.cli.deliver import Delivery, check_out, deliver, save_job, shop_of
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
from moldgen.named_file import path_in
from moldgen.units_text import read_in

if TYPE_CHECKING:
    from moldgen.pipeline.chosen_value import ChosenValue


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
        job, told = mended(builder(words), folder, delivery, screen)
        if delivery.save_job:
            job, more = _chosen(job, folder)
            told = (*told, *more)
            save_job(job, delivery, screen)
        if delivery.save_job and not delivery.also_make:
            return 0
        return make_and_deliver(job, folder, delivery, screen, told=told)
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


_Told: TypeAlias = "tuple[ChosenValue, ...]"


def mended(job: Job, folder: Path, delivery: Delivery, screen: Screen) -> tuple[Job, _Told]:
    """Return the job, mended and told of if that is wanted, and what was chosen for it.

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
        if delivery.workers.is_said:
            raise SpecError(
                "--workers and --cluster", "used with --mend", "no --mend",
                "Add --mend, or leave them out.",
            )  # fmt: skip
        return job, ()
    from moldgen.pipeline.mold.mend import mend
    from moldgen.pool.workers import chosen_workers
    from moldgen.stock.shop import own_stock_texts

    if delivery.also_make or not delivery.save_job:
        check_out(delivery, screen)
    shop = shop_of(job.stock, folder, use_log=delivery.use_log)
    prepare_job(job, screen)
    stock = own_stock_texts([path_in(folder, job.stock, field="stock")] if job.stock else [])
    with Progress(screen) as progress, chosen_workers(delivery.workers) as pool:
        found = mend(
            job, folder=folder, shop=shop, refuse=delivery.keep, pool=pool, stock=stock,
            progress=progress,
        )  # fmt: skip
    if not delivery.as_json:
        with read_in(job.output.units):
            show_mended(found, screen)
    return found.job, found.choices


def _chosen(job: Job, folder: Path) -> tuple[Job, _Told]:
    """Return the job with what it leaves open chosen, so that its file holds the values.

    A drawing or a font may still be missing when the job file is written.
    """
    from moldgen.pipeline.mold.choose import choose
    from moldgen.pipeline.setting import setting_of

    shop = shop_of(job.stock, folder)
    try:
        chosen = choose(
            job, setting=setting_of(job, shop), folder=folder, filaments=shop.filaments.entries
        )
    except (FileError, OutlineError):
        return job, ()
    return chosen.job, chosen.choices


def make_and_deliver(
    job: Job, folder: Path, delivery: Delivery, screen: Screen, *, told: _Told = ()
) -> int:
    """Make a job's mold and hand over what it asks for; return the exit code.

    Parameters
    ----------
    job : Job
        What is to be made.
    folder : Path
        Where paths in the job start.
    delivery : Delivery
        Where the result goes.
    screen : Screen
        Where it is shown.
    told : tuple of ChosenValue
        What was chosen for the job before.
    """
    check_out(delivery, screen)
    shop = shop_of(job.stock, folder, use_log=delivery.use_log)
    from moldgen.pipeline.mold.make import make  # only now: it brings all the geometry along

    prepare_job(job, screen)
    with Progress(screen) as progress:
        made = make(job, folder=folder, shop=shop, progress=progress, chosen=told)
    return deliver(made, job.title, delivery, screen)
