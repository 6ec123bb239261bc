"""The notes of the log in the file that the page keeps everything in, or in one of their own.

Several programs may write at once. What a function changes is a part of the change that is being
made with its connection (`moldgen.sqlite_file.one_change`).
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import groupby

from moldgen.errors import SpecError
from moldgen.lesson.log.note_text import in_time, note_words, stored_note
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.sqlite_file import one_change
from moldgen.wording import nearest

_TABLES = (
    "CREATE TABLE IF NOT EXISTS shot_note ("
    " number INTEGER PRIMARY KEY AUTOINCREMENT,"  # never given twice
    " job TEXT NOT NULL, mold TEXT NOT NULL, cycle INTEGER NOT NULL, noted TEXT NOT NULL,"
    " machine TEXT NOT NULL, plastic TEXT NOT NULL, ended INTEGER NOT NULL,"
    " class_id INTEGER,"  # of the page, if somebody of a class noted it
    " note TEXT NOT NULL,"  # all of it, JSON
    " UNIQUE (job, mold, cycle, noted))",
    # Marks of notes that were removed, so that another machine's log does not bring them back.
    "CREATE TABLE IF NOT EXISTS shot_note_removed (mark TEXT PRIMARY KEY) WITHOUT ROWID",
)
_ORDER = " ORDER BY job, mold, noted, number"


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredNote:
    """A note with the number by which it is called.

    Attributes
    ----------
    number : int
        Its number.
    note : ShotNote
        What it says.
    """

    number: int
    note: ShotNote


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteChoice:
    """Which notes are wanted; all if nothing is said.

    Attributes
    ----------
    job, machine, plastic : str
        Of these alone.
    """

    job: str = ""
    machine: str = ""
    plastic: str = ""


def prepare_log(connection: sqlite3.Connection) -> None:
    """Make the tables of the log, if they are not there."""
    (count,) = connection.execute(
        "SELECT count(*) FROM sqlite_master WHERE name IN ('shot_note', 'shot_note_removed')"
    ).fetchone()
    if count == len(_TABLES):
        return
    with one_change(connection):
        for table in _TABLES:
            connection.execute(table)


def insert_note(
    writer: sqlite3.Connection, note: ShotNote, *, counted: bool = True, class_id: int | None = None
) -> StoredNote:
    """Keep a note.

    Parameters
    ----------
    writer : Connection
        Within a change.
    note : ShotNote
        Tidied.
    counted : bool
        Whether the cycle of the note holds; otherwise it is the one after the last of its mold.
    class_id : int, optional
        Class of the page that noted it.

    Raises
    ------
    SpecError
        If it is there already, or contradicts another one; the sentence tells its number.
    """
    same_mold = _notes_of_mold(writer, note.job, note.mold)
    if not counted:
        note = replace(note, cycle=_next_in(_life_at(same_mold, note), note))
    _refuse_contradiction(note, same_mold)
    done = writer.execute(
        "INSERT INTO shot_note"
        " (job, mold, cycle, noted, machine, plastic, ended, class_id, note)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            note.job, note.mold, note.cycle, note.noted, note.machine, note.plastic,
            note.mold_ended, class_id, json.dumps(note_words(note), ensure_ascii=False),
        ),
    )  # fmt: skip
    writer.execute("DELETE FROM shot_note_removed WHERE mark = ?", (_mark(note),))
    return StoredNote(number=int(done.lastrowid or 0), note=note)


def find_notes(
    connection: sqlite3.Connection,
    choice: NoteChoice | None = None,
    *,
    latest: int | None = None,
    before: int | None = None,
) -> list[StoredNote]:
    """Return notes: mold by mold, of each the newest last; the latest ones newest first.

    Parameters
    ----------
    connection : Connection
        Of the log's file.
    choice : NoteChoice, optional
        Which ones.
    latest : int, optional
        Only so many, those that were noted last.
    before : int, optional
        Only those with smaller numbers.
    """
    wanted = choice or NoteChoice()
    asked = [(name, getattr(wanted, name)) for name in ("job", "machine", "plastic")]
    where = [(f"{name} = ?", value) for name, value in asked if value]
    if before is not None:
        where.append(("number < ?", before))
    query = "SELECT number, note FROM shot_note"
    if where:
        query += f" WHERE {' AND '.join(words for words, _ in where)}"
    query += _ORDER if latest is None else " ORDER BY number DESC LIMIT ?"
    values = [value for _, value in where] + ([] if latest is None else [latest])
    return [_stored(row) for row in connection.execute(query, values)]


def log_mark(connection: sqlite3.Connection) -> tuple[int, ...]:
    """Return numbers that change whenever notes come, go, or lose what persons wrote."""
    (mark,) = connection.execute(
        "SELECT (SELECT max(seq) FROM sqlite_sequence WHERE name = 'shot_note'),"
        " count(*), count(class_id) FROM shot_note"
    )
    return tuple(int(number or 0) for number in mark)


def notes_beside(stored: StoredNote | None, notes: Sequence[StoredNote]) -> list[ShotNote]:
    """Return all notes but one, since a part is not held against itself; or all of them."""
    return [one.note for one in notes if stored is None or one.number != stored.number]


def find_note(connection: sqlite3.Connection, number: int) -> StoredNote:
    """Return the note of a number.

    Raises
    ------
    SpecError
        If there is none.
    """
    row = connection.execute(
        "SELECT number, note FROM shot_note WHERE number = ?", (number,)
    ).fetchone()
    if row is None:
        hint = "moldgen log show tells the numbers."
        raise SpecError("number", "that of a note", str(number), hint)
    return _stored(row)


def known_name(connection: sqlite3.Connection, field: str, typed: str) -> str:
    """Return how the log writes a job, machine or plastic that somebody types.

    Raises
    ------
    SpecError
        If it has no note of it.
    """
    if field not in ("job", "machine", "plastic"):
        raise ValueError(field)
    rows = connection.execute(f"SELECT DISTINCT {field} FROM shot_note ORDER BY {field}")
    names = [row[field] for row in rows]
    plain = " ".join(typed.casefold().split())
    for name in names:
        if name.casefold() == plain:
            return str(name)
    hint = nearest(typed[:60], names, most=2) if names else "The log is empty."
    raise SpecError(field, "one that the log has a note of", repr(typed[:60]), hint)


def next_cycle(connection: sqlite3.Connection, job: str, mold: str = "") -> int:
    """Return which shot on a mold comes next: 1 if there was none, or the last mold ended."""
    lives = list(_lives(_notes_of_mold(connection, job, mold)))
    if not lives or lives[-1][-1].note.mold_ended:
        return 1
    return _cycle_after(lives[-1])


def delete_note(writer: sqlite3.Connection, number: int) -> ShotNote:
    """Remove a note for good, and return it.

    Raises
    ------
    SpecError
        If there is none of that number.
    """
    note = find_note(writer, number).note
    writer.execute("DELETE FROM shot_note WHERE number = ?", (number,))
    writer.execute("INSERT OR IGNORE INTO shot_note_removed VALUES (?)", (_mark(note),))
    return note


def photo_is_used(connection: sqlite3.Connection, photo: str) -> bool:
    """Tell whether a note names a picture."""
    rows = connection.execute(
        "SELECT 1 FROM shot_note WHERE json_extract(note, '$.photo') = ? LIMIT 1", (photo,)
    )
    return rows.fetchone() is not None


def was_removed(connection: sqlite3.Connection, note: ShotNote) -> bool:
    """Tell whether this note was here and was removed."""
    rows = connection.execute("SELECT 1 FROM shot_note_removed WHERE mark = ?", (_mark(note),))
    return rows.fetchone() is not None


def is_noted(connection: sqlite3.Connection, note: ShotNote) -> bool:
    """Tell whether the shot of a note is noted already."""
    rows = connection.execute(
        "SELECT 1 FROM shot_note WHERE job = ? AND mold = ? AND cycle = ? AND noted = ?",
        (note.job, note.mold, note.cycle, note.noted),
    )
    return rows.fetchone() is not None


def forget_people(writer: sqlite3.Connection, class_id: int) -> list[str]:
    """Take out of notes what persons of a class wrote; the figures stay, for they are the table's.

    Jobs and molds, which may be called as somebody is, lose their names and stay apart.

    Returns
    -------
    list of str
        Pictures that no note names any longer.
    """
    rows = writer.execute(
        "SELECT number, note FROM shot_note WHERE class_id = ?", (class_id,)
    ).fetchall()
    photos = []
    for one in map(_stored, rows):
        photos.append(one.note.photo)
        kept = "".join(_letters_of(one.note.job, one.note.mold, str(class_id)))
        bare = replace(
            one.note, job="Mold of a class", mold=kept, who="", remark="", photo="",
        )  # fmt: skip
        text = json.dumps(note_words(bare), ensure_ascii=False)
        writer.execute(
            "UPDATE shot_note SET job = ?, mold = ?, class_id = NULL, note = ? WHERE number = ?",
            (bare.job, bare.mold, text, one.number),
        )
    return [one for one in dict.fromkeys(photos) if one and not photo_is_used(writer, one)]


def _stored(row: sqlite3.Row) -> StoredNote:
    return StoredNote(number=row["number"], note=stored_note(json.loads(row["note"])))


def _mark(note: ShotNote) -> str:
    return _letters_of(note.job, note.mold, str(note.cycle), note.noted)


def _letters_of(*words: str) -> str:
    """Return letters that stand for words, and tell nothing of them."""
    return sha256(json.dumps(words).encode()).hexdigest()[:24]


# --- what contradicts itself ------------------------------------------------------------------


def _notes_of_mold(connection: sqlite3.Connection, job: str, mold: str) -> list[StoredNote]:
    rows = connection.execute(
        "SELECT number, note FROM shot_note WHERE job = ? AND mold = ?", (job, mold)
    )
    return sorted(map(_stored, rows), key=lambda one: (*in_time(one.note), one.number))


def _is_before(first: ShotNote, second: ShotNote) -> bool:
    """Tell whether a note is surely earlier than another: where only days are known, by days."""
    length = min(len(first.noted), len(second.noted))
    return first.noted[:length] < second.noted[:length]


def _lives(notes: Sequence[StoredNote]) -> Iterator[list[StoredNote]]:
    """Yield the notes of each mold that was made after another one of its job had ended."""
    ended = 0

    def life(one: StoredNote) -> int:
        nonlocal ended
        mine = ended
        ended += one.note.mold_ended
        return mine

    for _, group in groupby(notes, life):
        yield list(group)


def _life_at(notes: Sequence[StoredNote], note: ShotNote) -> list[StoredNote]:
    """Return what was noted of the mold that stood at the table when a note was made."""
    lives = list(_lives(notes))
    for life in lives:
        if not life[-1].note.mold_ended or in_time(note) < in_time(life[-1].note):
            return life
    return []


def _cycle_after(life: Sequence[StoredNote]) -> int:
    return max((one.note.cycle for one in life), default=0) + 1


def _next_in(life: Sequence[StoredNote], note: ShotNote) -> int:
    """Return the cycle after the last of a mold; one that lies between others has to be typed."""
    for one in life:
        if _is_before(note, one.note):
            rule = f"typed: number {one.number} tells of a later shot on this mold"
            raise SpecError("cycle", rule, "none")
    return _cycle_after(life)


def _refuse_contradiction(note: ShotNote, same_mold: Sequence[StoredNote]) -> None:
    """Raise `SpecError` if a note cannot be true beside those of the same mold."""
    for one in same_mold:
        if (one.note.cycle, one.note.noted) == (note.cycle, note.noted):
            raise SpecError("note", "one that is not there yet", f"that of number {one.number}")
    life = _life_at(same_mold, note)
    ended = [one for one in same_mold if one.note.mold_ended]
    if not life and ended and note.cycle == ended[-1].note.cycle + 1:
        raise SpecError(
            "cycle", f"that of a new mold, which begins at 1: number {ended[-1].number} tells that "
            "the last one ended", str(note.cycle), "Remove that note if it still stands.",
        )  # fmt: skip
    for one in life:
        _refuse_beside(note, one)


def _refuse_beside(note: ShotNote, other: StoredNote) -> None:
    cycle, number = other.note.cycle, other.number
    hint = "Correct the cycle, or remove that note."
    if cycle == note.cycle:
        raise SpecError("cycle", "another one", f"{cycle}, which number {number} tells of", hint)
    if _is_before(other.note, note) and cycle > note.cycle:
        rule = f"more than {cycle}, which number {number} tells of before"
        raise SpecError("cycle", rule, str(note.cycle), hint)
    if _is_before(note, other.note) and cycle == 1:
        rule = f"not before number {number}, which tells of the first shot on this mold"
        raise SpecError("the day", rule, note.noted, "Remove that note if it is wrong.")
    if _is_before(note, other.note) and cycle < note.cycle:
        rule = f"less than {cycle}, which number {number} tells of later"
        raise SpecError("cycle", rule, str(note.cycle), hint)
    if note.mold_ended and cycle > note.cycle:
        got = f"ended at {note.cycle}"
        raise SpecError("mold", f"there at cycle {cycle}, which number {number} tells of", got)
    if other.note.mold_ended and note.cycle > cycle:
        rule = f"less than {cycle}, at which the mold ended (number {number})"
        raise SpecError("cycle", rule, str(note.cycle), hint)
