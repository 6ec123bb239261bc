"""The command line: read words, make one specification, call one function, show the result."""

from __future__ import annotations

import argparse
import gc
import os
import re
import sys
from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from functools import partial
from typing import TYPE_CHECKING, Any, NoReturn, TextIO

from moldgen.cli_commands import COMMANDS, Command, overview, unknown_command
from moldgen.errors import GeometryError, MoldgenError
from moldgen.version import __version__

if TYPE_CHECKING:
    from moldgen.cli_show import Screen
    from moldgen.job.form import Line
    from moldgen.quantity import Spec

MADE, WILL_NOT_FORM, BAD_INPUT, FAILED, INTERRUPTED = 0, 1, 2, 3, 130
Run = Callable[[Mapping[str, Any], "Screen"], int]


class UsageError(MoldgenError):
    """The words after ``moldgen`` do not make a command."""


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are one sentence."""

    def error(self, message: str) -> NoReturn:
        """Raise the complaint instead of leaving the program."""
        found = re.match(r"argument ([^:]+): (.*)", message, re.DOTALL)
        if found and "expected" in found[2]:
            message = f"{found[1].split('/')[-1]} must be followed by a value."
        elif found:
            message = f"{found[1].split('/')[-1]}: {found[2]}."
        missing = message.partition("arguments are required: ")[2]
        if missing:
            message = f"{missing} must be given."
        raise UsageError(f"{message} {self.prog} --help shows an example.")


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
    if name not in COMMANDS:
        raise UsageError(unknown_command(name))
    return _command(name, rest)


def _command(name: str, words: list[str]) -> int:
    command = COMMANDS[name]
    parser = _parser(name, command)
    if command.form:
        _refuse_torn(words, _found(command.form))
    try:
        typed, left = parser.parse_known_intermixed_args(_joined_minus(words))
    except SystemExit:  # --help was shown
        return MADE
    if left:
        raise UsageError(_unknown_option(left[0], parser))
    given = vars(typed)
    screen = _screen(given)
    run = _found(command.run)
    if not command.makes:
        return int(run(given, screen))
    from moldgen.cli_do import Wish

    wish = Wish(
        out=given.get("out", ""),
        save_job=given.get("save_job", ""),
        also_make=given.get("also_make", False),
        as_json=given.get("json", False),
    )
    return int(run(given, wish, screen))


def _refuse_torn(words: list[str], spec: type[Spec]) -> None:
    from moldgen.cli_words import torn_measure

    torn = torn_measure(words, spec)
    if torn:
        name, whole = torn
        mark = "'" if '"' in whole else '"'
        raise UsageError(
            f"{name} takes one word, write {mark}{whole}{mark} in quotes; "
            f"if that is not one measure, put {name} last."
        )


def _parser(name: str, command: Command) -> Parser:
    parser = Parser(
        prog=f"moldgen {name}",
        description=_as_sentence(command.about),
        epilog=f"Example: {command.example}",
        allow_abbrev=False,
        argument_default=argparse.SUPPRESS,
        formatter_class=partial(argparse.HelpFormatter, max_help_position=30),
    )
    if command.form:
        _add_form(parser, _found(command.form))
    if command.makes:
        _add_wishes(parser, saves=name in ("sign", "tray", "raise", "bend"))
    if name in ("shapes", "fonts"):
        parser.add_argument("--sheet", metavar="FILE", help="picture of all of them (.png or .svg)")
    if name == "fonts":
        parser.add_argument("--all", action="store_true", help="list every font of this computer")
    if name == "stock":
        _add_stock(parser)
    if name == "schema":
        parser.add_argument("kind", nargs="?", help="job (usual) or findings")
    parser.add_argument(
        "--no-colour", "--no-color", action="store_true", dest="plain", help="no colours"
    )
    return parser


def _as_sentence(words: str) -> str:
    return words[0].upper() + words[1:] + ("" if words.endswith("?") else ".")


def _add_form(parser: Parser, spec: type[Spec]) -> None:
    """Add one option, or one word without an option, for every line of a form."""
    from moldgen.cli_words import is_positional
    from moldgen.job.command_words import MoldWords
    from moldgen.job.form import form_of

    common = {line.field for line in form_of(MoldWords)}
    own_group = parser.add_argument_group("what is made")
    common_group = parser.add_argument_group("sheet, machines, walls and files")
    plain = [line for line in form_of(spec) if is_positional(line)]
    for line in form_of(spec):
        _add_line(common_group if line.field in common else own_group, line)
    words = " ".join(f"{line.word.upper()}{' ...' * bool(line.item)}" for line in plain)
    if not all(line.required for line in plain):
        words = f"[{words}]"
    parser.usage = " ".join([parser.prog, *([words] if plain else []), "[options]"])


def _add_line(group: Any, line: Line) -> None:
    from moldgen.cli_words import is_positional, metavar, option, option_help

    told: dict[str, Any] = {"help": option_help(line)}
    if is_positional(line):
        many = "+" if line.item else (None if line.required else "?")
        group.add_argument(line.field, metavar=line.word.upper(), nargs=many, **told)
    elif line.kind is bool:
        group.add_argument(option(line.word), action="store_true", dest=line.field, **told)
    else:
        told |= {"metavar": metavar(line), "action": "append" if _is_list(line) else "store"}
        group.add_argument(option(line.word), dest=line.field, **told)


def _is_list(line: Line) -> bool:
    return line.item is not None and line.word in ("formats", "layer", "jigs", "seen")


def _add_wishes(parser: Parser, *, saves: bool) -> None:
    add = parser.add_argument_group("what is done with it").add_argument
    add("--out", metavar="FOLDER", help="where files go (usual: outputs/ and the title)")
    if saves:
        add("--save-job", metavar="FILE", help="write the job file this stands for, and stop")
        add("--also-make", action="store_true", help="with --save-job: do not stop")
    add("--json", action="store_true", help="the result as JSON, for other programs")
    add("--quiet", "-q", action="store_true", help="show nothing but what is wrong")
    add("--verbose", "-v", action="store_true", help="show the stages and where limits come from")


def _add_stock(parser: Parser) -> None:
    parser.add_argument(
        "kind",
        nargs="?",
        help="sheet, filament, station, printer, gauge, insert, strip-heater, drill or dowel",
    )
    parser.add_argument("--stock", metavar="FILE", help="file with your own entries")
    parser.add_argument(
        "--user-file", action="store_true", help="show where your own entries are read from"
    )


def _screen(given: Mapping[str, Any]) -> Screen:
    from moldgen.cli_show import Screen, wants_colours

    if given.get("quiet") and given.get("verbose"):
        raise UsageError("--quiet must be used without --verbose. Leave one of them out.")
    return Screen(
        out=sys.stdout,
        err=sys.stderr,
        colours=wants_colours(sys.stdout) and not given.get("plain"),
        quiet=bool(given.get("quiet")),
        verbose=bool(given.get("verbose")),
    )


def _unknown_option(word: str, parser: Parser) -> str:
    name = word.partition("=")[0]
    if not name.startswith("-"):
        return f"{word!r} is one word too many for {parser.prog}. Put words in quotes."
    known = [text for action in parser._actions for text in action.option_strings]
    near = get_close_matches(name, known, n=2, cutoff=0.6)
    hint = f"Did you mean {' or '.join(near)}?" if near else f"See {parser.prog} --help."
    return f"{name} is not an option of {parser.prog}. {hint}"


_MINUS = {
    "--pull": re.compile("-[xyz]"),
    "--up": re.compile("-[xyz]"),
    "--angles": re.compile(r"-[\d.].*"),
}


def _joined_minus(words: list[str]) -> list[str]:
    """Return the words with ``--pull -z`` as one, or -z would be taken for an option."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] in _MINUS and _MINUS[joined[-1]].fullmatch(word):
            joined[-1] = f"{joined[-1]}={word}"
        else:
            joined.append(word)
    return joined


def _found(place: str) -> Any:
    from importlib import import_module

    module, _, name = place.partition(":")
    return getattr(import_module(module), name)


def _tell(sentence: str, code: int) -> int:
    try:
        print(f"moldgen: {' '.join(sentence.split())}", file=sys.stderr)
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
