"""Learn: what the notes of the log say of each forming table."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from math import exp, log
from statistics import fmean

from moldgen.errors import SpecError
from moldgen.lesson.log.learn_heating import heating_of
from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.stock import FormingMachine, Sheet, Shop
from moldgen.stock.experience import CyclesStood, Experience, NoteEstimate, TableExperience
from moldgen.table.cycles_stood import MoldCycles, cycles_stood
from moldgen.table.heat_up import heat_up
from moldgen.table.mold_life import TOLD_CYCLES, mold_life
from moldgen.table.printed_mold import printed_mold
from moldgen.table.ratio import (
    CALIPER_WITHIN,
    COOLING_WITHIN,
    NOTED_WITHIN,
    PRINTING_WITHIN,
    THICKNESS_WITHIN,
    ratio_estimate,
)
from moldgen.table.stay import usual_run

COOL_TROUBLES = frozenset({Outcome.STUCK, Outcome.SOFT_MOLD})
"""What may come from a part that was taken off too early or too late."""
_MOLD_mm = 20.0
"""Height of the mold whose life is computed, since the log does not tell it; the usual. [mm]."""


def experience_of(notes: Sequence[ShotNote], shop: Shop) -> Experience:
    """Return what notes say of each forming table in stock.

    Parameters
    ----------
    notes : sequence of ShotNote
        In any order. What a table says is held against what is computed without the log. A table
        that is not in stock is passed over.
    shop : Shop
        Tables, plastics and filaments.
    """
    by_machine: dict[str, list[ShotNote]] = defaultdict(list)
    for note in sorted(notes, key=_order):
        machine = shop.machines.get(note.machine)
        if machine is not None:
            by_machine[machine.name].append(note)
    return Experience(
        tables=tuple(_table(shop.machine(name), own, shop) for name, own in by_machine.items())
    )


def _order(note: ShotNote) -> tuple[str, str, str, int]:
    return note.noted, note.job, note.mold, note.cycle


def _table(machine: FormingMachine, notes: Sequence[ShotNote], shop: Shop) -> TableExperience:
    heating, left_out = heating_of(notes, machine, shop)
    return TableExperience(
        machine=machine.name,
        heating=heating,
        cooling=_cooling(notes),
        thickness=_thickness(notes),
        printing=_printing(notes),
        lives=tuple(_lives(machine, notes, shop)),
        left_out=left_out,
    )


def _cooling(notes: Sequence[ShotNote]) -> NoteEstimate | None:
    ratios = [
        note.cooled_s / note.told_cool_s
        for note in notes
        if note.cooled_s and note.told_cool_s and not COOL_TROUBLES.intersection(note.seen)
    ]
    return ratio_estimate(ratios, within=COOLING_WITHIN, scatter=NOTED_WITHIN)


def _thickness(notes: Sequence[ShotNote]) -> NoteEstimate | None:
    """Return measured over computed thickness: places of one part count as one reading."""
    parts = [
        [
            log(one.thickness_mm / one.computed_mm)
            for one in note.readings
            if one.computed_mm is not None
        ]
        for note in notes
    ]
    ratios = [exp(fmean(logs)) for logs in parts if logs]
    return ratio_estimate(ratios, within=THICKNESS_WITHIN, scatter=CALIPER_WITHIN)


def _printing(notes: Sequence[ShotNote]) -> NoteEstimate | None:
    """Return hours of printing over the estimate: a mold counts once, whatever is formed on it."""
    ratios = {
        (note.job, note.mold): note.printed_h / note.told_print_h
        for note in notes
        if note.printed_h and note.told_print_h
    }
    return ratio_estimate(list(ratios.values()), within=PRINTING_WITHIN, scatter=NOTED_WITHIN)


def _lives(machine: FormingMachine, notes: Sequence[ShotNote], shop: Shop) -> Iterator[CyclesStood]:
    by_filament: dict[str, list[ShotNote]] = defaultdict(list)
    for note in notes:
        filament = shop.filaments.get(note.filament) if note.filament else None
        if filament is not None:
            by_filament[filament.name].append(note)
    for name, own in sorted(by_filament.items()):
        molds = molds_of(own)
        expected = _computed_cycles(machine, own, name, shop)
        yield CyclesStood(
            filament=name,
            cycles=cycles_stood(molds, expected=expected),
            n_ended=sum(one.ended for one in molds),
        )


def molds_of(notes: Sequence[ShotNote]) -> tuple[MoldCycles, ...]:
    """Return the molds that shots were formed on, each with the cycles it has behind it.

    A mold is one of a job's. The next note after it was given up is of another print of it.
    """
    molds: dict[tuple[str, str, int], MoldCycles] = {}
    prints: Counter[tuple[str, str]] = Counter()
    for note in sorted(notes, key=_order):
        name = note.job, note.mold
        key = (*name, prints[name])
        before = molds.get(key, MoldCycles(cycles=0, ended=False))
        molds[key] = MoldCycles(cycles=max(before.cycles, note.cycle), ended=note.mold_ended)
        prints[name] += note.mold_ended
    return tuple(molds.values())


def _computed_cycles(
    machine: FormingMachine, notes: Sequence[ShotNote], filament: str, shop: Shop
) -> float:
    """Return how many cycles are computed for the sheet that most of the notes are of.

    Where pauses make a mold last, or it never sinks, as many as a class asks of it.
    """
    (name, gauge_mm), _ = Counter((one.plastic, one.thickness_mm) for one in notes).most_common(1)[
        0
    ]
    plastic = shop.plastics.get(name)
    if plastic is None:
        return float(TOLD_CYCLES)
    try:
        sheet = Sheet(plastic=plastic, gauge_mm=gauge_mm)
        run = usual_run(sheet, machine, heat_up(sheet, machine))
        life = mold_life(run, printed_mold(shop.filament(filament), _MOLD_mm))
    except SpecError:
        return float(TOLD_CYCLES)
    if life.in_a_row is None or life.pause_s is not None:
        return float(TOLD_CYCLES)
    return float(max(1, life.in_a_row))
