"""What every answer of the page says to the browser, and which requests are not answered."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from starlette.middleware.base import BaseHTTPMiddleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

MOST_BODY_BYTES = 21 * 2**20
"""A request larger than this is refused before it is read. [bytes]."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
}


class Guard(BaseHTTPMiddleware):
    """Refuses what comes from other sites or is too large; adds the headers of `HEADERS`."""

    async def dispatch(
        self, request: Request, call_next: Callable[[Request], Awaitable[Response]]
    ) -> Response:
        """Answer a request, or say why not."""
        refusal = _refusal(request)
        response = refusal or await call_next(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        is_fixed = request.url.path.startswith("/static/")
        response.headers.setdefault("Cache-Control", "max-age=3600" if is_fixed else "no-store")
        return response


def _refusal(request: Request) -> Response | None:
    if request.method in ("GET", "HEAD"):
        return None
    if not _is_from_here(request):
        return PlainTextResponse("This request came from another site.", 403)
    length = request.headers.get("content-length", "")
    if not length.isdigit():
        return PlainTextResponse("This request does not say how long it is.", 411)
    if int(length) > MOST_BODY_BYTES:
        return PlainTextResponse("That is too large: at most 20 MB.", 413)
    return None


def _is_from_here(request: Request) -> bool:
    """Tell whether a browser says that the page itself sent this."""
    origin = request.headers.get("origin")
    if origin is not None:
        return urlsplit(origin).netloc == request.headers.get("host", "")
    return request.headers.get("sec-fetch-site") in ("same-origin", "none")
