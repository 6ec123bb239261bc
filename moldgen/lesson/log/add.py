"""From what was typed, and what the job tells, to a note in the log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

from moldgen.errors import MoldgenError, SpecError
from moldgen.lesson.log.command import LogAddCommand
from moldgen.lesson.log.job_facts import (
    THINNEST,
    JobFacts,
    facts_of_note,
    facts_of_path,
    with_typed,
)
from moldgen.lesson.log.note_text import reading_of_text, tidied, time_of
from moldgen.lesson.log.photos import SIDE_PX, keep_photo
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import CaliperReading, ShotNote
from moldgen.lesson.log.store import NoteChoice, StoredNote, find_notes, insert_note, known_name
from moldgen.stock import Shop, load_shop

_AS_TYPED = ("heated_s", "formed_s", "cooled_s", "seen", "mold_ended", "printed_h", "who", "remark")
_OF_JOB = (
    "job", "machine", "plastic", "thickness_mm", "filament", "told_heat_s", "told_cool_s",
    "computed_cool_s", "told_print_h", "computed_print_h", "printer",
)  # fmt: skip


def add_typed(
    log: ShotLog, words: LogAddCommand, *, now: datetime, folder: Path, outputs: Path
) -> StoredNote:
    """Keep the note that was typed.

    Parameters
    ----------
    log : ShotLog
        Where.
    words : LogAddCommand
        What was typed.
    now : datetime
        Of the clock; the time of the note if no other was typed.
    folder : Path
        Where file names start.
    outputs : Path
        Where jobs are made into, each in a folder of its name.

    Raises
    ------
    MoldgenError
        If something of it is wrong, unknown, or contradicts another note.
    """
    note = _typed_note(words, _job_facts(log, words, folder, outputs), now)
    if words.photo:
        # Only pictures need it.
        from moldgen.solid.reading.picture import photo_from_file

        data = photo_from_file(folder / words.photo, side_px=SIDE_PX)
        note = replace(note, photo=keep_photo(log.photos, data))
    try:
        return log.change(lambda writer: insert_note(writer, note, counted=words.cycle is not None))
    except MoldgenError:
        log.forget_unused(note.photo)
        raise


def _job_facts(log: ShotLog, words: LogAddCommand, folder: Path, outputs: Path) -> JobFacts:
    if words.file and words.job:
        raise SpecError("job", "left out beside a file", repr(words.job), "Give one of the two.")
    if words.file:
        facts = facts_of_path(folder / words.file, outputs=outputs)
    elif words.job:
        facts = _known_facts(log, words)
    else:
        raise SpecError(
            "file", "the mold's job file, or the folder that make wrote", "nothing",
            "Or type a job that the log knows.",
        )  # fmt: skip
    return with_typed(
        facts, machine=words.machine, plastic=words.plastic, thickness_mm=words.gauge_mm,
        shop=_shop,
    )  # fmt: skip


@cache
def _shop() -> Shop:
    return load_shop([])


def _known_facts(log: ShotLog, words: LogAddCommand) -> JobFacts:
    """Return what the last note of a job tells; of a job without any, what was typed."""
    try:
        name = log.read(lambda reader: known_name(reader, "job", words.job))
    except MoldgenError:
        if not (words.machine and words.plastic and words.gauge_mm):
            raise
        return JobFacts(
            job=words.job, machine=words.machine, plastic=words.plastic, thickness_mm=words.gauge_mm
        )
    last = log.read(lambda reader: find_notes(reader, NoteChoice(job=name), latest=1))
    return facts_of_note(last[0].note)


def _typed_note(words: LogAddCommand, facts: JobFacts, now: datetime) -> ShotNote:
    return tidied(
        ShotNote(
            noted=time_of(words.on, field="on") if words.on else now.isoformat(),
            cycle=1 if words.cycle is None else int(words.cycle),
            mold=words.mold,
            readings=tuple(readings_beside(map(reading_of_text, words.measured), facts)),
            **{name: getattr(words, name) for name in _AS_TYPED},
            **noted_facts(facts),
        )
    )


def noted_facts(facts: JobFacts) -> dict[str, Any]:
    """Return the fields of a note that its job tells."""
    return {name: getattr(facts, name) for name in _OF_JOB}


def readings_beside(
    readings: Iterable[CaliperReading], facts: JobFacts
) -> Iterator[CaliperReading]:
    """Yield readings; that of the thinnest place beside the thickness computed there."""
    for one in readings:
        is_thinnest = one.computed_mm is None and one.place.casefold().strip() == THINNEST
        yield replace(one, computed_mm=facts.thinnest_mm) if is_thinnest else one
