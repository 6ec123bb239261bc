"""How many cycles the molds of a class stand, where the log has noted it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from moldgen.finding import Finding, Severity, counted
from moldgen.lesson.class_work.run import PersonWork


def lives_row(works: Sequence[PersonWork]) -> tuple[tuple[str, str], ...]:
    """Return the row of the summary on how long the shortest-lived mold lasts; none without notes.

    Parameters
    ----------
    works : sequence of PersonWork
        What became of each job.
    """
    noted = [told for work in works if "cycles_stood_molds" in (told := work.record.numbers)]
    if not noted:
        return ()
    return (("Mold life by the log", _life_text(min(noted, key=_cycles))),)


def _cycles(told: dict[str, Any]) -> float:
    """Return how many cycles a mold stands: on average, or at least where none was given up."""
    stood: float | None = told["cycles_stood"]
    return float(told["cycles_stood_band"][0]) if stood is None else stood


def _life_text(told: dict[str, Any]) -> str:
    cycles, molds = _cycles(told), counted(told["cycles_stood_molds"], "mold")
    if told["cycles_stood"] is None:
        return f"{cycles:.0f} cycles or more each, by {molds} of this table"
    return f"about {cycles:.0f} cycles each, by {molds} of this table"


def worn_findings(works: Sequence[PersonWork]) -> tuple[Finding, ...]:
    """Return which molds are to be formed on more often than such molds stood."""
    return tuple(
        Finding(
            code="class-mold-life",
            severity=Severity.CAUTION,
            says=f"{counted(work.entry.pieces, 'cycle')} are wanted of the mold; such molds stood "
            "on average, in cycles",
            measured=told["cycles_stood"],
            unit="",
            subject=work.entry.name,
            basis=f"{counted(told['cycles_stood_molds'], 'mold')} noted at this table",
            advice="Print a second mold, or take a filament that stands more heat.",
        )
        for work in works
        if (told := work.record.numbers).get("cycles_stood")
        and work.entry.pieces > told["cycles_stood"]
    )
