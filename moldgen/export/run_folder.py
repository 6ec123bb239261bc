"""The folder of a run: what an earlier run left in it goes when the new files come."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from moldgen.export.atomic import check_names, held, replace_files
from moldgen.export.refusal import told
from moldgen.export.swap import Interrupted, is_plain_name

LIST_NAME = ".moldgen-files.json"
"""The list of what the last run wrote in a folder, each file with its SHA-256.

It is swapped last, so that a folder that agrees with it is whole.
"""
_LARGEST_LIST = 5_000_000
"""No run writes as many files; a longer list is something else. [bytes]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leftovers:
    """What an earlier run wrote that the new one does not, by file name.

    Attributes
    ----------
    removed : tuple of str
        As the earlier run left them: they are gone.
    kept : tuple of str
        Changed by somebody since: they are left as they are.
    interrupted : Interrupted, optional
        What became of the files of a run that was killed while it wrote them.
    """

    removed: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    interrupted: Interrupted | None = None


def write_run(folder: Path | str, files: Mapping[str, bytes]) -> Leftovers:
    """Write the files of a run into a folder, and remove what an earlier run wrote besides.

    All of it is done, or none. Only files that stand in the list of the earlier run are removed,
    and of those only the ones that are still, byte for byte, as it wrote them.

    Parameters
    ----------
    folder : path
        Folder of the files; it is made, with its parents, if it is missing.
    files : mapping of str to bytes
        Plain file names and their content.

    Raises
    ------
    SpecError
        If a name is not a plain file name.
    FileError
        If the folder or a file cannot be written; the folder is then as it was.
    """
    folder = Path(folder)
    check_names(files)
    with held(folder) as interrupted:
        left = _leftovers(folder, files, interrupted)
        marks = {name: _mark(data) for name, data in files.items()}
        listed = json.dumps({"files": marks}, indent=1, ensure_ascii=False).encode()
        replace_files(folder, {**files, LIST_NAME: listed}, left.removed)
    return left


def _leftovers(
    folder: Path, files: Mapping[str, bytes], interrupted: Interrupted | None
) -> Leftovers:
    # Some disks take A.stl and a.stl for one file.
    new = {name.casefold() for name in files}
    earlier = {
        name: mark for name, mark in listed_marks(folder).items() if name.casefold() not in new
    }
    there = {name: _mark_of(folder / name) for name in earlier}
    removed = tuple(name for name, mark in earlier.items() if there[name] == mark)
    kept = tuple(name for name in earlier if there[name] and name not in removed)
    return Leftovers(removed=removed, kept=kept, interrupted=interrupted)


def run_is_whole(folder: Path, files: Collection[str] | Mapping[str, str]) -> bool:
    """Tell whether a run left just these files in a folder, and all are still as it wrote them.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    files : collection of str, or mapping of str to str
        Names of the files; with the SHA-256 of each if they must be just those.
    """
    listed = listed_marks(folder)
    return (
        set(listed) == set(files)
        and (not isinstance(files, Mapping) or listed == files)
        and all(_mark_of(folder / name) == mark for name, mark in listed.items())
    )


def listed_marks(folder: Path) -> dict[str, str]:
    """Return name and SHA-256 of what the last run wrote; nothing if there is no sound list."""
    path = folder / LIST_NAME
    if not path.is_file():
        return {}
    with told(path, "file"):
        content = path.read_bytes() if path.stat().st_size <= _LARGEST_LIST else b""
    try:
        files = json.loads(content)["files"]
        return {
            name: mark
            for name, mark in files.items()
            if is_plain_name(name) and isinstance(mark, str) and name != LIST_NAME
        }
    # Whatever stands there instead was not written here, and says nothing about any file.
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _mark_of(path: Path) -> str:
    """Return the mark of a file; empty if there is none, and no file's if it may not be read."""
    if path.is_symlink() or not path.is_file():
        return ""
    with told(path, "file"):
        try:
            return _mark(path.read_bytes())
        except PermissionError:
            return "not to be read"


def _mark(data: bytes) -> str:
    return sha256(data).hexdigest()
