"""Heat up: a clamped sheet under a machine's heater, until it forms and until it is too hot."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import exp, hypot, inf, log

import numpy as np

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.physics.heat.heating import Array
from moldgen.physics.heat.march import TemperatureHistory
from moldgen.stock.forming_machine import FormingMachine, HeaterKind
from moldgen.stock.plastic import Sheet
from moldgen.table.surroundings import corner_view, mean_view, middle_view
from moldgen.table.trial import USUAL, Clock, Conditions, Trial, clocks, courses

GAUGE_WITHIN = 0.10
"""Share by which a sheet may differ from its gauge; common practice, no source."""
HEAT_WITHIN = 0.15
"""Specific heat near forming; generic polymer data, from memory."""
EMISSIVITY_WITHIN = 0.05
"""Throne, 0.85 to 0.95, from memory."""
HEATER_WITHIN_K = 30.0
"""What an element differs from what is read, or set; common practice, no source."""
TIMED_WITHIN = 0.10
"""What a timed machine keeps from day to day; common practice, no source."""
_PATIENCE = 3.0
"""Followed for so much longer than usual, if the usual does not show the window. [-]"""
SIGNS = (
    "it has sagged, has drawn level again, and springs back when pressed with a stick, "
    "never a finger"
)
"""What shows that a sheet is ready; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatUp:
    """How a clamped sheet is heated.

    Attributes
    ----------
    sheet, machine : Sheet, FormingMachine
        What, and where.
    clock : Clock
        For the middle of the sheet, where the mold stands.
    band_s : pair of float
        The time to heat, uncertain as it is, lies between these. [s]
    doubts : tuple of (what, share)
        What makes it uncertain, each by which share of the time, in quadrature. [-]
    mean_s, corner_s : float or None
        When a place is ready that sees as much of the heater as the opening does on average, or
        as its corner does; None if never. [s]
    front_degC, mean_degC, back_degC, coldest_degC : float
        When formed; the front looks at the heater. [°C]
    first_W_m2, last_W_m2 : float
        What the front takes up at the start, and when formed. [W/m²]
    view : float
        Share of the heater in what the middle sees. [-]
    course : TemperatureHistory
        All temperatures of the middle, front to back.
    """

    sheet: Sheet
    machine: FormingMachine
    clock: Clock
    band_s: tuple[float, float]
    doubts: tuple[tuple[str, float], ...]
    mean_s: float | None
    corner_s: float | None
    front_degC: float
    mean_degC: float
    back_degC: float
    coldest_degC: float
    first_W_m2: float
    last_W_m2: float
    view: float
    course: TemperatureHistory

    @property
    def forming_s(self) -> float:
        """How long to heat. [s]."""
        return self.clock.forming_s

    @property
    def window_s(self) -> float | None:
        """How long the window is open; 0 if a face burns first, None if it stays open. [s]."""
        if self.clock.closes_s is None or self.clock.opens_s is None:
            return None
        return max(0.0, self.clock.closes_s - self.clock.opens_s)


def heat_up(
    sheet: Sheet, machine: FormingMachine, *, day: Conditions = USUAL, untold: float = 0.0
) -> HeatUp:
    """Return how long to heat a sheet on a machine, and how hot it gets.

    Parameters
    ----------
    sheet, machine : Sheet, FormingMachine
        What is clamped, and where.
    day : Conditions
        Room, fan, clear sheet.
    untold : float, default 0
        What the times of a timed machine leave open about this sheet, as a share of its time;
        `moldgen.table.calibrate.untold_share`. [-]

    Returns
    -------
    HeatUp
        For the middle of the sheet.

    Raises
    ------
    SpecError
        If the machine never brings the sheet to where it forms.

    Notes
    -----
    Conduction through the thickness only; gray radiation between two rectangles, without
    reflectors, the rest of the view into the room; free convection off a face that looks into
    the room, none between heater and sheet unless a fan blows there. Crystals take up their
    melting heat on the way.
    """
    return _heat_up(sheet, machine, day, untold)


@lru_cache(maxsize=32)
def _heat_up(sheet: Sheet, machine: FormingMachine, day: Conditions, untold: float) -> HeatUp:
    trial = Trial(sheet=sheet, machine=machine, day=day)
    view = middle_view(machine)
    course, (clock, hot, mean, corner), others_s = _followed(trial, view)
    if clock.opens_s is None:
        raise _too_cool(sheet, machine, course)
    doubts = tuple(_doubts(machine, clock.forming_s, hot.forming_s, others_s))
    if untold > 0:
        doubts = (*doubts, ("what the observed times leave open", untold))
    within = hypot(*(share for _, share in doubts))
    profile = _at(course, course.profiles_degC[:, 0], clock.forming_s)
    front_degC = float(_at(course, course.fronts_degC[:, 0], clock.forming_s))
    back_degC = float(_at(course, course.backs_degC[:, 0], clock.forming_s))
    return HeatUp(
        sheet=sheet,
        machine=machine,
        clock=clock,
        band_s=(clock.forming_s * exp(-within), clock.forming_s * exp(within)),
        doubts=doubts,
        mean_s=_finite(mean.forming_s),
        corner_s=_finite(corner.forming_s),
        front_degC=front_degC,
        mean_degC=float(profile.mean()),
        back_degC=back_degC,
        coldest_degC=float(min(profile.min(), front_degC, back_degC)),
        first_W_m2=trial.taken_W_m2(view, day.room_degC),
        last_W_m2=trial.taken_W_m2(view, front_degC),
        view=view,
        course=course,
    )


