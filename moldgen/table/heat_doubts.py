"""What makes a heating time uncertain: gauge, sheet, heater, and the times that were observed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from moldgen.stock.forming_machine import FormingMachine
from moldgen.table.doubt import HEAT_FIELDS, Doubt, varied
from moldgen.table.trial import Trial

GAUGE_WITHIN = 0.10
"""Share by which a sheet may differ from its gauge; common practice, no source."""
HEATER_WITHIN_K = 30.0
"""What an element differs from what is read, or set, where its entry gives no band; common
practice, no source."""
TIMED_WITHIN = 0.10
"""What a timed machine keeps from day to day; common practice, no source."""


def other_trials(trial: Trial) -> Iterator[tuple[str, tuple[Trial, Trial]]]:
    """Yield what is not known exactly, in words, and the trial at both ends of it."""
    sheet, machine = trial.sheet, trial.machine
    light, heavy = (
        replace(trial, sheet=replace(sheet, gauge_mm=float(np.clip(gauge_mm, 0.1, 12.0))))
        for gauge_mm in (sheet.gauge_mm * (1 - GAUGE_WITHIN), sheet.gauge_mm * (1 + GAUGE_WITHIN))
    )
    yield f"gauge ±{GAUGE_WITHIN:.0%}", (light, heavy)
    timed = is_timed(machine)
    fields = HEAT_FIELDS if timed else (*HEAT_FIELDS, "emissivity")
    for words, (low, high) in varied(sheet.plastic, fields):
        one, other = (replace(trial, sheet=replace(sheet, plastic=end)) for end in (low, high))
        yield words, (one, other)
    if timed:
        return
    if machine.ends("heater_degC") is None:
        cooler, hotter = (
            replace(trial, machine=replace(machine, heater_degC=machine.heater_degC + off_K))
            for off_K in (-HEATER_WITHIN_K, HEATER_WITHIN_K)
        )
        yield f"heater ±{HEATER_WITHIN_K:g} °C", (cooler, hotter)
    for words, (few, many) in varied(machine, ("heater_degC", "wall_reflection")):
        yield words, (replace(trial, machine=few), replace(trial, machine=many))


def heating_doubts(
    machine: FormingMachine, forming_s: float, ends_s: Mapping[str, Sequence[float]], untold: float
) -> Iterator[Doubt]:
    """Yield what is uncertain and by how much it makes the time longer or shorter."""
    if is_timed(machine):
        words = f"a timed machine from day to day ±{TIMED_WITHIN:.0%}"
        yield Doubt.even(words, TIMED_WITHIN)
    for words, times_s in ends_s.items():
        yield Doubt.between(words, forming_s, times_s)
    if untold > 0:
        yield Doubt.even("what the observed times leave open", untold)


def is_timed(machine: FormingMachine) -> bool:
    """Tell whether sheets were timed on a machine, so that its heater is known by them."""
    return "heater_share" in machine.sources
