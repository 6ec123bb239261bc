"""A sheet's heat in words: rows for a teacher, numbers for programs, tables of the report."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from typing import Any

from moldgen.finding import counted
from moldgen.pipeline.heat.experience_rows import experience_rows
from moldgen.pipeline.heat.life_rows import advice_text, life_text, stood_numbers, stood_text
from moldgen.pipeline.heat.work import HeatWork
from moldgen.pipeline.types import Rows
from moldgen.stock import Plastic
from moldgen.table.cool import Cooling
from moldgen.table.forming_window import Clock
from moldgen.table.heat_findings import lower_setting_text
from moldgen.table.heat_up import HeatUp
from moldgen.table.noted import NotedFactor
from moldgen.table.ready_signs import ready_row
from moldgen.table.sticking import sticking_text
from moldgen.table.timed_entry import machine_toml, why_no_entry
from moldgen.wording import about_text, band_text, clock_text, earliest_text, gauge_text

TIMED_NAME = "My timed table"
"""What a machine that was fitted is called in the text to be put into a stock file."""
_HEATING_NUMBERS = (
    "heat_s", "heat_band_s", "forming_window_s",
    "lower_heat_power", "lower_heat_degC", "lower_heat_s",
)  # fmt: skip
_BURNS = "heater, sheet and mold burn at a touch: gloves, sleeves, never alone; local rules first"
_NEVER = (
    "leave a heater that is on; heat PVC (hydrogen chloride) unless local rules allow it, acetal "
    "(formaldehyde), or a plastic you cannot name"
)


def summary_of(work: HeatWork) -> Rows:
    """Return the rows a teacher reads at a glance."""
    plastic, heated = work.sheet.plastic, work.heated
    usable = heated.usable
    mold = f"{work.life.mold.filament.name} mold"
    rows = [
        ("Sheet", f"{plastic.title}, {gauge_text(work.sheet.gauge_mm)}"),
        ("Forming table", _machine_text(work)),
        ("Heat for", heating_text(heated)),
        ("By the log", noted_text(heated)),
        ("Ready when", ready_row(plastic)),
        ("Too hot when", plastic.too_hot),
        ("Forming window", _windows_text(heated)),
        ("When formed", temperature_text(usable)),
        ("Toward the clamp", edge_text(usable)),
        ("Cool for", _cool_text(work)),
        ("Cooling by the log", noted_factor_text(work.whole.noted)),
        (mold, life_text(work.life, int(work.words.cycles))),
        ("Mold life by the log", stood_text(work.stood)),
        ("Sticking", sticking_text(plastic, work.life.mold.filament)),
        *experience_rows(work.known, told=work.stood.filament if work.stood else ""),
        ("Print it from", advice_text(work.ranked)),
    ]
    if work.fit is not None:
        rows += [
            ("Timed", work.fit.says),
            ("Stock entry", why_no_entry(work.fit)),
            ("Other gauges", _times((gauge_text(gauge), time) for gauge, time in work.gauges)),
            ("Other plastics", _times(work.plastics)),
        ]
    rows += [("Hot", _BURNS), ("Fumes", plastic.caution), ("Never", _NEVER)]
    return tuple((label, text) for label, text in rows if text)


def _windows_text(heated: HeatUp) -> str:
    """Return the window, and that of the lower setting where only that has one."""
    own = window_text(heated)
    return own if heated.usable is heated else f"{own}; at less heat {window_text(heated.usable)}"


def heating_text(heated: HeatUp) -> str:
    """Return how long to heat, within which times, or what to do where no time is right."""
    if heated.forming_s is not None:
        return band_text(heated.forming_s, *heated.band_s)
    setting, lower = lower_setting_text(heated), heated.lower
    if lower is None or lower.forming_s is None:
        return "no time is right at this heat: see the findings"
    return (
        f"no time is right at this heat; at {setting} {band_text(lower.forming_s, *lower.band_s)}"
    )


def noted_text(heated: HeatUp) -> str:
    """Return how notes of the table changed the heating time; empty if there are none."""
    return noted_factor_text(heated.usable.noted)


def noted_factor_text(noted: NotedFactor | None) -> str:
    """Return how notes of the table changed a time; empty if there are none."""
    if noted is None:
        return ""
    return (
        f"{noted.factor.value:.2f} times the computed {clock_text(noted.computed_s)}, by "
        f"{counted(noted.n_notes, 'note')} of this table"
    )


def window_text(heated: HeatUp) -> str:
    """Return when the forming window opens and closes."""
    clock, window_s = heated.clock, heated.window_s
    if window_s == 0:
        return "none: a face is too hot before the other is hot enough"
    opens = clock_text(clock.opens_s or 0)
    if clock.ends_s is None or window_s is None:
        return f"opens after {opens}, and stays open: the sheet gets no hotter than it may"
    ends = clock_text(clock.ends_s)
    high_degC = heated.sheet.plastic.forming_high_degC
    passes = "when a face passes"
    if clock.closes_s is not None and clock.ends_s > clock.closes_s:
        passes = "a face then being for a short time past"
    return f"open {clock_text(window_s)}, from {opens} to {ends}, {passes} {high_degC:g} °C"


def temperature_text(heated: HeatUp) -> str:
    """Return how hot the sheet is through its thickness when it is formed; empty if no time is."""
    if heated.forming_s is None:
        return ""
    through = f"{heated.front_degC:.0f} °C at the heater, {heated.mean_degC:.0f} °C on average"
    if heated.machine.heater_sides == 2:
        return f"{heated.front_degC:.0f} °C on both faces, {heated.coldest_degC:.0f} °C between"
    return f"{through}, {heated.back_degC:.0f} °C at the back"


def timing_text(heated: HeatUp, *, until: str = "") -> str:
    """Return how long to heat, within which times, and from when on to watch: a few sentences.

    From the earliest time of the band on: by then it may be ready.
    """
    words = heating_text(heated)
    watch = ""
    if heated.usable.forming_s is not None:
        watch = f" Watch it from {earliest_text(heated.usable.band_s[0])} on."
    told = f"{words[:1].upper()}{words[1:]}{until}.{watch} Never leave it."
    return f"{told} That is {noted_text(heated)}." if heated.noted else told


def cooling_text(
    plastic: Plastic, *, cold: Cooling | None = None, warm_s: float | None = None
) -> str:
    """Return how long to keep the vacuum: on a cold mold, on a warm one, as far as known."""
    words = "" if cold is None else f" {band_text(cold.stiff_s, *cold.band_s)}{_by_notes(cold)}"
    warm = ""
    if warm_s is not None:
        warm = f" on a cold mold, about {about_text(warm_s)} on one that has warmed up"
    comma = "," * bool(words)
    return (
        f"Keep the vacuum{words}{warm}{comma} until the part is below {plastic.set_degC:g} °C "
        "and stiff"
    )


def _by_notes(cooled: Cooling) -> str:
    """Return on which notes a cooling time rests, and what is computed; empty if on none."""
    noted = cooled.noted
    if noted is None:
        return ""
    notes = counted(noted.n_notes, "note")
    return f" by {notes} of this table, computed {clock_text(noted.computed_s)},"


def edge_text(heated: HeatUp) -> str:
    """Return how much longer the sheet takes away from the middle; empty if no time is right."""
    if heated.forming_s is None:
        return ""
    if heated.mean_s == heated.clock.forming_s:
        return "as hot as in the middle: the oven is all round"
    if heated.mean_s is None:
        return "most of the opening never gets hot enough: keep to the middle, which gets most heat"
    lead = "the middle gets most heat and is ready first; the opening on average takes "
    mean = f"{lead}{about_text(heated.mean_s)}"
    if heated.corner_s is None:
        return f"{mean}, its corners never get hot enough: keep to the middle"
    return f"{mean}, its corners {about_text(heated.corner_s)}"


def numbers_of(work: HeatWork) -> dict[str, Any]:
    """Return the measures for programs."""
    heated, life = work.heated, work.life
    numbers: dict[str, Any] = {
        **heating_numbers(heated),
        "opens_s": heated.clock.opens_s,
        "closes_s": heated.clock.ends_s,
        "front_degC": heated.front_degC,
        "mean_degC": heated.mean_degC,
        "back_degC": heated.back_degC,
        "first_W_m2": heated.first_W_m2,
        "last_W_m2": heated.last_W_m2,
        "view": heated.view,
        **cooling_numbers(work.whole),
        "cool_fan_s": work.blown.stiff_s,
        "cool_thinnest_s": work.thinnest.stiff_s,
        "cool_warm_s": work.warm_s,
        "cycles_in_a_row": life.in_a_row,
        "cycles_in_a_row_band": list(life.in_a_row_band),
        "cycles_before_edges_round": life.edges_last,
        "pause_s": life.pause_s,
        "softened_mm": [float(depth) for depth in life.softened_mm],
        "filaments": [one.mold.filament.name for one in work.ranked],
        **stood_numbers(work.stood),
    }
    if work.fit is not None:
        numbers["fitted_s"] = list(work.fit.fitted_s)
        numbers["misfit_percent"] = work.fit.off_percent
        if not why_no_entry(work.fit):
            numbers["machine_toml"] = machine_toml(work.fit, TIMED_NAME)
    return numbers


def heating_numbers(heated: HeatUp | None) -> dict[str, Any]:
    """Return for programs how long to heat; None where no time is right, with the way out."""
    if heated is None:
        return dict.fromkeys(_HEATING_NUMBERS)
    right = heated.forming_s is not None
    lower = None if right else heated.lower
    numbers = (
        heated.forming_s,
        list(heated.band_s) if right else None,
        heated.window_s,
        heated.power_share if lower else None,
        lower.machine.heater_degC if lower else None,
        lower.forming_s if lower else None,
    )
    return dict(zip(_HEATING_NUMBERS, numbers, strict=True)) | _noted_numbers(heated)


def _noted_numbers(heated: HeatUp) -> dict[str, Any]:
    """Return for programs what notes of the table made of the time; nothing without notes."""
    return _factor_numbers("heat", heated.usable.noted)


def cooling_numbers(cooled: Cooling | None) -> dict[str, Any]:
    """Return for programs how long a part stays on; None where it never gets stiff."""
    if cooled is None:
        return {"cool_s": None, "cool_band_s": None}
    return {
        "cool_s": cooled.stiff_s,
        "cool_band_s": list(cooled.band_s),
        **_factor_numbers("cool", cooled.noted),
    }


def _factor_numbers(what: str, noted: NotedFactor | None) -> dict[str, Any]:
    if noted is None:
        return {}
    return {
        f"{what}_computed_s": noted.computed_s,
        f"{what}_noted_factor": noted.factor.value,
        f"{what}_notes": noted.n_notes,
    }


def _machine_text(work: HeatWork) -> str:
    machine = work.machine
    sides = "both sides" if machine.heater_sides == 2 else "one side"
    fan = ", light fan" if work.day.fan else ""
    return (
        f"{machine.title}: {machine.heater_kind}, {machine.heater_degC:g} °C, "
        f"{machine.heater_distance_mm:g} mm away, {sides}{fan}"
    )


def _cool_text(work: HeatWork) -> str:
    words = (
        f"{band_text(work.whole.stiff_s, *work.whole.band_s)}, with a fan "
        f"{about_text(work.blown.stiff_s)}, thinnest place {_thinnest_text(work)}"
    )
    if work.warm_s > 1.3 * work.whole.stiff_s:
        words += f"; on a warm mold {about_text(work.warm_s)}"
    return words


def _thinnest_text(work: HeatWork) -> str:
    """Return how long thin places take to be stiff, which notes of the table say nothing of."""
    time = about_text(work.thinnest.stiff_s)
    return time if work.whole.noted is None else f"{time} as computed"


def clock_words(clock: Clock) -> str:
    """Return when a sheet is formed, or why never."""
    if clock.forming_s == inf:
        return "never"
    return clock_text(clock.forming_s) if clock.is_open else "no forming window"


def _times(pairs: Iterable[tuple[str, Clock]]) -> str:
    return ", ".join(f"{name} {clock_words(clock)}" for name, clock in pairs)
