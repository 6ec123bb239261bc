"""Notes as plain values, for files and the database, and back: every value is checked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, replace
from datetime import datetime
from typing import Any
from unicodedata import normalize

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.wording import nearest, one_of, shown
from moldgen.written_number import measure

_FIELDS: Mapping[str, Field[Any]] = {one.name: one for one in fields(ShotNote)}
TEXTS = (
    "job", "mold", "machine", "plastic", "filament", "printer", "who", "remark", "photo",
)  # fmt: skip
_MOST_NAME = 120
"""Longest text but for remarks: what a job may be called. [characters]."""
MOST_READINGS = 12
"""Places that are measured on one part."""
_JOINERS = "\u200c\u200d"
"""Signs without width that letters and pictures are made of."""
_THICKNESS = r"[\d.,/]+\s*[^\s\d()]*"
_READING = re.compile(
    rf"(?P<place>.+?)\s+(?P<measured>{_THICKNESS})"
    rf"(?:\s*\(?computed\s+(?P<foreseen>{_THICKNESS})\)?)?"
)
_LIKE = 'Write it like "corner 0.62 mm" or "corner 0.62 mm (computed 0.55 mm)".'


def note_words(note: ShotNote) -> dict[str, Any]:
    """Return a note as values of JSON, by field; what is as usual is left out."""
    words = {name: getattr(note, name) for name, one in _FIELDS.items()}
    told = {name: value for name, value in words.items() if value != _FIELDS[name].default}
    told["cycle"] = note.cycle
    if "seen" in told:
        told["seen"] = [one.value for one in note.seen]
    if "readings" in told:
        told["readings"] = [_reading_words(one) for one in note.readings]
    return told


def note_of_words(words: Any) -> ShotNote:
    """Return the note that values of JSON tell of.

    Raises
    ------
    SpecError
        If a value is missing, unknown or wrong; the field names it.
    """
    if not isinstance(words, Mapping):
        raise SpecError("note", "values by name", shown(words))
    for name in words:
        if name not in _FIELDS:
            raise SpecError("note", "of values that a note has", shown(name), nearest(
                str(name)[:40], list(_FIELDS)))  # fmt: skip
    for name, one in _FIELDS.items():
        if one.default is MISSING and name not in words:
            raise SpecError(name, "given", "nothing")
    return tidied(ShotNote(**{name: _value(name, value) for name, value in words.items()}))


def stored_note(words: Mapping[str, Any]) -> ShotNote:
    """Return a note from what `note_words` made of it, and nobody else has written."""
    told = dict(words)
    if "seen" in told:
        told["seen"] = tuple(map(Outcome, told["seen"]))
    if "readings" in told:
        told["readings"] = tuple(CaliperReading(**one) for one in told["readings"])
    return ShotNote(**told)


def _value(name: str, value: Any) -> Any:
    if name == "seen":
        return outcomes(value)
    if name == "readings":
        return _readings(value)
    if name == "cycle" and isinstance(value, float):
        if not value.is_integer():
            raise SpecError("cycle", "a whole number", shown(value))
        return int(value)
    return value


def outcomes(words: Any) -> tuple[Outcome, ...]:
    """Return what was seen, each once, from a list of words; good if it is empty.

    Raises
    ------
    SpecError
        If a word is none of `Outcome`, or good stands beside a fault.
    """
    listed = [words] if isinstance(words, str) else words
    if not isinstance(listed, list | tuple):
        raise SpecError("seen", "a list of words", shown(words))
    known = {one.value: one for one in Outcome}
    for word in listed:
        if not isinstance(word, str) or word not in known:
            raise SpecError("seen", one_of(list(known)), shown(word))
    seen = tuple(dict.fromkeys(known[word] for word in listed)) or (Outcome.GOOD,)
    if Outcome.GOOD in seen and len(seen) > 1:
        got = ", ".join(seen)
        raise SpecError("seen", "good alone, or what was wrong", got, "Leave one out.")
    return seen


def _readings(words: Any) -> tuple[CaliperReading, ...]:
    if not isinstance(words, list | tuple):
        raise SpecError("readings", "a list", shown(words))
    return tuple(_reading(one) for one in words)


def _reading(words: Any) -> CaliperReading:
    if isinstance(words, CaliperReading):
        return words
    if isinstance(words, str):
        return reading_of_text(words)
    known = {one.name for one in fields(CaliperReading)}
    if not isinstance(words, Mapping) or not {"place", "thickness_mm"} <= set(words) <= known:
        raise SpecError("readings", "of place, thickness_mm and computed_mm", shown(words))
    return CaliperReading(**words)


def _reading_words(reading: CaliperReading) -> dict[str, Any]:
    words = {"place": reading.place, "thickness_mm": reading.thickness_mm}
    more = {} if reading.computed_mm is None else {"computed_mm": reading.computed_mm}
    return {**words, **more}


def reading_text(reading: CaliperReading) -> str:
    """Return a measured thickness as `reading_of_text` reads it."""
    text = f"{reading.place} {reading.thickness_mm:g} mm"
    computed_mm = reading.computed_mm
    return text if computed_mm is None else f"{text} (computed {computed_mm:g} mm)"


def reading_of_text(text: str) -> CaliperReading:
    """Return a measured thickness from words such as ``corner 0.62 mm``.

    Raises
    ------
    SpecError
        If there is no place or no thickness in them.
    """
    match = _READING.fullmatch(text.strip()[: 3 * _MOST_NAME])
    if match is None:
        raise SpecError("measured", "a place and a thickness", shown(text), _LIKE)
    measured, foreseen = match["measured"], match["foreseen"]
    return CaliperReading(
        place=match["place"],
        thickness_mm=measure("measured", measured, unit="mm"),
        computed_mm=None if foreseen is None else measure("measured", foreseen, unit="mm"),
    )


def tidied(note: ShotNote) -> ShotNote:
    """Return a note whose texts are single lines, and whose time is written in one way.

    Raises
    ------
    SpecError
        If a text is too long, one that must be there is missing, the time is none, or there are
        more than `MOST_READINGS`.
    """
    if len(note.readings) > MOST_READINGS:
        hint = "Leave some out."
        raise SpecError("readings", f"at most {MOST_READINGS}", f"{len(note.readings)}", hint)
    texts: dict[str, Any] = {name: _line(name, getattr(note, name)) for name in TEXTS}
    for name in ("job", "machine", "plastic"):
        if not texts[name]:
            raise SpecError(name, "given", "nothing", "Type it.")
    readings = tuple(
        replace(one, place=_line("place", one.place).replace(";", ",")) for one in note.readings
    )
    return replace(
        note, **texts, noted=time_of(note.noted), seen=outcomes(note.seen), readings=readings
    )


def _line(name: str, text: str) -> str:
    most = limits_now().text_characters if name == "remark" else _MOST_NAME
    plain = normalize("NFC", text.encode("utf-8", "replace").decode())
    kept = (one if one.isprintable() or one in _JOINERS else " " for one in plain)
    line = " ".join("".join(kept).split())
    if len(line) > most:
        raise SpecError(name, f"at most {most:g} characters", f"{len(line)}", "Shorten it.")
    return line


def time_of(words: str, *, field: str = "noted") -> str:
    """Return day and time as notes have them, ``2026-03-04T10:20``, or the day alone.

    Raises
    ------
    SpecError
        If it is neither.
    """
    text = words.strip()
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        hint = "Write 2026-03-04, or 2026-03-04 10:20."
        raise SpecError(field, "a day, or a day and a time", shown(words), hint) from None
    return text if len(text) == _DAY else when.replace(tzinfo=None).isoformat(timespec="minutes")


def in_time(note: ShotNote) -> tuple[str, str]:
    """Return the order of notes in time; of a day alone, behind the times of that day."""
    return note.noted[:_DAY], note.noted[_DAY:] or "~"


_DAY = len("2026-03-04")
