"""The notes of the log: the list, what they say, and files of them out and in; for the teacher."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import Any

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.errors import MoldgenError, SpecError
from moldgen.language import language_now
from moldgen.lesson.log.exchange import ENDINGS, keep_notes, log_bytes, taken_sentences
from moldgen.lesson.log.listing import HEAD, note_row
from moldgen.lesson.log.note_text import note_of_words
from moldgen.lesson.log.photos import kept_photo
from moldgen.lesson.log.shot_note import has_trouble
from moldgen.lesson.log.store import StoredNote, delete_note, find_notes
from moldgen.web.log_link import log_path
from moldgen.web.log_photos import forget_unused, photos_beside
from moldgen.web.room import PageRoom, go_to, joined, room_of, teacher
from moldgen.web.session import Session
from moldgen.web.store.designs import StoredDesign, designs_of
from moldgen.web.store.hand_ins import HandIn, hand_ins_of_class
from moldgen.web.wish import Beginning
from moldgen.web.work_queue import Lane

_SHOWN = 200
"""Notes on one page of the list."""
_KINDS = {
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


async def show_all(request: Request) -> Response:
    """Show the molds of the class, and to the teacher the notes, the newest first."""
    return await _shown(request)


async def _shown(request: Request, *, taken: Sequence[str] = (), problem: str = "") -> Response:
    """Return the list, with what became of notes that were brought."""
    session, room = joined(request), room_of(request)
    molds = _molds(room, session)
    if not session.is_teacher:
        return room.page(request, "log.html", molds=molds, notes=[])
    before = request.query_params.get("before", "")
    notes = room.database.read_with(
        lambda reader: find_notes(
            reader, latest=_SHOWN + 1, before=int(before) if before.isdecimal() else None
        )
    )
    return room.page(
        request, "log.html", molds=molds, head=HEAD, taken=taken,
        problem=problem,
        notes=[
            (one.number, _mold_name(one), note_row(one), one.note.photo, has_trouble(one.note))
            for one in notes[:_SHOWN]
        ],
        older=notes[_SHOWN - 1].number if len(notes) > _SHOWN else None,
        **(await _tables(room) if notes else {"tables": []}),
    )  # fmt: skip


async def _tables(room: PageRoom) -> dict[str, Any]:
    """Return what the notes say of each table, with the head of its rows; nothing on failure."""
    try:
        answer = await room.experience.compute("log_tables", language=language_now().value)
    except MoldgenError:
        return {"tables": []}
    return answer.words


def _molds(room: PageRoom, session: Session) -> list[tuple[str, str, str]]:
    """Return path, title and person of what can be noted: hand-ins, and designs of one's own."""
    given = hand_ins_of_class(room.database, session.class_id)
    own = designs_of(room.database, session.class_id, session.person_id)
    listed: list[tuple[StoredDesign | HandIn, str]] = [(one, one.person) for one in given[::-1]]
    listed += [(one, "") for one in own] if session.is_teacher else []
    return [
        (log_path(one.id), one.wish.title, person)
        for one, person in listed
        if one.wish.beginning is not Beginning.STRIP
    ]


def _mold_name(stored: StoredNote) -> str:
    note = stored.note
    return f"{note.job}, {note.mold}" if note.mold else note.job


async def remove(request: Request) -> Response:
    """Remove a note for good, with its picture."""
    teacher(request)
    room, form = room_of(request), await request.form()
    number = str(form.get("number", ""))
    if not number.isdecimal():
        raise HTTPException(404)
    removed = room.database.write(lambda writer: delete_note(writer, int(number[:18])))
    forget_unused(room.database, (await asyncio.wrap_future(removed)).photo)
    return go_to("/log")


async def export(request: Request) -> Response:
    """Return all notes as a file."""
    teacher(request)
    ending = f".{request.path_params['ending']}"
    if ending not in ENDINGS:
        raise HTTPException(404)
    database = room_of(request).database

    def made() -> bytes:
        return log_bytes((one.note for one in database.read_with(find_notes)), ending=ending)

    data = await asyncio.to_thread(made)
    headers = {"Content-Disposition": f'attachment; filename="moldgen-log{ending}"'}
    return Response(data, media_type=_KINDS[ending], headers=headers)


async def bring(request: Request) -> Response:
    """Keep the notes of a file that are not there yet, and tell what became of them."""
    teacher(request)
    room = room_of(request)
    async with request.form(max_files=1, max_fields=2) as form:
        file = form.get("file")
        data = await file.read() if isinstance(file, UploadFile) else b""
    try:
        sentences = await _taken(room, data)
    except MoldgenError as problem:
        page = await _shown(request, problem=str(problem))
        page.status_code = 422
        return page
    return await _shown(request, taken=sentences)


async def _taken(room: PageRoom, data: bytes) -> list[str]:
    """Keep notes and return what is told of them.

    Raises
    ------
    MoldgenError
        If there are none, or one of them is wrong; nothing is kept then.
    """
    if not data:
        raise SpecError("file", "notes that were exported", "none", "Choose one.")
    # A file of a stranger is read where it can do no harm.
    order = room.queue.submit(Lane.REST, "brought notes", "log_notes", {}, [data])
    notes = [note_of_words(one) for one in (await asyncio.wrap_future(order)).words["notes"]]
    done = room.database.write(lambda writer: keep_notes(writer, notes))
    return list(taken_sentences(await asyncio.wrap_future(done)))


async def picture(request: Request) -> Response:
    """Return the picture of a note."""
    teacher(request)
    folder = photos_beside(room_of(request).database)
    data = kept_photo(folder, request.path_params["name"])
    if data is None:
        raise HTTPException(404, "There is no such picture here.")
    return Response(data, media_type="image/jpeg")


ROUTES = (
    Route("/log", show_all),
    Route("/log/remove", remove, methods=["POST"]),
    Route("/log/import", bring, methods=["POST"]),
    Route("/log/export.{ending}", export),
    Route("/log/photos/{name}", picture),
)
