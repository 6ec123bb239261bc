"""What the notes of a forming table say, in sentences: each with its range and its notes."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.finding import Finding, Severity, counted
from moldgen.pipeline.types import Rows
from moldgen.printing.estimate import spoken_time
from moldgen.stock.experience import Contradiction, CyclesStood, NoteEstimate, TableExperience
from moldgen.wording import clock_text

_HOUR_s = 3600.0


def experience_rows(known: TableExperience | None, *, told: str = "") -> Rows:
    """Return what notes say beside the heating time of the sheet; nothing without notes.

    Parameters
    ----------
    known : TableExperience or None
        What notes of the table say.
    told : str
        Filament whose molds are told elsewhere, with what is computed for the mold in hand.
    """
    return () if known is None else tuple(_rows(known, told))


def contradiction_findings(known: TableExperience | None) -> tuple[Finding, ...]:
    """Return what is said of notes that do not go with the others."""
    return () if known is None else tuple(map(_contradiction, known.left_out))


def _contradiction(one: Contradiction) -> Finding:
    """Return what is said of notes that do not go with the others."""
    foretold, on = _foretold(one), _on_text(one)
    if not foretold:
        says = (
            f"these notes{on} contradict each other, no other tells which is right, and none counts"
        )
    else:
        says = (
            f"this note{on} contradicts the others, which foretell about {foretold}, and does not "
            "count"
        )
    return Finding(
        code="notes-contradict",
        severity=Severity.NOTE,
        says=says,
        subject="; ".join(one.notes),
        basis="a time twice that of the same sheet, or four standard deviations from the others",
        advice="Correct what is wrong in the log.",
    )


def _on_text(one: Contradiction) -> str:
    """Return what notes are about; empty for heating, of which most are."""
    match one.about:
        case "cooling":
            return " on cooling"
        case "thickness":
            return " on thickness"
        case "printing":
            return " on printing"
        case "mold life":
            return " on mold life"
    return ""


def _foretold(one: Contradiction) -> str:
    """Return what other notes foretell, in words; empty if nothing."""
    if one.foretold_s is not None:
        long = one.foretold_s >= _HOUR_s
        return spoken_time(one.foretold_s) if long else clock_text(one.foretold_s)
    if one.foretold_mm is not None:
        return f"{one.foretold_mm:.2g} mm"
    if one.foretold_cycles is not None:
        return counted(round(one.foretold_cycles), "cycle")
    return ""


def _rows(known: TableExperience, told: str) -> Iterator[tuple[str, str]]:
    if known.heating is not None:
        yield "Log: heating", heating_sentence(known.heating.table_factor)
    if known.cooling is not None:
        yield "Log: cooling", cooling_sentence(known.cooling)
    if known.thickness is not None:
        yield "Log: thickness", thickness_sentence(known.thickness)
    if known.printing is not None:
        yield "Log: printing", printing_sentence(known.printing)
    for one in known.lives:
        if one.filament != told:
            yield "Log: mold life", life_sentence(one)


def heating_sentence(factor: NoteEstimate) -> str:
    """Return how heating on a table differs from what is computed, at the usual gauge."""
    return f"Heating on this table takes {factor.value:.2f} times what is computed {_of(factor)}."


def cooling_sentence(factor: NoteEstimate) -> str:
    """Return how long parts stay on the mold, held against what is computed."""
    return f"Parts stay on the mold {factor.value:.2f} times as long as computed {_of(factor)}."


def thickness_sentence(factor: NoteEstimate) -> str:
    """Return how thick parts are, held against what is computed."""
    return f"Parts are {factor.value:.2f} times as thick as computed {_of(factor)}."


def printing_sentence(factor: NoteEstimate) -> str:
    """Return how long molds print, held against the estimate."""
    return f"Printing takes {factor.value:.2f} times what is estimated {_of(factor)}."


def life_sentence(one: CyclesStood) -> str:
    """Return how many cycles molds of a filament stood."""
    cycles, molds = one.cycles, counted(one.cycles.n_notes, "mold")
    if not one.n_ended:
        return (
            f"{one.filament} molds stand {cycles.low:.0f} cycles or more "
            f"({molds}, none given up so far)."
        )
    return (
        f"{one.filament} molds stand about {cycles.value:.0f} cycles "
        f"({cycles.low:.0f} to {cycles.high:.0f}; {molds}, {one.n_ended} given up)."
    )


def _of(factor: NoteEstimate) -> str:
    notes = counted(factor.n_notes, "note")
    return f"({factor.low:.2f} to {factor.high:.2f}; {notes})"
