"""The log of the table: a form for a phone at the table."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from moldgen.errors import MoldgenError
from moldgen.lesson.log.job_facts import JobFacts, facts_of_job
from moldgen.lesson.log.listing import note_row
from moldgen.lesson.log.note_text import MOST_READINGS
from moldgen.lesson.log.photos import keep_photo
from moldgen.lesson.log.shot_note import has_trouble
from moldgen.lesson.log.store import NoteChoice, StoredNote, find_notes, insert_note, next_cycle
from moldgen.web.compute import compute
from moldgen.web.log_form import SEEN, FormContent, empty_form, note_of_form, sent_form
from moldgen.web.log_photos import forget_unused, photos_beside
from moldgen.web.room import PageRoom, go_to, joined, own_design, room_of, session_now
from moldgen.web.store.classes import person_of
from moldgen.web.store.designs import StoredDesign
from moldgen.web.store.hand_ins import HandIn, find_hand_in
from moldgen.web.work_queue import Lane

_LAST = 3
"""Notes of the same mold below the form."""


class TableMold(NamedTuple):
    """What a shot is noted of: a design or a hand-in, its facts, and whose mold it is."""

    subject: StoredDesign | HandIn
    facts: JobFacts
    mold: str


async def show_form(request: Request) -> Response:
    """Show the form for the next shot on a mold."""
    if session_now(request) is None:
        raise HTTPException(303, headers={"Location": f"/?next={request.url.path}"})
    shot, room = await shot_of(request), room_of(request)
    cycle = room.database.read_with(lambda reader: next_cycle(reader, shot.facts.job, shot.mold))
    content = empty_form(shot.facts, cycle=cycle, who=_who(request))
    return _form_page(request, shot, content)


async def add(request: Request) -> Response:
    """Keep the note that a form sends, or show the form again with what is wrong."""
    shot = await shot_of(request)
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


async def _kept(
    request: Request, shot: TableMold, content: FormContent, photo: bytes
) -> StoredNote:
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
        folder = photos_beside(room.database)
        note = replace(note, photo=await asyncio.to_thread(keep_photo, folder, small))
    done = room.database.write(lambda writer: insert_note(writer, note, class_id=session.class_id))
    try:
        return await asyncio.wrap_future(done)
    except MoldgenError:
        forget_unused(room.database, note.photo)
        raise


async def shot_of(request: Request) -> TableMold:
    """Return what the address names: a hand-in of the class, or a design of one's own."""
    room, session = room_of(request), joined(request)
    given = find_hand_in(room.database, request.path_params["design"])
    subject: StoredDesign | HandIn
    if given is not None and given.class_id == session.class_id:
        subject, mold = given, given.person
    else:
        subject = own_design(request)
        mold = person_of(room.database, subject.person_id)[0] if subject.person_id else ""
    return TableMold(subject, await _job_facts(room, subject), mold)


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


def _form_page(
    request: Request, shot: TableMold, content: FormContent, *, problem: str = ""
) -> HTMLResponse:
    room = room_of(request)
    notes = room.database.read_with(
        lambda reader: find_notes(reader, NoteChoice(job=shot.facts.job), latest=50)
    )
    last = [one for one in notes if one.note.mold == shot.mold][:_LAST]
    return room.page(
        request, "log_note.html", facts=shot.facts, mold=shot.mold, content=content, seen=SEEN,
        most_readings=MOST_READINGS, problem=problem, path=request.url.path,
        last=[(one.number, note_row(one), has_trouble(one.note)) for one in last],
        shop=room.stock.shop, kept=request.query_params.get("kept", "")[:6],
    )  # fmt: skip


ROUTES = (
    Route("/log/{design}", show_form),
    Route("/log/{design}", add, methods=["POST"]),
)
