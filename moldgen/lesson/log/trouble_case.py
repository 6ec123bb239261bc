"""A part with trouble: its note, beside what the program knows of its mold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from shlex import quote
from typing import Any

from moldgen.finding import Finding, Severity
from moldgen.language import in_words
from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.stock import Filament, Plastic, Shop
from moldgen.units_text import as_read

COMMON = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TroubleCase:
    """A note on a shot, and the mold it was formed on.

    Attributes
    ----------
    note : ShotNote
        What was seen.
    shop : Shop
        Plastics and filaments.
    job_file : str
        Job file of the mold, for the commands that are told.
    numbers : mapping
        Figures of the mold, as a result has them; what is missing is not known.
    findings : sequence of Finding
        What was found of the mold.
    table_heat_s : float or None
        What the sheet takes on this table, by the log where it has other notes; None if unknown.
        [s]
    """

    note: ShotNote
    shop: Shop
    job_file: str = "job.toml"
    numbers: Mapping[str, Any] = field(default_factory=dict)
    findings: Sequence[Finding] = ()
    table_heat_s: float | None = None

    def number(self, name: str) -> float | None:
        """Return a figure of the mold; None if it is not known."""
        value = self.numbers.get(name)
        return float(value) if isinstance(value, int | float) else None

    def found(self, *codes: str) -> Finding | None:
        """Return the gravest finding of these kinds that asks for a look; None if there is none."""
        grave = [one for one in self.findings if one.code in codes]
        order = list(Severity)
        return max(grave, key=lambda one: order.index(one.severity), default=None)

    @property
    def told_heat_s(self) -> float | None:
        """What the card said, or what is told for the mold; None if neither is known. [s]."""
        return self.note.told_heat_s or self.number("heat_s")

    @property
    def told_cool_s(self) -> float | None:
        """The same of the cooling. [s]."""
        return self.note.told_cool_s or self.number("cool_s")

    @property
    def plastic(self) -> Plastic | None:
        """The sheet's, if it is in stock."""
        return self.shop.plastics.get(self.note.plastic)

    @property
    def filament(self) -> Filament | None:
        """The mold's, if it is printed and in stock."""
        return self.shop.filaments.get(self.note.filament) if self.note.filament else None

    def command(self, name: str, *options: str) -> str:
        """Return a command on this job."""
        return " ".join(("moldgen", name, quote(self.job_file), *options))

    @property
    def heat_command(self) -> str:
        """The command that tells the heating of this sheet on this table."""
        note = self.note
        words = (
            f"moldgen heat {quote(note.plastic)} --gauge {note.thickness_mm:.4g} "
            f"--machine {quote(note.machine)}"
        )
        return f"{words} --filament {quote(note.filament)}" if note.filament else words


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelyCause:
    """What may have caused a trouble.

    Attributes
    ----------
    trouble : Outcome
        What was seen.
    says : str
        The cause, a clause.
    because : str
        What of this job's own numbers speaks for it; that nothing does, if so.
    advice : str
        The first thing to change, one sentence.
    command : str
        The command for it.
    strength : float
        How strongly the numbers speak for it, from 0, not at all, to 1. [-]
    basis : str
        Where that is known from.
    """

    trouble: Outcome
    says: str
    because: str
    advice: str
    command: str
    strength: float
    basis: str = COMMON


def cause_rows(causes: Sequence[LikelyCause]) -> Iterator[tuple[str, str, str, str]]:
    """Yield of each cause trouble, cause, what speaks for it and what to change first, as read."""
    for one in causes:
        trouble = in_words(one.trouble.value.replace("-", " "))
        yield trouble, as_read(one.says), as_read(one.because), as_read(one.advice)
