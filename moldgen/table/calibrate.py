"""Calibrate: what observed heating times say about a machine, and what they cannot tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import expm1, inf, log, sqrt
from statistics import fmean
from typing import Annotated

import numpy as np

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.physics.heat.heating import Array
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.forming_machine import FormingMachine
from moldgen.stock.plastic import Sheet
from moldgen.table.forming_window import clocks
from moldgen.table.heat_up import heating_s
from moldgen.table.surroundings import middle_view
from moldgen.table.trial import USUAL, Conditions, Trial

READ_WITHIN = 0.05
"""How well a time is read, and a moment judged; common practice, no source."""
FITS_WITHIN = 0.15
"""Times that a machine explains less well than this contradict each other: the gauge's 10 % and
the moment's 5 %, and a little; derived."""
_HOPELESS = 1.0
"""Times off by more than a factor of e are not explained at all."""
_ELEMENTS_degC = np.linspace(250.0, 1050.0, 9)
_SHARES = np.geomspace(0.05, 8.0, 20)
_NEAR = np.geomspace(0.8, 1.25, 9)
_N_FINE = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen(Spec):
    """A sheet that was heated until it was right, and how long that took."""

    sheet: Annotated[Sheet, Meaning("plastic and gauge")]
    seconds: Annotated[float, Quantity("s", "time until right", above=0, at_most=3600)]

    @property
    def words(self) -> str:
        """Name, gauge and time."""
        return f"{self.sheet.words} {self.seconds:g} s"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaterFit:
    """A machine fitted to observed times.

    Attributes
    ----------
    machine : FormingMachine
        As it was, with another ``heater_share``, and another ``heater_degC`` if the times ask
        for it; both are effective values.
    seen : tuple of Seen
        What was observed.
    fitted_s : tuple of float
        What the fitted machine takes for each. [s]
    misfit : float
        Root mean square of the logarithms of fitted over observed; 0.1 is 10 %. [-]
    alike : tuple of FormingMachine
        The coolest and the hottest heater that fit as well, each with its share.
    says : str
        How well it fits, a sentence or two.
    """

    machine: FormingMachine
    seen: tuple[Seen, ...]
    fitted_s: tuple[float, ...]
    misfit: float
    alike: tuple[FormingMachine, FormingMachine]
    says: str

    @property
    def off_percent(self) -> float:
        """By how much the fitted times are off, as a share of the observed ones. [%]."""
        return off_percent(self.misfit)


def off_percent(misfit: float) -> float:
    """Return a misfit of logarithms as a share of the time, in whole percent, 1 at least. [%]."""
    return max(1.0, float(round(100 * expm1(misfit))))


def machine_from_times(
    machine: FormingMachine, seen: Sequence[Seen], *, day: Conditions = USUAL
) -> HeaterFit:
    """Return a machine that heats as was observed.

    Parameters
    ----------
    machine : FormingMachine
        The one that was used, as far as it is known.
    seen : sequence of Seen
        Sheets heated until right; two or more gauges tell more than one.
    day : Conditions
        As when they were heated.

    Returns
    -------
    HeaterFit
        One time sets the scale alone. More than one could set the heater's temperature too; it
        is left as it was if another fits no better than the times are read.

    Raises
    ------
    SpecError
        If there is no time, or no heater from 250 to 1050 °C explains them.

    Notes
    -----
    Least squares of the logarithms of the times, over heater temperature and share.
    """
    if not seen:
        raise SpecError("seen", "at least one time", "none", "Time a sheet until it is right.")
    elements = np.append(_ELEMENTS_degC, machine.heater_degC)
    best, shares = _fitted(machine, seen, day, elements, _SHARES)
    if best.min() > _HOPELESS:
        raise _no_heater(machine, seen)
    chosen = _chosen_element(best, len(seen))

    def timed(place: int) -> FormingMachine:
        # Once more, closely about the share that was found.
        there, near = elements[place : place + 1], shares[place] * _NEAR
        _, (share,) = _fitted(machine, seen, day, there, near)
        return _timed(machine, float(elements[place]), float(share), seen)

    fitted = timed(chosen)
    good = np.flatnonzero(best <= _as_good(float(best[chosen]))).tolist()
    alike = sorted(good, key=lambda place: float(elements[place]))
    fitted_s = tuple(heating_s(one.sheet, fitted, day=day) or inf for one in seen)
    misfit = _misfit(fitted_s, seen)
    return HeaterFit(
        machine=fitted,
        seen=tuple(seen),
        fitted_s=fitted_s,
        misfit=misfit,
        alike=(timed(alike[0]), timed(alike[-1])),
        says=_says(machine, fitted, seen, misfit),
    )


def calibration_findings(fit: HeaterFit) -> tuple[Finding, ...]:
    """Return what is doubtful about the observed times."""
    findings = []
    if fit.misfit > FITS_WITHIN:
        findings.append(
            Finding(
                code="times-disagree",
                severity=Severity.CAUTION,
                says="no heater explains all the observed times",
                measured=fit.off_percent,
                limit=off_percent(FITS_WITHIN),
                unit="%",
                subject=fit.machine.name,
                basis="gauge 10 % and moment 5 %, derived",
                advice="Measure the gauges, say whether a fan blows, let the heater warm up, and "
                "time each sheet again.",
            )
        )
    if not 0.3 <= fit.machine.heater_share <= 1.5:
        findings.append(
            Finding(
                code="share-odd",
                severity=Severity.CAUTION,
                says="far more or less heat arrives than the machine's entry lets expect",
                measured=fit.machine.heater_share,
                subject=fit.machine.name,
                basis="observed times against gray radiation, computed",
                advice="Keep the times all the same, with moldgen log add; look whether heater and "
                "distance are right.",
            )
        )
    return tuple(findings)


