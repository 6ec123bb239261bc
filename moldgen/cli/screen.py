"""What the command line shows: summary, findings, lists and progress."""

from __future__ import annotations

import os
import re
import shutil
import sys
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from moldgen.finding import Finding, Making, Severity, counted, ranked, ring_numbers, sentence
from moldgen.language import in_words
from moldgen.named_file import visible
from moldgen.units_text import Units, as_read, read_in

if TYPE_CHECKING:
    from moldgen.pipeline.chosen_value import ChosenValue
    from moldgen.pipeline.mold.mended import MendedJob
    from moldgen.pipeline.result import Result

HEADINGS = {
    Severity.STOP: ("Will not form as it stands", "31;1"),
    Severity.CAUTION: ("Look at this before {}", "33"),
    Severity.NOTE: ("Worth knowing", "36"),
}


_MOST_SHOWN = 12
_OURS = re.compile(r"(\x1b\[[0-9;]*m|\n)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """Where the command line writes, and how much."""

    out: TextIO
    err: TextIO
    colors: bool = False
    quiet: bool = False
    verbose: bool = False
    why: bool = False

    def say(self, *lines: str) -> None:
        """Write lines, unless asked to be quiet."""
        if not self.quiet:
            self.out.write("".join(f"{self._safe(line)}\n" for line in lines))

    def _safe(self, line: str) -> str:
        """Return a line without what a terminal would obey, but for our own colors."""
        parts = _OURS.split(line)
        ours = ("\n", *parts[1::2]) if self.colors else ("\n",)
        return "".join(part if part in ours else visible(part) for part in parts)

    def painted(self, words: str, code: str) -> str:
        """Return words in a color, where colors are wanted."""
        return f"\x1b[{code}m{words}\x1b[0m" if self.colors else words


def wants_colors(stream: TextIO, environment: Mapping[str, str] = os.environ) -> bool:
    """Return whether a stream is a terminal that shows colors, and nobody asked for none."""
    if environment.get("NO_COLOR") or environment.get("TERM") == "dumb":
        return False
    # Older Windows consoles print the codes; newer ones name themselves.
    if sys.platform == "win32" and not {"WT_SESSION", "TERM"} & environment.keys():
        return False
    return stream.isatty()


def show_made(made: Result, folder: Path, screen: Screen) -> None:
    """Show what was made, what to know about it, and where the files are, in its units."""
    with read_in(made.units):
        _show_made(made, folder, screen)


def _show_made(made: Result, folder: Path, screen: Screen) -> None:
    if screen.quiet:
        # Being quiet must not hide that a mold is useless.
        grave = [finding for finding in made.findings if finding.severity is Severity.STOP]
        screen.err.write(
            "".join(
                f"moldgen: stop: {visible(one_line(sentence(f, words=as_read, names=in_words)))}\n"
                for f in grave
            )
        )
        return
    screen.say(screen.painted(made.title, "1"))
    summary = [(in_words(label), as_read(value)) for label, value in made.summary]
    width = max((len(label) for label, _ in summary), default=0)
    screen.say(*(f"  {label:<{width}}  {value}" for label, value in summary))
    _show_choices(made.choices, screen)
    numbered = _numbered(made)
    for severity in (Severity.STOP, Severity.CAUTION, Severity.NOTE):
        _show_group(severity, numbered, screen, making=made.making)
    if made.files:
        written = in_words(f"{counted(len(made.files), 'file')} in")
        screen.say("", f"{written} {folder}:")
        screen.say(*_wrapped(", ".join(made.files), indent="  "))
        if made.units is not Units.MM and any(map(is_in_mm, made.files)):
            screen.say(f"  {in_words(_STAY_IN_MM)}")


_STAY_IN_MM = "Lengths in STL, 3MF and drawings stay in millimeters, true to size."


def is_in_mm(name: str) -> bool:
    """Return whether a program that opens a file reads lengths from it, by its ending."""
    return name.endswith((".stl", ".3mf", ".svg", ".dxf"))


def _show_choices(choices: Sequence[ChosenValue], screen: Screen) -> None:
    """Show what was chosen, with reasons if they are wanted."""
    if not choices:
        return
    told = choices if screen.why else [replace(choice, because="") for choice in choices]
    more = "" if screen.why else f". {in_words('With --why: the reasons.')}"
    lead = f"  {in_words('chosen for you:')} "
    screen.say(
        *_wrapped(
            "; ".join(choice.told(as_read) for choice in told) + more, indent=" " * 4, first=lead
        )
    )


def show_mended(found: MendedJob, screen: Screen) -> None:
    """Show what was changed and what is left, or the nearest ways if something grave is."""
    if not found.changes and found.is_clear:
        screen.say(in_words("nothing to mend"))
        return
    before, after = _grave_text(found.before), _grave_text(found.after)
    screen.say(in_words(f"mended: {before} before, {after} now"))
    for change in found.changes:
        screen.say(*_wrapped(as_read(f"- {change.text}"), indent="    ", first="  "))
    if found.changes:
        screen.say(f"  {in_words(f'To leave one as it was: --keep {found.changes[0].name}')}")
    for changes, left in found.ways if not found.is_clear else ():
        what = ", ".join(f"{one.name} {one.after}" for one in changes)
        way = as_read(f"a way: {what} leaves {_grave_text(left)}")
        screen.say(*_wrapped(way, indent="    ", first="  "))
    screen.say("")


def _grave_text(findings: Iterable[Finding]) -> str:
    """Return how many stops and cautions there are, in words."""
    counts = [
        (sum(one.severity is severity for one in findings), str(severity))
        for findings in [tuple(findings)]
        for severity in (Severity.STOP, Severity.CAUTION)
    ]
    return " and ".join(counted(number, word) for number, word in counts if number) or "no caution"


def made_json(made: Result, folder: Path, *, exit_code: int) -> str:
    """Return the result for other programs: the words of ``findings.json``, code and files."""
    from moldgen.export.report.findings_json import findings_record, json_text

    record = findings_record(
        made.findings, title=made.title, summary=made.summary, numbers=made.numbers
    )
    files = [(folder / name).as_posix() for name in made.files]
    return json_text(record | {"exit_code": exit_code, "files": files})


def show_table(rows: Sequence[Sequence[str]], screen: Screen) -> None:
    """Show rows in columns, the last one wrapped."""
    if not rows:
        return
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    for row in rows:
        lead = "".join(f"{cell:<{width}}  " for cell, width in zip(row[:-1], widths, strict=True))
        screen.say(*_wrapped(row[-1], indent=" " * len(lead), first=lead))


def show_words(words: str, screen: Screen, *, indent: str = "  ") -> None:
    """Show a sentence or several, wrapped."""
    screen.say(*_wrapped(one_line(words), indent=indent))


def one_line(words: str) -> str:
    """Return words on one line."""
    return " ".join(words.split())


@dataclass(frozen=True, slots=True, kw_only=True)
class _NumberedFinding:
    """A finding with its number in the report, and that of its ring if there are pictures."""

    number: int
    finding: Finding
    ring: int | None


def _numbered(made: Result) -> list[_NumberedFinding]:
    ordered = ranked(made.findings)
    shows_rings = any(name.endswith(_WITH_RINGS) for name in made.files)
    return [
        _NumberedFinding(number=number, finding=finding, ring=ring if shows_rings else None)
        for number, (finding, ring) in enumerate(
            zip(ordered, ring_numbers(ordered), strict=True), start=1
        )
    ]


_WITH_RINGS = (".png", ".html", ".svg", ".dxf", ".pdf")
"""Endings of the files that show rings round the places of findings."""


def _show_group(
    severity: Severity, findings: Iterable[_NumberedFinding], screen: Screen, *, making: Making
) -> None:
    group = [one for one in findings if one.finding.severity is severity]
    if not group:
        return
    words, color = HEADINGS[severity]
    screen.say(
        "", screen.painted(f"{in_words(words.format(f'{making}ing'))} ({len(group)})", color)
    )
    shown = group if screen.verbose else group[:_MOST_SHOWN]
    for one in shown:
        basis = f" [{as_read(one.finding.basis)}]" if screen.verbose and one.finding.basis else ""
        words = one_line(sentence(one.finding, ring=one.ring, words=as_read, names=in_words))
        lead = f"  {one.number}. "
        screen.say(*_wrapped(words + basis, indent=" " * len(lead), first=lead))
    if len(shown) < len(group):
        screen.say(f"    {in_words(f'and {len(group) - len(shown)} more: -v shows them all')}")


def _wrapped(words: str, *, indent: str, first: str | None = None) -> list[str]:
    width = min(100, shutil.get_terminal_size((92, 24)).columns)
    lead = indent if first is None else first
    wrapped = textwrap.wrap(
        words,
        max(width, len(lead) + 24),
        initial_indent=lead,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return wrapped or [lead.rstrip()]
