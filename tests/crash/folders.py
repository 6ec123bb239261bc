"""Sets of files of known generations, and what a folder holds of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from moldgen.export.run_folder import LIST_NAME

THEIRS = {"theirs.txt": b"a person's notes", "photos/pier.txt": b"a person's picture"}


def file_set(generation: int, *, n_files: int = 4, size: int = 40) -> dict[str, bytes]:
    """Return the files of one run: the first half under the same names each time."""
    names = sorted(_every(n_files))
    names += [f"plan-{generation % 2}-{k}.svg" for k in range(n_files - n_files // 2)]
    return {
        name: f"{generation} {name} ".encode() + bytes([generation % 251]) * size for name in names
    }


def with_theirs(folder: Path) -> Path:
    """Make a folder that holds files of a person."""
    for name, data in THEIRS.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


@dataclass(frozen=True, kw_only=True)
class FolderState:
    """What stands in a folder, beside the files of the person.

    Attributes
    ----------
    generation : int or None
        Of the set that is there, all of it and nothing else; None if there is no such set.
    missing : tuple of str
        Files that every set has, and that are not there although others of a set are.
    leftovers : tuple of str
        What is hidden, but for the list of the run.
    theirs : bool
        Whether the files of the person are as they were.
    """

    generation: int | None
    missing: tuple[str, ...]
    leftovers: tuple[str, ...]
    theirs: bool

    @property
    def whole(self) -> bool:
        """Whether one set is there, nothing is left over, and nothing of the person's changed."""
        return self.generation is not None and not self.leftovers and self.theirs


def state_of(folder: Path, *, n_files: int = 4, size: int = 40) -> FolderState:
    """Return what stands in a folder; sets are as `file_set` makes them, 0 being no files."""
    there = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    theirs = all((folder / name).read_bytes() == data for name, data in THEIRS.items())
    shown = {
        name: data
        for name, data in there.items()
        if not name.startswith(".") and name not in THEIRS
    }
    newest = max((int(data.split(b" ")[0]) for data in shown.values()), default=0)
    wanted = _wanted(newest, n_files, size)
    hidden = {path.name for path in folder.iterdir() if path.name.startswith(".")}
    return FolderState(
        generation=newest if shown == wanted else None,
        missing=tuple(sorted(wanted.keys() & _every(n_files) - shown.keys())),
        leftovers=tuple(sorted(hidden - {LIST_NAME})),
        theirs=theirs,
    )


def _every(n_files: int) -> set[str]:
    return {f"mold-{k}.stl" for k in range(n_files // 2)}


def _wanted(generation: int, n_files: int, size: int) -> Mapping[str, bytes]:
    return file_set(generation, n_files=n_files, size=size) if generation else {}
