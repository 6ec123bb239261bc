"""Load a job file: TOML on the disk becomes a job."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from moldgen.errors import FileError, SpecError
from moldgen.job.any_job import AnyJob, job_from_words

LARGEST_FILE = 5_000_000
"""A job file is written by people; a larger file is something else. [bytes]"""


def load_job(path: Path | str) -> AnyJob:
    """Read the job file of a mold or a bent strip.

    Parameters
    ----------
    path : path
        A TOML file.

    Returns
    -------
    Job or StripJob
        What it says.

    Raises
    ------
    FileError
        If the file cannot be read or is not TOML; the sentence names the line.
    SpecError
        If something in it is wrong; the field names file and place.
    """
    path = Path(path)
    words = _toml(path)
    try:
        return job_from_words(words)
    except SpecError as problem:
        field = f"{path.name}: {problem.field}"
        raise SpecError(field, problem.rule, problem.got, problem.hint) from None


def _toml(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise FileError(
                f"{path} is too large for a job file (over {LARGEST_FILE // 1_000_000} MB). "
                "Give the right file."
            )
        words = path.read_bytes()
    except FileError:
        raise
    except (OSError, ValueError) as problem:
        reason = (getattr(problem, "strerror", "") or "not a usable file name").lower()
        raise FileError(f"{path} cannot be read: {reason}. Check the file name.") from None
    return _parsed(path, words)


def _parsed(path: Path, words: bytes) -> dict[str, Any]:
    try:
        # Some editors begin a file with a byte order mark, which TOML does not know.
        text = words.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileError(f"{path} is not text in UTF-8. Give a job file (TOML).") from None
    if not text.strip():
        raise FileError(f"{path} is empty. Write a job, or let --save-job write one.")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise FileError(f"{path} is nested too deeply for a job file.") from None
    except ValueError as problem:
        said = " ".join(str(problem).split())[:200]
        raise FileError(f"{path} is not TOML: {said}. Correct that place.") from None
