"""Where the result of a command goes: files, JSON, the screen, the exit code."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.old_options import tell_notes
from moldgen.cli.screen import Screen, made_json, show_made
from moldgen.errors import FileError
from moldgen.finding import Severity, counted, worst
from moldgen.job import AnyJob, Job, job_toml
from moldgen.job.cluster_words import WorkerWords
from moldgen.job.room import entries_toml, room_entries
from moldgen.named_file import path_in, place_to_write
from moldgen.stock import user_stock_file
from moldgen.user_file import database_file, user_data_folder

if TYPE_CHECKING:
    from moldgen.export.run_folder import Leftovers
    from moldgen.export.swap import Interrupted
    from moldgen.pipeline.result import Result


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """How a command is to be carried out, whatever it makes."""

    out: str = ""
    save_job: str = ""
    also_make: bool = False
    as_json: bool = False
    mend: bool = False
    keep: tuple[str, ...] = ()
    use_log: bool = False
    workers: WorkerWords = field(default_factory=WorkerWords)

    def __post_init__(self) -> None:
        place_to_write(self.out, field="--out")
        place_to_write(self.save_job, field="--save-job")


def shop_of(stock: str, folder: Path, *, use_log: bool = False) -> Any:
    """Return everything in stock, with a person's own file if it is named.

    If wanted also with what the person's own log says of the tables.
    """
    from moldgen.stock import load_shop

    shop = load_shop([path_in(folder, stock, field="stock")] if stock else [])
    if not (use_log and database_file(user_data_folder()).exists()):
        return shop
    from moldgen.lesson.log.call import read_log
    from moldgen.lesson.log.learn import experience_of

    return replace(shop, experience=experience_of([one.note for one in read_log()], shop))


def check_out(delivery: Delivery, screen: Screen) -> None:
    """Raise `FileError` if files cannot be written where they are to go, before work begins.

    What a run that was killed has left there is finished or undone, and told.
    """
    from moldgen.export.atomic import check_folder

    tell_notes(interrupted_texts(check_folder(delivery.out or OUTPUTS)), screen)


def deliver(made: Result, title: str, delivery: Delivery, screen: Screen) -> int:
    """Write what was made, if there are files, show it, and return the exit code."""
    folder = Path(delivery.out)
    notes: list[str] = []
    if made.files:
        from moldgen.export.run_folder import write_run
        from moldgen.pipeline.file_name import file_name

        folder = folder if delivery.out else Path(OUTPUTS) / file_name(title)
        notes = leftover_texts(write_run(folder, made.files))
    code = 1 if worst(made.findings) is Severity.STOP else 0
    if delivery.as_json:
        screen.out.write(made_json(made, folder, exit_code=code) + "\n")
        tell_notes(notes, screen)
    else:
        show_made(made, folder, screen)
        screen.say(*notes)
    return code


OUTPUTS = "outputs"
"""Where files go, in a folder of the title's name, if nobody says otherwise."""


def leftover_texts(left: Leftovers) -> list[str]:
    """Return what is told of the files of an earlier run, a line each."""
    told = [*interrupted_texts(left.interrupted)]
    for what, names, since in (
        ("removed", left.removed, ""),
        ("kept", left.kept, ", changed since"),
    ):
        if names:
            count = counted(len(names), "file")
            told.append(f"{what} {count} of an earlier run{since}: {', '.join(names)}")
    return told


def interrupted_texts(interrupted: Interrupted | None) -> list[str]:
    """Return what is told of a run that was killed while it wrote its files, if there was one."""
    if interrupted is None:
        return []
    what = "its set was finished" if interrupted == "finished" else "the files before it stand"
    return [f"an earlier run was stopped while it wrote its files here: {what}"]


def save_job(job: AnyJob, delivery: Delivery, screen: Screen) -> None:
    """Write the job file that typed words stand for.

    A table or a printer of the room's own goes beside it as a stock file, so that the job gives
    the same wherever it is made.
    """
    from moldgen.export.atomic import write_together

    path = Path(delivery.save_job)
    job, files = _with_own_entries(job, path.stem)
    for name in (path.name, *files):
        if (there := path.with_name(name)).exists():
            raise FileError(f"{there} is there already. Choose another name for the job file.")
    interrupted = write_together(path.parent, {path.name: job_toml(job).encode(), **files})
    tell_notes(interrupted_texts(interrupted), screen)
    if not delivery.as_json:
        screen.say(f"job file: {path}", f"To make it: moldgen make {path}")
    elif not delivery.also_make:
        screen.out.write(json.dumps({"job": path.as_posix()}) + "\n")


def _with_own_entries(job: AnyJob, stem: str) -> tuple[AnyJob, dict[str, bytes]]:
    """Return a job that names a stock file with what it uses of the room's own, and that file."""
    names = {"printer": job.printer, "machine": job.machine if isinstance(job, Job) else ""}
    used = {
        kind: {name: fields for name, fields in named.items() if name == names.get(kind)}
        for kind, named in room_entries(user_stock_file()).items()
    }
    if job.stock or not any(used.values()):
        return job, {}
    name = f"{stem}-stock.toml"
    return replace(job, stock=name), {name: entries_toml(used).encode()}
