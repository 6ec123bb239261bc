"""The log as a file, JSON, CSV or XLSX, and the notes of such a file into another log."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now, run_with
from moldgen.finding import counted
from moldgen.language import in_words
from moldgen.lesson.class_work.workbook import csv_table, xlsx_tables
from moldgen.lesson.log.note_text import in_time, note_of_words, note_words, reading_text
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.store import insert_note, is_noted, was_removed
from moldgen.lesson.roster.cells import Cells, cells_of_bytes
from moldgen.named_file import bounded_bytes, told
from moldgen.quantity import quantities
from moldgen.wording import one_of
from moldgen.written_number import measure

KIND = "moldgen log"
_VERSION = 1
COLUMNS = tuple(one.name for one in fields(ShotNote))
ENDINGS = (".csv", ".xlsx", ".json")
_HIDDEN = re.compile(r"'+[=+\-@]")
"""A text behind marks that keep it from being a formula."""
_YES = "yes"
_MOST_TOLD = 5
"""Notes that were left out, and are told one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenNotes:
    """What became of the notes of a file.

    Attributes
    ----------
    new : int
        How many were kept.
    known : int
        How many were there already, or had been removed here.
    left_out : tuple of str
        Why others were not kept, a sentence each.
    """

    new: int
    known: int
    left_out: tuple[str, ...] = ()


def log_bytes(notes: Iterable[ShotNote], *, ending: str) -> bytes:
    """Return notes as a file; the same notes give the same bytes.

    Parameters
    ----------
    notes : iterable of ShotNote
        In order.
    ending : str
        One of `ENDINGS`.

    Raises
    ------
    SpecError
        If it is none of them.
    """
    if ending not in ENDINGS:
        raise SpecError("file", f"a name that ends in {one_of(ENDINGS)}", repr(ending))
    if ending == ".json":
        words = {
            "kind": KIND, "version": _VERSION, "notes": [note_words(note) for note in notes],
        }  # fmt: skip
        return (json.dumps(words, ensure_ascii=False, indent=1) + "\n").encode()
    rows = [COLUMNS, *(_shielded(_row(note)) for note in notes)]
    return csv_table(rows) if ending == ".csv" else xlsx_tables([("Log", rows)])


def _row(note: ShotNote) -> tuple[str | float | None, ...]:
    told = {
        "seen": " ".join(note.seen),
        "readings": "; ".join(map(reading_text, note.readings)),
        "mold_ended": _YES if note.mold_ended else "",
    }
    return tuple(told.get(name, getattr(note, name)) for name in COLUMNS)


def _shielded(row: Sequence[Any]) -> list[Any]:
    """Return a row whose marks are told from those that keep a text from being a formula."""
    return [f"'{one}" if isinstance(one, str) and _HIDDEN.match(one) else one for one in row]


def take_over(log: ShotLog, path: Path) -> TakenNotes:
    """Keep the notes of a file that are not there yet, as `keep_notes` does.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or a note in it is wrong; nothing is kept then.
    """
    notes = notes_of_bytes(_content(path), name=told(path))
    return log.change(lambda writer: keep_notes(writer, notes))


def keep_notes(writer: sqlite3.Connection, notes: Iterable[ShotNote]) -> TakenNotes:
    """Keep notes of another log that are not there yet.

    What contradicts a note that is there is left out and told; what was removed here does not
    come back.

    Parameters
    ----------
    writer : Connection
        Within a change.
    notes : iterable of ShotNote
        In the order of time.
    """
    new = known = 0
    left_out = []
    for number, note in enumerate(notes, start=1):
        if is_noted(writer, note) or was_removed(writer, note):
            known += 1
            continue
        try:
            insert_note(writer, note)
            new += 1
        except SpecError as problem:
            left_out.append(f"note {number} ({note.job}, cycle {note.cycle}): {problem}")
    return TakenNotes(new=new, known=known, left_out=tuple(left_out))


