"""Where the result of a command goes: files, JSON, the screen, the exit code."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.screen import Screen, made_json, show_made
from moldgen.errors import FileError
from moldgen.finding import Severity, worst
from moldgen.job import (
    AnyJob,
    job_toml,
)
from moldgen.named_file import path_in

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result

    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """How a command is to be carried out, whatever it makes."""

    out: str = ""
    save_job: str = ""
    also_make: bool = False
    as_json: bool = False
    mend: bool = False
    keep: tuple[str, ...] = ()


def shop_of(stock: str, folder: Path) -> Any:
    """Return everything in stock, with a person's own file if it is named."""
    from moldgen.stock import load_shop

    return load_shop([path_in(folder, stock, field="stock")] if stock else [])


def deliver(made: Result, title: str, delivery: Delivery, screen: Screen) -> int:
    """Write what was made, if there are files, show it, and return the exit code."""
    folder = Path(delivery.out)
    if made.files:
        from moldgen.export.atomic import write_together
        from moldgen.pipeline.file_name import file_name

        folder = folder if delivery.out else Path("outputs") / file_name(title)
        write_together(folder, made.files)
    code = 1 if worst(made.findings) is Severity.STOP else 0
    if delivery.as_json:
        screen.out.write(made_json(made, folder, exit_code=code) + "\n")
    else:
        show_made(made, folder, screen)
    return code


def save_job(job: AnyJob, delivery: Delivery, screen: Screen) -> None:
    """Write the job file that typed words stand for."""
    from moldgen.export.atomic import write_atomic

    path = Path(delivery.save_job)
    if path.exists():
        raise FileError(f"{path} is there already. Choose another name for the job file.")
    write_atomic(path, job_toml(job).encode())
    if not delivery.as_json:
        screen.say(f"job file: {path}", f"To make it: moldgen make {path}")
    elif not delivery.also_make:
        screen.out.write(json.dumps({"job": path.as_posix()}) + "\n")
