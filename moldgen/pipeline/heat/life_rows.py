"""How long a printed mold lasts, in words: top and edges apart, what to print it from, trust."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from moldgen.finding import counted
from moldgen.stock.experience import CyclesStood
from moldgen.table.life_findings import row_text
from moldgen.table.mold_life import MoldLife
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run
from moldgen.wording import clock_text


def life_text(life: MoldLife, wanted: int) -> str:
    """Return how many cycles a mold stands, and the pause it wants."""
    if life.stays_hard:
        return f"stays hard: its edges reach at most {life.hottest_edge_degC:.0f} °C"
    return f"{_top_text(life, wanted)}; {_edges_text(life)}"


def _top_text(life: MoldLife, wanted: int) -> str:
    low = life.in_a_row_band[0]
    if low is None:
        return "any number in a row, its top does not sink"
    if life.in_a_row == 0:
        deep = f"{float(life.softened_mm[0]):.1f} mm deep"
        return f"its top softens {deep} and sinks at every cycle, whatever the pause"
    enough = row_text(life)
    if low >= wanted:
        return f"{enough}, {wanted} are wanted"
    if life.in_a_row is None:
        cycles = "1 cycle" if low == 1 else f"{low} cycles in a row"
        return f"its top probably never sinks, and not before {cycles}"
    if life.pause_s is None:
        return f"{enough} before its top sinks, no pause helps"
    return f"{enough} before its top sinks, for more {clock_text(life.pause_s)} pauses"


def _edges_text(life: MoldLife) -> str:
    if life.edges_last is None:
        near = f"{life.hottest_edge_degC:.0f} of {life.softens_degC:g} °C"
        return f"its edges come close to softening ({near})"
    if life.edges_last == 0:
        return "edges begin to round in the first cycle"
    after = "1 cycle" if life.edges_last == 1 else f"about {life.edges_last} cycles in a row"
    return f"edges begin to round after {after}"


def stood_text(stood: CyclesStood | None) -> str:
    """Return how many cycles molds of a filament stood at a table; empty if nobody noted any."""
    if stood is None:
        return ""
    cycles, molds = stood.cycles, counted(stood.cycles.n_notes, "mold")
    if not stood.n_ended:
        return f"{cycles.low:.0f} cycles or more, by {molds} of this table, none given up so far"
    return (
        f"about {cycles.value:.0f} cycles ({cycles.low:.0f} to {cycles.high:.0f}), by {molds} of "
        f"this table, {stood.n_ended} given up"
    )


def stood_numbers(stood: CyclesStood | None) -> dict[str, Any]:
    """Return the same for programs; nothing if nobody noted any."""
    if stood is None:
        return {}
    return {
        "cycles_stood": stood.cycles.value if stood.n_ended else None,
        "cycles_stood_band": [stood.cycles.low, stood.cycles.high if stood.n_ended else None],
        "cycles_stood_molds": stood.cycles.n_notes,
        "cycles_stood_ended": stood.n_ended,
    }


def life_note(run: Run, mold: PrintedMold) -> str:
    """Return by what a mold's life is judged, and how far to trust it."""
    return (
        f"The top sinks when the infill under the soft layer buckles under {run.vacuum_kPa:.0f} "
        f"kPa: walls of {mold.line_mm:.2g} mm as plates clamped at both ends (Euler), Poisson's "
        "ratio 0.5, the rubbery modulus to a factor of two either way, which makes the band. "
        f"Edges are rounded {mold.edge_radius_mm:g} mm and heated from both faces, computed to "
        f"about 10 °C. The sheet cools {run.transfer_s:g} s on its way and meets the mold at "
        f"{run.arrival_degC:.0f} °C; the foot stands on a table at {run.room_degC:g} °C. "
        "The heat was checked against closed solutions and finite differences, the counts only "
        "against one published report of three formings; a trial on your mold counts for more."
    )


def advice_text(lives: Sequence[MoldLife]) -> str:
    """Return which filaments to print the mold from, the best first."""
    hard = [life.mold.filament.name for life in lives if life.stays_hard]
    top = [life.mold.filament.name for life in lives if not life.stays_hard and _top_lasts(life)]
    some = [
        life.mold.filament.name
        for life in lives
        if not (life.stays_hard or _top_lasts(life)) and life.in_a_row and life.pause_s is not None
    ]
    parts = [f"{', '.join(hard)} (stay hard)"] if hard else []
    parts += [f"{', '.join(top)} (top lasts, edges may round)"] if top else []
    parts += [f"{', '.join(some)} (with pauses)"] if some else []
    return "; ".join(parts) or "none of the filaments in stock lasts"


def _top_lasts(life: MoldLife) -> bool:
    """Tell whether a top is not known to sink ever."""
    return life.in_a_row is None
