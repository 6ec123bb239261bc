"""The teacher's queue: what was handed in, and what is said of it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from moldgen.errors import SpecError
from moldgen.web.compute import compute
from moldgen.web.log_link import log_link
from moldgen.web.room import go_to, room_of, teacher
from moldgen.web.store.designs import begin_design, read_upload
from moldgen.web.store.hand_ins import (
    NEXT,
    HandIn,
    HandInState,
    find_hand_in,
    hand_ins_of_class,
    say,
)


async def show(request: Request) -> Response:
    """Show what was handed in, what waits first."""
    session, room = teacher(request), room_of(request)
    given = hand_ins_of_class(room.database, session.class_id)
    by_state = {state: [one for one in given if one.state is state] for state in HandInState}
    asked = request.query_params.get("state", "")
    return room.page(
        request,
        "queue.html",
        by_state=by_state,
        shown=[asked] if asked in set(HandInState) else list(HandInState),
        n_all=len(given),
        titles={one.id: one.wish.title for one in given},
    )


async def show_one(request: Request) -> Response:
    """Show one of them, with what may be said of it."""
    given = _given(request)
    following = NEXT[given.state]
    return room_of(request).page(
        request, "hand_in.html", given=given, next=following, title=given.wish.title
    )


async def picture(request: Request) -> Response:
    """Return a small picture of what was handed in."""
    answer = await compute(room_of(request), _given(request), "thumbnail")
    return Response(answer.blocks[0], media_type="image/png")


async def verdict(request: Request) -> Response:
    """Return what is told of what was handed in at a glance."""
    answer = await compute(room_of(request), _given(request), "verdict")
    return JSONResponse(answer.words)


async def say_of(request: Request) -> Response:
    """Say something of one, or of several at once."""
    teacher(request)
    room, form = room_of(request), await request.form()
    state, words = str(form.get("state", "")), str(form.get("words", ""))[:500]
    if state not in set(HandInState):
        raise SpecError("state", "one of those that are offered", state[:40])
    for once in form.getlist("id"):
        await asyncio.wrap_future(say(room.database, str(once), HandInState(state), words))
    return go_to("/queue")


async def open_copy(request: Request) -> Response:
    """Open what was handed in as a design of the teacher's own, to be changed."""
    session, given = teacher(request), _given(request)
    room = room_of(request)
    upload = read_upload(room.database, given.upload_id) if given.upload_id else None
    design_id = await asyncio.wrap_future(
        begin_design(
            room.database,
            class_id=session.class_id,
            person_id=None,
            wish=given.wish,
            upload=upload,
        )
    )
    return go_to(f"/designs/{design_id}")


async def files(request: Request) -> Response:
    """Return all files of what was handed in, as one ZIP."""
    room, given = room_of(request), _given(request)
    # The code on its job card opens this.
    answer = await compute(room, given, "files", more={"link": log_link(room, given.id)})
    name = answer.words["name"]
    headers = {"Content-Disposition": f'attachment; filename="{name}.zip"'}
    return Response(answer.blocks[0], media_type="application/zip", headers=headers)


async def events(request: Request) -> Response:
    """Tell the teacher's page whenever something is handed in."""
    session, room = teacher(request), room_of(request)

    async def stream() -> AsyncIterator[str]:
        seen = -1
        while not await request.is_disconnected():
            count = len(hand_ins_of_class(room.database, session.class_id))
            if count != seen:
                seen = count
                yield f"data: {count}\n\n"
            else:
                yield ": still here\n\n"
            await asyncio.sleep(2.0)

    return StreamingResponse(stream(), media_type="text/event-stream")


def _given(request: Request) -> HandIn:
    session = teacher(request)
    given = find_hand_in(room_of(request).database, request.path_params["once"])
    if given is None or given.class_id != session.class_id:
        raise HTTPException(404, "Nothing of that name was handed in.")
    return given


ROUTES = (
    Route("/queue", show),
    Route("/queue/events", events),
    Route("/queue/say", say_of, methods=["POST"]),
    Route("/queue/{once}", show_one),
    Route("/queue/{once}/picture.png", picture),
    Route("/queue/{once}/verdict", verdict),
    Route("/queue/{once}/open", open_copy, methods=["POST"]),
    Route("/queue/{once}/files.zip", files),
)
