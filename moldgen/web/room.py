"""What all answers of the page share: the database, the processes, the shop, who is asking."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.templating import Jinja2Templates

from moldgen.version import __version__
from moldgen.web.defaults import goes_by_log
from moldgen.web.page_experience import PageExperience
from moldgen.web.page_stock import PageStock
from moldgen.web.session import COOKIE, Session, cookie_of, session_of
from moldgen.web.slow_down import SlowDown
from moldgen.web.spoken import SpokenTemplates
from moldgen.web.store.classes import find_class
from moldgen.web.store.database import Database
from moldgen.web.store.designs import StoredDesign, find_design
from moldgen.web.work_queue import WorkQueue
from moldgen.web.workshop.runs import ClassRuns

HERE = Path(__file__).parent
_YEAR_S = 365 * 24 * 3600


@dataclass(frozen=True, kw_only=True, eq=False)
class PageRoom:
    """What the page stands on.

    Attributes
    ----------
    database : Database
        What it keeps.
    queue : WorkQueue
        Who computes.
    data : Path
        Folder of what is made of classes.
    stock : PageStock
        What there is in stock.
    cookie_key, teacher_key : bytes, str
        What signs cookies; what the teacher's link holds.
    addresses : tuple of str
        Under which students reach the page; empty if only this machine does.
    runs : ClassRuns
        What makes classes.
    slow_down : SlowDown
        Patience for those who guess.
    templates : Jinja2Templates
        What pages are made from.
    """

    database: Database
    queue: WorkQueue
    data: Path
    stock: PageStock
    cookie_key: bytes
    teacher_key: str
    addresses: tuple[str, ...] = ()
    runs: ClassRuns = field(default_factory=ClassRuns)
    slow_down: SlowDown = field(default_factory=SlowDown)
    templates: Jinja2Templates = field(default_factory=lambda: _templates())

    def page(self, request: Request, template: str, /, **told: Any) -> HTMLResponse:
        """Return a page made from a template."""
        session = session_now(request)
        known: dict[str, Any] = {"version": __version__, "session": session, "school_class": None}
        if session is not None:
            known["school_class"] = find_class(self.database, session.class_id)
        return self.templates.TemplateResponse(request, template, {**known, **told})

    @cached_property
    def experience(self) -> PageExperience:
        """What the notes of its log say."""
        return PageExperience(self.database, self.stock, self.queue)

    async def experience_of_class(self, class_id: int) -> dict[str, Any]:
        """Return what the notes say of molds, if the class goes by them; else nothing."""
        return await self.experience.words() if self.goes_by_log(class_id) else {}

    def goes_by_log(self, class_id: int) -> bool:
        """Tell whether the times of a class go by the notes."""
        school_class = find_class(self.database, class_id)
        return goes_by_log({} if school_class is None else school_class.usual)

    def is_teacher_key(self, key: str) -> bool:
        """Tell whether this is the key that the terminal printed."""
        return secrets.compare_digest(key.encode(), self.teacher_key.encode())


def _templates() -> Jinja2Templates:
    templates = Jinja2Templates(directory=HERE / "templates")
    templates.env.add_extension(SpokenTemplates)
    return templates


def room_of(request: Request) -> PageRoom:
    """Return what the page stands on."""
    room: PageRoom = request.app.state.room
    return room


def session_now(request: Request) -> Session | None:
    """Return who is asking; None if nobody joined, or the class is gone."""
    room = room_of(request)
    session = session_of(request.cookies.get(COOKIE, ""), room.cookie_key)
    if session is None or session.is_teacher:
        return session
    return session if find_class(room.database, session.class_id) else None


def joined(request: Request) -> Session:
    """Return who is asking, or send to the entrance."""
    session = session_now(request)
    if session is None:
        raise HTTPException(303, headers={"Location": "/"})
    return session


def teacher(request: Request) -> Session:
    """Return the teacher's session, or refuse."""
    session = session_now(request)
    if session is None or not session.is_teacher:
        raise HTTPException(
            403, "This is for the teacher: open the link that the terminal printed."
        )
    return session


def own_design(request: Request) -> StoredDesign:
    """Return the design that the address names, if whoever asks may see it.

    A student sees only what is the student's own; that there is another of this id is not told.
    """
    session = joined(request)
    design = find_design(room_of(request).database, request.path_params["design"])
    if design is None or not _may_see(session, design):
        raise HTTPException(404, "There is no such design.")
    return design


def _may_see(session: Session, design: StoredDesign) -> bool:
    if session.is_teacher:
        return True
    return design.class_id == session.class_id and design.person_id == session.person_id


def go_to(path: str) -> Response:
    """Return what sends the browser to another page."""
    return RedirectResponse(path, 303)


def with_cookie(room: PageRoom, session: Session, path: str) -> Response:
    """Return what makes the browser somebody, and sends it to a page."""
    response = go_to(path)
    text = cookie_of(session, room.cookie_key)
    response.set_cookie(COOKIE, text, max_age=_YEAR_S, httponly=True, samesite="strict")
    return response
