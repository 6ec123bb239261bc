"""The forming window: when a heated sheet begins to form, when it is too hot, and its middle."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from moldgen.physics.heat.heating import Array
from moldgen.physics.heat.march import TemperatureHistory
from moldgen.stock.plastic import Plastic

_LEAST_s = 3.0
_LEAST = 0.1
"""Of the time until it opens, a window that a person hits; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """When things happen to a sheet, from cold; None if never while it was followed.

    Attributes
    ----------
    opens_s : float or None
        The coldest plane reaches the lower forming temperature. [s]
    aim_s : float or None
        The sheet is, on average through its thickness, as hot as usual when formed. [s]
    closes_s : float or None
        A face passes the upper forming temperature. [s]
    brief_s : float or None
        A face has passed it as far, or for as long, as a short time allows. [s]
    """

    opens_s: float | None
    aim_s: float | None
    closes_s: float | None
    brief_s: float | None = None

    @property
    def is_whole(self) -> bool:
        """Whether the sheet was followed through the whole window."""
        if self.opens_s is None or self.aim_s is None or self.closes_s is None:
            return False
        return self.brief_s is not None or self.closes_s >= self._enough_s

    @property
    def ends_s(self) -> float | None:
        """When the sheet must be formed at the latest; None if it gets no hotter than it may. [s].

        Where the window would be too short to be hit, a face may pass the upper forming
        temperature, so far and so long as the plastic stands for a short time, and no longer
        than makes the window long enough.
        """
        if self.closes_s is None or self.opens_s is None:
            return self.closes_s
        brief_s = self.closes_s if self.brief_s is None else self.brief_s
        return max(self.closes_s, min(brief_s, self._enough_s))

    @property
    def length_s(self) -> float | None:
        """How long the window is open; 0 if a face burns first, None if it stays open. [s]."""
        if self.opens_s is None or self.ends_s is None:
            return None
        return max(0.0, self.ends_s - self.opens_s)

    @property
    def is_open(self) -> bool:
        """Whether there is a window at all."""
        return self.opens_s is not None and self.length_s != 0

    @property
    def is_short(self) -> bool:
        """Whether the window is shorter than a person hits."""
        return self.length_s is not None and self.length_s < 0.99 * self.least_s

    @property
    def forming_s(self) -> float:
        """When to form: in the middle of the window. [s].

        In a window that stays open at the aim, or as soon as it opens if that is later; so too
        where there is none, which `is_open` tells. Infinite if the sheet never gets there.
        """
        if self.opens_s is None:
            return inf
        if self.length_s is None:
            return max(self.opens_s, self.opens_s if self.aim_s is None else self.aim_s)
        return self.opens_s + self.length_s / 2

    @property
    def least_s(self) -> float:
        """How long a window must be to be hit. [s]."""
        return max(_LEAST_s, _LEAST * (self.opens_s or 0.0))

    @property
    def _enough_s(self) -> float:
        """When a window that is just so long ends. [s]."""
        return (self.opens_s or 0.0) + self.least_s


def clocks(course: TemperatureHistory, plastic: Plastic) -> tuple[Clock, ...]:
    """Return when things happened, for each column of a course."""
    ends = np.stack([course.fronts_degC, course.backs_degC])
    hottest, coldest = ends.max(axis=0), course.profiles_degC.min(axis=-1)
    coldest = np.minimum(coldest, ends.min(axis=0))
    means = course.profiles_degC.mean(axis=-1)
    return tuple(
        _clock(times_s, coldest[:, place], means[:, place], hottest[:, place], plastic)
        for place, times_s in enumerate(course.times_s.T)
    )


def _clock(times_s: Array, coldest: Array, means: Array, hottest: Array, plastic: Plastic) -> Clock:
    closes_s = _reached_s(times_s, hottest, plastic.forming_high_degC)
    too_far_s = _reached_s(times_s, hottest, plastic.forming_high_degC + plastic.brief_over_K)
    return Clock(
        opens_s=_reached_s(times_s, coldest, plastic.forming_low_degC),
        aim_s=_reached_s(times_s, means, plastic.forming_degC),
        closes_s=closes_s,
        brief_s=_brief_s(closes_s, too_far_s, last_s=float(times_s[-1]), plastic=plastic),
    )


def _brief_s(
    closes_s: float | None, too_far_s: float | None, *, last_s: float, plastic: Plastic
) -> float | None:
    """Return when a face has been past its limit too far or too long; None if not followed so far.

    [s].
    """
    if closes_s is None:
        return None
    too_long_s = closes_s + plastic.brief_s
    if too_far_s is not None:
        return min(too_far_s, too_long_s)
    return too_long_s if too_long_s <= last_s else None


def _reached_s(times_s: Array, temperatures_degC: Array, wanted_degC: float) -> float | None:
    """Return when a rising temperature first reaches a value."""
    above = np.flatnonzero(temperatures_degC >= wanted_degC)
    if not above.size:
        return None
    after = max(1, int(above[0]))
    cut = slice(after - 1, after + 1)
    return float(np.interp(wanted_degC, temperatures_degC[cut], times_s[cut]))
