"""Links into the log of the table, as job cards carry them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moldgen.web.room import PageRoom

_ONWARD = re.compile(r"/log/[\w-]{1,60}")


def log_path(subject_id: str) -> str:
    """Return where a shot of a design, or of what was handed in, is noted."""
    return f"/log/{subject_id}"


def log_link(room: PageRoom, subject_id: str) -> str:
    """Return what a phone at the table opens; empty if only this machine reaches the page."""
    return f"{room.addresses[0]}{log_path(subject_id)}" if room.addresses else ""


def onward_path(path: str) -> str:
    """Return where somebody wanted to go before joining; empty unless it is a place of the log."""
    return path if _ONWARD.fullmatch(path) else ""
