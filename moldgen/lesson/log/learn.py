"""Learn: what the notes of the log say of each forming table."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import TypeAlias

from moldgen.errors import SpecError
from moldgen.lesson.log.learn_heating import heating_of, note_text
from moldgen.lesson.log.learn_ratios import cooling_of, printers_of, printing_of, thickness_of
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.stock import FormingMachine, Sheet, Shop
from moldgen.stock.experience import (
    Contradiction,
    CyclesStood,
    Experience,
    PrinterExperience,
    TableExperience,
)
from moldgen.table.cycles_stood import MoldCycles, cycles_stood, expected_cycles, far_molds
from moldgen.table.heat_up import heat_up
from moldgen.table.mold_life import TOLD_CYCLES, mold_life
from moldgen.table.printed_mold import printed_mold
from moldgen.table.stay import usual_run

_LeftOut: TypeAlias = Sequence[tuple[ShotNote, Contradiction]]
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
    printers = printers_of((one for own in by_machine.values() for one in own), shop)
    left_out = [told for one in printers.values() for told in one.left_out]
    return Experience(
        tables=tuple(
            _table(shop.machine(name), own, shop, left_out) for name, own in by_machine.items()
        ),
        printers=tuple(
            PrinterExperience(printer=name, printing=one.estimate)
            for name, one in printers.items()
            if one.estimate is not None
        ),
    )


def _order(note: ShotNote) -> tuple[str, str, str, int]:
    return note.noted, note.job, note.mold, note.cycle


def _table(
    machine: FormingMachine, notes: Sequence[ShotNote], shop: Shop, of_printers: _LeftOut
) -> TableExperience:
    heating, wrong = heating_of(notes, machine, shop)
    unnamed = [note for note in notes if shop.printers.get(note.printer) is None]
    ratios = cooling_of(notes), thickness_of(notes), printing_of(unnamed)
    cooling, thickness, printing = (one.estimate for one in ratios)
    lives = list(_lives(machine, notes, shop))
    left_out = [
        *wrong,
        *(told for one in ratios for _, told in one.left_out),
        *(told for note, told in of_printers if shop.machine(note.machine) == machine),
        *(told for _, wrong_lives in lives for told in wrong_lives),
    ]
    return TableExperience(
        machine=machine.name, heating=heating, cooling=cooling, thickness=thickness,
        printing=printing, lives=tuple(one for one, _ in lives), left_out=tuple(left_out),
    )  # fmt: skip


def _lives(
    machine: FormingMachine, notes: Sequence[ShotNote], shop: Shop
) -> Iterator[tuple[CyclesStood, list[Contradiction]]]:
    """Yield what molds of each filament stood, and which notes contradict that."""
    by_filament: dict[str, list[ShotNote]] = defaultdict(list)
    for note in notes:
        filament = shop.filaments.get(note.filament) if note.filament else None
        if filament is not None:
            by_filament[filament.name].append(note)
    for name, own in sorted(by_filament.items()):
        expected = _computed_cycles(machine, own, name, shop)
        stood = molds_of(own)
        far = far_molds(stood, expected=expected)
        molds = [one for place, one in enumerate(stood) if place not in far]
        known = CyclesStood(
            filament=name,
            cycles=cycles_stood(molds, expected=expected),
            n_ended=sum(one.ended for one in molds),
            n_cycles=sum(one.cycles for one in molds),
        )
        yield known, [_far_mold(_molds(own)[place][1], known) for place in far]


def _far_mold(note: ShotNote, known: CyclesStood) -> Contradiction:
    return Contradiction(
        notes=(note_text(note, f"{known.filament}, {note.cycle}"),),
        about="mold life",
        foretold_cycles=known.cycles.value,
    )


def molds_of(notes: Sequence[ShotNote]) -> tuple[MoldCycles, ...]:
    """Return the molds that shots were formed on, each with the cycles it has behind it.

    A mold is one of a job's. The next note after it was given up is of another print of it.
    """
    return tuple(one for one, _ in _molds(notes))


def _molds(notes: Sequence[ShotNote]) -> list[tuple[MoldCycles, ShotNote]]:
    """Return each mold with the note of its highest cycle."""
    molds: dict[tuple[str, str, int], tuple[MoldCycles, ShotNote]] = {}
    prints: Counter[tuple[str, str]] = Counter()
    for note in sorted(notes, key=_order):
        name = note.job, note.mold
        key = (*name, prints[name])
        before, highest = molds.get(key, (MoldCycles(cycles=0, ended=False), note))
        highest = note if note.cycle > before.cycles else highest
        cycles = max(before.cycles, note.cycle)
        molds[key] = MoldCycles(cycles=cycles, ended=note.mold_ended), highest
        prints[name] += note.mold_ended
    return list(molds.values())


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
    return expected_cycles(life)
