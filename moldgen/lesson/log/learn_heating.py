"""Heating in the log: which times count as right, and which contradict the others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from moldgen.errors import SpecError
from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.stock import FormingMachine, Sheet, Shop
from moldgen.stock.experience import Contradiction, HeatingRecord
from moldgen.table.heat_doubts import TIMED_WITHIN, is_timed
from moldgen.table.heat_up import heat_up
from moldgen.table.heating_record import (
    TABLE_WITHIN,
    TimedSheet,
    contradictions,
    heating_record,
)
from moldgen.wording import clock_text

HEAT_TROUBLES = frozenset({Outcome.WEB, Outcome.HOLE, Outcome.THIN, Outcome.LUMPS, Outcome.MARKS})
"""What may come from a sheet that was too hot or too cool: its time is not taken for right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatingNote:
    """A note whose heating time counts as right, and the time it tells.

    Attributes
    ----------
    note : ShotNote
        What was noted.
    timed : TimedSheet
        Noted and computed.
    """

    note: ShotNote
    timed: TimedSheet


def heating_of(
    notes: Sequence[ShotNote], machine: FormingMachine, shop: Shop
) -> tuple[HeatingRecord | None, tuple[Contradiction, ...]]:
    """Return what notes of a table say of its heating, and which contradict the others.

    Parameters
    ----------
    notes : sequence of ShotNote
        Of this table.
    machine : FormingMachine
        The table as stock has it.
    shop : Shop
        Its plastics.
    """
    within = TIMED_WITHIN if is_timed(machine) else TABLE_WITHIN
    right = list(heating_notes(notes, machine, shop))
    wrong = contradictions([one.timed for one in right])
    out = {place for group in wrong for place in group}
    counted = [one.timed for place, one in enumerate(right) if place not in out]
    record = heating_record(counted, table_within=within) if counted else None
    groups = ([right[place] for place in group] for group in wrong)
    return record, tuple(_contradiction(group, record) for group in groups)


def heating_notes(
    notes: Sequence[ShotNote], machine: FormingMachine, shop: Shop
) -> Iterator[HeatingNote]:
    """Yield the notes whose heating time counts as right: of sheets in stock, and without trouble.

    What is computed for them is computed without the log.
    """
    for note in notes:
        plastic = shop.plastics.get(note.plastic)
        if note.heated_s is None or plastic is None or HEAT_TROUBLES.intersection(note.seen):
            continue
        try:
            sheet = Sheet(plastic=plastic, gauge_mm=note.thickness_mm)
            computed_s = heat_up(sheet, machine).usable.forming_s
        except SpecError:
            continue
        if computed_s is not None:
            timed = TimedSheet(sheet=sheet, noted_s=note.heated_s, computed_s=computed_s)
            yield HeatingNote(note=note, timed=timed)


def note_text(note: ShotNote, says: str = "") -> str:
    """Return which note it is, and what of it counts; what it says of the heating if left out."""
    day = note.noted.replace("T", " ")
    sheet = f"{note.plastic} {note.thickness_mm:.3g} mm"
    heated = "" if note.heated_s is None else clock_text(note.heated_s)
    return ", ".join(filter(None, (f"{day}, {note.job}: {sheet}", says or heated)))


def _contradiction(group: Sequence[HeatingNote], record: HeatingRecord | None) -> Contradiction:
    names = tuple(note_text(one.note) for one in group)
    if len(names) > 1 or record is None:
        return Contradiction(notes=names)
    timed = group[0].timed
    return Contradiction(
        notes=names, foretold_s=timed.computed_s * record.factor(timed.sheet).value
    )
