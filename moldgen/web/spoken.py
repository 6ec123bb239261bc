"""The page in the visitor's language: every text of a template is looked up when it is shown."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from functools import cache
from http.cookies import CookieError, SimpleCookie
from pathlib import Path

from jinja2 import Environment
from jinja2.ext import Extension
from starlette.types import ASGIApp, Receive, Scope, Send

from moldgen.language import Language, in_words, language_now, preferred, speak

COOKIE = "language"
_CODE = r"\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}"
_TOKEN = re.compile(
    rf"(?P<code>{_CODE})|(?P<tag><(?:{_CODE}|[^<>{{}}])*>)|(?P<text>[^<{{]+|.)", re.S
)
_ATTRIBUTE = re.compile(r'(?<=\s)(alt|aria-label|placeholder|title)="([^"{]+)"')
_PARTS = re.compile(r"(^[\s.,;:“]+|\s*·\s*moldgen|[\s”]+$)")
"""What stands round the words of a text and is no part of them."""
_IN_SCRIPT = re.compile(r'\btold\(\s*"([^"]+)"')
_CLASSES = re.compile(r"\{%-? *block kind")
"""Begins a block that names a class of style."""
_LITERAL = re.compile(r"""\b_\(\s*(?:"([^"]*)"|'([^']*)')\s*\)""")


class SpokenTemplates(Extension):
    """Looks up what stands between the tags of a template, and in the attributes that are read.

    So no text of a template can be forgotten; code, and what stands in ``<code>``, stays.
    """

    def __init__(self, environment: Environment) -> None:
        super().__init__(environment)
        environment.globals.update(
            _=in_words, language=language_now, languages=tuple(Language), script_words=script_words
        )

    def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
        """Return a template whose texts are looked up."""
        return _with_texts(source, _looked_up)


def texts_of(source: str) -> Iterator[str]:
    """Yield the texts of a template."""
    found: list[str] = []

    def keep(words: str) -> str:
        found.append(words)
        return words

    _with_texts(source, keep)
    yield from found
    yield from (first or second for first, second in _LITERAL.findall(source))


def script_words() -> str:
    """Return what the scripts of the page say in the language that is read now, as JSON."""
    if language_now() is Language.EN:
        return "{}"
    return json.dumps({words: in_words(words) for words in words_of_scripts()}, ensure_ascii=False)


@cache
def words_of_scripts() -> tuple[str, ...]:
    """Return what the scripts of the page say, in English."""
    scripts = sorted((Path(__file__).parent / "static").glob("*.js"))
    return tuple(one for path in scripts for one in _IN_SCRIPT.findall(path.read_text("utf-8")))


def _with_texts(source: str, told: Callable[[str], str]) -> str:
    """Return a template with each of its texts as it is told."""
    made, is_code = [], False
    for token in _TOKEN.finditer(source):
        if token["code"]:
            is_code = _CLASSES.match(token["code"]) is not None
        if token["tag"]:
            is_code = token["tag"].startswith("<code")
            made.append(_ATTRIBUTE.sub(lambda one: f'{one[1]}="{told(one[2])}"', token["tag"]))
        elif token["text"] and not is_code:
            parts = enumerate(_PARTS.split(token["text"]))
            made += [part if at % 2 else _told(part, told) for at, part in parts]
        else:
            made.append(token[0])
    return "".join(made)


def _looked_up(words: str) -> str:
    return f"{{{{ _({json.dumps(words, ensure_ascii=False)}) }}}}"


def _told(words: str, told: Callable[[str], str]) -> str:
    is_spoken = re.search(r"[^\W\d_]{2}", words) and not words.isupper()
    return told(words) if is_spoken else words


class Speaks:
    """Answers each request in the language that was chosen, else in the one the browser prefers."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name: value.decode("latin-1") for name, value in scope["headers"]}
        with speak(_language_of(headers.get(b"cookie", ""), headers.get(b"accept-language", ""))):
            await self.app(scope, receive, send)


def _language_of(cookies: str, accepted: str) -> Language:
    try:
        kept = SimpleCookie(cookies)
    except CookieError:
        return preferred(accepted)
    chosen = kept[COOKIE].value if COOKIE in kept else ""
    return Language(chosen) if chosen in set(Language) else preferred(accepted)
