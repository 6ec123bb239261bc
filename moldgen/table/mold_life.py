"""Mold life: sheet after sheet on a printed mold, how deep it softens, and the pause it needs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import ceil, inf

import numpy as np

from moldgen.finding import Finding, Severity
from moldgen.physics.bisection import narrowed
from moldgen.physics.falling import fallen_at
from moldgen.physics.heat.heating import Array
from moldgen.quantity import Quantity
from moldgen.stock.filament import Filament
from moldgen.table.cool import PrintedMold
from moldgen.table.cycle import Cycle, Run, build_cycle
from moldgen.wording import clock_text

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


def mold_life(run: Run, mold: PrintedMold, *, n_cycles: int = 30) -> MoldLife:
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
    cycle = build_cycle(run, mold)
    allowed_mm = mold.skin_mm / 2 if run.allowed_mm is None else run.allowed_mm
    peaks, contacts = cycle.repeat(_MOST_CYCLES)
    limit_degC = mold.filament.stands_degC
    softened = np.array([fallen_at(cycle.depths_mm, row, limit_degC) for row in peaks])
    over = np.flatnonzero(softened > allowed_mm)
    in_a_row = int(over[0]) if over.size else None
    return MoldLife(
        mold=mold,
        softens_degC=limit_degC,
        allowed_mm=allowed_mm,
        depths_mm=cycle.depths_mm,
        peaks_degC=_told(peaks, n_cycles),
        contact_s=_told(contacts, n_cycles),
        softened_mm=_told(softened, n_cycles),
        hottest_degC=float(peaks[:, 0].max()),
        in_a_row=in_a_row,
        pause_s=_pause_s(cycle, in_a_row, limit_degC, allowed_mm),
    )


def rank_filaments(
    run: Run, mold: PrintedMold, filaments: Iterable[Filament]
) -> tuple[MoldLife, ...]:
    """Return the same mold printed from each filament, the one that lasts longest first.

    Those whose face never softens come first, by how far it stays below; then the rest, by cycles
    in a row and by the pause they need.
    """
    lives = [mold_life(run, replace(mold, filament=filament)) for filament in filaments]

    def wanting(life: MoldLife) -> tuple[float, ...]:
        if life.spare_K >= 0:
            return 0, -life.spare_K
        cycles = inf if life.in_a_row is None else life.in_a_row
        return 1, -cycles, inf if life.pause_s is None else life.pause_s, -life.spare_K

    return tuple(sorted(lives, key=wanting))


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
    return kept


def _pause_s(
    cycle: Cycle, in_a_row: int | None, limit_degC: float, allowed_mm: float
) -> float | None:
    """Return the shortest further pause with which the mold lasts for good."""
    if in_a_row is None:
        return 0.0

    def lasts(extra_s: float) -> bool:
        peaks, _ = cycle.waiting(extra_s).repeat(_MOST_CYCLES)
        return fallen_at(cycle.depths_mm, peaks.max(axis=0), limit_degC) <= allowed_mm

    if in_a_row == 0 or not lasts(_LONGEST_PAUSE_s):
        return None
    _, high_s = narrowed(lasts, 0.0, _LONGEST_PAUSE_s, within=_PAUSE_STEP_s)
    return _PAUSE_STEP_s * ceil(high_s / _PAUSE_STEP_s)
