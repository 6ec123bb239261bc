"""The heat of a bent strip in words: times as bands, and whose doubt it is."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.bend.heat.dwell import Dwell
from moldgen.bend.heat.dwell_text import clock, clock_band
from moldgen.export.report.table import Table
from moldgen.pipeline.strip.work import BentStrip
from moldgen.stock.line_bending import bending_window


def _turns_text(n_turns: int) -> str:
    """Return how often the strip is turned over."""
    return {0: "not turned", 1: "turned over once"}.get(n_turns, f"turned over {n_turns} times")


def heat_texts(work: BentStrip) -> Iterator[str]:
    """Yield the heat of each bend; bends that are heated alike are told together."""
    alike: dict[str, list[int]] = {}
    for number, one in enumerate(work.dwells, start=1):
        time = clock_band(one.side_s, one.band_s)
        words = f"{time} a side, {_turns_text(one.turns)}"
        if one.step_s is not None:
            words = f"{time} from one side, in steps of {clock(one.step_s)}"
        elif work.bench.heater.sides == 2:
            words = f"{time} between the elements"
        elif one.n_sides == 1:
            words = f"{time} from one side"
        alike.setdefault(words, []).append(number)
    if len(alike) == 1 and len(work.dwells) > 1:
        yield f"{next(iter(alike))}, each bend"
        return
    for words, numbers in alike.items():
        bends = f"bend{'s' * (len(numbers) > 1)} {' and '.join(map(str, numbers))}"
        yield f"{bends}: {words}"


def heat_table(work: BentStrip) -> Table:
    """Return the table of times and temperatures, and how far to trust them."""
    rows = []
    for number, one in enumerate(work.dwells, start=1):
        low, high = one.band_s
        hold_low, hold_high = one.hold_band_s
        rows.append(
            (
                f"bend {number}",
                clock(one.side_s),
                f"{clock(low)} to {clock(high)}",
                str(one.n_sides),
                _turned(one),
                *_temperatures(one),
                f"{clock(one.hold_s)} ({clock(hold_low)} to {clock(hold_high)})",
            )
        )
    window = bending_window(work.bench.plastic)
    header = (
        "Bend", "Heat a side", "Between", "Sides", "Turned", "Mean of the strip", "Hottest face",
        "Hold",
    )  # fmt: skip
    return Table(
        title=f"Heat on {work.bench.heater.title}",
        header=header,
        rows=tuple(rows),
        note=f"{work.bench.plastic.name} bends from {window.lower_degC:g} °C, best at "
        f"{window.best_degC:g} °C; no face over {window.upper_degC:g} °C (line bending "
        "temperatures, common practice). Times are computed from conduction through the thickness "
        f"and out of the line, and are as wide as the column between. {_whose(work.bench.timed)}",
    )


def _whose(timed: bool) -> str:
    """Return which part of the doubt is the heater's, and how it goes away."""
    if timed:
        return "The heater is as hot as your timed strip says; what is left is the plastic's."
    return (
        "Half of the doubt is the heater's: nobody has timed it. Time a side of one test "
        "strip until the line gives by itself, and write it as side in [test_strip]: it takes the "
        "place of the heater's temperature in stock, and all times follow."
    )


def _turned(one: Dwell) -> str:
    steps = "" if one.step_s is None else f", in steps of {clock(one.step_s)}"
    return _turns_text(one.turns) + steps


def _temperatures(one: Dwell) -> tuple[str, str]:
    """Return mean and hottest face; heat in steps is not followed."""
    if one.step_s is not None:
        return f"about {one.mean_degC:.0f} °C", "not followed"
    return f"{one.mean_degC:.0f} °C", f"{one.hottest_degC:.0f} °C"
