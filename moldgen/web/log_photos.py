"""Pictures that notes of the page's log name: where they lie, and that none is left without one."""

from __future__ import annotations

from pathlib import Path

from moldgen.lesson.log.photos import forget_photo
from moldgen.lesson.log.store import photo_is_used
from moldgen.user_file import photo_folder
from moldgen.web.store.database import Database


def photos_beside(database: Database) -> Path:
    """Return where the pictures are."""
    return photo_folder(database.folder)


def forget_unused(database: Database, photo: str) -> None:
    """Remove a picture that no note names."""
    if photo and not database.read_with(lambda reader: photo_is_used(reader, photo)):
        forget_photo(photos_beside(database), photo)
