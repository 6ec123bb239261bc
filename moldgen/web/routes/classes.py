"""The teacher's classes: code and address, names, and what every design has."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.errors import SpecError
from moldgen.execution import run_with
from moldgen.lesson.log.photos import forget_photo
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.limits import PAGE
from moldgen.user_file import photo_folder
from moldgen.web.controls import lesson_controls, usual_controls
from moldgen.web.defaults import LARGEST, LESSON_WORDS, NO_LOG, OFFERED, USUAL_WORDS, checked_usual
from moldgen.web.room import go_to, room_of, teacher, with_cookie
from moldgen.web.session import Session
from moldgen.web.store.classes import (
    SchoolClass,
    add_people,
    begin_class,
    classes_of,
    delete_class,
    find_class,
    people_of,
    set_usual,
)
from moldgen.web.store.transfer import export_class, import_class
from moldgen.web.wish import Beginning
from moldgen.web.work_queue import Lane
from moldgen.web.workshop.folder import class_folder


async def show_class(request: Request) -> Response:
    """Show the class: its code and address, and the names in it."""
    session, room = teacher(request), room_of(request)
    school_class = find_class(room.database, session.class_id)
    if school_class is None:
        raise HTTPException(404)
    return _shown(request, school_class, school_class.usual)


def _shown(
    request: Request,
    school_class: SchoolClass,
    usual: Mapping[str, Any],
    wrong: str = "",
    says: str = "",
) -> Response:
    """Return the page of a class, with a sentence at a field that is wrong."""
    room = room_of(request)
    people = people_of(room.database, school_class.id)
    links = [f"{address}/?code={school_class.code}" for address in room.addresses]
    return room.page(
        request,
        "class.html",
        people=people,
        links=links,
        codes=_codes(links),
        classes=classes_of(room.database),
        controls=usual_controls(room.stock.shop),
        lesson=lesson_controls(room.stock.shop),
        beginnings=[(one, one in usual.get(OFFERED, list(Beginning))) for one in Beginning],
        usual=usual,
        wrong={wrong: says},
    )


async def add_names(request: Request) -> Response:
    """Add names to the class: typed, pasted, or in a file that was dropped."""
    session, room = teacher(request), room_of(request)
    text, data = await _text_and_file(request, "names")
    names = _listed(text)
    if data:
        # A file of a stranger is read where it can do no harm.
        order = room.queue.submit(Lane.PICTURE, f"class {session.class_id}", "roster", {}, [data])
        names += (await asyncio.wrap_future(order)).words["names"]
    await asyncio.wrap_future(add_people(room.database, session.class_id, names))
    return go_to("/class")


def _listed(text: str) -> list[str]:
    """Return the names that somebody typed or pasted."""
    if not text.strip():
        return []
    with run_with(limits=PAGE):
        return [one.name for one in roster_of_text(text).entries]


async def save(request: Request) -> Response:
    """Return the class as a file."""
    session, room = teacher(request), room_of(request)
    data = await asyncio.get_running_loop().run_in_executor(
        None, export_class, room.database, session.class_id
    )
    headers = {"Content-Disposition": 'attachment; filename="moldgen-class.json"'}
    return Response(data, media_type="application/json", headers=headers)


async def bring_back(request: Request) -> Response:
    """Begin the class that a file tells of, and go there."""
    teacher(request)
    room = room_of(request)
    _, data = await _text_and_file(request, "")
    made = await asyncio.wrap_future(import_class(room.database, data))
    return with_cookie(room, Session(class_id=made, is_teacher=True), "/class")


async def set_values(request: Request) -> Response:
    """Keep what every new design of the class has."""
    session, room, form = teacher(request), room_of(request), await request.form()
    typed: dict[str, Any] = {
        word: str(form.get(word, "")).strip()
        for word in (*USUAL_WORDS, LARGEST, *LESSON_WORDS, NO_LOG)
    }
    typed[OFFERED] = [str(one) for one in form.getlist(OFFERED)]
    try:
        usual = checked_usual(typed)
    except SpecError as problem:
        school_class = find_class(room.database, session.class_id)
        if school_class is None:
            raise HTTPException(404) from None
        page = _shown(request, school_class, typed, problem.field, str(problem))
        page.status_code = 422
        return page
    await asyncio.wrap_future(set_usual(room.database, session.class_id, usual))
    return go_to("/class")


async def new(request: Request) -> Response:
    """Begin another class, and go there."""
    teacher(request)
    room, form = room_of(request), await request.form()
    made = begin_class(room.database, str(form.get("name", "")))
    return with_cookie(
        room, Session(class_id=await asyncio.wrap_future(made), is_teacher=True), "/class"
    )


async def open_class(request: Request) -> Response:
    """Go to another class."""
    teacher(request)
    room, number = room_of(request), request.path_params["number"]
    if find_class(room.database, number) is None:
        raise HTTPException(404, "There is no such class.")
    return with_cookie(room, Session(class_id=number, is_teacher=True), "/class")


async def delete(request: Request) -> Response:
    """Delete the class with all that belongs to it, if its name was typed."""
    session, room, form = teacher(request), room_of(request), await request.form()
    school_class = find_class(room.database, session.class_id)
    if school_class is None or str(form.get("name", "")).strip() != school_class.name:
        raise HTTPException(422, "Type the name of the class to delete it; nothing was deleted.")
    room.runs.forget(school_class.id)
    class_folder(room.data, school_class.id, school_class.code).remove()
    for photo in await asyncio.wrap_future(delete_class(room.database, session.class_id)):
        forget_photo(photo_folder(room.database.folder), photo)
    return go_to(f"/teach?key={room.teacher_key}")


async def _text_and_file(request: Request, word: str) -> tuple[str, bytes]:
    """Return a text of a form, and the file in it; empty if there is none."""
    async with request.form(max_files=1, max_fields=4) as form:
        file = form.get("file")
        data = await file.read() if isinstance(file, UploadFile) else b""
        return str(form.get(word, "")), data


def _codes(links: list[str]) -> list[str]:
    import segno

    return [segno.make(link, micro=False).svg_data_uri(scale=4, border=2) for link in links]


ROUTES = (
    Route("/class", show_class),
    Route("/class/names", add_names, methods=["POST"]),
    Route("/class/usual", set_values, methods=["POST"]),
    Route("/class/export", save),
    Route("/class/import", bring_back, methods=["POST"]),
    Route("/class/new", new, methods=["POST"]),
    Route("/class/{number:int}/open", open_class, methods=["POST"]),
    Route("/class/delete", delete, methods=["POST"]),
)
