"""A sheet's heat in words: rows for a teacher, numbers for programs, tables of the report."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from moldgen.export.report.table import Table
from moldgen.pipeline.heat.life_rows import advice_text, life_note, life_text
from moldgen.pipeline.heat.work import HeatWork
from moldgen.pipeline.types import Rows
from moldgen.stock import Plastic
from moldgen.table.calibrate import HeaterFit, machine_toml, why_no_entry
from moldgen.table.heat_up import SIGNS, HeatUp
from moldgen.table.life_findings import row_text
from moldgen.table.mold_life import MoldLife
from moldgen.wording import clock_text

TIMED_NAME = "My timed table"
"""What a machine that was fitted is called in the text to be put into a stock file."""
_BURNS = "heater, sheet and mold burn at a touch: gloves, sleeves, never alone; local rules first"
_NEVER = "heat PVC near open coils, acetal (formaldehyde), or a plastic you cannot name"


def summary_of(work: HeatWork) -> Rows:
    """Return the rows a teacher reads at a glance."""
    plastic, heated = work.sheet.plastic, work.heated
    low_s, high_s = (clock_text(time_s) for time_s in heated.band_s)
    mold = f"{work.life.mold.filament.name} mold"
    rows = [
        ("Sheet", f"{plastic.title}, {work.sheet.gauge_mm:.3g} mm"),
        ("Forming table", _machine_text(work)),
        ("Heat for", f"{clock_text(heated.forming_s)} (may be {low_s} to {high_s})"),
        ("Ready when", SIGNS),
        ("Forming window", window_text(heated)),
        ("When formed", temperature_text(heated)),
        ("Toward the clamp", edge_text(heated)),
        ("Cool for", _cool_text(work)),
        (mold, life_text(work.life, int(work.words.cycles))),
        ("Print it from", advice_text(work.ranked)),
    ]
    if work.fit is not None:
        rows += [
            ("Timed", work.fit.says),
            ("Stock entry", why_no_entry(work.fit)),
            ("Other gauges", _times((f"{gauge:.3g} mm", time) for gauge, time in work.gauges)),
            ("Other plastics", _times(work.plastics)),
        ]
    rows += [("Hot", _BURNS), ("Fumes", plastic.caution), ("Never", _NEVER)]
    return tuple((label, text) for label, text in rows if text)


def window_text(heated: HeatUp) -> str:
    """Return when the forming window opens and closes."""
    clock, window_s = heated.clock, heated.window_s
    opens = clock_text(clock.opens_s or 0)
    if clock.closes_s is None or window_s is None:
        return f"opens after {opens}, and stays open: the sheet gets no hotter than it may"
    closes = clock_text(clock.closes_s)
    if window_s == 0:
        return f"none: a face is too hot after {closes}, the other hot enough after {opens}"
    high = f"{heated.sheet.plastic.forming_high_degC:g} °C"
    return f"open {clock_text(window_s)}, from {opens} to {closes}, when a face passes {high}"


def temperature_text(heated: HeatUp) -> str:
    """Return how hot the sheet is through its thickness when it is formed."""
    through = f"{heated.front_degC:.0f} °C at the heater, {heated.mean_degC:.0f} °C on average"
    if heated.machine.heater_sides == 2:
        return f"{heated.front_degC:.0f} °C on both faces, {heated.coldest_degC:.0f} °C between"
    return f"{through}, {heated.back_degC:.0f} °C at the back"


def timing_text(heated: HeatUp, *, until: str = "") -> str:
    """Return how long to heat, within which times, and from when on to watch."""
    low_s, high_s = (clock_text(time_s) for time_s in heated.band_s)
    opens = clock_text(heated.clock.opens_s or 0)
    return (
        f"{clock_text(heated.forming_s)}, which may be {low_s} to {high_s}{until}. "
        f"Watch it from {opens} on and stay with it."
    )


def cooling_text(
    plastic: Plastic, *, cold_s: float | None = None, warm_s: float | None = None
) -> str:
    """Return how long to keep the vacuum: on a cold mold, on a warm one, as far as known."""
    cold = "" if cold_s is None else f" {clock_text(cold_s)}"
    warm = ""
    if warm_s is not None:
        warm = f" on a cold mold, {clock_text(warm_s)} on one that has warmed up"
    comma = "," * bool(cold)
    return (
        f"Keep the vacuum{cold}{warm}{comma} until the part is below {plastic.set_degC:g} °C "
        "and stiff"
    )


def edge_text(heated: HeatUp) -> str:
    """Return how much longer the sheet takes away from the middle."""
    if heated.mean_s == heated.forming_s:
        return "as hot as in the middle: the oven is all round"
    if heated.mean_s is None:
        return "most of the opening never gets hot enough: keep to the middle, which gets most heat"
    lead = "the middle gets most heat and is ready first; the opening on average takes "
    mean = f"{lead}{clock_text(heated.mean_s)}"
    if heated.corner_s is None:
        return f"{mean}, its corners never get hot enough: keep to the middle"
    return f"{mean}, its corners {clock_text(heated.corner_s)}"


def numbers_of(work: HeatWork) -> dict[str, Any]:
    """Return the measures for programs."""
    heated, life = work.heated, work.life
    numbers: dict[str, Any] = {
        "heat_s": heated.forming_s,
        "heat_band_s": list(heated.band_s),
        "opens_s": heated.clock.opens_s,
        "closes_s": heated.clock.closes_s,
        "forming_window_s": heated.window_s,
        "front_degC": heated.front_degC,
        "mean_degC": heated.mean_degC,
        "back_degC": heated.back_degC,
        "first_W_m2": heated.first_W_m2,
        "last_W_m2": heated.last_W_m2,
        "view": heated.view,
        "cool_s": work.whole.stiff_s,
        "cool_fan_s": work.blown.stiff_s,
        "cool_thinnest_s": work.thinnest.stiff_s,
        "cool_warm_s": float(life.contact_s[-1]),
        "cycles_in_a_row": life.in_a_row,
        "cycles_in_a_row_band": list(life.in_a_row_band),
        "cycles_before_edges_round": life.edges_last,
        "pause_s": life.pause_s,
        "softened_mm": [float(depth) for depth in life.softened_mm],
        "filaments": [one.mold.filament.name for one in work.ranked],
    }
    if work.fit is not None:
        numbers["fitted_s"] = list(work.fit.fitted_s)
        numbers["misfit_percent"] = work.fit.off_percent
        if not why_no_entry(work.fit):
            numbers["machine_toml"] = machine_toml(work.fit, TIMED_NAME)
    return numbers


def tables_of(work: HeatWork) -> tuple[Table, ...]:
    """Return the report's tables."""
    tables = [doubt_table(work.heated), _filament_table(work), _depth_table(work.life)]
    if work.fit is not None:
        tables.insert(0, _fit_table(work.fit))
    return (*tables, _prediction_table(work))


