"""What each command does: words in, one call, files out, the result shown."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli_show import Made, Progress, Screen, made_json, show_made
from moldgen.cli_words import as_option, moved_paths, spec_from_options, typed_value
from moldgen.errors import FileError, SpecError
from moldgen.finding import Severity, worst
from moldgen.job import (
    AnyJob,
    CheckWords,
    DrawingWords,
    Job,
    SignWords,
    StripJob,
    TrayWords,
    drawing_job,
    job_toml,
    load_job,
    sign_job,
    tray_job,
)
from moldgen.job.command_words import MakeWords, MoldWords
from moldgen.job.form import form_of
from moldgen.quantity import Spec

if TYPE_CHECKING:
    from moldgen.stock import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How a command is to be carried out, whatever it makes."""

    out: str = ""
    save_job: str = ""
    also_make: bool = False
    as_json: bool = False


def do_mold(
    builder: Callable[[Any], Job], spec: type[MoldWords], given: Mapping[str, Any], wish: Wish,
    screen: Screen,
) -> int:  # fmt: skip
    """Carry out a short command: make the mold, or write the job file it stands for."""
    if wish.also_make and not wish.save_job:
        raise SpecError("--also-make", "used with --save-job", "no --save-job", "Name a job file.")
    folder = Path(wish.save_job).parent if wish.save_job else Path()
    words = moved_paths(spec_from_options(spec, given), folder)
    try:
        job = builder(words)
        if wish.save_job:
            save_job(job, wish, screen)
        if wish.save_job and not wish.also_make:
            return 0
        return _make(job, folder, wish, screen)
    except SpecError as problem:
        raise as_option(problem, spec) from None


def do_sign(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make a sign of words."""
    return do_mold(sign_job, SignWords, given, wish, screen)


def do_tray(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make a tray of numbers."""
    return do_mold(tray_job, TrayWords, given, wish, screen)


def do_raise(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make a mold of a drawing or a library shape."""
    return do_mold(drawing_job, DrawingWords, given, wish, screen)


def do_make(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make what a job file says, on this day's sheet and machines if they are given."""
    path = Path(given.get("file", ""))
    job = load_job(path)
    if isinstance(job, StripJob):
        from moldgen.cli_bend import make_loaded

        return make_loaded(job, path, given, wish, screen)
    try:
        return _make(changed(job, given), path.parent, wish, screen)
    except SpecError as problem:
        told = as_option(problem, MakeWords)
        if told.field.removeprefix("--").replace("-", "_") in given:
            raise told from None
        field = f"{path.name}: {problem.field}"
        raise SpecError(field, problem.rule, problem.got, problem.hint) from None


def do_words(
    spec: type[Spec],
    run: Callable[[Any, Shop, Progress], Made],
    given: Mapping[str, Any],
    wish: Wish,
    screen: Screen,
    *,
    title: Callable[[Any, Made], str] = lambda words, made: made.title,
) -> int:
    """Read words into their specification, carry them out in this shop, and deliver the files.

    What carries them out is imported by ``run``, once the words are known to be good.
    """
    words: Any = spec_from_options(spec, given)
    try:
        shop = shop_of(words.stock, Path())
        with Progress(screen) as progress:
            made = run(words, shop, progress)
    except SpecError as problem:
        raise as_option(problem, spec) from None
    return deliver(made, title(words, made), wish, screen)


def do_check(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Check a part that somebody else made."""

    def run(words: CheckWords, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline import check

        return check(Path(words.file), words=words, shop=shop, progress=progress)

    def title(words: CheckWords, made: Made) -> str:
        return f"{Path(words.file).stem} check"

    return do_words(CheckWords, run, given, wish, screen, title=title)


def changed(job: Job, given: Mapping[str, Any]) -> Job:
    """Return the job with what was typed in place of what its file says."""
    typed = {
        line.field: typed_value(line, given[line.field])
        for line in form_of(MakeWords)
        if line.field in given and line.field != "file"
    }
    if "stock" in typed:
        typed["stock"] = str(Path(typed["stock"]).resolve())
    sheet = {field: typed.pop(field) for field in ("plastic", "gauge_mm") if field in typed}
    output = {field: typed.pop(field) for field in ("formats", "paper") if field in typed}
    return replace(
        job, sheet=replace(job.sheet, **sheet), output=replace(job.output, **output), **typed
    )


def _make(job: Job, folder: Path, wish: Wish, screen: Screen) -> int:
    shop = shop_of(job.stock, folder)
    import moldgen.pipeline as pipeline  # only now: it brings all the geometry along

    with Progress(screen) as progress:
        made = pipeline.make(job, folder=folder, shop=shop, progress=progress)
    return deliver(made, job.title, wish, screen)


def shop_of(stock: str, folder: Path) -> Any:
    """Return everything in stock, with a person's own file if it is named."""
    from moldgen.stock import load_shop

    return load_shop([folder / stock] if stock else [])


def deliver(made: Made, title: str, wish: Wish, screen: Screen) -> int:
    """Write what was made, if there are files, show it, and return the exit code."""
    folder = Path(wish.out)
    if made.files:
        from moldgen.export.atomic import write_together
        from moldgen.pipeline.file_name import file_name

        folder = folder if wish.out else Path("outputs") / file_name(title)
        write_together(folder, made.files)
    code = 1 if worst(made.findings) is Severity.STOP else 0
    if wish.as_json:
        screen.out.write(made_json(made, folder, exit_code=code) + "\n")
    else:
        show_made(made, folder, screen)
    return code


def save_job(job: AnyJob, wish: Wish, screen: Screen) -> None:
    """Write the job file that typed words stand for."""
    from moldgen.export.atomic import write_atomic

    path = Path(wish.save_job)
    if path.exists():
        raise FileError(f"{path} is there already. Choose another name for the job file.")
    write_atomic(path, job_toml(job).encode())
    if not wish.as_json:
        screen.say(f"job file: {path}", f"To make it: moldgen make {path}")
    elif not wish.also_make:
        screen.out.write(json.dumps({"job": path.as_posix()}) + "\n")
