"""The day at the forming table in words: rows, steps and numbers."""

from __future__ import annotations

from math import isfinite
from typing import Any

from moldgen.finding import amount, counted
from moldgen.mold.air.air_findings import FORMING_SHARE
from moldgen.mold.release.hold import MoldHold
from moldgen.mold.release.release import BodyRelease, force_text
from moldgen.pipeline.heat.life_rows import advice_text, life_text, stood_numbers, stood_text
from moldgen.pipeline.heat.rows import (
    cooling_numbers,
    cooling_text,
    heating_numbers,
    timing_text,
    window_text,
)
from moldgen.pipeline.mold.day import WANTED_CYCLES, TableDay
from moldgen.pipeline.mold.print_readiness_rows import print_row, ready_numbers, setting_text
from moldgen.pipeline.types import Rows
from moldgen.table.cool import Cooling
from moldgen.table.heat_doubts import is_timed
from moldgen.table.heat_up import HeatUp
from moldgen.table.life_findings import row_text
from moldgen.table.mold_life import MoldLife
from moldgen.table.ready_signs import ready_text
from moldgen.table.sticking import sticking_text
from moldgen.wording import about_text, band_text, clock_text

SHARES = (0.5, FORMING_SHARE, 0.9)
"""Shares of the vacuum that are told. [-]."""


def day_rows(day: TableDay) -> Rows:
    """Return the rows of the summary."""
    sticking = sticking_text(day.setting.sheet.plastic, day.setting.filament)
    rows = [
        ("Print", print_row(day.ready)),
        ("Heat and cool", _heat_row(day)),
        *((("Mold life", _cycles_row(day.life)),) if day.life else ()),
        *((("Mold life by the log", stood),) if (stood := stood_text(day.stood)) else ()),
        *((("Sticking", sticking),) if sticking else ()),
        ("Air", _air_row(day)),
    ]
    if day.hardest is not None:
        rows.append(("Release", _release_row(day.hardest)))
    return tuple(rows)


def day_numbers(day: TableDay) -> dict[str, Any]:
    """Return the measures for programs; None for what never comes or is not known."""
    heated, life, air = day.heated, day.life, day.evacuation
    hardest, slowest = day.hardest, air.slowest
    return {
        **heating_numbers(heated),
        **cooling_numbers(day.thickest),
        "cool_thinnest_s": day.thinnest.stiff_s if day.thinnest else None,
        "cool_warm_s": day.warm_s,
        "cycles_in_a_row": life.in_a_row if life else None,
        "cycles_in_a_row_band": list(life.in_a_row_band) if life else None,
        "cycles_before_edges_round": life.edges_last if life else None,
        "pause_s": life.pause_s if life else None,
        **stood_numbers(day.stood),
        "swept_L": air.swept_L,
        "sheet_down_s": _known(air.down_s),
        **{f"vacuum_{100 * share:g}_s": _known(air.vacuum_s(share)) for share in SHARES},
        "vacuum_held_up_by": str(air.bottleneck),
        "slowest_pocket_s": _known(slowest.seconds) if slowest else None,
        "pressed_down_N": day.load.force_N,
        "load_used": max((_known(one.used) or 0.0 for one in day.load.borne), default=None),
        "release_N": hardest.force_N if hardest else None,
        "release_holds_N": hardest.holds_N if hardest else None,
        **ready_numbers(day.ready),
    }


def day_text(day: TableDay) -> dict[str, str]:
    """Return what to set for the print, and what the steps print, heat, cool and release say."""
    return {
        "set": setting_text(day.ready),
        "print": _pause_text(day),
        "heat": _heat_text(day),
        "cool": _cool_text(day),
        "release": "" if day.hardest is None else _release_text(day.hardest),
    }


def short_time(time_s: float) -> str:
    """Return a time that may be a blink: ``0.1 s``, ``6.8 s``, ``12 s``, ``never``."""
    if not isfinite(time_s):
        return "never"
    if time_s < 0.05:
        return "less than 0.1 s"
    return f"{time_s:.1f} s" if time_s < 9.95 else clock_text(time_s)


def _known(value: float) -> float | None:
    return float(value) if isfinite(value) else None


def _heat_row(day: TableDay) -> str:
    parts = []
    if day.heated is None:
        parts.append("not hot enough on this table")
    else:
        parts.append(_heating_row(day.heated))
    if day.thickest is not None:
        parts.append(_cooling_row(day.thickest))
    return "; ".join(parts)


