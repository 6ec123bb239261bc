"""Cycle: a sheet on the mold until it is stiff, then the mold alone until the next one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from moldgen.physics.falling import fallen_at
from moldgen.physics.heat.contact import Phase, phase
from moldgen.physics.heat.heating import INSULATED, Array, SheetFace, Stack, stack
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.plastic import Sheet
from moldgen.table.cool import PrintedMold, TOUCH_W_m2K, mold_layers, on_mold, sheet_matter
from moldgen.table.surroundings import ROOM_degC, free_face

HANDLING_s = 20.0
"""Taking the part off and clamping the next sheet; common practice, no source."""
_PART_mm = (150.0, 150.0)
_NEAR_degC = 60.0
"""Radiation off the bare mold is taken in proportion to temperature about here."""
_CONTACT_STEPS = 200
_PAUSE_STEPS = 40
_SETTLED_K = 0.02
_WARM = 10.0
"""A warm mold may need so much longer than a cold one to cool the sheet."""
_LONGER = 1.5
_LONGEST_CONTACT_s = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Run(Spec):
    """Cycle after cycle with the same sheet.

    Attributes
    ----------
    allowed_mm : float or None
        How deep the mold may soften; half the skin if left out.
    """

    sheet: Annotated[Sheet, Meaning("what is formed")]
    heat_s: Annotated[
        float, Quantity("s", "time to heat a sheet, while the mold cools", at_least=0, at_most=3600)
    ]
    thickness_ratio: Annotated[
        float, Quantity("", "local thickness over gauge", above=0, at_most=1.5)
    ] = 1.0
    handling_s: Annotated[
        float, Quantity("s", "taking off and clamping", at_least=0, at_most=3600)
    ] = HANDLING_s
    room_degC: Annotated[float, Quantity("°C", "room", at_least=-20, at_most=60)] = ROOM_degC
    fan: Annotated[bool, Meaning("a light fan blows on part and mold")] = False
    allowed_mm: Annotated[
        float | None, Quantity("mm", "depth that may soften", above=0, at_most=50)
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cycle:
    """One forming and the pause after it, ready to be gone through again and again.

    ``face_share`` is how far the mold's face is from the middle of its last cell to that of the
    sheet's first.
    """

    run: Run
    contact: Phase
    pause: Phase
    layers: Stack
    air: SheetFace
    face_share: float
    depths_mm: Array

    @property
    def n_mold(self) -> int:
        """Cells of the mold."""
        return len(self.layers.widths_m)

    def waiting(self, extra_s: float) -> Cycle:
        """Return the same with so much further pause after each cycle."""
        usual_s = self.run.heat_s + self.run.handling_s
        return replace(self, pause=_pause(self.layers, self.air, usual_s + extra_s))

    def repeat(self, most: int) -> tuple[Array, Array]:
        """Return peaks by depth and times of contact, until nothing changes any more."""
        mold: Array = np.full(self.n_mold, self.run.room_degC)
        peaks, contacts = [], []
        for _ in range(most):
            before = mold
            mold, peak, contact_s = self._form(mold)
            peaks.append(peak)
            contacts.append(contact_s)
            if np.abs(mold - before).max() < _SETTLED_K:
                break
        return np.stack(peaks), np.array(contacts)

    def _form(self, mold: Array) -> tuple[Array, Array, float]:
        plastic, n = self.run.sheet.plastic, self.n_mold
        sheet = np.full(self.contact.gains.shape[1] - n, plastic.forming_degC)
        start = np.append(mold, sheet)
        rows = np.vstack([start, self.contact.profiles_degC(start)])
        times_s = np.append(0.0, self.contact.times_s)
        hottest = rows[:, n:].max(axis=-1)
        contact_s = fallen_at(times_s, hottest, plastic.set_degC)
        # Taken off between two steps: at neither of them, or cycles would differ by chance.
        after = int(np.clip(np.searchsorted(times_s, contact_s), 1, len(times_s) - 1))
        share = (contact_s - times_s[after - 1]) / (times_s[after] - times_s[after - 1])
        last = (1 - share) * rows[after - 1] + share * rows[after]
        on = np.vstack([rows[1:after], last])
        faces = on[:, n - 1] + self.face_share * (on[:, n] - on[:, n - 1])
        bare = self.pause.profiles_degC(last[:n])
        inside = np.maximum(on[:, :n].max(axis=0), bare.max(axis=0))
        return bare[-1], np.append(faces.max(), inside[::-1]), contact_s


def build_cycle(run: Run, mold: PrintedMold) -> Cycle:
    """Return the cycle of a run on a mold."""
    layers = stack(*mold_layers(mold))
    body = on_mold(
        mold,
        sheet_matter(run.sheet, run.sheet.plastic.forming_degC),
        run.sheet.gauge_mm * run.thickness_ratio,
        TOUCH_W_m2K,
    )
    n = len(layers.widths_m)
    air = free_face(*_PART_mm, hot_up=True, fan=run.fan, room_degC=run.room_degC)
    below_mm = np.cumsum(layers.widths_m[::-1]) * 1000
    return Cycle(
        run=run,
        contact=_contact(run, body, air, n),
        pause=_pause(layers, air, run.heat_s + run.handling_s),
        layers=layers,
        air=air,
        face_share=float(-body.conduction[n - 1, n] / body.half_conductances[n - 1]),
        depths_mm=np.append(0.0, below_mm - layers.widths_m[::-1] * 500),
    )


def _pause(layers: Stack, air: SheetFace, duration_s: float) -> Phase:
    return phase(
        layers,
        front=INSULATED,
        back=air,
        duration_s=max(1.0, duration_s),
        n_steps=_PAUSE_STEPS,
        near_degC=_NEAR_degC,
    )


def _contact(run: Run, body: Stack, air: SheetFace, n_mold: int) -> Phase:
    """Return the time on the mold, long enough for a mold that has warmed up."""
    plastic = run.sheet.plastic
    start = np.full(len(body.widths_m), run.room_degC)
    start[n_mold:] = plastic.forming_degC
    duration_s = 4.0
    while True:
        there = phase(
            body,
            front=INSULATED,
            back=air,
            duration_s=duration_s,
            n_steps=_CONTACT_STEPS,
            near_degC=(plastic.forming_degC + plastic.set_degC) / 2,
        )
        hottest = there.profiles_degC(start)[:, n_mold:].max(axis=-1)
        stiff_s = fallen_at(there.times_s, hottest, plastic.set_degC)
        if stiff_s <= duration_s / _WARM or duration_s > _LONGEST_CONTACT_s:
            return there
        duration_s *= _LONGER
