"""The entrance: a student joins with code and name, the teacher with the link of the terminal."""

from __future__ import annotations

import asyncio
from math import ceil

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.errors import SpecError
from moldgen.web.log_link import onward_path
from moldgen.web.room import go_to, room_of, session_now, with_cookie
from moldgen.web.session import COOKIE, Session
from moldgen.web.store.classes import begin_class, class_of_code, classes_of, take_name


async def entrance(request: Request) -> Response:
    """Show where to join; who has joined goes on."""
    session, asked = session_now(request), request.query_params
    onward = onward_path(asked.get("next", ""))
    if session is not None:
        return go_to(onward or ("/queue" if session.is_teacher else "/begin"))
    return room_of(request).page(request, "join.html", code=asked.get("code", ""), onward=onward)


async def join(request: Request) -> Response:
    """Let somebody in who knows the code of a class."""
    room, form = room_of(request), await request.form()
    code, name = str(form.get("code", "")), str(form.get("name", ""))
    onward = onward_path(str(form.get("next", "")))
    address = request.client.host if request.client else ""
    wait_s = room.slow_down.wait_s(address)
    if wait_s > 0:
        problem = f"Too many wrong codes: wait {ceil(wait_s)} s."
        return room.page(request, "join.html", code=code, name=name, onward=onward, problem=problem)
    school_class = class_of_code(room.database, code)
    if school_class is None:
        room.slow_down.wrong(address)
        problem = "No class has this code. It stands on the teacher's screen."
        return room.page(request, "join.html", code=code, name=name, onward=onward, problem=problem)
    try:
        taken = take_name(room.database, school_class.id, name, str(form.get("number", "")))
        person_id = await asyncio.wrap_future(taken)
    except SpecError as wrong:
        if wrong.field == "number":
            room.slow_down.wrong(address)
        told = {
            "code": code,
            "name": name,
            "onward": onward,
            "asks_number": wrong.field == "number",
        }
        return room.page(request, "join.html", problem=str(wrong), **told)
    room.slow_down.right(address)
    return with_cookie(
        room, Session(class_id=school_class.id, person_id=person_id), onward or "/begin"
    )


async def teach(request: Request) -> Response:
    """Let the teacher in, by the key that the terminal printed."""
    room = room_of(request)
    if not room.is_teacher_key(request.query_params.get("key", "")):
        return room.page(request, "join.html", problem="This is not the teacher's link.")
    classes = classes_of(room.database)
    if classes:
        class_id = classes[0].id
    else:
        class_id = await asyncio.wrap_future(begin_class(room.database, "Boat shed"))
    return with_cookie(room, Session(class_id=class_id, is_teacher=True), "/queue")


async def leave(request: Request) -> Response:
    """Forget who somebody is."""
    response = go_to("/")
    response.delete_cookie(COOKIE)
    return response


ROUTES = (
    Route("/", entrance),
    Route("/join", join, methods=["POST"]),
    Route("/teach", teach),
    Route("/leave", leave, methods=["POST"]),
)
