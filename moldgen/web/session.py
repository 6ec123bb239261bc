"""Who somebody is on the page: a cookie that only this page can have signed."""

from __future__ import annotations

import base64
import hmac
import json
from dataclasses import asdict, dataclass

COOKIE = "moldgen"
_MOST_LETTERS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """Who is asking.

    Attributes
    ----------
    class_id : int
        The class that was joined, or that the teacher looks at.
    person_id : int or None
        A student's number; None for the teacher.
    is_teacher : bool
        Whether it is the teacher, who may see and change everything.
    """

    class_id: int
    person_id: int | None = None
    is_teacher: bool = False


def cookie_of(session: Session, key: bytes) -> str:
    """Return the text of the cookie."""
    text = json.dumps(asdict(session), separators=(",", ":")).encode()
    return f"{_plain(text)}.{_plain(_signature(text, key))}"


def session_of(cookie: str, key: bytes) -> Session | None:
    """Return whom a cookie names; None if this page did not sign it."""
    if len(cookie) > _MOST_LETTERS or cookie.count(".") != 1:
        return None
    try:
        text, signature = (base64.urlsafe_b64decode(part) for part in cookie.split("."))
    except ValueError:
        return None
    if not hmac.compare_digest(signature, _signature(text, key)):
        return None
    return Session(**json.loads(text))


def _signature(text: bytes, key: bytes) -> bytes:
    return hmac.digest(key, text, "sha256")


def _plain(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode()
