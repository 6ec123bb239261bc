"""The wall chart of heating times, for the table of a class."""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.language import language_now
from moldgen.web.page_stock import EXPERIENCE
from moldgen.web.room import room_of, teacher
from moldgen.web.store.classes import find_class
from moldgen.web.work_queue import Lane

_OF_CLASS = ("machine", "filament", "paper")
"""What a class says of its chart."""


async def show(request: Request) -> Response:
    """Return the chart as PDF, by the notes of the log if the class goes by them."""
    session, room = teacher(request), room_of(request)
    school_class = find_class(room.database, session.class_id)
    usual = {} if school_class is None else school_class.usual
    words = {
        "chart": {word: usual[word] for word in _OF_CLASS if word in usual},
        "stock": room.stock.texts,
        "language": language_now().value,
        EXPERIENCE: await room.experience_of_class(session.class_id),
    }
    order = room.queue.submit(Lane.REST, f"class {session.class_id}", "chart", words)
    (data,) = (await asyncio.wrap_future(order)).blocks
    headers = {"Content-Disposition": 'inline; filename="heating-chart.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


ROUTES = (Route("/log/heating-chart.pdf", show),)
