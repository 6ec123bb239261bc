"""Reach: which bend lines can lie over the element of a heater while others are already bent."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Flags, Floats
from moldgen.bend.order.swing import Swing, turned
from moldgen.bend.strip.clash import TOUCH_MM
from moldgen.bend.strip.path import path_of
from moldgen.stock.strip_heater import StripHeater


@dataclass(frozen=True, eq=False)
class StripAtHeater:
    """A strip and a heater; sets of bent bends are counted as in `Swing`."""

    swing: Swing
    heater: StripHeater

    def _middle_mm(self, masks: NDArray[np.int64], bend: int, *, right: bool) -> Floats:
        """Return the middle of one side of a flat bend, for many sets, shape (m, p, 2). [mm]."""
        parts, along = self.swing.shape.stations
        chosen = parts // 2 > bend if right else parts // 2 <= bend
        chosen &= parts != 2 * bend + 1
        path = path_of(self.swing.flat, self.swing.angles_deg(masks))
        origin = path.placed(
            np.array([2 * bend + 1]), np.array([self.swing.center_mm(bend)]), np.zeros(1)
        )
        line = path.placed(parts[chosen], along[chosen], np.zeros(chosen.sum())) - origin
        return turned(line, -path.headings_rad[:, bend])

    @cached_property
    def beds(self) -> tuple[tuple[Flags, Flags], ...]:
        """For every bend, which sets on its left and right keep off the bed.

        Each is of shape (2 ** bends on that side, 2): marks up, marks down. The sets are counted
        from the lowest bend on that side.
        """
        return tuple(self._beds(bend) for bend in range(self.swing.n_bends))

    def _beds(self, bend: int) -> tuple[Flags, Flags]:
        left = np.arange(2**bend)
        right = np.arange(2 ** (self.swing.n_bends - 1 - bend)) << (bend + 1)
        return self._off_bed(left, bend, right=False), self._off_bed(right, bend, right=True)

    def _off_bed(self, masks: NDArray[np.int64], bend: int, *, right: bool) -> Flags:
        middle = self._middle_mm(masks, bend, right=right)
        low, high = _extent_within(middle, self.heater.bed_depth_mm / 2)
        up, down = low > -TOUCH_MM, high < TOUCH_MM
        if self.heater.sides == 2:
            # A second element hangs over the strip, twice the gap away from the bed.
            away = 2 * self.heater.gap_mm + TOUCH_MM
            up, down = up & (high < away), down & (low > -away)
        return np.stack([up, down], axis=1)

    def faces(self, mask: int, bend: int) -> tuple[bool, bool]:
        """Return whether the line can be heated marks up and marks down, others bent."""
        if min(self.swing.runs_mm(mask, bend)) < self.heater.least_leg_mm - 1e-6:
            return False, False
        left, right = self.beds[bend]
        off = left[mask & (2**bend - 1)] & right[mask >> (bend + 1)]
        return bool(off[0]), bool(off[1])


def _extent_within(lines: Floats, reach_mm: float) -> tuple[Floats, Floats]:
    """Return the least and greatest z of lines where x is within reach, shape (m,) each.

    Parameters
    ----------
    lines : ndarray, shape (m, p, 2)
        Corners of open lines. [mm]
    """
    a, b = lines[:, :-1], lines[:, 1:]
    step = b - a
    run = np.where(np.abs(step[..., 0]) < 1e-9, 1e-9, step[..., 0])
    ends = np.stack([(-reach_mm - a[..., 0]) / run, (reach_mm - a[..., 0]) / run])
    first, last = np.clip(ends.min(axis=0), 0, 1), np.clip(ends.max(axis=0), 0, 1)
    z = a[..., 1] + np.stack([first, last]) * step[..., 1]
    inside = ends.max(axis=0) >= 0
    inside &= ends.min(axis=0) <= 1
    low: Floats = np.where(inside, z, np.inf).min(axis=(0, 2))
    high: Floats = np.where(inside, z, -np.inf).max(axis=(0, 2))
    return low, high
