"""A class as one file: everything that belongs to it, to be kept elsewhere or moved."""

from __future__ import annotations

import base64
import binascii
import json
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future
from typing import Any, TypeVar

from moldgen.errors import FileError, MoldgenError
from moldgen.web.defaults import checked_usual
from moldgen.web.store.classes import checked_name, new_code
from moldgen.web.store.database import Database
from moldgen.web.store.designs import new_id
from moldgen.web.store.hand_ins import HandInState
from moldgen.web.wish import Beginning, checked_values

T = TypeVar("T")
KIND = "moldgen class"
_VERSION = 1
Row = Mapping[str, Any]


def export_class(database: Database, class_id: int) -> bytes:
    """Return a class with names, designs, drawings and hand-ins, as JSON."""
    (own,) = database.read("SELECT name, usual FROM class WHERE id = ?", class_id)
    told = {
        "kind": KIND,
        "version": _VERSION,
        "name": own["name"],
        "usual": json.loads(own["usual"]),
        "people": _rows(database, "SELECT id, name, number FROM person", class_id),
        "uploads": [
            {"id": row["id"], "data": base64.b64encode(row["data"]).decode()}
            for row in database.read("SELECT id, data FROM upload WHERE class_id = ?", class_id)
        ],
        "designs": [
            {**design, "versions": _versions(database, design["id"])}
            for design in _rows(database, "SELECT * FROM design", class_id)
        ],
        "hand_ins": [
            {**one, "values": json.loads(one["values"]), "said": _said(database, one["id"])}
            for one in _rows(database, "SELECT * FROM handed_in", class_id)
        ],
    }
    return json.dumps(told, ensure_ascii=False, indent=1).encode()


def import_class(database: Database, data: bytes) -> Future[int]:
    """Keep a class that was exported, as a new one with a code of its own; the answer is its id.

    Raises
    ------
    FileError
        If it is none, or anything in it is not as it must be; nothing is kept then.
    """
    try:
        told = json.loads(data)
        if not isinstance(told, dict) or told.get("kind") != KIND:
            raise FileError("This is no class that was exported from moldgen.")
        if told.get("version") != _VERSION:
            raise FileError("This class was exported by another version of moldgen.")
        rows = list(_statements(told))
    except MoldgenError:
        raise
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError, binascii.Error):
        raise FileError("This class is damaged: something in it is missing or wrong.") from None

    def change(writer: sqlite3.Connection) -> int:
        done = writer.execute(
            "INSERT INTO class (name, code, usual, created_s) VALUES (?, ?, ?, ?)",
            (
                checked_name("class", told["name"]),
                new_code(),
                json.dumps(told["usual"]),
                time.time(),
            ),
        )
        class_id = int(done.lastrowid or 0)
        people: dict[int, int] = {}
        for person in told["people"]:
            made = writer.execute(
                "INSERT INTO person (class_id, name, number) VALUES (?, ?, ?)",
                (class_id, checked_name("name", person["name"]), str(person["number"])[:8]),
            )
            people[person["id"]] = int(made.lastrowid or 0)
        for query, values in rows:
            writer.execute(query, values(class_id, people))
        return class_id

    return database.write(change)


Values = Callable[[int, Mapping[int, int]], tuple[Any, ...]]


def _statements(told: Row) -> Iterator[tuple[str, Values]]:
    """Yield what is written for uploads, designs and hand-ins, in an order that holds together."""
    checked_usual(told["usual"])
    uploads = {one["id"]: new_id() for one in told["uploads"]}
    designs = {one["id"]: new_id() for one in told["designs"]}
    known = {person["id"] for person in told["people"]}
    for upload in told["uploads"]:
        yield _upload(uploads[upload["id"]], base64.b64decode(upload["data"], validate=True))
    for design in told["designs"]:
        _known(design["person_id"], known)
        yield from _design(design, designs[design["id"]], uploads)
    for one in told["hand_ins"]:
        _known(one["person_id"], known)
        yield from _hand_in(one, designs, uploads)


def _upload(upload_id: str, data: bytes) -> tuple[str, Values]:
    return "INSERT INTO upload VALUES (?, ?, ?)", lambda class_id, _: (upload_id, class_id, data)


def _design(
    design: Row, design_id: str, uploads: Mapping[str, str]
) -> Iterator[tuple[str, Values]]:
    begun, numbers = Beginning(design["beginning"]), [one["number"] for one in design["versions"]]
    if design["number"] not in numbers or numbers != list(range(len(numbers))):
        raise ValueError("versions")
    upload = _other(design["upload_id"], uploads)

    def row(class_id: int, people: Mapping[int, int]) -> tuple[Any, ...]:
        person = people.get(design["person_id"])
        seen, at_s = design["number"], float(design["changed_s"])
        return design_id, class_id, person, begun.value, upload, seen, at_s

    yield "INSERT INTO design VALUES (?, ?, ?, ?, ?, ?, ?)", row
    for version in design["versions"]:
        text = json.dumps(checked_values(version["values"]))
        yield "INSERT INTO version VALUES (?, ?, ?)", _constant(design_id, version["number"], text)


def _hand_in(
    one: Row, designs: Mapping[str, str], uploads: Mapping[str, str]
) -> Iterator[tuple[str, Values]]:
    begun, once = Beginning(one["beginning"]), new_id()
    text = json.dumps(checked_values(one["values"]))
    design, upload = _other(one["design_id"], designs), _other(one["upload_id"], uploads)

    def row(class_id: int, people: Mapping[int, int]) -> tuple[Any, ...]:
        person, at_s = people.get(one["person_id"]), float(one["at_s"])
        return once, class_id, person, design, begun.value, upload, text, at_s

    yield "INSERT INTO handed_in VALUES (?, ?, ?, ?, ?, ?, ?, ?)", row
    if not one["said"]:
        raise ValueError("said")
    for said in one["said"]:
        state = HandInState(said["state"]).value
        yield (
            "INSERT INTO said (handed_in_id, state, words, at_s) VALUES (?, ?, ?, ?)",
            _constant(once, state, str(said["words"])[:500], float(said["at_s"])),
        )


def _constant(*values: Any) -> Values:
    return lambda class_id, people: values


def _other(old: str | None, ids: Mapping[str, str]) -> str | None:
    return None if old is None else ids[old]


def _known(person: int | None, people: set[int]) -> None:
    if person is not None and person not in people:
        raise ValueError("person")


def _rows(database: Database, query: str, class_id: int) -> list[dict[str, Any]]:
    found = database.read(f"{query} WHERE class_id = ? ORDER BY rowid", class_id)
    return [{key: row[key] for key in row.keys() if key != "class_id"} for row in found]


def _versions(database: Database, design_id: str) -> list[dict[str, Any]]:
    rows = database.read(
        'SELECT number, "values" FROM version WHERE design_id = ? ORDER BY number', design_id
    )
    return [{"number": row["number"], "values": json.loads(row["values"])} for row in rows]


def _said(database: Database, once: str) -> list[dict[str, Any]]:
    rows = database.read(
        "SELECT state, words, at_s FROM said WHERE handed_in_id = ? ORDER BY id", once
    )
    return [{"state": row["state"], "words": row["words"], "at_s": row["at_s"]} for row in rows]
