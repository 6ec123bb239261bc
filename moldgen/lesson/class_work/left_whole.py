"""What an earlier run left whole of a class, in whatever folder it lies."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from moldgen.export.run_folder import LIST_NAME, listed_marks, run_is_whole, write_run
from moldgen.lesson.class_work.build import named_for
from moldgen.lesson.class_work.record import MoldRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPlace:
    """Where the files of a person go.

    Attributes
    ----------
    folder : str
        Name of the person's folder in that of the class.
    stem : str
        What the names of the files begin with.
    """

    folder: str
    stem: str


class LeftWhole:
    """The folders of a class as an earlier run left them.

    Parameters
    ----------
    out : Path
        Folder of the class.
    """

    def __init__(self, out: Path) -> None:
        self._out = out
        self._folders: dict[tuple[str, ...], list[Path]] | None = None
        self._copied: list[Path] = []

    def has(self, place: PersonPlace, record: MoldRecord) -> bool:
        """Tell whether just the files of a mold lie in a place.

        If they lie in another folder, for a person may have another number now, they are copied
        (see `leave`).

        Raises
        ------
        FileError
            If the place cannot be written.
        """
        marks = named_for(record.marks, place.stem)
        if run_is_whole(self._out / place.folder, marks):
            return True
        files = self._elsewhere(record)
        if files:
            write_run(self._out / place.folder, named_for(files, place.stem))
        return bool(files)

    def leave(self, places: Collection[PersonPlace]) -> None:
        """Remove what was copied from folders that are nobody's place now.

        What somebody changed or put there stays, and so does its folder.

        Raises
        ------
        FileError
            If such a folder cannot be written.
        """
        now = {place.folder for place in places}
        for folder in dict.fromkeys(self._copied):
            if folder.name not in now:
                write_run(folder, {})
                with suppress(OSError):
                    (folder / LIST_NAME).unlink()
                    folder.rmdir()

    def _elsewhere(self, record: MoldRecord) -> dict[str, bytes]:
        """Return the files of a mold by their endings, from whatever folder has all of them."""
        if self._folders is None:
            self._folders = self._listed()
        for folder in self._folders.get(_key(list(record.marks.values())), ()):
            contents = _contents(folder)
            if set(contents) == set(record.marks.values()):
                self._copied.append(folder)
                return {ending: contents[mark] for ending, mark in record.marks.items()}
        return {}

    def _listed(self) -> dict[tuple[str, ...], list[Path]]:
        found: dict[tuple[str, ...], list[Path]] = {}
        for path in sorted(self._out.glob(f"*/{LIST_NAME}")):
            marks = listed_marks(path.parent)
            found.setdefault(_key(list(marks.values())), []).append(path.parent)
        return found


def _key(marks: Sequence[str]) -> tuple[str, ...]:
    return tuple(sorted(marks))


def _contents(folder: Path) -> dict[str, bytes]:
    """Return the files of a run by their SHA-256, as they are now."""
    contents = {}
    for name in listed_marks(folder):
        try:
            data = (folder / name).read_bytes()
        except OSError:
            return {}
        contents[sha256(data).hexdigest()] = data
    return contents
