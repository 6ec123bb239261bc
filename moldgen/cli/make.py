"""The make command: what a job file says, changed by what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery
from moldgen.cli.mold import make_and_deliver, mended
from moldgen.cli.options import as_option, typed_value
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job import (
    Job,
    StripJob,
    load_job,
)
from moldgen.job.command.mold import MakeCommand
from moldgen.job.form import form_of

if TYPE_CHECKING:
    pass


def do_make(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make what a job file says, on this day's sheet and machines if they are given."""
    path = Path(given.get("file", ""))
    job = load_job(path)
    if isinstance(job, StripJob):
        from moldgen.cli.strip import make_loaded

        return make_loaded(job, path, given, delivery, screen)
    try:
        job, choices = mended(changed(job, given), path.parent, delivery, screen)
        return make_and_deliver(job, path.parent, delivery, screen, told=choices)
    except SpecError as problem:
        told = as_option(problem, MakeCommand)
        if told.field.removeprefix("--").replace("-", "_") in given:
            raise told from None
        raise problem.at(f"{path.name}: {problem.field}") from None


def changed(job: Job, given: Mapping[str, Any]) -> Job:
    """Return the job with what was typed in place of what its file says."""
    typed = {
        line.field: typed_value(line, given[line.field])
        for line in form_of(MakeCommand)
        if line.field in given and line.field != "file"
    }
    if "stock" in typed:
        typed["stock"] = str(Path(typed["stock"]).resolve())
    sheet = {field: typed.pop(field) for field in ("plastic", "gauge_mm") if field in typed}
    output = {field: typed.pop(field) for field in ("formats", "paper", "units") if field in typed}
    return replace(
        job, sheet=replace(job.sheet, **sheet), output=replace(job.output, **output), **typed
    )
