"""Heating times of a table as its notes have them, a row for each sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from moldgen.lesson.log.learn_heating import heating_notes, note_text
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.stock import FormingMachine, Sheet, Shop
from moldgen.stock.experience import TableExperience
from moldgen.table.by_record import by_record
from moldgen.table.heat_up import heat_up
from moldgen.units_text import as_read
from moldgen.wording import band_text, clock_text

HEAT_HEAD = ("Sheet", "Heat for", "Computed", "Notes")


def heat_rows(
    known: TableExperience, notes: Sequence[ShotNote], shop: Shop
) -> list[tuple[str, ...]]:
    """Return the heating time of each sheet that was noted on a table, under `HEAT_HEAD`.

    Parameters
    ----------
    known : TableExperience
        What notes say of the table.
    notes : sequence of ShotNote
        Of any table.
    shop : Shop
        Tables and plastics.
    """
    machine = shop.machine(known.machine)
    own = [note for note in notes if shop.machines.get(note.machine) == machine]
    left_out = {words for one in known.left_out for words in one.notes}
    counts = Counter(
        one.timed.sheet
        for one in heating_notes(own, machine, shop)
        if note_text(one.note) not in left_out
    )
    sheets = sorted(counts, key=lambda one: (one.plastic.name, one.gauge_mm))
    return [row for one in sheets if (row := _row(one, counts[one], known, machine))]


def _row(
    sheet: Sheet, n_notes: int, known: TableExperience, machine: FormingMachine
) -> tuple[str, ...] | None:
    heated = by_record(heat_up(sheet, machine), known.heating).usable
    if heated.forming_s is None or heated.noted is None:
        return None
    return (
        as_read(sheet.words),
        as_read(band_text(heated.forming_s, *heated.band_s)),
        clock_text(heated.noted.computed_s),
        str(n_notes),
    )
