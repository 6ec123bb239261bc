"""The file that the page keeps everything in, written by one thread, one short change at a time."""

from __future__ import annotations

import queue
import sqlite3
import threading
from collections.abc import Callable
from concurrent.futures import Future
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from moldgen.errors import FileError
from moldgen.lesson.log.store import prepare_log
from moldgen.sqlite_file import one_change, sqlite_connection

T = TypeVar("T")
Change = Callable[[sqlite3.Connection], T]
"""What is done within one change: all of it, or nothing."""

_VERSION = 1


class Database:
    """An SQLite file: read from any thread, written by one.

    A change that was acknowledged is on the disk, whatever happens to this process then.

    Parameters
    ----------
    path : path
        Made if it is not there.

    Raises
    ------
    FileError
        If it cannot be made or read, or was written by a later version.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._changes: queue.SimpleQueue[tuple[Change[Any], Future[Any]] | None] = (
            queue.SimpleQueue()
        )
        self._readers = threading.local()
        try:
            writer = sqlite_connection(path)
            _prepare(writer, path)
        except (sqlite3.Error, OSError) as problem:
            raise FileError(f"{path.name} cannot be used: {problem}.") from problem
        self._writer = threading.Thread(target=self._write, args=(writer,), daemon=True)
        self._writer.start()

    @property
    def folder(self) -> Path:
        """Where the file lies."""
        return self._path.parent

    def write(self, change: Change[T]) -> Future[T]:
        """Have a change made; what comes out, or goes wrong, is in the answer."""
        answer: Future[T] = Future()
        self._changes.put((change, answer))
        return answer

    def read(self, query: str, *values: Any) -> list[sqlite3.Row]:
        """Return the rows of a query."""
        return self.read_with(lambda reader: list(reader.execute(query, values)))

    def read_with(self, look: Change[T]) -> T:
        """Return what somebody reads who is given a connection; it cannot change anything."""
        reader = getattr(self._readers, "connection", None)
        if reader is None:
            reader = self._readers.connection = sqlite_connection(self._path)
            reader.execute("PRAGMA query_only = ON")
        return look(reader)

    def close(self) -> None:
        """Finish the changes that wait, and close the file."""
        self._changes.put(None)
        self._writer.join()

    def _write(self, writer: sqlite3.Connection) -> None:
        while (asked := self._changes.get()) is not None:
            change, answer = asked
            try:
                with one_change(writer):
                    done = change(writer)
            except Exception as problem:  # told to whoever asked; the next change goes on
                answer.set_exception(problem)
            else:
                answer.set_result(done)
        writer.close()


def _prepare(writer: sqlite3.Connection, path: Path) -> None:
    (version,) = writer.execute("PRAGMA user_version").fetchone()
    if version == 0:
        schema = resources.files(__package__).joinpath("schema.sql").read_text(encoding="utf-8")
        writer.executescript(
            f"BEGIN IMMEDIATE; {schema}; PRAGMA user_version = {_VERSION}; COMMIT;"
        )
    elif version != _VERSION:
        raise FileError(f"{path.name} was written by another version of moldgen ({version}).")
    prepare_log(writer)
