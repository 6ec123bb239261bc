"""Heating record: times of a stop-watch at one table, held against what is computed."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, log

import numpy as np

from moldgen.stock.experience import HeatingRecord, USUAL_mm
from moldgen.stock.plastic import Sheet
from moldgen.table.calibrate import READ_WITHIN
from moldgen.table.heat_doubts import GAUGE_WITHIN, TIMED_WITHIN
from moldgen.table.posterior import Posterior, linear_posterior, student_95
from moldgen.table.ratio import ANY_FACTOR, FAR
from moldgen.trust import HEATING

_ENDS = 1.6448536269514722
"""Ends of a band are read as those between which nine cases of ten lie, so many standard
deviations from the middle. [-]."""
TABLE_WITHIN = log(1 + (HEATING.share or 0.0))
"""How far a table nobody timed heats from what is computed, as a standard deviation of the
logarithm: the 35 % that heating times are trusted to. It is not divided as the others are: what
an entry says of a table may be of another one. [-]."""
PLASTIC_WITHIN = 0.09 / _ENDS
"""The same of a plastic beside others on one table: the bands of its heat, density and emissivity
make 0.07 to 0.11 together, as `moldgen.table.heat_doubts` tells; derived. [-]."""
EXPONENT_WITHIN = 0.15 / _ENDS
"""The same of the exponent of the thickness. Computed times go with its power 0.95 to 1.2; thin
sheet goes with the first power, and thick sheet with the second; derived. [-]."""
SHEET_WITHIN = hypot(GAUGE_WITHIN, READ_WITHIN, TIMED_WITHIN) / _ENDS
"""Scatter of one time, as a standard deviation of the logarithm: gauge, moment and day. [-]."""
_TWICE = 2.0
"""A time that differs by this factor from the others of the same sheet cannot be right if they are;
common practice, no source. [-]."""
_AS_FAR = 0.8
"""Of times of one sheet that contradict each other, so nearly as far off is as doubtful. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedSheet:
    """A sheet that was timed until it was right, and what is computed for it.

    Attributes
    ----------
    sheet : Sheet
        Plastic and gauge.
    noted_s, computed_s : float
        Both times. [s]
    """

    sheet: Sheet
    noted_s: float
    computed_s: float

    @property
    def off(self) -> float:
        """Logarithm of noted over computed. [-]."""
        return log(self.noted_s / self.computed_s)


def heating_record(
    timed: Sequence[TimedSheet], *, table_within: float = TABLE_WITHIN
) -> HeatingRecord:
    """Return what timed sheets say of the heating times of their table.

    Parameters
    ----------
    timed : sequence of TimedSheet
        Of one table.
    table_within : float
        How far the table may be off before anything was timed, as a standard deviation of the
        logarithm. [-]

    Notes
    -----
    The logarithms of noted over computed are one factor of the table, a smaller one of each
    plastic, a common exponent of the thickness, and scatter: `linear_posterior` with the widths
    above. Few notes move the time little from what is computed: one note of factor `f` gives
    about `f` to the power 0.9 for its own sheet.
    """
    plastics = _plastics(timed)
    found = _posterior(timed, plastics, table_within)
    scale = found.scatter / SHEET_WITHIN
    return HeatingRecord(
        plastics=plastics,
        means=tuple(found.means.tolist()),
        covariance=tuple(map(tuple, found.covariance.tolist())),
        other_width=scale * PLASTIC_WITHIN,
        scatter=found.scatter,
        reach=student_95(found.freedom),
        n_notes=len(timed),
    )


def contradictions(timed: Sequence[TimedSheet]) -> tuple[tuple[int, ...], ...]:
    """Return which times contradict the rest: one by itself, or those of which one is wrong.

    One after the other is taken out, the farthest from what the rest foretell first, until none
    is far from them or twice the others of its sheet. Where two contradict each other and nothing
    tells which of them is wrong, both are taken out.

    Parameters
    ----------
    timed : sequence of TimedSheet
        Of one table.

    Returns
    -------
    tuple of tuple of int
        Places in the sequence.
    """
    kept = list(range(len(timed)))
    out: list[tuple[int, ...]] = []
    while len(kept) > 1:
        group = _farthest([timed[place] for place in kept])
        if not group:
            break
        out.append(tuple(kept[place] for place in group))
        kept = [place for place in kept if place not in out[-1]]
    return tuple(out)


def _farthest(timed: Sequence[TimedSheet]) -> tuple[int, ...]:
    """Return the time that fits the rest least, or those one of which is wrong; none if all fit."""
    surprises = np.abs(_posterior(timed, _plastics(timed), ANY_FACTOR).surprises)
    twice = _twice(timed)
    suspects = [place for place in range(len(timed)) if surprises[place] > FAR or twice[place]]
    if not suspects:
        return ()
    worst = max(suspects, key=lambda place: float(surprises[place]))
    same = [place for place, one in enumerate(timed) if one.sheet == timed[worst].sheet]
    against = [place for place in same if _is_far(timed[place], timed[worst])]
    # As many against it as with it, each as far from the rest: nothing tells which are right.
    doubtful = bool(against) and 2 * len(against) == len(same)
    if doubtful and min(surprises[against]) >= _AS_FAR * surprises[worst]:
        return tuple(same)
    return (worst,)


def _is_far(one: TimedSheet, other: TimedSheet) -> bool:
    return abs(one.off - other.off) > log(_TWICE) / 2


def _twice(timed: Sequence[TimedSheet]) -> list[bool]:
    """Tell of each time whether it is twice or half the middle of the others of its sheet."""
    same: dict[Sheet, list[float]] = defaultdict(list)
    for one in timed:
        same[one.sheet].append(one.off)
    for offs in same.values():
        offs.sort()
    return [_is_twice(one.off, same[one.sheet]) for one in timed]


def _is_twice(off: float, same: Sequence[float]) -> bool:
    """Tell the same of one of a sheet's times, which are in order."""
    n_others, own = len(same) - 1, bisect_left(same, off)
    if not n_others:
        return False
    low, high = (at + (at >= own) for at in ((n_others - 1) // 2, n_others // 2))
    return abs(off - (same[low] + same[high]) / 2) >= log(_TWICE) - 1e-9


def _plastics(timed: Sequence[TimedSheet]) -> tuple[str, ...]:
    return tuple(sorted({one.sheet.plastic.name for one in timed}))


def _posterior(
    timed: Sequence[TimedSheet], plastics: Sequence[str], table_within: float
) -> Posterior:
    columns = np.array(
        [
            [
                1.0,
                log(one.sheet.gauge_mm / USUAL_mm),
                *(float(one.sheet.plastic.name == name) for name in plastics),
            ]
            for one in timed
        ]
    ).reshape(len(timed), 2 + len(plastics))
    widths = np.array([table_within, EXPONENT_WITHIN, *[PLASTIC_WITHIN] * len(plastics)])
    return linear_posterior(
        columns,
        np.array([one.off for one in timed]),
        prior_widths=widths,
        noise_width=SHEET_WITHIN,
    )
