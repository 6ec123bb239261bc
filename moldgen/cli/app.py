"""The command line: read words, make one specification, call one function, show the result."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from moldgen.cli.commands import (
    COMMANDS,
    Command,
    load_function,
    overview,
    overview_of,
    unknown_command,
)
from moldgen.cli.language import language_wanted, without_language
from moldgen.cli.parser import UsageError, joined_minus, parser_of, refuse_torn, unknown_option
from moldgen.cli.streams import StreamError, flush_streams, lasting_streams
from moldgen.cli.termination import Termination, ending_when_asked
from moldgen.errors import GeometryError, MoldgenError, SpecError
from moldgen.language import speak, translated
from moldgen.named_file import visible
from moldgen.old_words import OLD_COMMANDS, new_name
from moldgen.version import __version__
from moldgen.wording import nearest, one_of, shown

if TYPE_CHECKING:
    from moldgen.cli.screen import Screen


MADE, WILL_NOT_FORM, BAD_INPUT, FAILED = 0, 1, 2, 3
INTERRUPTED, TERMINATED = 130, 143


Run = Callable[[Mapping[str, Any], "Screen"], int]


_SELDOM = (200_000, 50, 100)


def main(argv: Sequence[str] | None = None) -> int:
    """Carry out one command and return the exit code.

    0 made, 1 made but it will not form as it stands, 2 bad input, 3 failed, 130 interrupted,
    143 ended by the system.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    # A command is over before the search for cycles of objects would have freed anything.
    gc.set_threshold(*_SELDOM)
    with lasting_streams():
        return _code(words)


def _code(words: list[str]) -> int:
    """Carry out a command, tell what ends it, and return the exit code."""
    try:
        with speak(language_wanted(words)):
            return _spoken(words)
    except SpecError as problem:  # of the language itself
        return _tell(str(problem), BAD_INPUT)


def _spoken(words: list[str]) -> int:
    try:
        with ending_when_asked():
            code = _carry_out(words)
            flush_streams()
            return code
    except Termination:
        return _tell("ended by the system.", TERMINATED)
    except KeyboardInterrupt:
        return _tell("interrupted.", INTERRUPTED)
    except (GeometryError, StreamError) as problem:
        return _tell(str(problem), FAILED)
    except MoldgenError as problem:
        return _tell(str(problem), BAD_INPUT)
    except Exception as problem:
        if {"-v", "--verbose"} & set(words):
            return _tell_where(problem)
        what = f"{type(problem).__name__}: {problem}"[:300]
        return _tell(f"a fault of moldgen itself ({what}). Report it; -v shows where.", FAILED)


def _carry_out(words: list[str]) -> int:
    typed, *rest = without_language(words) or ["--help"]
    name = typed if typed.startswith("-") else typed.casefold()
    if name in ("-h", "--help", "help"):
        if rest and rest[0] in COMMANDS:
            return _carry_out([rest[0], "--help"])
        print(overview())
        return MADE
    if name in ("-V", "--version"):
        print(f"moldgen {__version__}")
        return MADE
    if name in OLD_COMMANDS:
        return _command(OLD_COMMANDS[name], rest, old_name=name)
    if name not in COMMANDS:
        raise UsageError(unknown_command(typed))
    if COMMANDS[name].parts:
        return _part(name, rest)
    return _command(name, rest)


def _part(name: str, words: list[str]) -> int:
    """Carry out one of the commands that a command is made of."""
    parts = COMMANDS[name].parts
    if words and words[0].casefold() in parts:
        part = words[0].casefold()
        return _command(f"{name} {part}", words[1:], command=parts[part])
    if not words or {"-h", "--help", "--help-all"} & set(words):
        print(overview_of(name, COMMANDS[name]))
        return MADE
    got = f"{shown(words[0])} does not belong behind moldgen {name}."
    raise UsageError(
        f"{got} {nearest(words[0], list(parts), most=1) or f'Choose {one_of(parts)}.'}"
    )


def _command(
    name: str, words: list[str], *, command: Command | None = None, old_name: str = ""
) -> int:
    command = command or COMMANDS[name]
    until = words.index("--") if "--" in words else len(words)
    everything = "--help-all" in words[:until]
    parser = parser_of(name, command, all_options=everything)
    if everything:
        parser.print_help()
        return MADE
    notes = [f"{old_name} is called {name} now"] if old_name else []
    if command.form:
        from moldgen.cli.old_options import renewed_options
        from moldgen.cli.options import parted_sides

        words, old = renewed_options(words, load_function(command.form))
        notes += [f"{was} is called {now} now" for was, now in old]
        words = parted_sides(words, load_function(command.form))
        refuse_torn(words, load_function(command.form))
    try:
        typed, left = parser.parse_known_intermixed_args(joined_minus(words))
    except SystemExit:  # --help was shown
        return MADE
    if left:
        raise UsageError(unknown_option(left[0], parser))
    given = vars(typed)
    printer = given.get("printer", "")
    if new_name("printer", printer) != printer:
        given["printer"] = new_name("printer", printer)
        notes.append(f"{printer} is called {given['printer']} now")
    return _run(command, given, notes)


def _run(command: Command, typed: Mapping[str, Any], notes: Sequence[str]) -> int:
    """Carry out a command with what was typed, and with what the room says beside."""
    screen = _screen(typed)
    if notes:
        from moldgen.cli.old_options import tell_notes

        tell_notes(notes, screen)
    run = load_function(command.run)
    if not command.makes:
        return int(run(typed, screen))
    from moldgen.cli.deliver import Delivery
    from moldgen.cli.options import spec_from_options
    from moldgen.cli.room import room_values, told_of_room
    from moldgen.job.cluster_words import WorkerWords

    delivery = Delivery(
        out=typed.get("out", ""),
        save_job=typed.get("save_job", ""),
        also_make=typed.get("also_make", False),
        as_json=typed.get("json", False),
        mend=bool(typed.get("mend")),
        keep=tuple(typed.get("keep") or ()),
        use_log=command.heats and not typed.get("no_log", False),
        workers=spec_from_options(WorkerWords, typed),
    )
    room = room_values(command, load_function(command.form))
    filled = {field: value for field, value in room.items() if field not in typed}
    with told_of_room(filled):
        return int(run({**filled, **typed}, delivery, screen))


def _screen(given: Mapping[str, Any]) -> Screen:
    from moldgen.cli.screen import Screen, wants_colors

    if given.get("quiet") and given.get("verbose"):
        raise UsageError("--quiet must be used without --verbose. Leave one of them out.")
    return Screen(
        out=sys.stdout,
        err=sys.stderr,
        colors=wants_colors(sys.stdout) and not given.get("plain"),
        quiet=bool(given.get("quiet")),
        verbose=bool(given.get("verbose")),
        why=bool(given.get("why")),
    )


def _tell(sentence: str, code: int) -> int:
    told = translated(" ".join(sentence.split()))
    with suppress(StreamError):  # the code says it, too
        print(f"moldgen: {visible(told)}", file=sys.stderr)
        flush_streams()
    return code


def _tell_where(problem: Exception) -> int:
    import traceback

    with suppress(StreamError):
        traceback.print_exception(problem)
        flush_streams()
    return FAILED
