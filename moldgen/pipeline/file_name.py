"""Names of files and folders that every system stores, from titles as people write them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from unicodedata import category, normalize

from anyascii import anyascii

_MOST = 60
"""Longest name of a title; endings such as ``-plan.svg`` come on top. [characters]."""
_MARK = 6
"""Figures of the mark that keeps titles apart. [characters]."""
_RESERVED = re.compile(r"con|prn|aux|nul|com\d|lpt\d")
"""Names that Windows keeps for its devices, whatever ending follows."""
_NOT_PLAIN = re.compile(r"[^a-z0-9]+")


def file_name(title: str) -> str:
    """Return a title as the name of its files and of their folder.

    A title in plain ASCII is its own name: small letters, figures and hyphens. What had to be
    put into other letters, or cut, ends in a mark made from the title, so that titles which
    differ in more than capitals, blanks and punctuation keep different names.

    Parameters
    ----------
    title : str
        As a person writes it, in any script.

    Returns
    -------
    str
        At most 60 characters of ``a-z``, ``0-9`` and ``-``; never empty, never the name of a
        device of Windows.

    Examples
    --------
    >>> file_name("High tide, No. 7")
    'high-tide-no-7'
    >>> file_name("Søren")
    'soren-6bea01'
    >>> file_name("con")
    'con-mold'
    """
    written = _written(title)
    plain = _plain(written)
    if not plain:
        return f"mold-{_mark(written or normalize('NFC', title))}"
    if written.isascii() and len(plain) <= _MOST:
        return f"{plain}-mold" if _RESERVED.fullmatch(plain) else plain
    return f"{plain[: _MOST - _MARK - 1].rstrip('-')}-{_mark(written)}"


def names_apart(pieces: Iterable[str]) -> tuple[str, ...]:
    """Return a name for each piece of one set, no two alike even without capitals.

    Examples
    --------
    >>> names_apart(["letter Ж", "letter E", "letter É", "***"])
    ('letter-zh', 'letter-e', 'letter-e-2', 'piece')
    """
    names: list[str] = []
    for piece in pieces:
        plain = _plain(_written(piece))[:_MOST].strip("-") or "piece"
        name, count = plain, 1
        while name in names:
            count += 1
            name = f"{plain}-{count}"
        names.append(name)
    return tuple(names)


def _written(title: str) -> str:
    """Return what tells titles apart: their letters and figures, the rest one blank."""
    kept = "".join(c if _counts(c) else " " for c in normalize("NFC", title))
    return " ".join(kept.split()).lower()


def _counts(character: str) -> bool:
    kind = category(character)
    # A picture is read by its name; a sign of degrees only parts what stands beside it.
    return kind[0] in "LMN" or (kind == "So" and character != "°")


def _plain(written: str) -> str:
    return _NOT_PLAIN.sub("-", anyascii(written).lower()).strip("-")


def _mark(words: str) -> str:
    return hashlib.sha256(words.encode("utf-8", "surrogatepass")).hexdigest()[:_MARK]
