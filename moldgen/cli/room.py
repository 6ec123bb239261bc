"""The room's own usual values in place of moldgen's, for whatever was not typed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from moldgen.errors import SpecError
from moldgen.job.room import load_room
from moldgen.user_file import room_file, user_stock_file

if TYPE_CHECKING:
    from moldgen.cli.commands import Command
    from moldgen.quantity import Spec


def room_values(command: Command, spec: type[Spec]) -> dict[str, Any]:
    """Return what the room puts in place of a command's usual values, by field.

    A job file holds its own values, so that it gives the same in every room.
    """
    if not command.uses_room or not room_file(user_stock_file()).exists():
        return {}
    return load_room().values(spec)


@contextmanager
def told_of_room(filled: Mapping[str, Any]) -> Iterator[None]:
    """Tell a failure of a value that nobody typed as one of the room."""
    try:
        yield
    except SpecError as problem:
        for field in filled:
            word = field.removesuffix("_mm")
            if problem.field in (field, word, f"--{word.replace('_', '-')}"):
                where = f"{word.replace('_', ' ')} of the room (moldgen setup)"
                raise problem.at(where) from None
        raise
