"""An SQLite file that several programs read and write at once: what was acknowledged is kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

BUSY_S = 10.0
"""How long a writer waits for another one. [s]."""
_PRAGMAS = (
    f"PRAGMA busy_timeout = {BUSY_S * 1000:.0f}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
)


def sqlite_connection(path: Path) -> sqlite3.Connection:
    """Return a connection to a file, made if it is not there; its rows have names.

    Changes are on the disk once they are committed, whatever happens to the process then. It may
    be handed from thread to thread, and is used by one at a time.

    Raises
    ------
    sqlite3.Error
        If it cannot be opened, or is no such file.
    """
    connection = sqlite3.connect(
        path, timeout=BUSY_S, isolation_level=None, check_same_thread=False
    )
    connection.row_factory = sqlite3.Row
    for pragma in _PRAGMAS:
        connection.execute(pragma)
    return connection


@contextmanager
def one_change(connection: sqlite3.Connection) -> Iterator[None]:
    """Do everything within it, or nothing of it; other writers wait meanwhile."""
    with connection:
        connection.execute("BEGIN IMMEDIATE")
        yield
