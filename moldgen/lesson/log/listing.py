"""Notes as people read them: a table for each mold, the newest last."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from moldgen.language import in_words
from moldgen.lesson.log.note_text import reading_text
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.store import StoredNote
from moldgen.units_text import as_read
from moldgen.wording import clock_text

HEAD = ("No.", "Cycle", "Day", "Sheet", "Heated", "Formed", "Cooled", "Seen", "More")
NoteRow = tuple[str, ...]


def note_tables(notes: Sequence[StoredNote]) -> Iterator[tuple[str, list[NoteRow]]]:
    """Yield the name of each mold, and a row for each of its notes under `HEAD`.

    Parameters
    ----------
    notes : sequence of StoredNote
        Mold by mold, as `find_notes` gives them.
    """
    for (job, mold), group in groupby(notes, lambda one: (one.note.job, one.note.mold)):
        yield f"{job}, {mold}" if mold else job, [note_row(one) for one in group]


def note_row(stored: StoredNote) -> NoteRow:
    """Return a note under `HEAD`."""
    note = stored.note
    return (
        str(stored.number),
        str(note.cycle),
        note.noted.replace("T", " "),
        as_read(f"{note.plastic} {note.thickness_mm:g} mm"),
        _beside_card(note.heated_s, note.told_heat_s),
        _seconds(note.formed_s),
        _beside_card(note.cooled_s, note.told_cool_s),
        ", ".join(in_words(one.value.replace("-", " ")) for one in note.seen),
        "; ".join(_more(note)),
    )


def note_sentence(stored: StoredNote, *, counted: bool) -> str:
    """Return what is told of a note that was kept.

    Parameters
    ----------
    stored : StoredNote
        The note.
    counted : bool
        Whether somebody typed the cycle; otherwise it followed the last one.
    """
    note = stored.note
    how = "" if counted else ", the one after the last that was noted"
    if not counted and note.cycle == 1:
        how = ", the first of this mold"
    seen = ", ".join(one.value.replace("-", " ") for one in note.seen)
    return f"noted as number {stored.number}: {note.job}, cycle {note.cycle}{how}; {seen}"


def _seconds(time_s: float | None) -> str:
    return "-" if time_s is None else clock_text(time_s)


def _beside_card(time_s: float | None, told_s: float | None) -> str:
    """Return a time, and in brackets the one on the card."""
    if time_s is None or told_s is None:
        return _seconds(time_s)
    return f"{_seconds(time_s)} ({clock_text(told_s)})"


def _more(note: ShotNote) -> Iterator[str]:
    yield from (as_read(reading_text(one)) for one in note.readings)
    if note.mold_ended:
        yield in_words("mold given up")
    if note.printed_h is not None:
        yield as_read(f"printed in {note.printed_h:.3g} h")
    yield from (words for words in (note.remark, note.who) if words)
    if note.photo:
        yield in_words("with a picture")
