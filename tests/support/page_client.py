"""Someone at the page without a browser: a cookie, a connection, and what is asked over it."""

from __future__ import annotations

import gzip
import json
import re
from http.client import HTTPConnection, HTTPResponse, RemoteDisconnected
from io import BytesIO
from typing import Any
from urllib.parse import urlencode, urlsplit

from moldgen.sandbox.messages import Message, read_message


class PageClient:
    """A student or a teacher.

    Parameters
    ----------
    address : str
        Of the page.
    """

    def __init__(self, address: str) -> None:
        self._host = urlsplit(address).netloc
        self._origin = address
        self._connection = HTTPConnection(self._host, timeout=60)
        self._cookie = ""
        self.status, self.location = 0, ""

    def close(self) -> None:
        """Hang up."""
        self._connection.close()

    def ask(self, path: str, body: bytes | None = None, kind: str = "") -> bytes:
        """Return what is answered, as it comes over the wire."""
        headers = {"Accept-Encoding": "gzip", "Cookie": self._cookie, "Origin": self._origin}
        if body is not None:
            headers["Content-Type"] = kind
        answer = self._answer("GET" if body is None else "POST", path, body, headers)
        data = answer.read()
        self.status, self.location = answer.status, answer.getheader("Location", "")
        cookie = answer.getheader("Set-Cookie", "")
        if cookie:
            self._cookie = cookie.partition(";")[0]
        return data

    def _answer(self, *request: Any) -> HTTPResponse:
        """Return the answer; who was silent for a while is hung up on, and calls again."""
        try:
            self._connection.request(*request)
            return self._connection.getresponse()
        except (BrokenPipeError, RemoteDisconnected):
            self._connection.close()
            self._connection.request(*request)
            return self._connection.getresponse()

    def fill(self, path: str, **fields: str) -> str:
        """Send a form; where it leads."""
        self.ask(path, urlencode(fields).encode(), "application/x-www-form-urlencoded")
        return self.location

    def tell(self, path: str, words: dict[str, Any]) -> bytes:
        """Send JSON."""
        return self.ask(path, json.dumps(words).encode(), "application/json")

    def teach(self, link: str) -> str:
        """Become the teacher; the code of the class."""
        self.ask(link.removeprefix(self._origin))
        page = self._plain("/class")
        found = re.search(r'class="code large">(\w+)<', page)
        assert found is not None, page
        return found[1]

    def join(self, code: str, name: str) -> None:
        """Become a student."""
        assert self.fill("/join", code=code, name=name) == "/begin"

    def begin_word(self) -> str:
        """Begin a word; its address."""
        return self.fill("/designs", beginning="word")

    def seen(self, path: str) -> Message | None:
        """Return what was computed; None if something newer took its place."""
        data = self._plain_bytes(path)
        if self.status == 409:
            return None
        assert self.status == 200, data
        return read_message(BytesIO(data))

    def _plain(self, path: str) -> str:
        return self._plain_bytes(path).decode()

    def _plain_bytes(self, path: str) -> bytes:
        data = self.ask(path)
        return gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data