def _followed(
    trial: Trial, view: float
) -> tuple[TemperatureHistory, tuple[Clock, ...], Mapping[str, float]]:
    """Follow the middle, it under a hotter heater, the mean and the corner; longer if need be.

    Beside them, for the doubts, the middle with this or that made different: when it is formed.
    """
    machine, others = trial.machine, dict(_others(trial))
    views = np.array([view, view, mean_view(machine), corner_view(machine)])
    elements = np.full(4, machine.heater_degC)
    elements[1] += HEATER_WITHIN_K
    course, *rest = courses(
        [
            trial.exposure(views, element_degC=elements),
            *(other.exposure(views[:1]) for other in others.values()),
        ]
    )
    plastic = trial.sheet.plastic
    others_s = {
        words: clocks(one, plastic)[0].forming_s for words, one in zip(others, rest, strict=True)
    }
    clock = clocks(course, plastic)
    if not clock[0].is_whole:
        course = trial.course(views, element_degC=elements, patience=_PATIENCE)
        clock = clocks(course, plastic)
    return course, clock, others_s


def heating_s(sheet: Sheet, machine: FormingMachine, *, day: Conditions = USUAL) -> float | None:
    """Return how long to heat a sheet on a machine, and nothing else; None if it never forms."""
    trial, views = Trial(sheet=sheet, machine=machine, day=day), np.array([middle_view(machine)])
    for patience in (1.0, _PATIENCE):
        (clock,) = clocks(trial.course(views, patience=patience), sheet.plastic)
        if clock.aim_s is not None:
            break
    return _finite(clock.forming_s)


def heating_findings(heated: HeatUp) -> Iterator[Finding]:
    """Yield what is doubtful or dangerous about heating this sheet on this machine."""
    plastic, machine = heated.sheet.plastic, heated.machine
    window_s = heated.window_s
    if window_s is not None and window_s == 0:
        yield Finding(
            code="face-too-hot", severity=Severity.CAUTION, subject=plastic.name,
            says="the hot face overheats before the cold one has the lowest forming temperature",
            measured=heated.front_degC, limit=plastic.forming_high_degC, unit="°C",
            basis="forming temperatures, good to about 8 °C",
            advice="Turn the heat down, raise the heater, or take a thinner sheet.",
        )  # fmt: skip
    elif window_s is not None and window_s < max(3.0, 0.1 * heated.forming_s):
        yield Finding(
            code="forming-window-short", severity=Severity.CAUTION, subject=plastic.name,
            says="the forming window is short", measured=window_s, unit="s",
            basis="conduction through the sheet, computed",
            advice="Watch it all the time; less heat or a greater distance makes it longer.",
        )  # fmt: skip
    if "PVC" in plastic.name:
        bare = machine.heater_kind is HeaterKind.COIL
        yield Finding(
            code="pvc-at-heater", severity=Severity.STOP if bare else Severity.CAUTION,
            says="PVC that overheats gives off hydrogen chloride", subject=plastic.name,
            basis="common practice, no source",
            advice="Never heat it near open coils or unattended; take PETG or styrene.",
        )  # fmt: skip


def _others(trial: Trial) -> Iterator[tuple[str, Trial]]:
    """Yield the trial with each thing different that is not known exactly, in words."""
    gauge_mm = min(12.0, trial.sheet.gauge_mm * (1 + GAUGE_WITHIN))
    yield (
        f"gauge ±{GAUGE_WITHIN:.0%}",
        replace(trial, sheet=replace(trial.sheet, gauge_mm=gauge_mm)),
    )
    yield f"specific heat ±{HEAT_WITHIN:.0%}", replace(trial, weight=1 + HEAT_WITHIN)
    if not _timed(trial.machine):
        duller = 1 - EMISSIVITY_WITHIN / 0.9
        yield f"emissivity ±{EMISSIVITY_WITHIN:g}", replace(trial, dullness=duller)


def _doubts(
    machine: FormingMachine, forming_s: float, hotter_s: float, others_s: Mapping[str, float]
) -> Iterator[tuple[str, float]]:
    """Yield what is uncertain and by which share it makes the time longer or shorter."""
    if _timed(machine):
        yield f"a timed machine from day to day ±{TIMED_WITHIN:.0%}", TIMED_WITHIN
    else:
        yield f"heater ±{HEATER_WITHIN_K:g} °C", _swing(hotter_s, forming_s)
    for words, other_s in others_s.items():
        yield words, _swing(other_s, forming_s)


def _timed(machine: FormingMachine) -> bool:
    return "heater_share" in machine.sources


def _swing(other_s: float, forming_s: float) -> float:
    # A sheet that no longer gets there at all is as doubtful as can be told.
    return abs(log(other_s / forming_s)) if other_s < inf else log(3.0)


def _at(course: TemperatureHistory, rows: Array, time_s: float) -> Array:
    """Return a row of the first column's temperatures between two of its times."""
    times_s = course.times_s[:, 0]
    after = int(np.clip(np.searchsorted(times_s, time_s), 1, len(times_s) - 1))
    share = (time_s - times_s[after - 1]) / (times_s[after] - times_s[after - 1])
    between: Array = (1 - share) * rows[after - 1] + share * rows[after]
    return between


def _finite(time_s: float) -> float | None:
    return time_s if time_s < inf else None


def _too_cool(sheet: Sheet, machine: FormingMachine, course: TemperatureHistory) -> SpecError:
    coldest_degC = float(course.profiles_degC[-1, 0].min())
    return SpecError(
        "machine",
        f"able to bring {sheet.gauge_mm:g} mm {sheet.plastic.name} to "
        f"{sheet.plastic.forming_low_degC:g} °C",
        f"{machine.name}, which brings it to {coldest_degC:.0f} °C",
        "Take a thinner sheet, a hotter heater, or bring the heater nearer.",
    )
