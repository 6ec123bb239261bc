"""The person's own room, for a program that asks for it."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

from moldgen.job.room import OwnRoom, load_room


def room(folder: str | PathLike[str] | None = None) -> OwnRoom:
    """Return the room that ``moldgen setup`` kept; the usual one if it kept none.

    The command line uses the room by itself. Functions never do: they are told, as in
    ``sign("PIER 4", **room().options)``, so that a program gives the same on every computer.

    Parameters
    ----------
    folder : path, optional
        Where the room is kept; where the command line keeps it if left out.

    Returns
    -------
    OwnRoom
        Table, printer, strip heater, sheets and filaments, and what they cost.

    Raises
    ------
    FileError
        If the file cannot be read.
    SpecError
        If something in it is wrong.
    """
    return load_room(Path(folder) / "stock.toml" if folder is not None else None)
