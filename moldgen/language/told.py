"""Texts as they are read now; what that takes is loaded at the first that is not in English."""

from __future__ import annotations

from moldgen.language.languages import Language, language_now


def translated(text: str, language: Language | None = None) -> str:
    """Return a text in the language that is read now, with its decimal sign.

    Parameters
    ----------
    text : str
        Composed in English. What no template tells, such as a name, stays as it is.
    language : Language, optional
        Another than is read now.
    """
    language = language_now() if language is None else language
    return _with_comma(_in_words(text, language), language)


def in_words(text: str) -> str:
    """Return a text in the language that is read now, its numbers as they are."""
    return _in_words(text, language_now())


def as_written(text: str) -> str:
    """Return a text with the decimal sign of the language that is read now."""
    return _with_comma(text, language_now())


def _in_words(text: str, language: Language) -> str:
    if language is Language.EN or not text:
        return text
    from moldgen.language.translate import read_text

    return read_text(text, language)


def _with_comma(text: str, language: Language) -> str:
    if language is Language.EN:
        return text
    from moldgen.language.translate import with_comma

    return with_comma(text)
