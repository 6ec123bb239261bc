"""The log command: what happened at each shot, kept, shown, exported."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from moldgen.cli.deliver import OUTPUTS
from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.screen import Screen, show_table
from moldgen.errors import SpecError
from moldgen.export.atomic import write_atomic
from moldgen.finding import counted
from moldgen.language import in_words
from moldgen.lesson.log.add import add_typed
from moldgen.lesson.log.call import chosen_notes
from moldgen.lesson.log.command import (
    LogAddCommand,
    LogExportCommand,
    LogRemoveCommand,
    LogShowCommand,
)
from moldgen.lesson.log.exchange import TakenNotes, log_bytes, take_over, taken_sentences
from moldgen.lesson.log.listing import HEAD, note_sentence, note_tables
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.named_file import place_to_write
from moldgen.quantity import Spec

S = TypeVar("S", bound=Spec)


def do_add(given: Mapping[str, Any], screen: Screen) -> int:
    """Keep a note, or those of a file."""
    return _carried_out(LogAddCommand, _add, given, screen)


def do_show(given: Mapping[str, Any], screen: Screen) -> int:
    """Show notes, a table for each mold."""
    return _carried_out(LogShowCommand, _show, given, screen)


def do_export(given: Mapping[str, Any], screen: Screen) -> int:
    """Write notes into a file."""
    return _carried_out(LogExportCommand, _export, given, screen)


def do_remove(given: Mapping[str, Any], screen: Screen) -> int:
    """Remove a note."""
    return _carried_out(LogRemoveCommand, _remove, given, screen)


def _carried_out(
    spec: type[S],
    run: Callable[[S, ShotLog, Screen], int],
    given: Mapping[str, Any],
    screen: Screen,
) -> int:
    """Read the words of a command, and carry it out on the log; errors name the options."""
    words: Any = spec_from_options(spec, given)
    try:
        folder = place_to_write(words.data, field="data") if words.data else None
        with ShotLog(folder) as log:
            return run(words, log, screen)
    except SpecError as problem:
        raise as_option(problem, spec) from None


def _add(words: LogAddCommand, log: ShotLog, screen: Screen) -> int:
    if words.from_:
        if words != LogAddCommand(from_=words.from_, data=words.data):
            raise SpecError("from_", "used alone", "more", "Leave out --from, or the others.")
        return _tell_taken(take_over(log, Path(words.from_)), screen)
    kept = add_typed(log, words, now=datetime.now(), folder=Path(), outputs=Path(OUTPUTS))
    screen.say(in_words(note_sentence(kept, counted=words.cycle is not None)))
    return 0


def _tell_taken(taken: TakenNotes, screen: Screen) -> int:
    for number, one in enumerate(taken_sentences(taken)):
        screen.say(f"  {one}" if number > 1 else one)
    return 1 if taken.left_out else 0


def _show(words: LogShowCommand, log: ShotLog, screen: Screen) -> int:
    notes = chosen_notes(log, job=words.job, machine=words.machine, plastic=words.plastic)
    if not notes:
        screen.say(in_words("Nothing is noted yet. moldgen log add keeps what happened at a shot."))
    head = tuple(map(in_words, HEAD))
    for name, rows in note_tables(notes):
        screen.say("", screen.painted(name, "1"))
        show_table([head, *rows], screen)
    return 0


def _export(words: LogExportCommand, log: ShotLog, screen: Screen) -> int:
    path = place_to_write(words.file, field="file")
    notes = chosen_notes(log, job=words.job, machine=words.machine, plastic=words.plastic)
    data = log_bytes((one.note for one in notes), ending=path.suffix.lower())
    write_atomic(path, data)
    screen.say(in_words(f"{counted(len(notes), 'note')} in {path}"))
    return 0


def _remove(words: LogRemoveCommand, log: ShotLog, screen: Screen) -> int:
    note = log.remove(int(words.number))
    screen.say(in_words(f"removed: {note.job}, cycle {note.cycle}, of {note.noted}"))
    return 0
