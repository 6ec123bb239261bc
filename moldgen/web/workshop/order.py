"""What a class is asked to be made of: its approved designs, the stock, and how lessons are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from hashlib import blake2b
from json import dumps
from types import MappingProxyType
from typing import Any

from moldgen.errors import SpecError
from moldgen.language import language_now
from moldgen.version import __version__
from moldgen.web.defaults import LESSON_WORDS
from moldgen.web.page_stock import EXPERIENCE
from moldgen.web.store.classes import SchoolClass
from moldgen.web.store.database import Database
from moldgen.web.store.designs import read_upload
from moldgen.web.store.hand_ins import HandIn, HandInState, hand_ins_of_class
from moldgen.web.workshop.folder import ClassFolder

_COUNTED = (HandInState.APPROVED, HandInState.PRINTED)
"""What is still to be formed."""


def approved_of(database: Database, class_id: int) -> list[HandIn]:
    """Return what of a class is approved and not yet formed; of one design the latest."""
    given = [one for one in hand_ins_of_class(database, class_id) if one.state in _COUNTED]
    latest = {one.design_id or one.id: one for one in given}
    return [one for one in given if latest[one.design_id or one.id] is one]


def order_words(
    school_class: SchoolClass,
    approved: list[HandIn],
    stock: Mapping[str, str],
    link: Callable[[str], str],
    *,
    experience: Mapping[str, Any] = MappingProxyType({}),
) -> dict[str, Any]:
    """Return what a class is asked to be made of, for a worker; ``key`` stands for all of it.

    Parameters
    ----------
    school_class, approved, stock : SchoolClass, list of HandIn, dict of str to str
        Which class, what of it is made, and own stock files by name.
    link : callable
        Returns what the code on a job card opens, for what was handed in by its number.
    experience : mapping
        What the notes of the log say of molds, in words.
    """
    words = {
        "title": school_class.name,
        "usual": {word: school_class.usual[word] for word in LESSON_WORDS
                  if word in school_class.usual},
        "stock": dict(stock),
        EXPERIENCE: dict(experience),
        "language": language_now().value,
        "people": [
            {"name": one.person, "wish": one.wish.words, "upload": one.upload_id,
             "link": link(one.id)}
            for one in approved
        ],
    }  # fmt: skip
    told = dumps([__version__, words], sort_keys=True).encode()
    return {**words, "key": blake2b(told, digest_size=16).hexdigest()}


def lay_out(database: Database, words: Mapping[str, Any], folder: ClassFolder) -> None:
    """Put the drawings that were brought where the worker reads them, one after the other.

    Raises
    ------
    SpecError
        If nothing is approved.
    """
    people = words["people"]
    if not people:
        hint = "Approve one first."
        raise SpecError("designs", "approved", "none that is", hint)
    folder.uploads.mkdir(parents=True, exist_ok=True)
    for number, one in enumerate(people):
        data = read_upload(database, one["upload"]) if one["upload"] else None
        if data is not None:
            (folder.uploads / str(number)).write_bytes(data)