def untold_share(fit: HeaterFit, sheet: Sheet, *, day: Conditions = USUAL) -> float:
    """Return by which share a sheet's time is uncertain, because two heaters explain what was seen.

    Half the difference between the coolest and the hottest of `Calibrated.alike`.
    """
    times_s = [heating_s(sheet, machine, day=day) for machine in fit.alike]
    if None in times_s:
        return log(2.0)
    first_s, last_s = (time_s or 1.0 for time_s in times_s)
    return abs(log(last_s / first_s)) / 2


def _fitted(
    machine: FormingMachine, seen: Sequence[Seen], day: Conditions, elements: Array, shares: Array
) -> tuple[Array, Array]:
    """Return for each heater temperature the least misfit, and the share that gives it."""
    fine = np.linspace(log(shares[0]), log(shares[-1]), _N_FINE)
    logs = np.stack(
        [_log_times(machine, one, elements, shares=shares, fine=fine, day=day) for one in seen]
    )
    observed = np.array([log(one.seconds) for one in seen])
    misses = np.sqrt(((logs - observed[:, None, None]) ** 2).mean(axis=0))
    return misses.min(axis=1), np.exp(fine[misses.argmin(axis=1)])


def _log_times(
    machine: FormingMachine,
    one: Seen,
    elements: Array,
    *,
    shares: Array,
    fine: Array,
    day: Conditions,
) -> Array:
    """Return logarithms of times, shape (elements, fine shares); infinite if never."""
    E, S = (grid.ravel() for grid in np.meshgrid(elements, shares, indexing="ij"))
    trial = Trial(sheet=one.sheet, machine=machine, day=day)
    views = np.full(len(E), middle_view(machine))
    course = trial.course(views, element_degC=E, shares=S)
    times = np.array([clock.forming_s for clock in clocks(course, one.sheet.plastic)])
    rows = np.log(times).reshape(len(elements), len(shares))
    return np.stack([_between(fine, np.log(shares), row) for row in rows])


def _between(fine: Array, coarse: Array, row: Array) -> Array:
    """Return a row of logarithms at finer places; nothing is known beside an infinite one."""
    known = np.isfinite(row)
    if known.sum() < 2:
        return np.full(len(fine), np.inf)
    line = np.interp(fine, coarse[known], row[known])
    line[fine < coarse[known][0] - 1e-9] = np.inf
    return line


def _chosen_element(best: Array, n_seen: int) -> int:
    """Return which heater temperature is taken; the last is the machine's own."""
    own = len(best) - 1
    better = int(np.argmin(best))
    # One time fits any heater. More of them overrule the entry if it cannot explain them.
    overruled = n_seen > 1 and best[own] > FITS_WITHIN >= best[better]
    return better if overruled or best[own] > _HOPELESS else own


def _misfit(fitted_s: Sequence[float], seen: Sequence[Seen]) -> float:
    pairs = zip(fitted_s, seen, strict=True)
    return sqrt(fmean(log(fitted / one.seconds) ** 2 for fitted, one in pairs))


def _as_good(best: float) -> float:
    """Return the misfit that cannot be told from the best, times being read as they are."""
    return sqrt(best**2 + READ_WITHIN**2)


def _timed(
    machine: FormingMachine, element_degC: float, share: float, seen: Sequence[Seen]
) -> FormingMachine:
    source = source_of(seen)
    sources = {**machine.sources, "heater_degC": source, "heater_share": source}
    return replace(
        machine, heater_degC=element_degC, heater_share=float(f"{share:.3g}"), sources=sources
    )


def source_of(seen: Sequence[Seen]) -> str:
    """Return what a stock entry says its timed values come from."""
    return f"effective, timed: {'; '.join(one.words for one in seen)}"


def _says(
    machine: FormingMachine, fitted: FormingMachine, seen: Sequence[Seen], misfit: float
) -> str:
    share = f"heater_share {fitted.heater_share:g} at {fitted.heater_degC:g} °C"
    if len(seen) == 1:
        return f"one time sets the scale alone, {share}; time a second gauge to test it"
    if misfit > FITS_WITHIN:
        return (
            f"no heater explains these {len(seen)} times; the nearest, {share}, is off by "
            f"{off_percent(misfit):.0f} %"
        )
    words = f"{share} explains {len(seen)} times within {off_percent(misfit):.0f} %"
    if fitted.heater_degC == machine.heater_degC:
        return words
    return f"{words}; the entry's {machine.heater_degC:g} °C does not"


def _no_heater(machine: FormingMachine, seen: Sequence[Seen]) -> SpecError:
    return SpecError(
        "seen",
        f"times that {machine.name} can take",
        "; ".join(one.words for one in seen),
        "Check gauge and time; the heater must have been on long enough to be hot.",
    )
