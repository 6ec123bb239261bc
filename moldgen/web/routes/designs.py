"""Designs: begin one, change it, look at it, hand it in."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Sequence
from concurrent.futures import Future
from io import BytesIO
from typing import Any

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from moldgen.bend.preset.choices import StripKind
from moldgen.errors import SpecError
from moldgen.sandbox.messages import write_message
from moldgen.units_text import Units
from moldgen.web.compute import check_size, check_wish, compute
from moldgen.web.controls import controls_of
from moldgen.web.defaults import largest_mm, offered, start_within
from moldgen.web.room import PageRoom, go_to, joined, own_design, room_of
from moldgen.web.session import Session
from moldgen.web.store.classes import find_class, person_of
from moldgen.web.store.designs import (
    StoredDesign,
    begin_design,
    change_design,
    designs_of,
    find_design,
    new_id,
    step_design,
)
from moldgen.web.store.hand_ins import HandIn, hand_in, hand_ins_of_person
from moldgen.web.wish import Beginning, DesignWish, beginning_values, checked_values
from moldgen.web.work_queue import Lane

_SEEN = ("picture", "findings", "sheet")
_ASKED = ("shape", "make")
"""What is chosen where a design begins."""


async def begin(request: Request) -> Response:
    """Show what one can begin with."""
    session, room = joined(request), room_of(request)
    library = await _library(room)
    paths = library["paths"]
    shapes = [(name, title, paths[name]) for name, title in library["titles"].items()]
    strips = [
        (kind.value, kind.replace("-", " ").capitalize(), library["strips"][kind.value])
        for kind in StripKind
    ]
    may = _offered(room, session)
    return room.page(request, "begin.html", shapes=shapes, strips=strips, offered=may)


def _offered(room: PageRoom, session: Session) -> tuple[Beginning, ...]:
    """Return what somebody may begin with: the teacher with everything."""
    school_class = find_class(room.database, session.class_id)
    return offered({} if session.is_teacher or school_class is None else school_class.usual)


async def _library(room: PageRoom) -> dict[str, Any]:
    """Return titles and outlines of the library's shapes, and of ready-made strips."""
    order = room.queue.submit(Lane.PICTURE, "the shapes", "shape_outlines", {})
    return (await asyncio.wrap_future(order)).words


async def new(request: Request) -> Response:
    """Begin a design, and show it."""
    room, session = room_of(request), joined(request)
    async with request.form(max_files=1, max_fields=8) as form:
        word = str(form.get("beginning", ""))
        asked = {name: str(form[name]) for name in _ASKED if form.get(name)}
        file = form.get("file")
        data = await file.read() if isinstance(file, UploadFile) else b""
    if word not in _offered(room, session):
        raise SpecError("beginning", "one of those that are offered", word[:40])
    beginning = Beginning(word)
    school_class = find_class(room.database, session.class_id)
    usual = dict(school_class.usual) if school_class else {}
    values = beginning_values(beginning, usual, asked)
    if session.person_id is not None:
        shape = str(asked.get("shape", ""))
        aspect = (await _library(room))["aspects"].get(shape, 1.0) if shape else 1.0
        values = start_within(beginning, values, largest_mm(usual), aspect=aspect)
    wish = DesignWish(beginning=beginning, values=values)
    upload = _upload(data, beginning)
    design_id = await asyncio.wrap_future(
        begin_design(
            room.database,
            class_id=session.class_id,
            person_id=session.person_id,
            wish=wish,
            upload=upload,
        )
    )
    return go_to(f"/designs/{design_id}")


async def show(request: Request) -> Response:
    """Show a design with its controls."""
    room, design = room_of(request), own_design(request)
    start = json.dumps({**_state(design), "id": design.id, "once": new_id()})
    is_shape = design.wish.beginning is Beginning.SHAPE
    shapes = list((await _library(room))["titles"]) if is_shape else []
    controls = controls_of(design.wish.beginning, room.stock.shop, shapes)
    is_strip = design.wish.beginning is Beginning.STRIP
    return room.page(request, "design.html", start=start, controls=controls, is_strip=is_strip)


async def change(request: Request) -> Response:
    """Keep a change of the values."""
    room, design = room_of(request), own_design(request)
    words = await _words(request)
    values = checked_values(words.get("values"))
    seen = words.get("number")
    await check_wish(room, DesignWish(beginning=design.wish.beginning, values=values))
    done = change_design(room.database, design.id, values, seen=seen if type(seen) is int else -1)
    return await _answer_state(room, design, done)


