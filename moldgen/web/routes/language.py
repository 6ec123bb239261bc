"""The language of the page, chosen by whoever reads it."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.language import language_of
from moldgen.web.room import go_to
from moldgen.web.spoken import COOKIE

_YEAR_S = 365 * 24 * 3600


async def choose(request: Request) -> Response:
    """Keep the language that was chosen in the browser, and go back."""
    language = language_of(request.path_params["language"])
    back = urlsplit(request.headers.get("referer", "")).path
    # A path that begins with two strokes would lead to another site.
    response = go_to(back if back.startswith("/") and not back.startswith("//") else "/")
    response.set_cookie(COOKIE, language.value, max_age=_YEAR_S, httponly=True, samesite="strict")
    return response


ROUTES = (Route("/language/{language}", choose),)
