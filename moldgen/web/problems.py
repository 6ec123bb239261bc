"""What the page says when something is wrong: one sentence, at its field if it has one."""

from __future__ import annotations

from http import HTTPStatus

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from moldgen.errors import MoldgenError, SpecError
from moldgen.language import in_words
from moldgen.sandbox.worker import WorkerError
from moldgen.web.room import room_of
from moldgen.web.work_queue import SupersededError

_SENTENCES = {403: "This is not yours.", 404: "There is no such page."}


def say_problem(request: Request, wrong: Exception) -> Response:
    """Return what moldgen refused, for a script as JSON and for a person as a page."""
    if isinstance(wrong, SupersededError):
        return JSONResponse({"superseded": True}, 409)
    status = 503 if isinstance(wrong, WorkerError) else 422
    field = wrong.field if isinstance(wrong, SpecError) else ""
    return _told(request, status, str(wrong), field)


def say_refusal(request: Request, wrong: Exception) -> Response:
    """Return what there is not, or is not for whoever asks."""
    assert isinstance(wrong, HTTPException)
    if wrong.status_code == HTTPStatus.SEE_OTHER:
        return Response(status_code=303, headers=wrong.headers)
    sentence = _SENTENCES.get(wrong.status_code, wrong.detail)
    if wrong.detail != HTTPStatus(wrong.status_code).phrase:
        sentence = wrong.detail
    return _told(request, wrong.status_code, sentence, "")


def say_fault(request: Request, wrong: Exception) -> Response:
    """Return that moldgen itself failed."""
    return _told(request, 500, "That did not work: a fault of moldgen itself. Try again.", "")


def _told(request: Request, status: int, sentence: str, field: str) -> Response:
    if "text/html" not in request.headers.get("accept", ""):
        return JSONResponse({"sentence": in_words(sentence), "field": field}, status)
    page = room_of(request).page(request, "problem.html", sentence=in_words(sentence))
    page.status_code = status
    return page


HANDLERS = {
    MoldgenError: say_problem,
    HTTPException: say_refusal,
    Exception: say_fault,
}
