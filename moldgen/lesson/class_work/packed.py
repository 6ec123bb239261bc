"""A class as one ZIP file, in which what did not change is not packed again."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from hashlib import file_digest, sha256
from pathlib import Path
from zipfile import BadZipFile

from moldgen.export.atomic import write_together
from moldgen.lesson.class_work.record import RECORDS
from moldgen.zip_file import ZipMember, members_of, zip_member, zip_of_members

CLASS_ZIP = "class.zip"
LARGEST_ZIP_BYTES = 200_000_000
"""A class with more files is not packed: it would fill the memory of a small computer. [bytes]"""
_FILE = "packed.kept"
_MOST_FILES = 60_000
_LEVEL = 1
_PACKED_ALREADY = frozenset({".png", ".pdf", ".3mf", ".xlsx", ".zip"})


def packed_class(out: Path, folders: Sequence[str], files: Mapping[str, bytes]) -> bytes:
    """Return a class as one ZIP file; nothing if it is too large for one.

    Parameters
    ----------
    out : Path
        Folder of the class.
    folders : sequence of str
        Names of the folders in it that belong to the class now.
    files : mapping of str to bytes
        What lies beside them.

    Raises
    ------
    FileError
        If what is kept for the next run cannot be written.
    """
    own = [path for folder in folders for path in _files_in(out / folder)]
    if len(own) > _MOST_FILES or sum(path.stat().st_size for path in own) > LARGEST_ZIP_BYTES:
        return b""
    marks: dict[str, str] = {}
    known = _known(out)

    def members() -> Iterator[ZipMember]:
        for name, content in _contents(out, own, files):
            marks[name] = sha256(content).hexdigest()
            yield known.get((name, marks[name])) or _member(name, content)

    packed = zip_of_members(members())
    kept = json.dumps({"zip": sha256(packed).hexdigest(), "files": marks}, sort_keys=True)
    write_together(out / RECORDS, {_FILE: kept.encode()})
    return packed


def _files_in(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [
        path for path in sorted(folder.iterdir())
        if path.is_file() and not path.name.startswith(".")
    ]  # fmt: skip


def _contents(
    out: Path, own: Iterable[Path], files: Mapping[str, bytes]
) -> Iterator[tuple[str, bytes]]:
    yield from files.items()
    yield from ((path.relative_to(out).as_posix(), path.read_bytes()) for path in own)


def _member(name: str, content: bytes) -> ZipMember:
    return zip_member(
        name, content, level=0 if Path(name).suffix.lower() in _PACKED_ALREADY else _LEVEL
    )


def _known(out: Path) -> dict[tuple[str, str], ZipMember]:
    """Return what an earlier run packed, by name and mark of the content."""
    path = out / CLASS_ZIP
    try:
        kept = json.loads((out / RECORDS / _FILE).read_bytes())
        with path.open("rb") as file:
            is_whole = file_digest(file, "sha256").hexdigest() == kept["zip"]
        if not is_whole:
            return {}
        marks = {name: str(mark) for name, mark in kept["files"].items()}
        deflated = [name for name in marks if Path(name).suffix.lower() not in _PACKED_ALREADY]
        return {(one.name, marks[one.name]): one for one in members_of(path, set(deflated))}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, BadZipFile):
        return {}
