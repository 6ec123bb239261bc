"""Cycle: a sheet on the mold until it is stiff, then the mold alone until the next one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from moldgen.arrays import Flags, Indices
from moldgen.physics.falling import fallen_each
from moldgen.physics.heat.contact import Modes, Phase, modes_of, side_by_side
from moldgen.physics.heat.heating import Array, SheetFace, Stack, stack
from moldgen.table.cool import sheet_matter
from moldgen.table.printed_mold import PrintedMold, TOUCH_W_m2K, mold_layers, on_mold
from moldgen.table.run import Run
from moldgen.table.surroundings import free_face

TABLE_W_m2K = 40.0
"""Between the foot of a mold and the table, which stays as warm as the room; from memory."""
_PART_mm = (150.0, 150.0)
_NEAR_degC = 60.0
"""Radiation off the bare mold is taken in proportion to temperature about here."""
_CONTACT_STEPS = 200
_PAUSE_STEPS = 40
_SETTLED_K = 0.02
_WARM = 10.0
"""A warm mold may need so much longer than a cold one to cool the sheet."""
_LONGER = 1.5
_SHORTEST_CONTACT_s = 4.0
_LONGEST_CONTACT_s = 3600.0
_MORE, _MORE_STEPS = 1.3, 5
"""Steps of contact that are looked at, over those of the cycle before."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CycleHistory:
    """Cycle after cycle on one mold, until nothing changes any more.

    Attributes
    ----------
    peaks_degC : ndarray, shape (cycles, n)
        Highest temperature by depth, the face first. [°C]
    starts_degC : ndarray, shape (cycles,)
        The mold's face as the sheet comes. [°C]
    contact_s : ndarray, shape (cycles,)
        How long each part stayed on. [s]
    """

    peaks_degC: Array
    starts_degC: Array
    contact_s: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cycles:
    """One forming and the pause after it on each of several molds of one shape, ready to repeat.

    Attributes
    ----------
    run : Run
        Sheet, times, room.
    contact, pause : Phase, of the molds along the first axis
        The sheet on the mold, and the mold alone.
    bare : Modes, of the molds along the first axis
        The mold alone.
    face_shares : ndarray, shape (molds,)
        How far the mold's face is from the middle of its last cell to that of the sheet's
        first. [-]
    depths_mm : ndarray, shape (n,)
        Below the face, the face first. [mm]
    """

    run: Run
    contact: Phase
    pause: Phase
    bare: Modes
    face_shares: Array
    depths_mm: Array

    @property
    def n_molds(self) -> int:
        """How many molds."""
        return len(self.face_shares)

    @property
    def n_mold(self) -> int:
        """Cells of each mold."""
        return self.pause.n_cells

    def waiting(self, extra_s: ArrayLike) -> Cycles:
        """Return the same with so much further pause after each cycle, on each mold. [s]."""
        return replace(self, pause=_pause(self.run, self.bare, extra_s))

    def only(self, some: Flags | Indices) -> Cycles:
        """Return the same on some of the molds."""
        return replace(
            self,
            contact=self.contact.only(some),
            pause=self.pause.only(some),
            bare=self.bare.only(some),
            face_shares=self.face_shares[some],
        )

    def repeat(
        self, most: int, *, enough: Callable[[Indices, Array], Flags] | None = None
    ) -> tuple[CycleHistory, ...]:
        """Return what happens to each mold, until nothing changes any more.

        Parameters
        ----------
        most : int
            Cycles after which it ends at the latest.
        enough : callable, optional
            Told the numbers of molds, shape (k,), and their peaks in one cycle, shape (k, n); tells
            which of them need not be followed further.
        """
        now, numbers, first = self, np.arange(self.n_molds), self.contact.n_steps
        mold: Array = np.full((self.n_molds, self.n_mold), self.run.room_degC)
        peaks_degC: list[list[Array]] = [[] for _ in numbers]
        starts_degC: list[list[float]] = [[] for _ in numbers]
        contacts_s: list[list[float]] = [[] for _ in numbers]
        for _ in range(most):
            after, peaks, contact_s = now.form(mold, first=first)
            for number, peak, start, stayed_s in zip(
                numbers, peaks, mold[:, -1], contact_s, strict=True
            ):
                starts_degC[number].append(float(start))
                peaks_degC[number].append(peak)
                contacts_s[number].append(float(stayed_s))
            done = np.abs(after - mold).max(axis=1) < _SETTLED_K
            if enough is not None:
                done |= enough(numbers, peaks)
            if done.all():
                break
            # The next part stays on a little longer: so many steps are looked at, and no more.
            first = int(_MORE * (contact_s / now.contact.times_s[:, 0]).max()) + _MORE_STEPS
            if done.any():
                now, numbers = now.only(~done), numbers[~done]
            mold = after[~done]
        return tuple(
            CycleHistory(
                peaks_degC=np.stack(peaks),
                starts_degC=np.array(starts),
                contact_s=np.array(stayed_s),
            )
            for peaks, starts, stayed_s in zip(peaks_degC, starts_degC, contacts_s, strict=True)
        )

    def form(self, mold_degC: Array, *, first: int) -> tuple[Array, Array, Array]:
        """Go through one cycle on every mold.

        Parameters
        ----------
        mold_degC : ndarray, shape (molds, n)
            Before the sheet comes. [°C]
        first : int
            Steps of contact to look at, if the sheets are stiff by then; all if not.

        Returns
        -------
        tuple
            The molds after the pause and their highest temperatures by depth, both of shape
            (molds, n) in °C, and how long the parts stayed on, of shape (molds,) in s.
        """
        plastic, n = self.run.sheet.plastic, self.n_mold
        sheet = np.full((len(mold_degC), self.contact.n_cells - n), self.run.arrival_degC)
        start = np.concatenate([mold_degC, sheet], axis=1)
        later = self.contact.profiles_degC(start, first=first)
        rows = np.concatenate([start[:, None], later], axis=1)
        hottest = rows[..., n:].max(axis=-1)
        if first < self.contact.n_steps and (hottest[:, -1] > plastic.set_degC).any():
            return self.form(mold_degC, first=self.contact.n_steps)
        times_s = self.contact.times_s[:, :1] * np.arange(rows.shape[1])
        contact_s = fallen_each(times_s, hottest, plastic.set_degC)
        on = _taken_off(rows, times_s, contact_s)
        faces = on[..., n - 1] + self.face_shares[:, None] * (on[..., n] - on[..., n - 1])
        bare = self.pause.profiles_degC(on[:, -1, :n])
        inside = np.maximum(on[..., :n].max(axis=1), bare.max(axis=1))
        peaks = np.concatenate([faces.max(axis=1)[:, None], inside[:, ::-1]], axis=1)
        return bare[:, -1], peaks, contact_s


