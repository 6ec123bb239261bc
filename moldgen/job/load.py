"""Load a job file: TOML on the disk becomes a job."""

from __future__ import annotations

from pathlib import Path

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now
from moldgen.job.any_job import AnyJob, job_from_words
from moldgen.named_file import told, visible
from moldgen.toml_file import read_toml


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
    words = read_toml(path, kind="job file", most_bytes=limits_now().job_bytes)
    if not words:
        raise FileError(f"{told(path)} is empty. Write a job, or let --save-job write one.")
    try:
        return job_from_words(words)
    except SpecError as problem:
        raise problem.at(f"{visible(path.name)}: {problem.field}") from None
