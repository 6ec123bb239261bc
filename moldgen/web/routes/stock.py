"""The stock of the shop: what the person's own file has, added to and changed."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from moldgen.web.room import go_to, room_of, teacher
from moldgen.web.stock_entry import (
    KINDS,
    base_of,
    entry_fields,
    entry_from_form,
    kind_of,
    own_entries,
    with_entry,
)


async def show(request: Request) -> Response:
    """Show what is the shop's own, and where to add to it."""
    teacher(request)
    stock = room_of(request).stock
    kinds = [
        (kind, title, list(own), stock.shop.names(kind))
        for (kind, (_, title)), own in zip(
            KINDS.items(), own_entries(stock.text).values(), strict=True
        )
    ]
    return room_of(request).page(request, "stock.html", kinds=kinds, file=str(stock.file))


async def show_entry(request: Request) -> Response:
    """Show an entry of the shop's own, or a new one based on another."""
    teacher(request)
    stock, kind = room_of(request).stock, kind_of(request.path_params["kind"])
    name = request.query_params.get("name", "")
    entry = own_entries(stock.text)[kind].get(name)
    if name and entry is None:
        raise HTTPException(404, "There is no such entry of the shop's own.")
    entry = entry or {"based_on": request.query_params.get("based_on", "")}
    base = base_of(stock.shop, kind, str(entry.get("based_on", "")))
    if base is None and not name:
        raise HTTPException(404, "There is nothing of that name in stock.")
    return room_of(request).page(
        request,
        "stock_entry.html",
        kind=kind,
        name=name,
        based_on=str(entry.get("based_on", "")),
        fields=entry_fields(kind, entry, base),
        seen=stock.text,
    )


async def keep(request: Request) -> Response:
    """Keep an entry, if the whole file is right with it."""
    teacher(request)
    kind, form = kind_of(request.path_params["kind"]), await request.form()
    name, entry = entry_from_form(kind, dict(form))
    return await _write(request, kind, name, entry, str(form.get("seen", "")))


async def remove(request: Request) -> Response:
    """Leave an entry out."""
    teacher(request)
    kind, form = kind_of(request.path_params["kind"]), await request.form()
    return await _write(request, kind, str(form.get("name", "")), None, str(form.get("seen", "")))


async def _write(
    request: Request, kind: str, name: str, entry: dict[str, Any] | None, seen: str
) -> Response:
    stock, seen = room_of(request).stock, seen.replace("\r\n", "\n")
    text = with_entry(seen, kind, name, entry)
    loop = asyncio.get_running_loop()
    await loop.run_in_executor(None, partial(stock.keep, text, seen=seen))
    return go_to("/stock")


ROUTES = (
    Route("/stock", show),
    Route("/stock/{kind}", show_entry),
    Route("/stock/{kind}", keep, methods=["POST"]),
    Route("/stock/{kind}/remove", remove, methods=["POST"]),
)
