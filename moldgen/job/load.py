"""Load a job file: TOML on the disk becomes a job."""

from __future__ import annotations

from pathlib import Path

from moldgen.errors import FileError, SpecError
from moldgen.job.any_job import AnyJob, job_from_words
from moldgen.toml_file import read_toml

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
    words = read_toml(path, kind="job file", most_bytes=LARGEST_FILE)
    if not words:
        raise FileError(f"{path} is empty. Write a job, or let --save-job write one.")
    try:
        return job_from_words(words)
    except SpecError as problem:
        raise problem.at(f"{path.name}: {problem.field}") from None
