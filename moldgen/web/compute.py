"""Have something computed of a design or of what was handed in."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

from moldgen.language import Language, language_now
from moldgen.sandbox.messages import Message
from moldgen.units_text import Units
from moldgen.web.defaults import largest_mm
from moldgen.web.page_stock import EXPERIENCE
from moldgen.web.room import PageRoom
from moldgen.web.store.classes import find_class
from moldgen.web.store.designs import StoredDesign, new_id, read_upload
from moldgen.web.store.hand_ins import HandIn
from moldgen.web.wish import Beginning, DesignWish
from moldgen.web.work_queue import Lane


async def check_wish(room: PageRoom, wish: DesignWish) -> None:
    """Refuse values that make no job; the geometry of strips is none of the server's.

    Raises
    ------
    MoldgenError
        If a value is wrong: one sentence with its name.
    """
    if wish.beginning is not Beginning.STRIP:
        wish.job()
        return
    order = room.queue.submit(Lane.PICTURE, new_id(), "checked", {"wish": wish.words})
    await asyncio.wrap_future(order)


async def check_size(room: PageRoom, design: StoredDesign) -> None:
    """Refuse a design that is larger than its class makes.

    Raises
    ------
    MoldgenError
        If it is, or cannot be made.
    """
    if _largest_mm(room, design) is not None:
        await compute(room, design, "picture")


def _largest_mm(room: PageRoom, subject: StoredDesign | HandIn) -> float | None:
    """Return how large a student's design may be; what was handed in is not measured again."""
    if isinstance(subject, HandIn) or subject.person_id is None:
        return None
    school_class = find_class(room.database, subject.class_id)
    return None if school_class is None else largest_mm(school_class.usual)


_TELLS_TIMES = frozenset({"findings", "mended", "files", "shot_facts"})
"""What goes by the notes of the log. Solids do not, so that a note has no picture drawn anew."""


async def _experience(room: PageRoom, subject: StoredDesign | HandIn) -> dict[str, Any]:
    """Return what the log says of molds, in words; nothing for what it says nothing of."""
    if subject.wish.beginning is Beginning.STRIP:
        return {}
    return await room.experience_of_class(subject.class_id)


_LANES = {"picture": Lane.PICTURE, "thumbnail": Lane.PICTURE}


async def compute(
    room: PageRoom,
    subject: StoredDesign | HandIn,
    work: str,
    *,
    units: Units = Units.MM,
    more: Mapping[str, Any] | None = None,
) -> Message:
    """Return what a worker answers.

    Parameters
    ----------
    room : PageRoom
        What the page stands on.
    subject : StoredDesign or HandIn
        Of what.
    work : str
        A function of `moldgen.web.work`.
    units : Units
        What lengths are told in.
    more : mapping, optional
        What else this work asks for.

    Raises
    ------
    MoldgenError
        As the work raised it, or if a newer order took its place.
    """
    upload = read_upload(room.database, subject.upload_id) if subject.upload_id else None
    blocks = [] if upload is None else [upload]
    words: dict[str, Any] = {"wish": subject.wish.words, "stock": room.stock.texts}
    if units is not Units.MM:
        words["units"] = units.value
    most_mm = _largest_mm(room, subject)
    if most_mm is not None:
        words["largest_mm"] = most_mm
    if language_now() is not Language.EN:
        words["language"] = language_now().value
    if work in _TELLS_TIMES and (experience := await _experience(room, subject)):
        words[EXPERIENCE] = experience
    words.update(more or {})
    lane = _LANES.get(work, Lane.REST)
    return await asyncio.wrap_future(room.queue.submit(lane, subject.id, work, words, blocks))
