"""The log on this machine: notes in the data folder's file, pictures beside it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from moldgen.errors import FileError
from moldgen.lesson.log.photos import forget_photo
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.store import (
    delete_note,
    photo_is_used,
    prepare_log,
)
from moldgen.sqlite_file import one_change, sqlite_connection
from moldgen.user_file import database_file, photo_folder, user_data_folder

T = TypeVar("T")


class ShotLog:
    """The log, open: to be read, and changed one note at a time.

    Parameters
    ----------
    folder : Path, optional
        The data folder, which is made if it is missing; the person's own if left out.

    Raises
    ------
    FileError
        If it cannot be made or opened.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = user_data_folder() if folder is None else folder
        with _told(self.folder):
            self.folder.mkdir(parents=True, exist_ok=True)
            self._connection = sqlite_connection(database_file(self.folder))
            prepare_log(self._connection)

    @property
    def photos(self) -> Path:
        """Where its pictures are."""
        return photo_folder(self.folder)

    def read(self, look: Callable[[sqlite3.Connection], T]) -> T:
        """Return what a function of `moldgen.lesson.log.store` reads."""
        with _told(self.folder):
            return look(self._connection)

    def change(self, change: Callable[[sqlite3.Connection], T]) -> T:
        """Make a change, all of it or nothing; once it is back, it is on the disk."""
        with _told(self.folder), one_change(self._connection):
            return change(self._connection)

    def remove(self, number: int) -> ShotNote:
        """Remove a note, and its picture if no other note names it.

        Raises
        ------
        SpecError
            If there is none of that number.
        """
        note = self.change(lambda writer: delete_note(writer, number))
        self.forget_unused(note.photo)
        return note

    def forget_unused(self, photo: str) -> None:
        """Remove a picture that no note names."""
        if photo and not self.read(lambda reader: photo_is_used(reader, photo)):
            forget_photo(self.photos, photo)

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


@contextmanager
def _told(folder: Path) -> Iterator[None]:
    """Tell what the system or the database refuses in one sentence."""
    try:
        yield
    except FileError:
        raise
    except (sqlite3.Error, OSError) as problem:
        raise FileError(f"The log in {folder} cannot be used: {problem}.") from problem