def _machine_text(work: HeatWork) -> str:
    machine = work.machine
    sides = "both sides" if machine.heater_sides == 2 else "one side"
    fan = ", light fan" if work.day.fan else ""
    return (
        f"{machine.title}: {machine.heater_kind}, {machine.heater_degC:g} °C, "
        f"{machine.heater_distance_mm:g} mm away, {sides}{fan}"
    )


def _cool_text(work: HeatWork) -> str:
    low_s, high_s = work.whole.band_s
    warm_s = float(work.life.contact_s[-1])
    words = (
        f"{clock_text(work.whole.stiff_s)} (may be {clock_text(low_s)} to "
        f"{clock_text(high_s)}), with a fan {clock_text(work.blown.stiff_s)}, thinnest "
        f"place {clock_text(work.thinnest.stiff_s)}"
    )
    if warm_s > 1.3 * work.whole.stiff_s:
        words += f"; on a warm mold {clock_text(warm_s)}"
    return words


def _times(pairs: Iterable[tuple[str, float | None]]) -> str:
    return ", ".join(
        f"{name} {clock_text(time_s) if time_s is not None else 'never'}" for name, time_s in pairs
    )


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
        rows=tuple((what, f"±{100 * share:.0f} %") for what, share in heated.doubts),
        note="Put together as for independent errors. The heater is an even plane, nothing "
        f"reflects; at the start the face takes up {heated.first_W_m2 / 1000:.1f} kW/m², at the "
        f"forming {heated.last_W_m2 / 1000:.1f} kW/m².",
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
    rows = [(f"{work.sheet.plastic.name} {gauge:.3g} mm", time) for gauge, time in work.gauges]
    rows += [(f"{name} {work.sheet.gauge_mm:.3g} mm", time) for name, time in work.plastics]
    return Table(
        title="Other sheets on the same forming machine",
        header=("Sheet", "Heat for"),
        rows=tuple(
            (words, clock_text(time_s) if time_s is not None else "never") for words, time_s in rows
        ),
    )