def _heating_row(heated: HeatUp) -> str:
    if heated.forming_s is None:
        if heated.lower is None or heated.lower.forming_s is None:
            return "no forming window at this heat: see below"
        least = f"{about_text(heated.lower.forming_s)} at {heated.power_share:.0%} power"
        return f"no forming window at full heat; {least}".replace("%", " %")
    time = band_text(heated.forming_s, *heated.band_s)
    window = "stays open" if heated.window_s is None else clock_text(heated.window_s)
    if heated.noted is None:
        return f"{time}, forming window {window}"
    notes = counted(heated.noted.n_notes, "note")
    return f"{time}, by {notes}, forming window {window}"


def _cooling_row(cooled: Cooling) -> str:
    time = band_text(cooled.stiff_s, *cooled.band_s)
    if cooled.noted is None:
        return f"cool {time}"
    return f"cool {time}, {counted(cooled.noted.n_notes, 'note')} of this table"


def _cycles_row(life: MoldLife) -> str:
    name = life.mold.filament.name
    if life.stays_hard:
        return f"{name} stays hard"
    if life.in_a_row_band[0] is None:
        edges = "" if life.edges_last is None else ", edges round a little"
        return f"{name}: any number of cycles{edges}"
    if life.in_a_row == 0:
        return f"{name}: top sinks in the first cycle"
    cycles = row_text(life)
    if life.in_a_row is None:
        return f"{name}: {cycles}, top probably never sinks"
    if life.pause_s is None:
        return f"{name}: {cycles}, no pause helps"
    return f"{name}: {cycles}, then {clock_text(life.pause_s)} pauses"


def _air_row(day: TableDay) -> str:
    air = day.evacuation
    sheet = f"sheet in contact after {short_time(air.down_s)}"
    if not isfinite(air.down_s):
        sheet = "sheet never in contact"
    shares = ", ".join(
        f"{share:.0%} {_after(air.vacuum_s(share))}" for share in (FORMING_SHARE, air.share)
    )
    return f"{sheet}; vacuum {shares} ({air.bottleneck})".replace("%", " %")


def _after(time_s: float) -> str:
    return f"after {short_time(time_s)}" if isfinite(time_s) else "never"


def _release_row(hardest: BodyRelease) -> str:
    if hardest.force_N <= 0:
        return "nothing shrinks onto it"
    return f"{force_text(hardest.force_N)} release force; {holds_text(hardest)}"


def holds_text(one: BodyRelease) -> str:
    """Return what a body is lifted by, and what that bears."""
    verb = {MoldHold.HAND: "manage", MoldHold.PRY: "bear"}.get(one.hold, "bears")
    return f"{one.hold} {verb} {amount(one.holds_N, 'N')}"


def _pause_text(day: TableDay) -> str:
    filament, life = day.setting.filament, day.life
    softens = f"{filament.title} softens at {filament.softens_degC:g} °C"
    if life is None:
        return f"{softens}: let the mold cool between cycles."
    words = f"{softens}; a {filament.name} mold: {life_text(life, WANTED_CYCLES)}."
    if day.stood is not None:
        words += f" At this table such molds stand {stood_text(day.stood)}."
    if life.stays_hard:
        return words
    return f"{words} What would last, the best first: {advice_text(day.ranked)}."


def _heat_text(day: TableDay) -> str:
    plastic, heated = day.setting.sheet.plastic, day.heated
    window = (
        f"{plastic.forming_low_degC:g} to {plastic.forming_high_degC:g} °C "
        f"(usual {plastic.forming_degC:g} °C)"
    )
    signs = f"{ready_text(plastic)} {plastic.caution}"
    if heated is None:
        return f"This table does not bring the sheet to {window}: see the findings. {signs}"
    timed = is_timed(day.setting.machine) or heated.noted is not None
    note = "" if timed else " Note how long it took: moldgen log add makes it your own."
    return (
        f"{timing_text(heated, until=f', until it has {window}')} {signs} "
        f"Forming window: {window_text(heated)}.{note}"
    )


def _cool_text(day: TableDay) -> str:
    plastic = day.setting.sheet.plastic
    if day.thickest is None or day.thinnest is None:
        return f"{cooling_text(plastic)}; a fan helps."
    keep = cooling_text(plastic, cold=day.thickest, warm_s=day.warm_s)
    return (
        f"{keep}; a fan helps. Where it is thinnest it is stiff "
        f"after {short_time(day.thinnest.stiff_s)}: air must be out by then."
    )


def _release_text(hardest: BodyRelease) -> str:
    if hardest.force_N <= 0:
        return "The sheet shrinks away from it."
    words = (
        f"Peeled off from one edge, the release force is {force_text(hardest.force_N)}; "
        f"{holds_text(hardest)}."
    )
    if hardest.force_N > hardest.holds_N:
        words += " That is too much: let air in under it, and ease it off edge by edge while warm."
    return words
