"""What may have gone wrong with a part that was noted, and what to change first."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.errors import MoldgenError
from moldgen.language import language_now
from moldgen.lesson.log.listing import HEAD, note_row
from moldgen.lesson.log.note_text import note_words
from moldgen.lesson.log.store import StoredNote, find_note
from moldgen.web.compute import compute
from moldgen.web.log_link import log_path
from moldgen.web.room import PageRoom, room_of, teacher
from moldgen.web.routes.log import shot_of
from moldgen.web.store.designs import StoredDesign
from moldgen.web.store.hand_ins import HandIn, hand_ins_of_class
from moldgen.web.wish import Beginning


async def of_mold(request: Request) -> Response:
    """Show likely causes of what was seen at a shot on a mold that is at hand."""
    shot = await shot_of(request)
    stored = await _noted(request)
    if (stored.note.job, stored.note.mold) != (shot.facts.job, shot.mold):
        raise HTTPException(404, "There is no such note of this mold.")
    return await _shown(request, stored, shot.subject)


async def of_note(request: Request) -> Response:
    """Show the same of any note, beside its mold where the class has handed it in."""
    session = teacher(request)
    stored = await _noted(request)
    subject = _mold_of(room_of(request), stored, session.class_id)
    return await _shown(request, stored, subject, back="/log")


async def _noted(request: Request) -> StoredNote:
    database, number = room_of(request).database, request.path_params["number"]
    try:
        return database.read_with(lambda reader: find_note(reader, number))
    except (MoldgenError, OverflowError):
        raise HTTPException(404, "There is no such note.") from None


def _mold_of(room: PageRoom, stored: StoredNote, class_id: int) -> HandIn | None:
    """Return what was handed in last that a note is of, by names; None if there is none."""
    note = stored.note
    for one in reversed(hand_ins_of_class(room.database, class_id)):
        is_mold = one.person == note.mold and one.wish.beginning is not Beginning.STRIP
        if is_mold and one.wish.mold_job().title == note.job:
            return one
    return None


async def _shown(
    request: Request, stored: StoredNote, subject: StoredDesign | HandIn | None, back: str = ""
) -> Response:
    room = room_of(request)
    rows = await _rows(room, stored, subject)
    return room.page(
        request, "log_causes.html", note=stored.note, row=note_row(stored), head=HEAD, rows=rows,
        back=back or (log_path(subject.id) if subject else "/log"), is_alone=subject is None,
    )  # fmt: skip


async def _rows(
    room: PageRoom, stored: StoredNote, subject: StoredDesign | HandIn | None
) -> list[Any]:
    """Return the rows on causes: by the mold's own numbers, or by the note alone."""
    by_log = subject is None or room.goes_by_log(subject.class_id)
    others = await asyncio.to_thread(partial(room.experience.notes, but=stored)) if by_log else []
    more = {"note": note_words(stored.note), "notes": others}
    if subject is not None:
        try:
            return list((await compute(room, subject, "causes", more=more)).words["rows"])
        except MoldgenError:
            pass  # a mold that cannot be built tells nothing of the note
    more["language"] = language_now().value
    return list((await room.experience.compute("causes_alone", **more)).words["rows"])


ROUTES = (
    Route("/log/notes/{number:int}/causes", of_note),
    Route("/log/{design}/causes/{number:int}", of_mold),
)
