"""What a class costs: sheets and filament, where the room has prices for them."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.job.room import OwnRoom
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.timetable.work import ShotWork


def print_cost(work: PersonWork, room: OwnRoom | None) -> float | None:
    """Return what one person's print costs, in the room's currency; None if it has no price."""
    told = work.record.numbers
    if room is None or work.record.problem:
        return None
    mass_g = (told.get("print") or {}).get("mass_g")
    return room.print_price(told["filament"], mass_g)


def sheets_cost(
    shots: Sequence[ShotWork], works: Sequence[PersonWork], room: OwnRoom | None
) -> float | None:
    """Return what the sheets of all shots cost; None if one of them has no price."""
    if room is None:
        return None
    sheets = {
        work.entry.name: (work.record.numbers["plastic"], work.record.numbers["gauge_mm"])
        for work in works
        if not work.record.problem
    }
    prices = [room.sheet_price(*sheets[shot.people[0]]) for shot in shots]
    known = [price for price in prices if price is not None]
    return sum(known) if known and len(known) == len(prices) else None


def cost_text(
    shots: Sequence[ShotWork],
    works: Sequence[PersonWork],
    room: OwnRoom | None,
    *,
    prints: Sequence[int],
) -> str:
    """Return the costs of a class in words, ``sheets 7.50 EUR, filament 3.20 EUR``.

    Empty if nothing has a price.

    Parameters
    ----------
    shots, works : sequence of ShotWork, PersonWork
        What is formed, and of what.
    room : OwnRoom or None
        Whose prices count.
    prints : sequence of int
        How often each person's mold is printed.
    """
    currency = room.currency if room else ""
    sheets = sheets_cost(shots, works, room)
    priced = [
        count * cost
        for work, count in zip(works, prints, strict=True)
        if (cost := print_cost(work, room)) is not None
    ]
    told = []
    if sheets is not None:
        price = f"{sheets:.2f} {currency}".rstrip()
        told.append(f"sheets {price}")
    if priced:
        price = f"{sum(priced):.2f} {currency}".rstrip()
        told.append(f"filament {price}")
    return ", ".join(told)