def taken_sentences(taken: TakenNotes) -> Iterator[str]:
    """Yield what is told of notes that were taken over: how many, and why others were not."""
    yield in_words(f"{counted(taken.new, 'note')} taken over, {taken.known} known before")
    if not taken.left_out:
        return
    left = len(taken.left_out)
    yield in_words(f"{counted(left, 'note')} left out, for others here say otherwise:")
    yield from map(in_words, taken.left_out[:_MOST_TOLD])
    if left > _MOST_TOLD:
        yield in_words(f"and {left - _MOST_TOLD} more")


def _content(path: Path) -> bytes:
    most = limits_now().log_bytes
    try:
        return bounded_bytes(path, most)
    except OSError as error:
        reason = (error.strerror or "the system refused").lower()
        raise FileError(f"{told(path)} cannot be read: {reason}.") from None


def notes_of_bytes(data: bytes, *, name: str) -> list[ShotNote]:
    """Return the notes of a file that `log_bytes` made, in the order of time.

    A spreadsheet may have saved it since.

    Raises
    ------
    MoldgenError
        If it is none, or a note in it is wrong; the sentence tells which.
    """
    limits = limits_now()
    if len(data) > limits.log_bytes:
        raise FileError(f"{name} is larger than a log can be. Export the jobs one by one.")
    if data.lstrip()[:1] == b"{":
        words = enumerate(_of_json(data, name), start=1)
        listed = [(f"note {number}", one) for number, one in words]
    else:
        roster = replace(
            limits, roster_bytes=limits.log_bytes, roster_rows=limits.log_rows,
            roster_unpacked_bytes=10 * limits.log_bytes,
        )  # fmt: skip
        with run_with(limits=roster):
            listed = list(_of_cells(cells_of_bytes(data, name=name), name))
    if len(listed) > limits.log_rows:
        raise FileError(f"{name} has more than {limits.log_rows:g} notes. Export jobs one by one.")
    return sorted((_read_note(words, f"{name}, {at}") for at, words in listed), key=in_time)


def _read_note(words: Any, place: str) -> ShotNote:
    try:
        return note_of_words(words)
    except SpecError as problem:
        raise problem.at(f"{place}: {problem.field}") from None


def _of_json(data: bytes, name: str) -> list[Any]:
    try:
        words = json.loads(data)
    except (ValueError, RecursionError):
        raise FileError(f"{name} is damaged. Export the log again.") from None
    if words.get("kind") != KIND or not isinstance(words.get("notes"), list):
        raise FileError(f"{name} is no log that moldgen exported.")
    if words.get("version") != _VERSION:
        raise FileError(f"{name} was exported by another version of moldgen.")
    return list(words["notes"])


def _of_cells(rows: Sequence[Cells], name: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the notes of a table, each with its row as a spreadsheet counts them."""
    head = rows[0] if rows else ()
    if "noted" not in head or not set(head) <= {*COLUMNS, ""}:
        raise FileError(f"{name} is no log that moldgen exported: its first row is another one.")
    for number, row in enumerate(rows[1:], start=2):
        cells = {key: _bare(cell) for key, cell in zip(head, row, strict=False) if key}
        if any(cells.values()):
            place = f"row {number}"
            yield place, {key: _read(key, cell, name, place) for key, cell in cells.items() if cell}


def _bare(cell: str) -> str:
    return cell[1:] if _HIDDEN.match(cell) else cell


def _read(key: str, cell: str, name: str, place: str) -> Any:
    if key == "seen":
        return cell.split()
    if key == "readings":
        return [one for one in map(str.strip, cell.split(";")) if one]
    if key == "mold_ended":
        return cell.casefold() == _YES
    quantity = _QUANTITIES.get(key)
    told_at = f"{name}, {place}: {key}"
    return cell if quantity is None else measure(told_at, cell, unit=quantity.unit)


_QUANTITIES = quantities(ShotNote)
