"""A forming run as one compressed file."""

from __future__ import annotations

from pathlib import Path

from moldgen.physics.membrane import FormingRun


def write_run(run: FormingRun) -> bytes:
    """Return a run as one compressed file (npz): the same run, the same bytes."""
    raise NotImplementedError


def load_run(source: bytes | Path | str) -> FormingRun:
    """Return the run that `write_run` stored.

    Parameters
    ----------
    source : bytes, Path or str
        The file or what is in it.

    Raises
    ------
    FileError
        If it cannot be read or is not such a file.
    """
    raise NotImplementedError
