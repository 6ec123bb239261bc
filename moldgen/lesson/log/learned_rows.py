"""Heating times of a table as its notes have them, a row for each sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from moldgen.finding import sentence
from moldgen.language import in_words
from moldgen.lesson.log.learn_heating import heating_notes, note_text
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.pipeline.heat.experience_rows import contradiction_findings, experience_rows
from moldgen.stock import FormingMachine, Sheet, Shop
from moldgen.stock.experience import Experience, TableExperience
from moldgen.table.by_record import by_record
from moldgen.table.heat_up import heat_up
from moldgen.units_text import as_read
from moldgen.wording import band_text, clock_text

HEAT_HEAD = ("Sheet", "Heat for", "Computed", "Notes")


@dataclass(frozen=True, slots=True, kw_only=True)
class TableSentences:
    """What notes say of a table, as it is read.

    Attributes
    ----------
    title : str
        What the table is called.
    sentences : tuple of str
        Each with its range and its number of notes; then those that contradict the others.
    rows : tuple of tuple of str
        The heating time of each sheet that was noted, under `HEAT_HEAD`.
    """

    title: str
    sentences: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def table_sentences(
    notes: Sequence[ShotNote], experience: Experience, shop: Shop
) -> Iterator[TableSentences]:
    """Yield what notes say of each table.

    Parameters
    ----------
    notes : sequence of ShotNote
        Of any table.
    experience : Experience
        What was learned from them.
    shop : Shop
        Tables and plastics.
    """
    for known in experience.tables:
        told = (as_read(text) for _, text in experience_rows(known))
        wrong = (
            sentence(one, words=as_read, names=in_words) for one in contradiction_findings(known)
        )
        yield TableSentences(
            title=shop.machine(known.machine).title or known.machine,
            sentences=(*told, *wrong),
            rows=tuple(heat_rows(known, notes, shop)),
        )


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
