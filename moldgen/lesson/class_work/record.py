"""What is kept of a mold that was built, so that a class need not build it again."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldgen.errors import FileError
from moldgen.export.atomic import write_together
from moldgen.export.card.job_card import CardStep, JobCard
from moldgen.export.plan.items import DrawnSlit, Hole, Line, PlanRegion
from moldgen.export.plan.layers import Layer
from moldgen.export.plan.plan import Plan
from moldgen.finding import Severity
from moldgen.lesson.class_work.build import BuildOrder, BuiltMold

RECORDS = ".moldgen-class"
"""Folder of the records, in the folder of the class."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MoldRecord:
    """What is known of a mold without its files.

    Attributes
    ----------
    endings : tuple of str
        What the names of its files have behind the title's.
    numbers : dict
        Its figures, each with its unit in its name.
    stops, cautions : int
        How many findings of each kind there are.
    findings : tuple of str
        Stops and cautions, a sentence each.
    card : JobCard or None
        Without a name.
    problem : str
        Why it was not built; empty if it was.
    """

    endings: tuple[str, ...] = ()
    numbers: dict[str, Any]
    stops: int = 0
    cautions: int = 0
    findings: tuple[str, ...] = ()
    card: JobCard | None = None
    problem: str = ""


def record_of(built: BuiltMold) -> MoldRecord:
    """Return what is kept of a mold."""
    grave = [one for one in built.findings if one.severity is not Severity.NOTE]
    return MoldRecord(
        endings=tuple(built.files),
        numbers=built.numbers,
        stops=sum(one.severity is Severity.STOP for one in grave),
        cautions=sum(one.severity is Severity.CAUTION for one in grave),
        findings=tuple(str(one) for one in grave),
        # As it will be read again, so that a second run prints the same.
        card=None if built.card is None else _card(_card_words(built.card)),
        problem=built.problem,
    )


def key_of(order: BuildOrder) -> str:
    """Return the mark of an order: another job, stock, version, language or log has another."""
    stock = Path(order.stock).read_bytes() if order.stock else b""
    words = [order.version, order.job_text, *(str(one) for one in order.formats), order.language]
    words += [repr(one) for one in order.experience.tables]
    return hashlib.sha256(json.dumps(words).encode() + stock).hexdigest()[:24]


def keep_record(folder: Path, key: str, record: MoldRecord) -> None:
    """Write a record into the folder of a class."""
    words = {
        "endings": record.endings, "numbers": record.numbers, "stops": record.stops,
        "cautions": record.cautions, "findings": record.findings,
        "card": None if record.card is None else _card_words(record.card),
    }  # fmt: skip
    data = json.dumps(words, ensure_ascii=False, sort_keys=True).encode()
    write_together(folder / RECORDS, {f"{key}.json": data})


def kept_record(folder: Path, key: str) -> MoldRecord | None:
    """Return the record of a mold; None if there is no sound one."""
    try:
        words = json.loads((folder / RECORDS / f"{key}.json").read_bytes())
        return MoldRecord(
            endings=tuple(words["endings"]), numbers=words["numbers"], stops=words["stops"],
            cautions=words["cautions"], findings=tuple(words["findings"]),
            card=None if words["card"] is None else _card(words["card"]),
        )  # fmt: skip
    except (OSError, ValueError, KeyError, TypeError, IndexError):
        return None


def forget_records(folder: Path, keys: frozenset[str]) -> None:
    """Remove the records of molds that the class makes no more."""
    for path in (folder / RECORDS).glob("*.json"):
        if path.stem not in keys:
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


def for_person(card: JobCard, person: str, *, link: str = "") -> JobCard:
    """Return a card with the name of a person, and the link to its log."""
    return replace(card, person=person, link=link)
