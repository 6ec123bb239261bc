"""The page as an application that any ASGI server can run."""

from __future__ import annotations

from typing import Any, cast

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from moldgen.web.guard import Guard
from moldgen.web.problems import HANDLERS
from moldgen.web.room import HERE, PageRoom
from moldgen.web.routes import (
    classes,
    designs,
    entrance,
    language,
    log,
    log_causes,
    log_chart,
    log_notes,
    queue,
    stock,
    workshop,
)
from moldgen.web.spoken import Speaks


def page_app(room: PageRoom) -> Starlette:
    """Return the page that stands on a room."""
    app = Starlette(
        routes=[
            *entrance.ROUTES,
            *designs.ROUTES,
            *queue.ROUTES,
            *classes.ROUTES,
            *stock.ROUTES,
            *log_notes.ROUTES,
            *log_causes.ROUTES,
            *log_chart.ROUTES,
            *log.ROUTES,
            *workshop.ROUTES,
            *language.ROUTES,
            Mount("/static", StaticFiles(directory=HERE / "static"), name="static"),
        ],
        middleware=[
            Middleware(Guard),
            Middleware(Speaks),
            Middleware(GZipMiddleware, minimum_size=600, compresslevel=3),
        ],
        exception_handlers=cast(Any, HANDLERS),
    )
    app.state.room = room
    return app
