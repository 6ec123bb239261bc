"""The workshop: all that is approved as sheets, plates, lists and cards, in two clicks."""

from __future__ import annotations

import asyncio
import json
import re
from base64 import b64encode
from collections.abc import AsyncIterator
from dataclasses import asdict, dataclass
from functools import partial
from hashlib import sha256
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response, StreamingResponse
from starlette.routing import Route

from moldgen.pipeline.file_name import file_name
from moldgen.web.log_link import log_link
from moldgen.web.room import PageRoom, go_to, room_of, teacher
from moldgen.web.store.classes import SchoolClass, find_class
from moldgen.web.store.hand_ins import HandIn
from moldgen.web.workshop.folder import ClassFolder, MadeClass, class_folder
from moldgen.web.workshop.order import approved_of, lay_out, order_words

_KINDS = {
    ".html": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".csv": "text/csv; charset=utf-8",
}
"""What a browser shows by itself; all else is saved."""
_AS_IT_IS = {"Content-Encoding": "identity"}
"""What is packed already is not packed again."""
TO_PRINT = (
    ("overview.html", "Overview: who makes what, timetable, costs"),
    ("job-cards.pdf", "Job cards, one for each person"),
    ("labels.pdf", "Labels, one for each piece"),
    ("risks.pdf", "Risk assessment form"),
    ("arrangement/report.html", "Sheets: where each mold stands"),
)
LISTS = (
    ("class-list.xlsx", "List of the class, for a spreadsheet"),
    ("timetable.csv", "Timetable"),
    ("print-queue.csv", "Print queue"),
    ("arrangement/cut-list.csv", "Cut list of the stock sheets"),
    ("arrangement/placings.csv", "Places of the molds"),
)
_STYLE = re.compile(rb"<style>(.*?)</style>", re.S)


@dataclass(frozen=True, kw_only=True)
class _ClassPlace:
    """The class of the teacher who asks, and where what is made of it lies."""

    room: PageRoom
    school_class: SchoolClass
    folder: ClassFolder

    @property
    def approved(self) -> list[HandIn]:
        return approved_of(self.room.database, self.school_class.id)

    async def words(self) -> dict[str, Any]:
        room, class_id = self.room, self.school_class.id
        return order_words(
            self.school_class, self.approved, room.stock.texts, partial(log_link, room),
            experience=await room.experience_of_class(class_id),
        )  # fmt: skip


async def show(request: Request) -> Response:
    """Show what was made, how far it is, or what there is to make."""
    place = _place(request)
    words, made = await place.words(), place.folder.made()
    return place.room.page(
        request,
        "workshop.html",
        approved=place.approved,
        made=made,
        is_current=made is not None and made.key == words["key"],
        state=place.room.runs.state(place.school_class.id),
        groups=_groups(made),
    )


async def make(request: Request) -> Response:
    """Begin to make it, unless it is made already of just this."""
    place = _place(request)
    words, made = await place.words(), place.folder.made()
    if made is None or made.key != words["key"]:
        prepare = partial(lay_out, place.room.database, words, place.folder)
        place.room.runs.begin(place.school_class.id, place.folder, words, prepare)
    return go_to("/workshop")


async def stop(request: Request) -> Response:
    """Make it no further."""
    place = _place(request)
    place.room.runs.stop(place.school_class.id)
    return go_to("/workshop")


async def events(request: Request) -> Response:
    """Tell how far it is, until it is done."""
    place = _place(request)

    async def stream() -> AsyncIterator[str]:
        while not await request.is_disconnected():
            state = place.room.runs.state(place.school_class.id)
            told = {"is_running": False} if state is None else asdict(state)
            yield f"data: {json.dumps(told)}\n\n"
            if not told["is_running"]:
                return
            await asyncio.sleep(0.5)

    return StreamingResponse(stream(), media_type="text/event-stream")


async def all_files(request: Request) -> Response:
    """Return all of it, as one ZIP."""
    place = _place(request)
    if place.folder.made() is None:
        raise HTTPException(404, "Nothing is made yet.")
    return FileResponse(
        place.folder.zip, media_type="application/zip", headers=_AS_IT_IS,
        filename=f"{file_name(place.school_class.name)}.zip",
    )  # fmt: skip


async def one_file(request: Request) -> Response:
    """Return one file of it: shown if a browser can, else saved."""
    place, name = _place(request), request.path_params["name"]
    data = await asyncio.get_running_loop().run_in_executor(None, place.folder.file, name)
    if data is None:
        raise HTTPException(404, "There is no such file.")
    bare = name.rpartition("/")[2]
    kind = _KINDS.get(bare[bare.rfind(".") :])
    headers = {"Content-Disposition": f'{"inline" if kind else "attachment"}; filename="{bare}"'}
    if kind == _KINDS[".html"]:
        headers["Content-Security-Policy"] = _report_policy(data)
    elif kind == _KINDS[".pdf"]:
        # Browsers show it by a page of their own, which needs its styles.
        headers["Content-Security-Policy"] = "script-src 'none'; frame-ancestors 'none'"
    if kind != _KINDS[".csv"]:
        headers |= {} if kind == _KINDS[".html"] else _AS_IT_IS
    return Response(data, media_type=kind or "application/octet-stream", headers=headers)


def _report_policy(page: bytes) -> str:
    """Return what lets a report have its own style and pictures, and nothing else."""
    styles = [b64encode(sha256(one).digest()).decode() for one in _STYLE.findall(page)]
    allowed = " ".join(f"'sha256-{one}'" for one in styles)
    return (
        f"default-src 'none'; style-src {allowed}; img-src data:; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    )


def _groups(made: MadeClass | None) -> dict[str, list[tuple[str, str]]]:
    """Return what is offered of it by itself: names of files, and what they are called."""
    names = made.names if made else ()
    sheets = [name for name in names if re.fullmatch(r"arrangement/shot-\d+\.pdf", name)]
    plates = [name for name in names if re.fullmatch(r"arrangement/plate-\d+\.3mf", name)]
    pictures = [
        name for name in names if re.fullmatch(r"arrangement/(shot|plate|cuts)[-\d]+\.png", name)
    ]
    return {
        "print": [one for one in TO_PRINT if one[0] in names],
        "sheets": [(name, _number(name)) for name in sheets],
        "plates": [(name, _number(name)) for name in plates],
        "lists": [one for one in LISTS if one[0] in names],
        "pictures": [(name, _number(name)) for name in pictures],
    }


def _number(name: str) -> str:
    """Return the number in a name, such as 3 in ``arrangement/plate-3.3mf``."""
    return "-".join(re.findall(r"(?<=-)\d+", name))


def _place(request: Request) -> _ClassPlace:
    session, room = teacher(request), room_of(request)
    school_class = find_class(room.database, session.class_id)
    if school_class is None:
        raise HTTPException(404, "There is no such class.")
    folder = class_folder(room.data, school_class.id, school_class.code)
    return _ClassPlace(room=room, school_class=school_class, folder=folder)


ROUTES = (
    Route("/workshop", show),
    Route("/workshop/make", make, methods=["POST"]),
    Route("/workshop/stop", stop, methods=["POST"]),
    Route("/workshop/events", events),
    Route("/workshop/class.zip", all_files),
    Route("/workshop/files/{name:path}", one_file),
)