async def undo(request: Request) -> Response:
    """Go back to the version before."""
    design = own_design(request)
    return await _answer_state(
        room_of(request), design, step_design(room_of(request).database, design.id, -1)
    )


async def redo(request: Request) -> Response:
    """Go forward again."""
    design = own_design(request)
    return await _answer_state(
        room_of(request), design, step_design(room_of(request).database, design.id, 1)
    )


async def look(request: Request) -> Response:
    """Return what was computed of a design: picture, findings or the formed sheet."""
    room, design = room_of(request), own_design(request)
    work = request.path_params["work"]
    if work not in _SEEN:
        raise HTTPException(404)
    answer = await compute(room, design, work, units=_units(request))
    stream = BytesIO()
    write_message(stream, answer)
    return Response(stream.getvalue(), media_type="application/octet-stream")


async def picture(request: Request) -> Response:
    """Return a small picture of a design."""
    room, design = room_of(request), own_design(request)
    answer = await compute(room, design, "thumbnail")
    return Response(answer.blocks[0], media_type="image/png")


async def mend(request: Request) -> Response:
    """Apply the program's own remedy, and tell what it changed."""
    room, design = room_of(request), own_design(request)
    answer = await compute(room, design, "mended", units=_units(request))
    values = checked_values(answer.words["wish"]["values"])
    done = change_design(room.database, design.id, values, seen=design.number)
    await asyncio.wrap_future(done)
    told = {"changes": answer.words["changes"], "left": answer.words["left"]}
    return JSONResponse({**_state(_again(room, design)), **told})


async def give(request: Request) -> Response:
    """Hand a design in, as it is now."""
    room, design = room_of(request), own_design(request)
    words = await _words(request)
    once = str(words.get("once", ""))
    if not 8 <= len(once) <= 40:
        raise SpecError("once", "8 to 40 letters", f"{len(once)}")
    await check_size(room, design)
    await asyncio.wrap_future(hand_in(room.database, design, once=once))
    return JSONResponse({"handed_in": True, "once": new_id()})


async def mine(request: Request) -> Response:
    """Show what somebody has made and handed in."""
    room, session = room_of(request), joined(request)
    designs = designs_of(room.database, session.class_id, session.person_id)
    given = hand_ins_of_person(room.database, session.person_id) if session.person_id else []
    return room.page(
        request,
        "mine.html",
        designs=designs,
        hand_ins=given[::-1],
        titles=_titles(designs) | _titles(given),
        person=person_of(room.database, session.person_id) if session.person_id else None,
    )


def _titles(listed: Sequence[StoredDesign] | Sequence[HandIn]) -> dict[str, str]:
    return {one.id: one.wish.title for one in listed}


async def _answer_state(room: PageRoom, design: StoredDesign, done: Future[int]) -> Response:
    await asyncio.wrap_future(done)
    return JSONResponse(_state(_again(room, design)))


def _again(room: PageRoom, design: StoredDesign) -> StoredDesign:
    return find_design(room.database, design.id) or design


def _state(design: StoredDesign) -> dict[str, Any]:
    return {
        "values": dict(design.wish.values),
        "number": design.number,
        "can_undo": design.number > 0,
        "can_redo": design.number < design.last,
    }


def _units(request: Request) -> Units:
    return Units.INCH if request.query_params.get("units") == Units.INCH else Units.MM


async def _words(request: Request) -> dict[str, Any]:
    try:
        words = await request.json()
    except (ValueError, RecursionError):
        words = None
    if not isinstance(words, dict):
        raise SpecError("request", "what the page sends", "something else")
    return words


def _upload(data: bytes, beginning: Beginning) -> bytes | None:
    if beginning not in (Beginning.DRAWING, Beginning.PHOTO):
        return None
    if not data:
        raise SpecError("file", "a drawing or a photograph", "none", "Choose one.")
    return data


ROUTES = (
    Route("/begin", begin),
    Route("/mine", mine),
    Route("/designs", new, methods=["POST"]),
    Route("/designs/{design}", show),
    Route("/designs/{design}/values", change, methods=["POST"]),
    Route("/designs/{design}/undo", undo, methods=["POST"]),
    Route("/designs/{design}/redo", redo, methods=["POST"]),
    Route("/designs/{design}/mend", mend, methods=["POST"]),
    Route("/designs/{design}/hand-in", give, methods=["POST"]),
    Route("/designs/{design}/picture.png", picture),
    Route("/designs/{design}/{work:str}", look),
)
