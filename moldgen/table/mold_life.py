"""Mold life: sheet after sheet on a printed mold, how deep it softens, and the pause it needs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, inf

import numpy as np

from moldgen.arrays import Flags, Indices
from moldgen.finding import Finding, Severity
from moldgen.physics.bisection import narrowed_each
from moldgen.physics.falling import fallen_each
from moldgen.physics.heat.heating import Array
from moldgen.quantity import Quantity
from moldgen.stock.filament import Filament
from moldgen.table.cool import PrintedMold
from moldgen.table.cycle import Cycles, Run, build_cycles
from moldgen.wording import clock_text

TOLD_CYCLES = 30
"""Cycles that are told one by one, if nothing else is asked for."""
_MOST_CYCLES = 200
_LONGEST_PAUSE_s = 1800.0
_PAUSE_STEP_s = 5.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldLife:
    """What cycles do to a printed mold.

    Attributes
    ----------
    mold : PrintedMold
        The mold.
    softens_degC, allowed_mm : float
        Where its plastic gives way, and how deep it may. [°C], [mm]
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
    in_a_row : int or None
        Cycles one after the other before the depth is passed; None if it never is.
    pause_s : float or None
        Further pause after each cycle with which it never is; None if no pause helps. [s]
    """

    mold: PrintedMold
    softens_degC: float
    allowed_mm: float
    depths_mm: Array
    peaks_degC: Array
    contact_s: Array
    softened_mm: Array
    hottest_degC: float
    in_a_row: int | None
    pause_s: float | None

    @property
    def first_face_degC(self) -> float:
        """How hot the mold's face gets in the first cycle. [°C]."""
        return float(self.peaks_degC[0, 0])

    @property
    def spare_K(self) -> float:
        """How far the hottest face of all cycles stays below softening; negative if above. [K]."""
        return self.softens_degC - self.hottest_degC

    @property
    def softens_at_once(self) -> bool:
        """Whether the face softens in the very first cycle, and so in every one."""
        return self.first_face_degC > self.softens_degC


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
    and the next one comes when it is heated. Heat goes straight down, and none leaves below, as
    under the middle of a broad top; edges and walls last longer. Depth passed once counts: how
    far a softened skin then gives is not worked out.
    """
    Quantity("", "cycles", at_least=1, at_most=_MOST_CYCLES).check("n_cycles", n_cycles)
    (life,) = _lives(run, (mold,), n_cycles)
    return life


def rank_filaments(
    run: Run, mold: PrintedMold, filaments: Iterable[Filament]
) -> tuple[MoldLife, ...]:
    """Return the same mold printed from each filament, the one that lasts longest first.

    Those whose face never softens come first, by how far it stays below; then the rest, by cycles
    in a row and by the pause they need.
    """
    molds = tuple(replace(mold, filament=filament) for filament in filaments)
    lives = _lives(run, molds, TOLD_CYCLES) if molds else ()

    def wanting(life: MoldLife) -> tuple[float, ...]:
        if life.spare_K >= 0:
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
    in_a_row = [_first_over(own_mm, softening.allowed_mm) for own_mm in depths_mm]
    pauses_s = _pauses_s(cycles, softening, in_a_row)
    return tuple(
        MoldLife(
            mold=molds[number],
            softens_degC=float(softening.limits_degC[number]),
            allowed_mm=softening.allowed_mm,
            depths_mm=cycles.depths_mm,
            peaks_degC=_told(history.peaks_degC, n_cycles),
            contact_s=_told(history.contact_s, n_cycles),
            softened_mm=_told(depths_mm[number], n_cycles),
            hottest_degC=float(history.peaks_degC[:, 0].max()),
            in_a_row=in_a_row[number],
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
    allowed_mm : float
        How deep it may. [mm]
    """

    limits_degC: Array
    allowed_mm: float

    def depths_mm(self, numbers: Indices, places_mm: Array, peaks_degC: Array) -> Array:
        """Return how deep molds softened, by their numbers and their peaks by depth, a row each.

        In mm.
        """
        return fallen_each(places_mm, peaks_degC, self.limits_degC[numbers])

    def too_deep(self, numbers: Indices, places_mm: Array, peaks_degC: Array) -> Flags:
        """Tell of molds whether they softened too deep."""
        return self.depths_mm(numbers, places_mm, peaks_degC) > self.allowed_mm


def _softening(run: Run, molds: Sequence[PrintedMold]) -> _Softening:
    return _Softening(
        limits_degC=np.array([mold.filament.stands_degC for mold in molds]),
        allowed_mm=molds[0].skin_mm / 2 if run.allowed_mm is None else run.allowed_mm,
    )


def life_findings(life: MoldLife) -> tuple[Finding, ...]:
    """Return what a person should know before forming on this mold."""
    findings = []
    if life.softens_at_once:
        findings.append(
            _finding(
                life,
                "face-softens",
                says="its face softens every time a sheet touches it",
                measured=life.first_face_degC,
                limit=life.softens_degC,
                unit="°C",
                advice="Edges round bit by bit: after 5 to 20 cycles from PLA, 20 to 50 from PETG "
                "(common practice, no source). Print it from a filament that stands more heat.",
            )
        )
    if life.in_a_row is not None:
        helps = life.pause_s is not None
        wait = f"Wait {clock_text(life.pause_s or 0)} more between cycles, or let it cool after "
        findings.append(
            _finding(
                life,
                "mold-warms-up" if helps else "mold-softens",
                says="warms up until its skin softens too deep, counted in cycles in a row"
                if helps
                else "softens deep in its skin at every cycle, however long the pause",
                measured=life.in_a_row if helps else float(life.softened_mm[0]),
                limit=None if helps else life.allowed_mm,
                unit="" if helps else "mm",
                advice=f"{wait}{life.in_a_row}."
                if helps
                else "Print it from a filament that stands more heat, or form thinner sheet.",
            )
        )
    return tuple(findings)


def _finding(
    life: MoldLife, code: str, *, says: str, measured: float, unit: str, advice: str,
    limit: float | None = None,
) -> Finding:  # fmt: skip
    severity = Severity.NOTE if code == "mold-warms-up" else Severity.CAUTION
    return Finding(
        code=code,
        severity=severity,
        says=says,
        measured=measured,
        limit=limit,
        unit=unit,
        subject=f"{life.mold.filament.name} mold",
        basis="two bodies in contact, computed; half the skin is a rule, no source",
        advice=advice,
    )


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
