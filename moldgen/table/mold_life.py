"""Mold life: sheet after sheet on a printed mold, when its edges round and when its top sinks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, inf

import numpy as np

from moldgen.arrays import Flags, Indices
from moldgen.physics.bisection import narrowed_each
from moldgen.physics.falling import fallen_each
from moldgen.physics.heat.heating import Array
from moldgen.quantity import Quantity
from moldgen.stock.filament import Filament
from moldgen.table.cycle import Cycles, build_cycles
from moldgen.table.edges import hottest_edges
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run
from moldgen.table.sinking import AllowedDepth, allowed_depth

TOLD_CYCLES = 30
"""Cycles that are told one by one, if nothing else is asked for."""
_MOST_CYCLES = 200
_LONGEST_PAUSE_s = 1800.0
_PAUSE_STEP_s = 5.0
_HARD_K = 10.0
"""So far below softening an edge must stay to be called hard; what the heat is trusted to."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldLife:
    """What cycles do to a printed mold.

    Attributes
    ----------
    run, mold : Run, PrintedMold
        What is formed, and on what.
    softens_degC : float
        Where its plastic gives way. [°C]
    allowed : AllowedDepth
        How deep it may soften before its top sinks.
    depths_mm : ndarray, shape (n,)
        Below the face, the face first. [mm]
    peaks_degC : ndarray, shape (cycles, n)
        Highest temperature there in each cycle and the pause after it. [°C]
    contact_s : ndarray, shape (cycles,)
        How long each part stayed on, until it was stiff. [s]
    softened_mm : ndarray, shape (cycles,)
        How deep each cycle softened. [mm]
    hottest_degC : float
        The face, in all cycles until nothing changes any more. [°C]
    edges_degC : ndarray, shape (cycles,)
        Its rounded edges at their hottest in each cycle. [°C]
    sharp_edge_degC, hottest_edge_degC : float
        A sharp edge in the first cycle; the rounded ones in all cycles. [°C]
    edges_last : int or None
        Cycles one after the other before its edges begin to round; None if they never do.
    in_a_row : int or None
        Cycles one after the other before the top sinks; None if it never does.
    in_a_row_band : tuple of two (int or None)
        The same, at both ends of the allowed depth.
    pause_s : float or None
        Further pause after each cycle with which it never does; None if no pause helps. [s]
    """

    run: Run
    mold: PrintedMold
    softens_degC: float
    allowed: AllowedDepth
    depths_mm: Array
    peaks_degC: Array
    contact_s: Array
    softened_mm: Array
    hottest_degC: float
    edges_degC: Array
    sharp_edge_degC: float
    hottest_edge_degC: float
    edges_last: int | None
    in_a_row: int | None
    in_a_row_band: tuple[int | None, int | None]
    pause_s: float | None

    @property
    def first_face_degC(self) -> float:
        """How hot the mold's face gets in the first cycle. [°C]."""
        return float(self.peaks_degC[0, 0])

    @property
    def spare_K(self) -> float:
        """How far the hottest edge of all cycles stays below softening; negative if above. [K]."""
        return self.softens_degC - self.hottest_edge_degC

    @property
    def stays_hard(self) -> bool:
        """Whether even the edges stay well below softening, so far as the heat is trusted."""
        return self.spare_K >= _HARD_K


def mold_life(run: Run, mold: PrintedMold, *, n_cycles: int = TOLD_CYCLES) -> MoldLife:
    """Return what so many cycles do to a mold, and how to make it last.

    Parameters
    ----------
    run : Run
        Sheet, times, room.
    mold : PrintedMold
        Filament, height, skin, filling.
    n_cycles : int, default 30
        Cycles that are told one by one.

    Notes
    -----
    The sheet comes down as hot as usual, stays until its hottest plane is stiff, is taken off,
    and the next one comes when it is heated. Heat goes straight down to the table, as under the
    middle of a broad top; at an edge it comes from two sides, see `moldgen.physics.heat.edge`. The
    top sinks in the cycle that softens it deeper than `moldgen.table.sinking` allows.
    """
    Quantity("", "cycles", at_least=1, at_most=_MOST_CYCLES).check("n_cycles", n_cycles)
    (life,) = _lives(run, (mold,), n_cycles)
    return life


def rank_filaments(
    run: Run, mold: PrintedMold, filaments: Iterable[Filament]
) -> tuple[MoldLife, ...]:
    """Return the same mold printed from each filament, the one that lasts longest first.

    Those whose edges stay hard come first, by how far they stay below; then the rest, by cycles
    in a row and by the pause they need.
    """
    molds = tuple(replace(mold, filament=filament) for filament in filaments)
    lives = _lives(run, molds, TOLD_CYCLES) if molds else ()

    def wanting(life: MoldLife) -> tuple[float, ...]:
        if life.stays_hard:
            return 0, -life.spare_K
        cycles = inf if life.in_a_row is None else life.in_a_row
        return 1, -cycles, inf if life.pause_s is None else life.pause_s, -life.spare_K

    return tuple(sorted(lives, key=wanting))


