"""The log of the table: a form for a phone at the table, and the notes for the teacher."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from moldgen.errors import MoldgenError
from moldgen.lesson.log.exchange import ENDINGS, log_bytes
from moldgen.lesson.log.job_facts import JobFacts, facts_of_job
from moldgen.lesson.log.listing import HEAD, note_row
from moldgen.lesson.log.note_text import MOST_READINGS
from moldgen.lesson.log.photos import forget_photo, keep_photo, kept_photo
from moldgen.lesson.log.store import (
    NoteChoice,
    StoredNote,
    delete_note,
    find_notes,
    insert_note,
    next_cycle,
    photo_is_used,
)
from moldgen.user_file import photo_folder
from moldgen.web.compute import compute
from moldgen.web.log_form import SEEN, FormContent, empty_form, note_of_form, sent_form
from moldgen.web.log_link import log_path
from moldgen.web.room import PageRoom, go_to, joined, own_design, room_of, session_now, teacher
from moldgen.web.session import Session
from moldgen.web.store.classes import person_of
from moldgen.web.store.designs import StoredDesign, designs_of
from moldgen.web.store.hand_ins import HandIn, find_hand_in, hand_ins_of_class
from moldgen.web.wish import Beginning
from moldgen.web.work_queue import Lane

_SHOWN = 200
"""Notes on one page of the list."""
_LAST = 3
"""Notes of the same mold below the form."""
_KINDS = {
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


class _Shot(NamedTuple):
    """What a shot is noted of: a design or a hand-in, its facts, and whose mold it is."""

    subject: StoredDesign | HandIn
    facts: JobFacts
    mold: str


async def show_all(request: Request) -> Response:
    """Show the molds of the class, and to the teacher the notes, the newest first."""
    session, room = joined(request), room_of(request)
    molds = _molds(room, session)
    if not session.is_teacher:
        return room.page(request, "log.html", molds=molds, notes=[], head=HEAD)
    before = request.query_params.get("before", "")
    notes = room.database.read_with(
        lambda reader: find_notes(
            reader, latest=_SHOWN + 1, before=int(before) if before.isdecimal() else None
        )
    )
    told = [(one.number, _mold_name(one), note_row(one), one.note.photo) for one in notes[:_SHOWN]]
    older = notes[_SHOWN - 1].number if len(notes) > _SHOWN else None
    return room.page(request, "log.html", molds=molds, notes=told, head=HEAD, older=older)


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


async def show_form(request: Request) -> Response:
    """Show the form for the next shot on a mold."""
    if session_now(request) is None:
        raise HTTPException(303, headers={"Location": f"/?next={request.url.path}"})
    shot, room = await _shot(request), room_of(request)
    cycle = room.database.read_with(lambda reader: next_cycle(reader, shot.facts.job, shot.mold))
    content = empty_form(shot.facts, cycle=cycle, who=_who(request))
    return _form_page(request, shot, content)


async def add(request: Request) -> Response:
    """Keep the note that a form sends, or show the form again with what is wrong."""
    shot = await _shot(request)
    async with request.form(max_files=1, max_fields=60) as form:
        content = sent_form(form)
        if not joined(request).is_teacher:  # nobody notes under the name of another
            content = replace(content, texts={**content.texts, "who": _who(request)})
        try:
            kept = await _kept(request, shot, content, await _photo_of(form))
        except MoldgenError as problem:
            page = _form_page(request, shot, content, problem=str(problem))
            page.status_code = 422
            return page
    return go_to(f"{request.url.path}?kept={kept.note.cycle}")


async def _photo_of(form: FormData) -> bytes:
    file = form.get("photo")
    return await file.read() if isinstance(file, UploadFile) else b""


async def _kept(request: Request, shot: _Shot, content: FormContent, photo: bytes) -> StoredNote:
    """Keep a note and its picture; a note that is refused leaves no picture behind.

    Raises
    ------
    MoldgenError
        If something of it is wrong.
    """
    room, session = room_of(request), joined(request)
    note = note_of_form(content, shot.facts, room.stock.shop, mold=shot.mold, now=datetime.now())
    if photo:
        # A file of a stranger is read where it can do no harm.
        order = room.queue.submit(Lane.PICTURE, f"note {session}", "small_photo", {}, [photo])
        small = (await asyncio.wrap_future(order)).blocks[0]
        note = replace(note, photo=await asyncio.to_thread(keep_photo, _photos(room), small))
    done = room.database.write(lambda writer: insert_note(writer, note, class_id=session.class_id))
    try:
        return await asyncio.wrap_future(done)
    except MoldgenError:
        _forget_unused(room, note.photo)
        raise


def _forget_unused(room: PageRoom, photo: str) -> None:
    if photo and not room.database.read_with(lambda reader: photo_is_used(reader, photo)):
        forget_photo(_photos(room), photo)


async def remove(request: Request) -> Response:
    """Remove a note for good, with its picture."""
    teacher(request)
    room, form = room_of(request), await request.form()
    number = str(form.get("number", ""))
    if not number.isdecimal():
        raise HTTPException(404)
    removed = room.database.write(lambda writer: delete_note(writer, int(number[:18])))
    _forget_unused(room, (await asyncio.wrap_future(removed)).photo)
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


async def picture(request: Request) -> Response:
    """Return the picture of a note."""
    teacher(request)
    data = kept_photo(_photos(room_of(request)), request.path_params["name"])
    if data is None:
        raise HTTPException(404, "There is no such picture here.")
    return Response(data, media_type="image/jpeg")


async def _shot(request: Request) -> _Shot:
    """Return what the address names: a hand-in of the class, or a design of one's own."""
    room, session = room_of(request), joined(request)
    given = find_hand_in(room.database, request.path_params["design"])
    subject: StoredDesign | HandIn
    if given is not None and given.class_id == session.class_id:
        subject, mold = given, given.person
    else:
        subject = own_design(request)
        mold = person_of(room.database, subject.person_id)[0] if subject.person_id else ""
    return _Shot(subject, await _job_facts(room, subject), mold)


async def _job_facts(room: PageRoom, subject: StoredDesign | HandIn) -> JobFacts:
    """Return what a mold's job tells; without computed times if it cannot be built."""
    job = subject.wish.mold_job()
    try:
        return JobFacts(**(await compute(room, subject, "shot_facts")).words)
    except MoldgenError:
        return facts_of_job(job, room.stock.shop)


def _who(request: Request) -> str:
    session = joined(request)
    if session.person_id is None:
        return ""
    return person_of(room_of(request).database, session.person_id)[0]


def _photos(room: PageRoom) -> Path:
    return photo_folder(room.database.folder)


def _form_page(
    request: Request, shot: _Shot, content: FormContent, *, problem: str = ""
) -> HTMLResponse:
    room = room_of(request)
    notes = room.database.read_with(
        lambda reader: find_notes(reader, NoteChoice(job=shot.facts.job), latest=50)
    )
    last = [note_row(one) for one in notes if one.note.mold == shot.mold][:_LAST]
    return room.page(
        request, "log_note.html", facts=shot.facts, mold=shot.mold, content=content, seen=SEEN,
        most_readings=MOST_READINGS,        problem=problem, last=last, head=HEAD, path=request.url.path, shop=room.stock.shop,
        kept=request.query_params.get("kept", "")[:6],
    )  # fmt: skip


ROUTES = (
    Route("/log", show_all),
    Route("/log/remove", remove, methods=["POST"]),
    Route("/log/export.{ending}", export),
    Route("/log/photos/{name}", picture),
    Route("/log/{design}", show_form),
    Route("/log/{design}", add, methods=["POST"]),
)
