"""A class as one ZIP file, in which what did not change is not packed again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from hashlib import file_digest, sha256
from pathlib import Path

from moldgen.export.run_folder import listed_marks
from moldgen.lesson.class_work.kept_words import read_kept, write_kept
from moldgen.lesson.class_work.record import RECORDS
from moldgen.zip_file import ZipMember, open_members, zip_member, zip_of_members

CLASS_ZIP = "class.zip"
LARGEST_ZIP_BYTES = 200_000_000
"""A class with more files is not packed: it would fill the memory of a small computer. [bytes]"""
_FILE = "packed.kept"
_MOST_FILES = 60_000
_LEVEL = 1
_PACKED_ALREADY = frozenset({".png", ".pdf", ".3mf", ".xlsx", ".zip"})


def packed_class(
    out: Path, folders: Sequence[str], files: Mapping[str, bytes], *, whole: Collection[str]
) -> bytes:
    """Return a class as one ZIP file; nothing if it is too large for one.

    Parameters
    ----------
    out : Path
        Folder of the class.
    folders : sequence of str
        Names of the folders in it that belong to the class now.
    files : mapping of str to bytes
        What lies beside them.
    whole : collection of str
        Which of the folders this run wrote or found as they were written.

    Raises
    ------
    FileError
        If what is kept for the next run cannot be written.
    """
    own = [path for folder in folders for path in _files_in(out / folder)]
    if len(own) > _MOST_FILES or sum(path.stat().st_size for path in own) > LARGEST_ZIP_BYTES:
        return b""
    wanted = {
        name: _Wanted(sha256(data).hexdigest(), partial(bytes, data))
        for name, data in files.items()
    }
    for folder in folders:
        wanted |= _wanted_of(out, folder, is_whole=folder in whole)
    with _earlier(out) as known:
        packed = zip_of_members(
            known(name, one.mark) or _member(name, one.content()) for name, one in wanted.items()
        )
    marks = {name: one.mark for name, one in wanted.items()}
    write_kept(out / RECORDS / _FILE, {"zip": sha256(packed).hexdigest(), "files": marks})
    return packed


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A file that belongs into the ZIP file: its SHA-256, and what reads it."""

    mark: str
    content: Callable[[], bytes]


def _wanted_of(out: Path, folder: str, *, is_whole: bool) -> dict[str, _Wanted]:
    """Return the files of a folder, of which those in its list may be known to be whole."""
    listed = listed_marks(out / folder) if is_whole else {}
    return {
        f"{folder}/{path.name}": _Wanted(
            listed.get(path.name) or sha256(path.read_bytes()).hexdigest(), path.read_bytes
        )
        for path in _files_in(out / folder)
    }


def _files_in(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [
        path for path in sorted(folder.iterdir())
        if path.is_file() and not path.name.startswith(".")
    ]  # fmt: skip


def _member(name: str, content: bytes) -> ZipMember:
    return zip_member(
        name, content, level=0 if Path(name).suffix.lower() in _PACKED_ALREADY else _LEVEL
    )


@contextmanager
def _earlier(out: Path) -> Iterator[Callable[[str, str], ZipMember | None]]:
    """Yield what returns a file as an earlier run packed it, by name and mark of the content."""
    path = out / CLASS_ZIP
    kept = read_kept(out / RECORDS / _FILE, lambda words: (str(words["zip"]), dict(words["files"])))
    if kept is None or not _is_whole(path, kept[0]):
        yield lambda name, mark: None
        return
    marks = kept[1]
    with open_members(path) as member:
        yield lambda name, mark: member(name) if marks.get(name) == mark else None


def _is_whole(path: Path, mark: str) -> bool:
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest() == mark
    except OSError:
        return False
