"""The tables of the report about a sheet's heat."""

from __future__ import annotations

from collections.abc import Sequence
from math import expm1

from moldgen.export.report.table import Table
from moldgen.pipeline.heat.life_rows import life_note
from moldgen.pipeline.heat.rows import clock_words
from moldgen.pipeline.heat.work import HeatWork
from moldgen.table.calibrate import HeaterFit
from moldgen.table.cool import Cooling
from moldgen.table.doubt import Doubt
from moldgen.table.heat_up import HeatUp
from moldgen.table.life_findings import row_text
from moldgen.table.mold_life import MoldLife
from moldgen.wording import clock_text, gauge_text


def tables_of(work: HeatWork) -> tuple[Table, ...]:
    """Return the report's tables."""
    tables = [
        doubt_table(work.heated),
        cooling_doubt_table(work.whole),
        _filament_table(work),
        _depth_table(work.life),
    ]
    if work.fit is not None:
        tables.insert(0, _fit_table(work.fit))
    return (*tables, _prediction_table(work))


def _fit_table(fit: HeaterFit) -> Table:
    rows = tuple(
        (one.words, clock_text(fitted_s), f"{100 * (fitted_s / one.seconds - 1):+.0f} %")
        for one, fitted_s in zip(fit.seen, fit.fitted_s, strict=True)
    )
    return Table(
        title="Observed times",
        header=("Observed", "Fitted", "Off by"),
        rows=rows,
        note=fit.says,
    )


def doubt_table(heated: HeatUp) -> Table:
    """Return what makes the heating time uncertain, and by how much."""
    return Table(
        title="What makes the heating time uncertain",
        header=("What", "Time"),
        rows=_doubt_rows(heated.doubts),
        note="Put together as for independent errors; bands are those of the stock. The heater is "
        f"an even plane, walls around it reflect {heated.machine.wall_reflection:.0%}; at the "
        f"start the face takes up {heated.first_W_m2 / 1000:.1f} kW/m², at the forming "
        f"{heated.last_W_m2 / 1000:.1f} kW/m².",
    )


def cooling_doubt_table(cooled: Cooling) -> Table:
    """Return what makes the cooling time uncertain, and by how much."""
    return Table(
        title="What makes the cooling time uncertain",
        header=("What", "Time"),
        rows=_doubt_rows(cooled.doubts),
        note="On a cold mold, where the part is thickest; put together as for independent errors.",
    )


def _doubt_rows(doubts: Sequence[Doubt]) -> tuple[tuple[str, str], ...]:
    return tuple(
        (one.what, f"-{100 * -expm1(-one.sooner):.0f} %, +{100 * expm1(one.later):.0f} %")
        for one in doubts
    )


def _filament_table(work: HeatWork) -> Table:
    rows = tuple(
        (
            life.mold.filament.name,
            f"{life.softens_degC:g} °C",
            f"{life.first_face_degC:.0f} °C",
            f"{life.hottest_degC:.0f} °C",
            f"{life.hottest_edge_degC:.0f} °C",
            "any" if life.in_a_row is None else row_text(life),
            "none helps" if life.pause_s is None else clock_text(life.pause_s),
        )
        for life in work.ranked
    )
    return Table(
        title="What to print the mold from",
        header=(
            "Filament", "Softens", "Face, first cycle", "Face, later", "Edge, later",
            "Cycles before the top sinks", "Pause",
        ),
        rows=rows,
        note=f"Under the middle of a broad top, {work.words.height_mm:g} mm of mold, a skin of "
        f"{work.words.skin_mm:g} mm, {work.words.infill:.0%} filling; the joint conducts "
        f"500 W/(m²·K) (generic, from memory). {life_note(work.life.run, work.life.mold)}",
    )  # fmt: skip


def _depth_table(life: MoldLife) -> Table:
    cycles = [n for n in (1, 2, 5, 10, 20, 50, 100) if n <= len(life.peaks_degC)]
    places = [n for n, depth in enumerate(life.depths_mm) if depth <= 6][::2]
    rows = tuple(
        (
            f"{life.depths_mm[place]:.1f} mm",
            *(f"{life.peaks_degC[cycle - 1, place]:.0f} °C" for cycle in cycles),
        )
        for place in places
    )
    return Table(
        title=f"Hottest in the {life.mold.filament.name} mold, by depth and cycle",
        header=("Depth", *(f"Cycle {cycle}" for cycle in cycles)),
        rows=rows,
        note=f"It softens at {life.softens_degC:g} °C.",
    )


def _prediction_table(work: HeatWork) -> Table:
    rows = [(f"{work.sheet.plastic.name} {gauge_text(gauge)}", time) for gauge, time in work.gauges]
    rows += [(f"{name} {gauge_text(work.sheet.gauge_mm)}", time) for name, time in work.plastics]
    return Table(
        title="Other sheets on the same forming machine",
        header=("Sheet", "Heat for"),
        rows=tuple((words, clock_words(clock)) for words, clock in rows),
    )
