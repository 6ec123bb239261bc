"""What a person should know before heating a sheet on a machine, and the way out."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.finding import Finding, Severity
from moldgen.stock.forming_machine import FormingMachine, HeaterKind
from moldgen.table.heat_up import HeatUp
from moldgen.wording import clock_text


def heating_findings(heated: HeatUp) -> Iterator[Finding]:
    """Yield what is doubtful or dangerous about heating this sheet on this machine."""
    plastic = heated.sheet.plastic
    if not heated.clock.is_open:
        yield _no_window(heated)
    elif heated.clock.is_short:
        yield Finding(
            code="forming-window-short", severity=Severity.CAUTION, subject=plastic.name,
            says="the forming window is short", measured=heated.window_s, unit="s",
            basis="conduction through the sheet, computed",
            advice=f"Watch it all the time; {_longer(heated)} makes it longer.",
        )  # fmt: skip
    if heated.clock.is_open and heated.over_K > 0.5:
        yield Finding(
            code="face-briefly-over", severity=Severity.NOTE, subject=plastic.name,
            says=f"the hot face passes its {plastic.forming_high_degC:g} °C for a short time",
            measured=heated.front_degC,
            limit=plastic.forming_high_degC + plastic.brief_over_K, unit="°C",
            basis=plastic.sources.get("brief_over_K", "as its entry says"),
            advice="Form it without delay, and stop when it smokes or blisters.",
        )  # fmt: skip
    if "PVC" in plastic.name:
        bare = heated.machine.heater_kind is HeaterKind.COIL
        yield Finding(
            code="pvc-at-heater", severity=Severity.STOP if bare else Severity.CAUTION,
            says="PVC that overheats gives off hydrogen chloride", subject=plastic.name,
            basis="common practice, no source",
            advice="Take PETG or styrene. Heat it only if your local rules allow it and its fumes "
            "are drawn off, never near open coils, and never leave it.",
        )  # fmt: skip


def lower_setting_text(heated: HeatUp) -> str:
    """Return the lower setting that opens a window, by numbers; empty if there is none."""
    if heated.lower is None:
        return ""
    percent = lower_percent(heated)
    return f"about {percent} % of its power ({heated.lower.machine.heater_degC:g} °C effective)"


def lower_percent(heated: HeatUp) -> int:
    """Return what the heater is turned down to, to what can be set. [%]."""
    return max(5, 5 * round(100 * heated.power_share / 5))


def _longer(heated: HeatUp) -> str:
    setting = lower_setting_text(heated)
    return setting or "less heat or a greater distance"


def _no_window(heated: HeatUp) -> Finding:
    plastic = heated.sheet.plastic
    return Finding(
        code="face-too-hot", severity=Severity.CAUTION, subject=plastic.name,
        says="the hot face overheats before the cold one has the lowest forming temperature",
        measured=heated.front_degC, limit=plastic.forming_high_degC + plastic.brief_over_K,
        unit="°C", basis="forming temperatures, good to about 8 °C",
        advice=_way_out(heated),
    )  # fmt: skip


def _way_out(heated: HeatUp) -> str:
    setting, lower = lower_setting_text(heated), heated.lower
    first = f"Turn the heat down to {setting}" if setting else "Take a thinner sheet"
    if lower is not None and lower.forming_s is not None:
        first = f"{first}: then heat about {clock_text(lower.forming_s)}"
    return f"{first}, {_other_ways(heated.machine, thinner=bool(setting))}."


def _other_ways(machine: FormingMachine, *, thinner: bool) -> str:
    ways = ["take a thinner sheet"] if thinner else []
    if machine.heater_sides == 1:
        ways = ["turn the sheet over halfway", "heat it from both sides", *ways]
    ways = ways or ["raise the heater"]
    return f"or {', or '.join(ways)}"
