"""The languages there are, and which of them is read now."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from enum import StrEnum

from moldgen.errors import SpecError


class Language(StrEnum):
    """What people read, by its code of two letters (ISO 639-1)."""

    EN = "en"
    DE = "de"
    ES = "es"
    FR = "fr"

    @property
    def title(self) -> str:  # type: ignore[override]
        """What its readers call it."""
        return _TITLES[self]


_TITLES = {
    Language.EN: "English",
    Language.DE: "Deutsch",
    Language.ES: "Español",
    Language.FR: "Français",
}


def language_of(word: str) -> Language:
    """Return the language of a code.

    Raises
    ------
    SpecError
        If there is none of that code.
    """
    try:
        return Language(word.strip().lower())
    except ValueError:
        known = ", ".join(Language)
        raise SpecError("language", f"one of {known}", repr(word)) from None


def preferred(accepted: str) -> Language:
    """Return the language that a browser asks for first, of those there are; else English.

    Parameters
    ----------
    accepted : str
        Its header ``Accept-Language`` (RFC 9110, section 12.5.4): ``de-CH, fr;q=0.8``.
    """
    wishes = [_wish(part) for part in accepted.split(",")[:20]]
    ranked = sorted((wish for wish in wishes if wish[0] > 0), key=lambda wish: -wish[0])
    known = [code for _, code in ranked if code in set(Language)]
    return Language(known[0]) if known else Language.EN


def _wish(part: str) -> tuple[float, str]:
    """Return how much a language is wished for, and its code without the country."""
    tag, *others = part.split(";")
    code = tag.strip().partition("-")[0].lower()
    share = next((one.strip()[2:] for one in others if one.strip().startswith("q=")), "1")
    try:
        return float(share), code
    except ValueError:
        return 0.0, code


@contextmanager
def speak(language: Language) -> Iterator[None]:
    """Let all that is shown and written meanwhile for people be in this language."""
    outside = _now.set(language)
    try:
        yield
    finally:
        _now.reset(outside)


def language_now() -> Language:
    """Return the language that people read now."""
    return _now.get()


_now: ContextVar[Language] = ContextVar("moldgen language", default=Language.EN)