def _taken_off(rows: Array, times_s: Array, contact_s: Array) -> Array:
    """Return the temperatures while a sheet is on, its end in place of the start and all after.

    It is taken off between two steps: at neither of them, or cycles would differ by chance.
    """
    after = np.clip((times_s < contact_s[:, None]).sum(axis=1), 1, times_s.shape[1] - 1)
    each = np.arange(len(rows))
    before_s, after_s = times_s[each, after - 1], times_s[each, after]
    share = ((contact_s - before_s) / (after_s - before_s))[:, None]
    last = (1 - share) * rows[each, after - 1] + share * rows[each, after]
    step = np.arange(rows.shape[1])
    off = (step == 0) | (step >= after[:, None])
    on: Array = np.where(off[..., None], last[:, None], rows)
    return on


def build_cycles(run: Run, molds: Sequence[PrintedMold]) -> Cycles:
    """Return the cycles of a run on molds that differ in nothing but their filament."""
    air = free_face(*_PART_mm, hot_up=True, fan=run.fan, room_degC=run.room_degC)
    layers = [stack(*mold_layers(mold)) for mold in molds]
    bodies = [_with_sheet(run, mold) for mold in molds]
    near = {"front": table_face(run.room_degC), "back": air}
    bare = side_by_side([modes_of(one, **near, near_degC=_NEAR_degC) for one in layers])
    plastic, widths_m = run.sheet.plastic, layers[0].widths_m
    n, soft_degC = len(widths_m), (run.arrival_degC + plastic.set_degC) / 2
    on = side_by_side([modes_of(body, **near, near_degC=soft_degC) for body in bodies])
    return Cycles(
        run=run,
        contact=_contact(run, on, n),
        pause=_pause(run, bare, 0.0),
        bare=bare,
        face_shares=np.array(
            [-body.conduction[n - 1, n] / body.half_conductances[n - 1] for body in bodies]
        ),
        depths_mm=np.append(0.0, 1000 * (np.cumsum(widths_m[::-1]) - widths_m[::-1] / 2)),
    )


def table_face(room_degC: float) -> SheetFace:
    """Return what the foot of a mold meets."""
    return SheetFace(air_degC=room_degC, film_W_m2K=TABLE_W_m2K)


def _with_sheet(run: Run, mold: PrintedMold) -> Stack:
    return on_mold(
        mold,
        sheet_matter(run.sheet, run.arrival_degC),
        run.sheet.gauge_mm * run.thickness_ratio,
        TOUCH_W_m2K,
    )


def _pause(run: Run, bare: Modes, extra_s: ArrayLike) -> Phase:
    """Return the time between two cycles, with so much further pause on each mold."""
    usual_s = np.full(len(bare.rates_1_s), run.heat_s + run.handling_s)
    return bare.phase(np.maximum(1.0, usual_s + extra_s), n_steps=_PAUSE_STEPS)


def _contact(run: Run, on: Modes, n_mold: int) -> Phase:
    """Return the time on each mold, long enough for a mold that has warmed up."""
    plastic = run.sheet.plastic
    durations_s = np.full(len(on.rates_1_s), _SHORTEST_CONTACT_s)
    short = np.arange(len(durations_s))
    start = np.full(on.rates_1_s.shape, run.room_degC)
    start[:, n_mold:] = run.arrival_degC
    while len(short):
        tried = on.only(short).phase(durations_s[short], n_steps=_CONTACT_STEPS)
        hottest = tried.profiles_degC(start[short])[..., n_mold:].max(axis=-1)
        stiff_s = fallen_each(tried.times_s, hottest, plastic.set_degC)
        own_s = durations_s[short]
        short = short[(stiff_s > own_s / _WARM) & (own_s <= _LONGEST_CONTACT_s)]
        durations_s[short] *= _LONGER
    return on.phase(durations_s, n_steps=_CONTACT_STEPS)
