"""The form at the table: what it shows before a shot, and the note that it sends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import zip_longest
from typing import Any

from moldgen.errors import SpecError
from moldgen.lesson.log.add import noted_facts, readings_beside
from moldgen.lesson.log.job_facts import JobFacts, with_typed
from moldgen.lesson.log.note_text import outcomes, tidied
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.quantity import quantities
from moldgen.stock import Shop

TIMES = ("heated_s", "formed_s", "cooled_s")
FIELDS = ("cycle", *TIMES, "remark", "machine", "plastic", "gauge", "who")
"""Words of the form that are one text each."""
SEEN = tuple(Outcome)
_ENDED = "mold_ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class FormContent:
    """What stands in the form.

    Attributes
    ----------
    texts : mapping of str
        Of `FIELDS`.
    readings : tuple of (str, str)
        Places and what the caliper told there.
    seen : tuple of str
        What is chosen of `SEEN`.
    mold_ended : bool
        Whether the mold is given up.
    """

    texts: Mapping[str, str]
    readings: tuple[tuple[str, str], ...] = ()
    seen: tuple[str, ...] = ()
    mold_ended: bool = False


def empty_form(facts: JobFacts, *, cycle: int, who: str) -> FormContent:
    """Return the form before a shot."""
    texts = dict.fromkeys(FIELDS, "") | {
        "cycle": str(cycle), "who": who, "machine": facts.machine, "plastic": facts.plastic,
        "gauge": f"{facts.thickness_mm:g}",
    }  # fmt: skip
    return FormContent(texts=texts)


def sent_form(form: Any) -> FormContent:
    """Return what somebody sends."""
    return FormContent(
        texts={name: str(form.get(name, "")).strip() for name in FIELDS},
        readings=tuple(_sent_readings(form)),
        seen=tuple(str(one) for one in form.getlist("seen")),
        mold_ended=bool(form.get(_ENDED)),
    )


def _sent_readings(form: Any) -> Iterator[tuple[str, str]]:
    """Yield the rows for the caliper in which anything was typed."""
    places, thicknesses = (
        [str(one).strip() for one in form.getlist(name)] for name in ("place", "thickness")
    )
    for place, thickness in zip_longest(places, thicknesses, fillvalue=""):
        if place or thickness:
            yield place, thickness


def note_of_form(
    content: FormContent, facts: JobFacts, shop: Shop, *, mold: str, now: datetime
) -> ShotNote:
    """Return the note that a form stands for.

    Parameters
    ----------
    content : FormContent
        What was sent.
    facts : JobFacts
        What the job tells.
    shop : Shop
        What there is in stock.
    mold : str
        Whose mold of that job it is.
    now : datetime
        Of the clock.

    Raises
    ------
    SpecError
        If something of it is wrong: one sentence.
    """
    texts = content.texts
    seen = outcomes(list(content.seen))
    facts = with_typed(
        facts, machine=texts["machine"], plastic=texts["plastic"],
        thickness_mm=_number("thickness_mm", texts["gauge"]), shop=lambda: shop,
    )  # fmt: skip
    measured = [_measured(place, thickness) for place, thickness in content.readings]
    times: dict[str, Any] = {name: _number(name, texts[name]) for name in TIMES}
    return tidied(
        ShotNote(
            noted=now.isoformat(),
            cycle=_whole("cycle", texts["cycle"]),
            seen=seen,
            readings=tuple(readings_beside(measured, facts)),
            mold_ended=content.mold_ended,
            mold=mold,
            who=texts["who"],
            remark=texts["remark"],
            **times,
            **noted_facts(facts),
        )
    )


def _measured(place: str, thickness: str) -> CaliperReading:
    """Return the thickness that was measured at a place."""
    if not thickness:
        raise SpecError("thickness", "given for a place", "nothing", "Type it, or leave both out.")
    if not place:
        raise SpecError("place", "given for a thickness", "nothing", "Say where it was measured.")
    thickness_mm = quantities(CaliperReading)["thickness_mm"].read("thickness", thickness)
    return CaliperReading(place=place, thickness_mm=thickness_mm)


_QUANTITIES = quantities(ShotNote)


def _number(name: str, text: str) -> float | None:
    return _QUANTITIES[name].read(_told(name), text) if text else None


def _whole(name: str, text: str) -> int:
    number = _number(name, text)
    if number is None or number != int(number):
        raise SpecError(name, "a whole number", text or "nothing")
    return int(number)


def _told(name: str) -> str:
    return name.removesuffix("_s").removesuffix("_mm")
