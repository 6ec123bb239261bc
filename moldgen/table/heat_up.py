"""Heat up: a clamped sheet under a machine's heater, until it forms and until it is too hot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf

import numpy as np

from moldgen.errors import SpecError
from moldgen.physics.heat.heating import Array
from moldgen.physics.heat.march import TemperatureHistory
from moldgen.physics.heat.radiation import black_flux_W_m2
from moldgen.stock.forming_machine import FormingMachine
from moldgen.stock.plastic import Sheet
from moldgen.table.doubt import Doubt, band_s
from moldgen.table.forming_window import Clock, clocks
from moldgen.table.heat_doubts import heating_doubts, other_trials
from moldgen.table.noted import NotedFactor
from moldgen.table.surroundings import corner_view, mean_view, middle_view
from moldgen.table.trial import USUAL, Conditions, Trial, courses
from moldgen.wording import gauge_text

_PATIENCE = 3.0
"""Followed for so much longer than usual, if the usual does not show the window. [-]"""
_SETTING_STEP_K = 10.0
_COOLEST_degC = 200.0


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
    doubts : tuple of Doubt
        What makes it uncertain, in quadrature.
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
    lower : HeatUp or None
        The same with less heat, where this much leaves no window or a short one and less opens
        one.
    noted : NotedFactor or None
        What notes of this table made of the times; None if they are as computed.
    """

    sheet: Sheet
    machine: FormingMachine
    clock: Clock
    band_s: tuple[float, float]
    doubts: tuple[Doubt, ...]
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
    lower: HeatUp | None = None
    noted: NotedFactor | None = None

    @property
    def forming_s(self) -> float | None:
        """How long to heat; None if there is no window at this heat. [s]."""
        return self.clock.forming_s if self.clock.is_open else None

    @property
    def usable(self) -> HeatUp:
        """What to go by: itself, or the one with less heat where only that has a window."""
        return self if self.clock.is_open or self.lower is None else self.lower

    @property
    def window_s(self) -> float | None:
        """How long the window is open; 0 if a face burns first, None if it stays open. [s]."""
        return self.clock.length_s

    @property
    def over_K(self) -> float:
        """How far a face has passed the upper forming temperature when formed; 0 if not. [K]."""
        hottest_degC = max(self.front_degC, self.back_degC)
        return max(0.0, hottest_degC - self.sheet.plastic.forming_high_degC)

    @property
    def power_share(self) -> float:
        """What the heater of `lower` sends out over what this one does; 1 without. [-]."""
        if self.lower is None:
            return 1.0
        own, less = (
            black_flux_W_m2(one.machine.heater_degC) - black_flux_W_m2(USUAL.room_degC)
            for one in (self, self.lower)
        )
        return less / own


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
    Conduction through the thickness only; gray radiation between two rectangles, with the
    machine's walls around them (`moldgen.physics.heat.side_walls`), the rest of the view into the
    room; free convection off a face that looks into the room, none between heater and sheet
    unless a fan blows there. Crystals take up their melting heat on the way. The band comes from
    the gauge and from what values of the stock lie between, each varied by itself.
    """
    return _heat_up(sheet, machine, day, untold)


@lru_cache(maxsize=32)
def _heat_up(sheet: Sheet, machine: FormingMachine, day: Conditions, untold: float) -> HeatUp:
    trial = Trial(sheet=sheet, machine=machine, day=day)
    heated = _heated(trial, untold)
    less = _lower_heat(trial, heated) if heated.clock.is_short else None
    if less is None:
        return heated
    return replace(heated, lower=_heated(replace(trial, machine=less), untold))


def _heated(trial: Trial, untold: float) -> HeatUp:
    sheet, machine, day = trial.sheet, trial.machine, trial.day
    view = middle_view(machine)
    course, (clock, mean, corner), ends_s = _followed(trial, view)
    if clock.opens_s is None:
        raise _too_cool(sheet, machine, course)
    doubts = tuple(heating_doubts(machine, clock.forming_s, ends_s, untold))
    profile = _at(course, course.profiles_degC[:, 0], clock.forming_s)
    front_degC = float(_at(course, course.fronts_degC[:, 0], clock.forming_s))
    back_degC = float(_at(course, course.backs_degC[:, 0], clock.forming_s))
    return HeatUp(
        sheet=sheet,
        machine=machine,
        clock=clock,
        band_s=band_s(clock.forming_s, doubts),
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
) -> tuple[TemperatureHistory, tuple[Clock, ...], Mapping[str, Sequence[float]]]:
    """Follow the middle, the mean and the corner, and when others would be formed.

    The first course is followed longer if need be.
    """
    machine, plastic = trial.machine, trial.sheet.plastic
    others = dict(other_trials(trial))
    flat = [one for pair in others.values() for one in pair]
    views = np.array([view, mean_view(machine), corner_view(machine)])
    course, *rest = courses(
        [trial.exposure(views), *(one.exposure(_middle(one, trial, view)) for one in flat)]
    )
    times_s = iter([clocks(one, plastic)[0].forming_s for one in rest])
    ends_s = {words: [next(times_s) for _ in pair] for words, pair in others.items()}
    clock = clocks(course, plastic)
    if not clock[0].is_whole:
        course = trial.course(views, patience=_PATIENCE)
        clock = clocks(course, plastic)
    return course, clock, ends_s


def _middle(one: Trial, usual: Trial, view: float) -> Array:
    """Return what the middle of another trial sees; reckoned again only if its walls differ."""
    same = one.machine.wall_reflection == usual.machine.wall_reflection
    return np.array([view if same else middle_view(one.machine)])


def _lower_heat(trial: Trial, heated: HeatUp) -> FormingMachine | None:
    """Return the machine turned down as little as opens a longer window; None if no heat does."""
    machine = trial.machine
    settings = np.arange(machine.heater_degC // 10 * 10, _COOLEST_degC - 1, -_SETTING_STEP_K)
    settings = settings[settings < machine.heater_degC]
    if not settings.size:
        return None
    views = np.full(len(settings), heated.view)
    course = trial.course(views, element_degC=settings, patience=_PATIENCE)
    for setting, clock in zip(settings, clocks(course, trial.sheet.plastic), strict=True):
        wanted_s = max(clock.least_s / 2, 1.5 * (heated.window_s or 0.0))
        if clock.is_open and (clock.length_s is None or clock.length_s > wanted_s):
            return replace(machine, heater_degC=float(setting))
    return None


def heating_clock(sheet: Sheet, machine: FormingMachine, *, day: Conditions = USUAL) -> Clock:
    """Return when things happen to a sheet on a machine, and nothing else."""
    trial, views = Trial(sheet=sheet, machine=machine, day=day), np.array([middle_view(machine)])
    for patience in (1.0, _PATIENCE):
        (clock,) = clocks(trial.course(views, patience=patience), sheet.plastic)
        if clock.is_whole:
            break
    return clock


def heating_s(sheet: Sheet, machine: FormingMachine, *, day: Conditions = USUAL) -> float | None:
    """Return when a sheet on a machine would be formed, window or not; None if it never forms.

    [s].
    """
    return _finite(heating_clock(sheet, machine, day=day).forming_s)


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
        f"able to bring {gauge_text(sheet.gauge_mm)} {sheet.plastic.name} to "
        f"{sheet.plastic.forming_low_degC:g} °C",
        f"{machine.name}, which brings it to {coldest_degC:.0f} °C",
        "Take a thinner sheet, a hotter heater, or bring the heater nearer.",
    )
