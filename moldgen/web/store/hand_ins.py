"""What was handed in, and what was said of it: the first never changes, the second is added."""

from __future__ import annotations

import json
import sqlite3
import time
from concurrent.futures import Future
from dataclasses import dataclass
from enum import StrEnum

from moldgen.errors import SpecError
from moldgen.web.store.database import Database
from moldgen.web.store.designs import StoredDesign
from moldgen.web.wish import Beginning, DesignWish


class HandInState(StrEnum):
    """How far something that was handed in has come."""

    WAITING = "waiting"
    SENT_BACK = "sent back"
    APPROVED = "approved"
    PRINTED = "printed"
    FORMED = "formed"


NEXT = {
    HandInState.WAITING: (HandInState.SENT_BACK, HandInState.APPROVED),
    HandInState.SENT_BACK: (HandInState.APPROVED,),
    HandInState.APPROVED: (HandInState.PRINTED, HandInState.SENT_BACK),
    HandInState.PRINTED: (HandInState.FORMED,),
    HandInState.FORMED: (),
}
"""What may come after each state."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandIn:
    """Something that was handed in.

    Attributes
    ----------
    id : str
        Made by whoever sent it.
    class_id : int
        Its class.
    person : str
        Who handed it in.
    wish : DesignWish
        As it was then.
    design_id : str
        What was handed in, which may have changed since; empty if it is gone.
    upload_id : str
        The drawing that was brought; empty if none.
    at_s : float
        When, in seconds since 1970. [s]
    state : HandInState
        How far it has come.
    words : str
        What was said last.
    """

    id: str
    class_id: int
    person: str
    wish: DesignWish
    design_id: str
    upload_id: str
    at_s: float
    state: HandInState
    words: str


def hand_in(database: Database, design: StoredDesign, *, once: str) -> Future[None]:
    """Keep a design as it is seen now; sent twice with the same id it is there once."""
    now = time.time()

    def change(writer: sqlite3.Connection) -> None:
        known = writer.execute("SELECT 1 FROM handed_in WHERE id = ?", (once,)).fetchone()
        if known is not None:
            return
        writer.execute(
            "INSERT INTO handed_in VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (
                once,
                design.class_id,
                design.person_id,
                design.id,
                design.wish.beginning,
                design.upload_id or None,
                json.dumps(dict(design.wish.values)),
                now,
            ),
        )
        _say(writer, once, HandInState.WAITING, "", now)

    return database.write(change)


def say(database: Database, once: str, state: HandInState, words: str = "") -> Future[None]:
    """Add a state to what was handed in.

    Raises
    ------
    SpecError
        In the answer, if there is no such hand-in, or that state does not come after its own.
    """
    now = time.time()

    def change(writer: sqlite3.Connection) -> None:
        row = writer.execute(
            "SELECT state FROM said WHERE handed_in_id = ? ORDER BY id DESC LIMIT 1", (once,)
        ).fetchone()
        if row is None:
            raise SpecError("hand-in", "one that there is", "none")
        if state not in NEXT[HandInState(row["state"])]:
            raise SpecError("state", f"what comes after {row['state']}", state.value)
        _say(writer, once, state, words, now)

    return database.write(change)


def hand_ins_of_class(database: Database, class_id: int) -> list[HandIn]:
    """Return what a class has handed in, the first first."""
    return [_hand_in(row) for row in database.read(f"{_SELECT} WHERE h.class_id = ?{_ORDER}",
                                                   class_id)]  # fmt: skip


def hand_ins_of_person(database: Database, person_id: int) -> list[HandIn]:
    """Return what a person has handed in, the first first."""
    return [_hand_in(row) for row in database.read(f"{_SELECT} WHERE h.person_id = ?{_ORDER}",
                                                   person_id)]  # fmt: skip


def find_hand_in(database: Database, once: str) -> HandIn | None:
    """Return what was handed in under this id; None if nothing was."""
    rows = database.read(f"{_SELECT} WHERE h.id = ?", once)
    return _hand_in(rows[0]) if rows else None


_SELECT = (
    "SELECT h.*, coalesce(person.name, '') AS person, said.state, said.words FROM handed_in AS h"
    " LEFT JOIN person ON person.id = h.person_id"
    " JOIN said ON said.id = (SELECT max(id) FROM said WHERE handed_in_id = h.id)"
)
_ORDER = " ORDER BY h.at_s, h.id"


def _say(
    writer: sqlite3.Connection, once: str, state: HandInState, words: str, now_s: float
) -> None:
    writer.execute(
        "INSERT INTO said (handed_in_id, state, words, at_s) VALUES (?, ?, ?, ?)",
        (once, state.value, words, now_s),
    )


def _hand_in(row: sqlite3.Row) -> HandIn:
    return HandIn(
        id=row["id"],
        class_id=row["class_id"],
        person=row["person"],
        wish=DesignWish(beginning=Beginning(row["beginning"]), values=json.loads(row["values"])),
        design_id=row["design_id"] or "",
        upload_id=row["upload_id"] or "",
        at_s=row["at_s"],
        state=HandInState(row["state"]),
        words=row["words"],
    )
