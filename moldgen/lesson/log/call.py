"""The log from Python: notes added, read and removed."""

from __future__ import annotations

import sqlite3
from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import Unpack

from moldgen.api.jobs import from_arguments
from moldgen.api.options import NoteArguments
from moldgen.lesson.log.add import add_typed
from moldgen.lesson.log.command import LogAddCommand
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.store import NoteChoice, StoredNote, find_notes, known_name

_OUTPUTS = Path("outputs")


def add_note(
    file: str | PathLike[str] = "",
    *,
    now: datetime | None = None,
    data: str | PathLike[str] | None = None,
    **options: Unpack[NoteArguments],
) -> StoredNote:
    """Keep what happened at one shot.

    Parameters
    ----------
    file : path, optional
        Job file of the mold, or the folder that ``make`` wrote; left out, ``job`` names one that
        the log knows.
    now : datetime, optional
        When it was; the clock's time if left out, unless ``on`` says another day.
    data : path, optional
        Folder of the log; the person's own if left out.
    **options
        What ``moldgen log add --help`` lists: ``heated_s=52, seen=["web", "thin"]``.

    Returns
    -------
    StoredNote
        The note as it is kept, with its number.

    Raises
    ------
    SpecError
        If a value is wrong, or contradicts an earlier note.
    FileError
        If the job or the log cannot be read or written.
    """

    def run(words: LogAddCommand) -> StoredNote:
        with ShotLog(_folder(data)) as log:
            return add_typed(log, words, now=now or datetime.now(), folder=Path(), outputs=_OUTPUTS)

    return from_arguments(LogAddCommand, run, {"file": file, **options})


def read_log(
    *,
    job: str = "",
    machine: str = "",
    plastic: str = "",
    data: str | PathLike[str] | None = None,
) -> tuple[StoredNote, ...]:
    """Return the notes of the log, mold by mold, of each the newest last.

    Parameters
    ----------
    job, machine, plastic : str
        Only notes of these, in capitals or not; of all if left out.
    data : path, optional
        Folder of the log; the person's own if left out.

    Raises
    ------
    SpecError
        If the log has no note of one of them.
    FileError
        If it cannot be read.
    """
    with ShotLog(_folder(data)) as log:
        return tuple(chosen_notes(log, job=job, machine=machine, plastic=plastic))


def chosen_notes(log: ShotLog, *, job: str, machine: str, plastic: str) -> list[StoredNote]:
    """Return the notes of a job, a machine and a plastic as somebody types them; all if empty.

    Raises
    ------
    SpecError
        If the log has no note of one of them.
    """
    typed = {"job": job, "machine": machine, "plastic": plastic}

    def look(reader: sqlite3.Connection) -> list[StoredNote]:
        names = {field: known_name(reader, field, words) for field, words in typed.items() if words}
        return find_notes(reader, NoteChoice(**names))

    return log.read(look)


def remove_note(number: int, *, data: str | PathLike[str] | None = None) -> ShotNote:
    """Remove a note for good, with its picture, and return it.

    Parameters
    ----------
    number : int
        Its number.
    data : path, optional
        Folder of the log; the person's own if left out.

    Returns
    -------
    ShotNote
        What it said.

    Raises
    ------
    SpecError
        If there is none of that number.
    FileError
        If the log cannot be written.
    """
    with ShotLog(_folder(data)) as log:
        return log.remove(number)


def _folder(data: str | PathLike[str] | None) -> Path | None:
    return None if data is None else Path(data)