@lru_cache(maxsize=32)
def _lives(run: Run, molds: tuple[PrintedMold, ...], n_cycles: int) -> tuple[MoldLife, ...]:
    """Return what cycles do to molds that differ in nothing but their filament."""
    cycles, softening = build_cycles(run, molds), _softening(run, molds)
    histories = cycles.repeat(_MOST_CYCLES)
    depths_mm = [
        softening.depths_mm(
            np.full(len(history.peaks_degC), number), cycles.depths_mm, history.peaks_degC
        )
        for number, history in enumerate(histories)
    ]
    in_a_row = [
        _first_over(own_mm, allowed.middle_mm)
        for own_mm, allowed in zip(depths_mm, softening.allowed, strict=True)
    ]
    pauses_s = _pauses_s(cycles, softening, in_a_row)
    edges = [
        hottest_edges(run, mold, history) for mold, history in zip(molds, histories, strict=True)
    ]
    return tuple(
        MoldLife(
            run=run,
            mold=molds[number],
            softens_degC=float(softening.limits_degC[number]),
            allowed=softening.allowed[number],
            depths_mm=cycles.depths_mm,
            peaks_degC=_told(history.peaks_degC, n_cycles),
            contact_s=_told(history.contact_s, n_cycles),
            softened_mm=_told(depths_mm[number], n_cycles),
            hottest_degC=float(history.peaks_degC[:, 0].max()),
            edges_degC=_told(edges[number].rounded_degC, n_cycles),
            sharp_edge_degC=float(edges[number].sharp_degC[0]),
            hottest_edge_degC=float(edges[number].rounded_degC.max()),
            edges_last=_first_over(edges[number].rounded_degC, molds[number].filament.stands_degC),
            in_a_row=in_a_row[number],
            in_a_row_band=(
                _first_over(depths_mm[number], softening.allowed[number].low_mm),
                _first_over(depths_mm[number], softening.allowed[number].high_mm),
            ),
            pause_s=pauses_s[number],
        )
        for number, history in enumerate(histories)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Softening:
    """What is asked of molds: that they do not soften too deep.

    Attributes
    ----------
    limits_degC : ndarray, shape (molds,)
        Where the plastic of each gives way. [°C]
    allowed : tuple of AllowedDepth
        How deep each may.
    """

    limits_degC: Array
    allowed: tuple[AllowedDepth, ...]

    def depths_mm(self, numbers: Indices, places_mm: Array, peaks_degC: Array) -> Array:
        """Return how deep molds softened, by their numbers and their peaks by depth, a row each.

        In mm.
        """
        return fallen_each(places_mm, peaks_degC, self.limits_degC[numbers])

    def too_deep(self, numbers: Indices, places_mm: Array, peaks_degC: Array) -> Flags:
        """Tell of molds whether they softened too deep."""
        allowed_mm = np.array([self.allowed[number].middle_mm for number in numbers])
        return self.depths_mm(numbers, places_mm, peaks_degC) > allowed_mm


def _softening(run: Run, molds: Sequence[PrintedMold]) -> _Softening:
    return _Softening(
        limits_degC=np.array([mold.filament.stands_degC for mold in molds]),
        allowed=tuple(_allowed(run, mold) for mold in molds),
    )


def _allowed(run: Run, mold: PrintedMold) -> AllowedDepth:
    if run.allowed_mm is None:
        return allowed_depth(mold, run.vacuum_kPa)
    asked_mm = run.allowed_mm
    return AllowedDepth(low_mm=asked_mm, middle_mm=asked_mm, high_mm=asked_mm)


def survives(run: Run, mold: PrintedMold, n_cycles: int) -> bool:
    """Tell whether a top lasts so many cycles in a row, at the low end of the allowed depth."""
    cycles = build_cycles(run, (mold,))
    (history,) = cycles.repeat(n_cycles)
    (deepest_mm,) = fallen_each(
        cycles.depths_mm, history.peaks_degC.max(axis=0)[None], mold.filament.stands_degC
    )
    return bool(deepest_mm <= _allowed(run, mold).low_mm)


def _told(rows: Array, n_cycles: int) -> Array:
    """Return so many rows; once nothing changes any more, the last one holds."""
    places = np.minimum(np.arange(n_cycles), len(rows) - 1)
    kept: Array = rows[places]
    kept.setflags(write=False)
    return kept


def _first_over(depths_mm: Array, allowed_mm: float) -> int | None:
    """Return the cycles before the first that softens too deep; None if none does."""
    over = np.flatnonzero(depths_mm > allowed_mm)
    return int(over[0]) if over.size else None


def _pauses_s(
    cycles: Cycles, softening: _Softening, in_a_row: Sequence[int | None]
) -> list[float | None]:
    """Return the shortest further pause with which each mold lasts for good; None if none helps."""
    pauses_s: list[float | None] = [0.0 if n is None else None for n in in_a_row]
    asked = np.array([n for n, row in enumerate(in_a_row) if row], dtype=np.int64)
    if not asked.size:
        return pauses_s
    longest_s = np.full(len(asked), _LONGEST_PAUSE_s)
    helped = asked[_lasting(cycles, softening, asked, longest_s)]
    _, highs_s = narrowed_each(
        lambda extra_s: _lasting(cycles, softening, helped, extra_s),
        np.zeros(len(helped)),
        np.full(len(helped), _LONGEST_PAUSE_s),
        within=_PAUSE_STEP_s,
    )
    for number, high_s in zip(helped.tolist(), highs_s.tolist(), strict=True):
        pauses_s[number] = _PAUSE_STEP_s * ceil(high_s / _PAUSE_STEP_s)
    return pauses_s


def _lasting(cycles: Cycles, softening: _Softening, asked: Indices, extra_s: Array) -> Flags:
    """Tell of molds whether they never soften too deep, each with so much further pause."""
    lasting = np.ones(len(asked), dtype=bool)
    hottest: Array = np.full((len(asked), len(cycles.depths_mm)), -np.inf)

    def enough(numbers: Indices, peaks_degC: Array) -> Flags:
        hottest[numbers] = np.maximum(hottest[numbers], peaks_degC)
        over = softening.too_deep(asked[numbers], cycles.depths_mm, hottest[numbers])
        lasting[numbers[over]] = False
        return over

    cycles.only(asked).waiting(extra_s).repeat(_MOST_CYCLES, enough=enough)
    return lasting
