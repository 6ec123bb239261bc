"""Classes and the names in them: nothing but what was typed, and only in this file."""

from __future__ import annotations

import json
import secrets
import sqlite3
import time
from collections.abc import Iterable, Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any

from moldgen.errors import SpecError
from moldgen.lesson.log.store import forget_people
from moldgen.web.store.database import Database

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
_FIGURES = "23456789"
"""No 0, 1, I, O: they are taken for each other when a code is read from a board."""
MOST_NAME = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class SchoolClass:
    """A class.

    Attributes
    ----------
    id : int
        Its number.
    name, code : str
        What it is called, and what one types to join it.
    usual : mapping of str
        What its designs have unless they say otherwise.
    """

    id: int
    name: str
    code: str
    usual: Mapping[str, Any]


def new_code() -> str:
    """Return a code that can be read aloud and typed on a phone: 4 letters and 2 figures."""
    letters = "".join(secrets.choice(_LETTERS) for _ in range(4))
    return letters + "".join(secrets.choice(_FIGURES) for _ in range(2))


def begin_class(database: Database, name: str) -> Future[int]:
    """Keep a new class; the answer is its number."""
    name = checked_name("class", name)
    now, code = time.time(), new_code()

    def change(writer: sqlite3.Connection) -> int:
        done = writer.execute(
            "INSERT INTO class (name, code, created_s) VALUES (?, ?, ?)", (name, code, now)
        )
        return int(done.lastrowid or 0)

    return database.write(change)


def classes_of(database: Database) -> list[SchoolClass]:
    """Return all classes, the latest first."""
    rows = database.read("SELECT * FROM class ORDER BY id DESC")
    return [_class(row) for row in rows]


def find_class(database: Database, class_id: int) -> SchoolClass | None:
    """Return a class by its number; None if there is none."""
    rows = database.read("SELECT * FROM class WHERE id = ?", class_id)
    return _class(rows[0]) if rows else None


def class_of_code(database: Database, code: str) -> SchoolClass | None:
    """Return the class that is joined with this code, typed in capitals or not."""
    plain = "".join(code.upper().split()).replace("-", "")
    found = [one for one in classes_of(database) if secrets.compare_digest(one.code, plain)]
    return found[0] if found else None


def add_people(database: Database, class_id: int, names: Iterable[str]) -> Future[int]:
    """Add names to a class, those that it has not; the answer is how many were new."""
    wanted = [checked_name("name", name) for name in names if name.strip()]

    def change(writer: sqlite3.Connection) -> int:
        before = writer.total_changes
        for name in wanted:
            writer.execute(
                "INSERT OR IGNORE INTO person (class_id, name) VALUES (?, ?)", (class_id, name)
            )
        return writer.total_changes - before

    return database.write(change)


def take_name(database: Database, class_id: int, name: str, number: str) -> Future[int]:
    """Let somebody be this person; the answer is the person's id.

    Whoever takes a name first gets a number for it; who takes it again has to know that.

    Raises
    ------
    SpecError
        In the answer, if the number is another one.
    """
    name, made = checked_name("name", name), f"{secrets.randbelow(9000) + 1000}"

    def change(writer: sqlite3.Connection) -> int:
        writer.execute(
            "INSERT OR IGNORE INTO person (class_id, name) VALUES (?, ?)", (class_id, name)
        )
        person_id, known = writer.execute(
            "SELECT id, number FROM person WHERE class_id = ? AND name = ?", (class_id, name)
        ).fetchone()
        if not known:
            writer.execute("UPDATE person SET number = ? WHERE id = ?", (made, person_id))
        elif not secrets.compare_digest(known, number.strip()):
            got = "another" if number.strip() else "none"
            hint = "Somebody has this name already: type your number, or another name."
            raise SpecError("number", f"the one of {name}", got, hint)
        return int(person_id)

    return database.write(change)


def person_of(database: Database, person_id: int) -> tuple[str, str]:
    """Return name and number of a person; empty if there is none."""
    rows = database.read("SELECT name, number FROM person WHERE id = ?", person_id)
    return (rows[0]["name"], rows[0]["number"]) if rows else ("", "")


def people_of(database: Database, class_id: int) -> list[tuple[int, str]]:
    """Return numbers and names of a class, in the order of the alphabet."""
    rows = database.read(
        "SELECT id, name FROM person WHERE class_id = ? ORDER BY name COLLATE NOCASE", class_id
    )
    return [(row["id"], row["name"]) for row in rows]


def set_usual(database: Database, class_id: int, usual: Mapping[str, Any]) -> Future[None]:
    """Keep what the designs of a class have unless they say otherwise."""
    text = json.dumps(dict(usual))

    def change(writer: sqlite3.Connection) -> None:
        writer.execute("UPDATE class SET usual = ? WHERE id = ?", (text, class_id))

    return database.write(change)


def delete_class(database: Database, class_id: int) -> Future[list[str]]:
    """Delete a class with all that belongs to it.

    Of its notes in the log the figures stay; the answer is the pictures that none names any longer.
    """

    def change(writer: sqlite3.Connection) -> list[str]:
        writer.execute("DELETE FROM class WHERE id = ?", (class_id,))
        return forget_people(writer, class_id)

    return database.write(change)


def secret(database: Database, name: str) -> bytes:
    """Return what only this page knows, made when it is first asked for."""
    rows = database.read("SELECT value FROM secret WHERE name = ?", name)
    if rows:
        return bytes(rows[0]["value"])
    made = secrets.token_bytes(32)

    def change(writer: sqlite3.Connection) -> None:
        writer.execute("INSERT OR IGNORE INTO secret VALUES (?, ?)", (name, made))

    database.write(change).result()
    return secret(database, name)


def checked_name(field: str, name: str) -> str:
    """Return a name without blanks around it and in one line.

    Raises
    ------
    SpecError
        If nothing is left of it, or it is too long.
    """
    plain = " ".join("".join(letter for letter in name if letter.isprintable()).split())
    if not plain:
        raise SpecError(field, "a name", "nothing", "Type one.")
    if len(plain) > MOST_NAME:
        raise SpecError(field, f"at most {MOST_NAME} letters", f"{len(plain)}", "Shorten it.")
    return plain


def _class(row: sqlite3.Row) -> SchoolClass:
    return SchoolClass(
        id=row["id"], name=row["name"], code=row["code"], usual=json.loads(row["usual"])
    )
