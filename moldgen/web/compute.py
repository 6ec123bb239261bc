"""Have something computed of a design or of what was handed in."""

from __future__ import annotations

import asyncio
from typing import Any

from moldgen.language import Language, language_now
from moldgen.sandbox.messages import Message
from moldgen.units_text import Units
from moldgen.web.room import PageRoom
from moldgen.web.store.designs import StoredDesign, read_upload
from moldgen.web.store.hand_ins import HandIn
from moldgen.web.work_queue import Lane

_LANES = {"picture": Lane.PICTURE, "thumbnail": Lane.PICTURE}


async def compute(
    room: PageRoom,
    subject: StoredDesign | HandIn,
    work: str,
    *,
    units: Units = Units.MM,
    link: str = "",
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
    link : str
        What the QR code on a job card opens; no code if empty.

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
    if language_now() is not Language.EN:
        words["language"] = language_now().value
    if link:
        words["link"] = link
    lane = _LANES.get(work, Lane.REST)
    return await asyncio.wrap_future(room.queue.submit(lane, subject.id, work, words, blocks))
