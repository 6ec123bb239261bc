"""What is kept of a mold that was built, so that a class need not build it again."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from moldgen.errors import FileError
from moldgen.export.atomic import write_together
from moldgen.export.card.job_card import CardStep, JobCard
from moldgen.export.plan.items import DrawnSlit, Hole, Line, PlanRegion
from moldgen.export.plan.layers import Layer
from moldgen.export.plan.plan import Plan
from moldgen.finding import Finding, Severity
from moldgen.lesson.arrange.shape import MoldShape, shape_from, shape_words
from moldgen.pool.piece import mark_of

RECORDS = ".moldgen-class"
"""Folder of the records, in the folder of the class."""
_DIGITS = 24
_KEY = re.compile(rf"[0-9a-f]{{{_DIGITS}}}")


@dataclass(frozen=True, slots=True, kw_only=True)
class MoldRecord:
    """What is known of a mold without its files.

    Attributes
    ----------
    marks : dict of str to str
        The SHA-256 of each of its files, by what its name has behind the title's.
    numbers : dict
        Its figures, each with its unit in its name.
    stops, cautions : int
        How many findings of each kind there are.
    findings : tuple of str
        Stops and cautions, a sentence each.
    codes : tuple of str
        The code of each of them.
    sheet_words : str
        What it is formed from: ``HIPS 1.5 mm``.
    card : JobCard or None
        Without a name.
    shape : MoldShape or None
        What is laid out of it.
    picture : bytes
        A small picture of it (PNG); empty if there is none.
    changes : tuple of str
        What was changed of the job to clear its cautions, a clause each.
    problem : str
        Why it was not built; empty if it was.
    key : str
        The mark of the order that it was built for.
    """

    marks: dict[str, str] = field(default_factory=dict)
    numbers: dict[str, Any]
    stops: int = 0
    cautions: int = 0
    findings: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    sheet_words: str = ""
    card: JobCard | None = None
    shape: MoldShape | None = None
    picture: bytes = b""
    changes: tuple[str, ...] = ()
    problem: str = ""
    key: str = ""


def record_of(
    files: Mapping[str, bytes],
    *,
    numbers: Mapping[str, Any],
    findings: Sequence[Finding],
    sheet_words: str,
    card: JobCard,
    shape: MoldShape,
    changes: Sequence[str],
    picture: bytes,
) -> MoldRecord:
    """Return what is kept of a mold: marks of files, figures, grave findings, the rest."""
    grave = [one for one in findings if one.severity is not Severity.NOTE]
    return MoldRecord(
        marks={ending: sha256(data).hexdigest() for ending, data in files.items()},
        numbers=dict(numbers),
        stops=sum(one.severity is Severity.STOP for one in grave),
        cautions=sum(one.severity is Severity.CAUTION for one in grave),
        findings=tuple(str(one) for one in grave),
        codes=tuple(one.code for one in grave),
        sheet_words=sheet_words,
        card=card,
        shape=shape,
        picture=picture,
        changes=tuple(changes),
    )


def record_words(record: MoldRecord) -> dict[str, Any]:
    """Return a record in words that JSON can hold; without its picture and its key."""
    return {
        "marks": record.marks, "numbers": record.numbers, "stops": record.stops,
        "cautions": record.cautions, "findings": record.findings,
        "codes": record.codes, "sheet_words": record.sheet_words,
        "card": None if record.card is None else _card_words(record.card),
        "shape": None if record.shape is None else shape_words(record.shape),
        "changes": record.changes, "has_picture": bool(record.picture),
    }  # fmt: skip


def record_from_words(
    words: Mapping[str, Any], *, picture: bytes = b"", key: str = ""
) -> MoldRecord:
    """Return the record that `record_words` tells of."""
    return MoldRecord(
        marks={str(ending): str(mark) for ending, mark in words["marks"].items()},
        numbers=words["numbers"], stops=words["stops"],
        cautions=words["cautions"], findings=tuple(words["findings"]),
        codes=tuple(words["codes"]), sheet_words=words["sheet_words"],
        card=None if words["card"] is None else _card(words["card"]),
        shape=None if words["shape"] is None else shape_from(words["shape"]), key=key,
        changes=tuple(map(str, words["changes"])), picture=picture,
    )  # fmt: skip


def record_key(piece: bytes) -> str:
    """Return the key of the record of a piece of work: other work has another."""
    return mark_of(piece)[:_DIGITS]


def keep_record(folder: Path, record: MoldRecord) -> None:
    """Write a record into the folder of a class."""
    data = json.dumps(record_words(record), ensure_ascii=False, sort_keys=True).encode()
    files = {f"{record.key}.json": data}
    if record.picture:
        files[f"{record.key}.png"] = record.picture
    write_together(folder / RECORDS, files)


def kept_record(folder: Path, key: str) -> MoldRecord | None:
    """Return the record of a mold; None if there is no sound one."""
    try:
        words = json.loads((folder / RECORDS / f"{key}.json").read_bytes())
        picture = (folder / RECORDS / f"{key}.png").read_bytes() if words["has_picture"] else b""
        return record_from_words(words, picture=picture, key=key)
    except (OSError, ValueError, KeyError, TypeError, IndexError, AttributeError):
        return None


def forget_records(folder: Path, keys: frozenset[str]) -> None:
    """Remove the records of molds that the class makes no more."""
    for path in (folder / RECORDS).glob("*"):
        if _KEY.fullmatch(path.stem) and path.stem not in keys:
            try:
                path.unlink(missing_ok=True)
            except OSError as error:
                raise FileError(f"{path} cannot be removed: {error.strerror}.") from None


def _card_words(card: JobCard) -> dict[str, Any]:
    return {
        "title": card.title, "cautions": card.cautions, "foot": card.foot,
        "steps": [(one.name, one.value, one.words) for one in card.steps],
        "plan": [] if card.plan is None else [
            words for item in card.plan.items if (words := _item_words(item)) is not None
        ],
    }  # fmt: skip


def _card(words: dict[str, Any]) -> JobCard:
    items = tuple(map(_item, words["plan"]))
    return JobCard(
        title=words["title"],
        steps=tuple(CardStep(name=n, value=v, words=w) for n, v, w in words["steps"]),
        cautions=tuple(words["cautions"]),
        foot=words["foot"],
        plan=Plan(title=words["title"], items=items) if items else None,
    )


def _item_words(item: object) -> list[Any] | None:
    """Return an item of a plan in plain values; None for words, which cards do not show."""
    if isinstance(item, PlanRegion):
        return ["region", item.layer, [ring.round(4).tolist() for ring in item.rings]]
    if isinstance(item, Hole):
        return ["hole", item.layer, [item.x_mm, item.y_mm, item.diameter_mm]]
    if isinstance(item, DrawnSlit | Line):
        return ["line", item.layer, [item.start_mm, item.end_mm]]
    return None


def _item(words: list[Any]) -> Any:
    import numpy as np

    kind, layer, values = words
    if kind == "region":
        return PlanRegion(layer=Layer(layer), rings=tuple(map(np.array, values)))
    if kind == "hole":
        x_mm, y_mm, diameter_mm = values
        return Hole(x_mm=x_mm, y_mm=y_mm, diameter_mm=diameter_mm, layer=Layer(layer))
    start_mm, end_mm = map(tuple, values)
    return Line(start_mm=start_mm, end_mm=end_mm, layer=Layer(layer))


def for_person(
    card: JobCard, person: str, *, link: str = "", color: str = "", shot: str = ""
) -> JobCard:
    """Return a card with what it lacks before somebody makes the mold.

    Parameters
    ----------
    card : JobCard
        Of the mold.
    person : str
        Who makes it.
    link : str
        To its log; none if empty.
    color : str
        Of the sheet; any, if empty.
    shot : str
        With which others it is formed: ``2 of 4``; alone if empty.
    """
    steps = [
        replace(one, value=f"{one.value}, {color}") if color and one.name == "Sheet" else one
        for one in card.steps
    ]
    if shot:
        place = next((i for i, one in enumerate(steps) if one.name == "Sheet"), 0)
        steps.insert(place, CardStep(name="Shot", value=shot))
    return replace(card, person=person, link=link, steps=tuple(steps))
