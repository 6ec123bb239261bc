"""The parser of one command's words, made from its form."""

from __future__ import annotations

import argparse
import re
from functools import partial
from typing import TYPE_CHECKING, Any, NoReturn

from moldgen.cli.commands import Command, load_function
from moldgen.errors import MoldgenError
from moldgen.language import in_words
from moldgen.wording import cut_short, nearest, shown

if TYPE_CHECKING:
    from moldgen.job.form import FormField
    from moldgen.quantity import Spec


class UsageError(MoldgenError):
    """The words after ``moldgen`` do not make a command."""


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are one sentence."""

    def error(self, message: str) -> NoReturn:
        """Raise the complaint instead of leaving the program."""
        refused = re.match(r"argument ([^:]+): (.*)", message, re.DOTALL)
        if refused and "expected" in refused[2]:
            message = f"{refused[1].split('/')[-1]} must be followed by a value."
        elif refused:
            message = f"{refused[1].split('/')[-1]}: {refused[2]}."
        missing = message.partition("arguments are required: ")[2]
        if missing:
            message = f"{missing} must be given."
        raise UsageError(f"{message} {self.prog} --help shows an example.")


def refuse_torn(words: list[str], spec: type[Spec]) -> None:
    """Refuse a measure that the shell has torn apart, as in ``--gauge 1 1/2 in``."""
    from moldgen.cli.options import torn_measure

    torn = torn_measure(words, spec)
    if torn:
        name, whole = torn
        mark = "'" if '"' in whole else '"'
        raise UsageError(
            f"{name} takes one word, write {mark}{whole}{mark} in quotes; "
            f"if that is not one measure, put {name} last."
        )


def parser_of(name: str, command: Command, *, all_options: bool = False) -> Parser:
    """Return the parser of a command; its help shows the usual options, or all."""
    few = bool(command.usual) and not all_options
    more = f" {in_words(f'The usual options; moldgen {name} --help-all shows all.')}" if few else ""
    parser = Parser(
        prog=f"moldgen {name}",
        description=_as_sentence(in_words(command.about)) + more,
        epilog=f"{in_words('Example:')} {command.example}",
        allow_abbrev=False,
        add_help=False,
        argument_default=argparse.SUPPRESS,
        formatter_class=partial(_Help, max_help_position=30),
    )
    _name_groups(parser)
    if command.form:
        _add_form(parser, command)
    if command.makes:
        _add_wishes(parser, saves=name in ("sign", "tray", "nest", "raise", "bend"))
        if name in ("sign", "tray", "nest", "raise", "make"):
            _add_mending(parser)
    else:
        # A fault says that -v shows where it lies: whatever the command.
        _add(parser, "--verbose", "-v", action="store_true", help="show where a fault lies")
    if command.heats:
        _add(
            parser, "--no-log", action="store_true",
            help="as computed, whatever the log says of table and printer",
        )  # fmt: skip
    _add_own(parser, name, all_options=all_options)
    if few:
        _hide_seldom(parser, {f"--{word}" for word in command.usual.split()} | {"--help"})
    return parser


class _Help(argparse.HelpFormatter):
    """Help whose first word is in the language that is read now."""

    def add_usage(self, usage: Any, actions: Any, groups: Any, prefix: str | None = None) -> None:
        """Begin with how the command is typed."""
        super().add_usage(usage, actions, groups, prefix or f"{in_words('usage:')} ")


def _add(group: Any, *names: str, help: str, **keywords: Any) -> None:
    """Add an argument with its help in the language that is read now."""
    group.add_argument(*names, help=in_words(help), **keywords)


def _name_groups(parser: Parser) -> None:
    """Name the parser's own groups, and add its help, in the language that is read now."""
    parser._positionals.title = in_words(parser._positionals.title or "")
    parser._optionals.title = in_words(parser._optionals.title or "")
    _add(parser, "-h", "--help", action="help", help="show this help message and exit")


def _add_own(parser: Parser, name: str, *, all_options: bool) -> None:
    """Add what single commands have, and what all of them have."""
    if name in ("shapes", "fonts"):
        _add(parser, "--sheet", metavar="FILE", help="picture of all of them (.png or .svg)")
    if name == "shapes":
        _add_workers(parser)
    if name == "fonts":
        _add(parser, "--all", action="store_true", help="list every font of this computer")
    if name == "stock":
        _add_stock(parser)
    if name == "schema":
        _add(parser, "kind", nargs="?", help="job (usual) or findings")
    _add(parser, "--no-colour", "--no-color", action="store_true", dest="plain", help="no colours")
    if name != "setup":
        _add(parser, "--language", metavar="CHOICE", help="en, de, es or fr, for what people read")
    if not all_options and name != "setup":
        _hide(parser, "--language")
    _add(parser, "--help-all", action="store_true", help="show this help with all options")


def _hide(parser: Parser, name: str) -> None:
    """Leave an option out of the help, and take it as before."""
    for action in parser._actions:
        if name in action.option_strings:
            action.help = argparse.SUPPRESS


