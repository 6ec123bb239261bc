"""A job with all the files that it names, so that it can be made in another place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from moldgen.errors import FileError
from moldgen.execution import limits_now
from moldgen.job.outline import JobDxf, JobOutline, JobPicture, JobSvg, JobText
from moldgen.job.spec import Job, JobFeature
from moldgen.limits import spoken_size
from moldgen.named_file import bounded_bytes, path_in, told

_FILE_WORDS = {JobSvg: "svg", JobDxf: "dxf", JobPicture: "picture", JobText: "font"}
"""The word of each kind of outline that may name a file."""
_LIMITS = {
    "svg": "drawing_bytes", "dxf": "drawing_bytes", "picture": "picture_bytes",
    "font": "font_bytes",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedJob:
    """A job and its files.

    Attributes
    ----------
    job : Job
        Names its files without folders.
    files : dict of str to bytes
        What they hold, by those names.
    """

    job: Job
    files: dict[str, bytes]


F = TypeVar("F", bound=JobFeature)


def pack_job(job: Job, *, folder: Path, font_path: Callable[[str], Path | None]) -> PackedJob:
    """Return a job with the files that it names.

    Parameters
    ----------
    job : Job
        As a file says it.
    folder : Path
        Where paths in it start.
    font_path : callable
        Finds the file of a font that is named and does not come along; None for one that does, or
        that nobody knows.

    Raises
    ------
    FileError
        If a file cannot be read.
    SpecError
        If one lies where it may not.
    """
    files: dict[str, bytes] = {}

    def packed(outline: JobOutline) -> JobOutline:
        word = _FILE_WORDS.get(type(outline))
        named = getattr(outline, word) if word else ""
        if not word or not named:
            return outline
        path: Path | None = path_in(folder, named, field=word)
        if word == "font" and not (path and path.is_file()):
            path = font_path(named)
        if path is None:
            return outline
        data = _content(path, getattr(limits_now(), _LIMITS[word]))
        name = _free_name(path, data, files)
        files[name] = data
        change: dict[str, Any] = {word: name}
        return replace(outline, **change)

    def with_files(feature: F) -> F:
        return replace(
            feature,
            outline=packed(feature.outline),
            raised=tuple(map(with_files, feature.raised)),
            sunk=tuple(map(with_files, feature.sunk)),
        )

    return PackedJob(job=replace(job, body=tuple(map(with_files, job.body))), files=files)


def _content(path: Path, most: float) -> bytes:
    try:
        data = bounded_bytes(path, most)
    except OSError as error:
        raise FileError(f"{told(path)} cannot be read: {error.strerror}.") from None
    if len(data) > most:
        raise FileError(f"{told(path)} is larger than {spoken_size(most)}. Make it smaller.")
    return data


def _free_name(path: Path, data: bytes, files: dict[str, bytes]) -> str:
    """Return the name of a file, with a number where another file has the same."""
    name, number = path.name.lstrip("."), 1
    while files.get(name, data) != data:
        number += 1
        name = f"{path.stem}-{number}{path.suffix}"
    return name
