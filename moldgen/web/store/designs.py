"""Designs: what each person makes, with every version, so that nothing that was tried is lost."""

from __future__ import annotations

import json
import secrets
import sqlite3
import time
from collections.abc import Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any

from moldgen.errors import SpecError
from moldgen.web.store.database import Database
from moldgen.web.wish import Beginning, Wish

_ID_BYTES = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDesign:
    """A design as it is seen.

    Attributes
    ----------
    id : str
        Not to be guessed.
    class_id : int
        Its class.
    person_id : int or None
        Whose it is; the teacher's own if None.
    wish : Wish
        The version that is seen.
    number, last : int
        Which version that is, and the newest one.
    upload_id : str
        The drawing that was brought; empty if none.
    """

    id: str
    class_id: int
    person_id: int | None
    wish: Wish
    number: int
    last: int
    upload_id: str


def new_id() -> str:
    """Return a name that cannot be guessed."""
    return secrets.token_urlsafe(_ID_BYTES)


def begin_design(
    database: Database,
    *,
    class_id: int,
    person_id: int | None,
    wish: Wish,
    upload: bytes | None = None,
) -> Future[str]:
    """Keep a new design; the answer is its id."""
    design_id, now = new_id(), time.time()
    upload_id = new_id() if upload is not None else None

    def change(writer: sqlite3.Connection) -> str:
        if upload is not None:
            writer.execute("INSERT INTO upload VALUES (?, ?, ?)", (upload_id, class_id, upload))
        writer.execute(
            "INSERT INTO design VALUES (?, ?, ?, ?, ?, 0, ?)",
            (design_id, class_id, person_id, wish.beginning, upload_id, now),
        )
        writer.execute(
            "INSERT INTO version VALUES (?, 0, ?)", (design_id, json.dumps(dict(wish.values)))
        )
        return design_id

    return database.write(change)


def find_design(database: Database, design_id: str) -> StoredDesign | None:
    """Return a design as it is seen now; None if there is none of this id."""
    rows = database.read(
        'SELECT design.*, "values", (SELECT max(number) FROM version WHERE design_id = design.id)'
        " AS last FROM design JOIN version ON design_id = id AND version.number = design.number"
        " WHERE id = ?",
        design_id,
    )
    return _design(rows[0]) if rows else None


def designs_of(database: Database, class_id: int, person_id: int | None) -> list[StoredDesign]:
    """Return what a person has made, the latest first."""
    rows = database.read(
        'SELECT design.*, "values", design.number AS last FROM design JOIN version'
        " ON design_id = id AND version.number = design.number"
        " WHERE class_id = ? AND person_id IS ? ORDER BY changed_s DESC",
        class_id,
        person_id,
    )
    return [_design(row) for row in rows]


def change_design(
    database: Database, design_id: str, values: Mapping[str, Any], *, seen: int
) -> Future[int]:
    """Keep a change; the answer is the number of the new version.

    What was undone before is gone then, as everywhere. A change that is already the version that
    is seen makes no new one.

    Raises
    ------
    SpecError
        In the answer, if the version that the change was made to is not the one that is seen.
    """
    text, now = json.dumps(dict(values), sort_keys=True), time.time()

    def change(writer: sqlite3.Connection) -> int:
        (number,) = _number(writer, design_id)
        (old,) = writer.execute(
            'SELECT "values" FROM version WHERE design_id = ? AND number = ?', (design_id, number)
        ).fetchone()
        if json.dumps(json.loads(old), sort_keys=True) == text:
            return int(number)
        if seen != number:
            rule = f"made to what is seen, version {number}"
            raise SpecError("change", rule, f"version {seen}", "Load the page again.")
        writer.execute(
            "DELETE FROM version WHERE design_id = ? AND number > ?", (design_id, number)
        )
        writer.execute("INSERT INTO version VALUES (?, ?, ?)", (design_id, number + 1, text))
        writer.execute(
            "UPDATE design SET number = ?, changed_s = ? WHERE id = ?", (number + 1, now, design_id)
        )
        return int(number) + 1

    return database.write(change)


def step_design(database: Database, design_id: str, step: int) -> Future[int]:
    """Go to an earlier (-1) or a later (+1) version, if there is one; the answer is its number."""

    def change(writer: sqlite3.Connection) -> int:
        (number,) = _number(writer, design_id)
        found = writer.execute(
            "SELECT number FROM version WHERE design_id = ? AND number = ?",
            (design_id, number + step),
        ).fetchone()
        if found is None:
            return int(number)
        writer.execute("UPDATE design SET number = ? WHERE id = ?", (number + step, design_id))
        return int(number) + step

    return database.write(change)


def read_upload(database: Database, upload_id: str) -> bytes | None:
    """Return a drawing that was brought; None if there is none of this id."""
    rows = database.read("SELECT data FROM upload WHERE id = ?", upload_id)
    return bytes(rows[0]["data"]) if rows else None


def _number(writer: sqlite3.Connection, design_id: str) -> tuple[int]:
    row: tuple[int] | None = writer.execute(
        "SELECT number FROM design WHERE id = ?", (design_id,)
    ).fetchone()
    if row is None:
        raise SpecError("design", "one that there is", "none", "It may have been deleted.")
    return row


def _design(row: sqlite3.Row) -> StoredDesign:
    wish = Wish(beginning=Beginning(row["beginning"]), values=json.loads(row["values"]))
    return StoredDesign(
        id=row["id"],
        class_id=row["class_id"],
        person_id=row["person_id"],
        wish=wish,
        number=row["number"],
        last=row["last"],
        upload_id=row["upload_id"] or "",
    )