def _hide_seldom(parser: Parser, usual: set[str]) -> None:
    """Leave out of the help what is no usual option; all of them are taken as before."""
    for action in parser._actions:
        if action.option_strings and not usual & set(action.option_strings):
            action.help = argparse.SUPPRESS


def _as_sentence(words: str) -> str:
    return words[0].upper() + words[1:] + ("" if words.endswith("?") else ".")


def _add_form(parser: Parser, command: Command) -> None:
    """Add one option, or one word without an option, for every line of a form."""
    from moldgen.cli.options import is_positional
    from moldgen.cli.room import room_values
    from moldgen.job.command.mold import MoldOptions
    from moldgen.job.form import form_of

    spec = load_function(command.form)
    usual = room_values(command, spec)
    common = {line.field for line in form_of(MoldOptions)}
    own_group = parser.add_argument_group(in_words("options of what is made"))
    common_group = parser.add_argument_group(
        in_words("options of sheet, machines, walls and files")
    )
    plain = [line for line in form_of(spec) if is_positional(line)]
    for line in form_of(spec):
        group = common_group if line.field in common else own_group
        _add_line(group, line, usual.get(line.field, line.default))
    words = " ".join(f"{line.word.upper()}{' ...' * bool(line.item)}" for line in plain)
    if not all(line.required for line in plain):
        words = f"[{words}]"
    parser.usage = " ".join([parser.prog, *([words] if plain else []), in_words("[options]")])


def _add_line(group: Any, line: FormField, usual: Any) -> None:
    from moldgen.cli.options import is_positional, metavar, option, option_help

    keywords: dict[str, Any] = {"help": option_help(line, usual)}
    if is_positional(line):
        many = "+" if line.item else (None if line.required else "?")
        group.add_argument(line.field, metavar=line.word.upper(), nargs=many, **keywords)
    elif line.kind is bool:
        group.add_argument(option(line.word), action="store_true", dest=line.field, **keywords)
    else:
        keywords |= {"metavar": metavar(line), "action": "append" if _is_list(line) else "store"}
        group.add_argument(option(line.word), dest=line.field, **keywords)


def _is_list(line: FormField) -> bool:
    return line.item is not None and line.word in ("formats", "layer", "jigs", "seen", "measured")


def _add_wishes(parser: Parser, *, saves: bool) -> None:
    add = partial(_add, parser.add_argument_group(in_words("options of output")))
    add("--out", metavar="FOLDER", help="where files go (usual: outputs/ and the title)")
    if saves:
        add("--save-job", metavar="FILE", help="write the job file this stands for, and stop")
        add("--also-make", action="store_true", help="with --save-job: do not stop")
        add("--why", action="store_true", help="say why what you left open was chosen so")
    add("--json", action="store_true", help="the result as JSON, for other programs")
    add("--quiet", "-q", action="store_true", help="show nothing but what is wrong")
    add("--verbose", "-v", action="store_true", help="show the stages and where limits come from")


def _add_mending(parser: Parser) -> None:
    group = parser.add_argument_group(in_words("options of mending"))
    add = partial(_add, group)
    add("--mend", action="store_true", help="change what has to change until nothing is left")
    add(
        "--keep", action="append", metavar="VALUE",
        help="with --mend: leave this as it is, such as gauge or letters.height; may be repeated",
    )  # fmt: skip
    _add_workers(group)


def _add_workers(group: Any) -> None:
    """Add who does the work, under the same names for all commands that build many."""
    from moldgen.job.cluster_words import WorkerWords
    from moldgen.job.form import form_of

    for line in form_of(WorkerWords):
        _add_line(group, line, line.default)


def _add_stock(parser: Parser) -> None:
    _add(
        parser,
        "kind",
        nargs="?",
        help="sheet, filament, machine, printer, gauge, insert, strip-heater, drill or dowel",
    )
    _add(parser, "--stock", metavar="FILE", help="file with your own entries")
    _add(
        parser,
        "--user-file",
        action="store_true",
        help="show where your own entries are read from",
    )


def unknown_option(word: str, parser: Parser) -> str:
    """Return what to say about an option that is none."""
    name = word.partition("=")[0]
    if not name.startswith("-"):
        return f"{shown(word)} is one word too many for {parser.prog}. Put words in quotes."
    known = [text for action in parser._actions for text in action.option_strings]
    hint = nearest(name, known, most=2) or f"See {parser.prog} --help."
    return f"{cut_short(name)} is not an option of {parser.prog}. {hint}"


_MINUS = {
    "--draw-direction": re.compile("-[xyz]"),
    "--up": re.compile("-[xyz]"),
    "--angles": re.compile(r"-[\d.].*"),
}


def joined_minus(words: list[str]) -> list[str]:
    """Return the words with ``--draw-direction -z`` as one, or -z would be taken for an option."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] in _MINUS and _MINUS[joined[-1]].fullmatch(word):
            joined[-1] = f"{joined[-1]}={word}"
        else:
            joined.append(word)
    return joined
