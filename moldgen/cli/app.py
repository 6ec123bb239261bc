"""The command line: read words, make one specification, call one function, show the result."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TextIO

from moldgen.cli.commands import COMMANDS, load_function, overview, unknown_command
from moldgen.cli.parser import UsageError, joined_minus, parser_of, refuse_torn, unknown_option
from moldgen.errors import GeometryError, MoldgenError
from moldgen.named_file import visible
from moldgen.old_words import OLD_COMMANDS
from moldgen.version import __version__

if TYPE_CHECKING:
    from moldgen.cli.screen import Screen


MADE, WILL_NOT_FORM, BAD_INPUT, FAILED, INTERRUPTED = 0, 1, 2, 3, 130


Run = Callable[[Mapping[str, Any], "Screen"], int]


_SELDOM = (200_000, 50, 100)


def main(argv: Sequence[str] | None = None) -> int:
    """Carry out one command and return the exit code.

    0 made, 1 made but it will not form as it stands, 2 bad input, 3 failed, 130 interrupted.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    # A command is over before the search for cycles of objects would have freed anything.
    gc.set_threshold(*_SELDOM)
    for stream in (sys.stdout, sys.stderr):
        _never_refuse_letters(stream)
    try:
        code = _carry_out(words)
        sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        return _tell("interrupted.", INTERRUPTED)
    except BrokenPipeError:
        _close_quietly()
        return MADE
    except GeometryError as problem:
        return _tell(str(problem), FAILED)
    except MoldgenError as problem:
        return _tell(str(problem), BAD_INPUT)
    except Exception as problem:
        if {"-v", "--verbose"} & set(words):
            raise
        what = f"{type(problem).__name__}: {problem}"[:300]
        return _tell(f"a fault of moldgen itself ({what}). Report it; -v shows where.", FAILED)


def _carry_out(words: list[str]) -> int:
    name, *rest = words or ["--help"]
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
        raise UsageError(unknown_command(name))
    return _command(name, rest)


def _command(name: str, words: list[str], *, old_name: str = "") -> int:
    command = COMMANDS[name]
    parser = parser_of(name, command)
    notes = [f"{old_name} is called {name} now"] if old_name else []
    if command.form:
        from moldgen.cli.old_options import renewed_options

        words, old = renewed_options(words, load_function(command.form))
        notes += [f"{was} is called {now} now" for was, now in old]
        refuse_torn(words, load_function(command.form))
    try:
        typed, left = parser.parse_known_intermixed_args(joined_minus(words))
    except SystemExit:  # --help was shown
        return MADE
    if left:
        raise UsageError(unknown_option(left[0], parser))
    given = vars(typed)
    screen = _screen(given)
    if notes:
        from moldgen.cli.old_options import tell_notes

        tell_notes(notes, screen)
    run = load_function(command.run)
    if not command.makes:
        return int(run(given, screen))
    from moldgen.cli.deliver import Delivery

    delivery = Delivery(
        out=given.get("out", ""),
        save_job=given.get("save_job", ""),
        also_make=given.get("also_make", False),
        as_json=given.get("json", False),
        mend=bool(given.get("mend")),
        keep=tuple(given.get("keep") or ()),
    )
    return int(run(given, delivery, screen))


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
    try:
        print(f"moldgen: {visible(' '.join(sentence.split()))}", file=sys.stderr)
    except BrokenPipeError:
        _close_quietly()
    return code


def _never_refuse_letters(stream: TextIO) -> None:
    # A console that lacks a letter shows its number rather than ending the program.
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="backslashreplace")


def _close_quietly() -> None:
    """Give the interpreter a place to flush to when the reader of our output has gone."""
    devnull = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        try:
            os.dup2(devnull, stream.fileno())
        except (OSError, ValueError):
            continue
