"""Hold: how far the hot sheet relaxes under the vacuum, before what touches nothing has cooled.

What lies on the mold is stiff in seconds and stays where it landed. What is still free cools in the
air alone, through the thin layer of air over the mold and off its upper face; until then its
stress falls, and the vacuum draws it further into the corners.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from moldgen.arrays import Floats
from moldgen.physics.heat.heating import SheetFace, stack
from moldgen.physics.heat.march import Exposure, TemperatureHistory, march_all
from moldgen.physics.membrane.relaxation import share_left, time_at_s
from moldgen.stock.entry import Structure
from moldgen.stock.plastic import Plastic, Sheet
from moldgen.table.matter import matter_of
from moldgen.table.surroundings import ROOM_degC, free_face

DRAW_s = 1.0
"""From the first stretch to the full vacuum; common practice, no source."""
HOLD_s = 30.0
"""As long as the vacuum stays on, at most; common practice, no source."""
GAP_W_m2K = 26.0
"""Between free sheet and mold: air a millimeter thick, 0.026 W/(m·K)."""
GAP_BAND_W_m2K = (0.0, 52.0)
"""From a mold far away to air half a millimeter thick."""
LEAST_SHARE = 0.05
"""Less is not told: corners are then rounder by the sheet's thickness than by its tension. [-]."""
_PART_mm = (150.0, 150.0)
_CELLS, _STEPS = 4, 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """How much of its stiffness the free sheet has left at the end.

    Attributes
    ----------
    share : float
        Of the stiffness it is drawn with, 1 where nobody knows how it relaxes. [-]
    least_share : float
        The same, if it relaxes as fast and cools as slowly as may be. The most is 1: a sheet that
        does not relax. [-]
    soft_s : float
        How long what is free stays soft enough to form, at most as long as it is held. [s]
    known : bool
        Whether anybody says how fast the plastic relaxes.
    """

    share: float
    least_share: float
    soft_s: float
    known: bool


@lru_cache(maxsize=64)
def hold(sheet: Sheet) -> Hold:
    """Return how far a sheet relaxes that was formed at its usual temperature.

    Parameters
    ----------
    sheet : Sheet
        Plastic and gauge. It cools at its gauge; where it is drawn thin, it cools sooner.

    Notes
    -----
    Mean relaxation time and the band it lies in are the plastic's; its stock file says from where.
    """
    plastic = sheet.plastic
    usual, slowly = _courses(sheet, (GAP_W_m2K, GAP_BAND_W_m2K[0]))
    soft_s = float(usual[0][-1])
    if plastic.relaxation_s is None:
        return Hold(share=1.0, least_share=1.0, soft_s=soft_s, known=False)
    fast_s = plastic.bands.get("relaxation_s", (plastic.relaxation_s,) * 2)[0]
    share = _share(plastic, *usual, mean_s=plastic.relaxation_s)
    return Hold(
        share=share,
        least_share=min(share, _share(plastic, *slowly, mean_s=fast_s)),
        soft_s=soft_s,
        known=True,
    )


def _share(plastic: Plastic, times_s: Floats, course_degC: Floats, *, mean_s: float) -> float:
    """Return the share left at the end of a course, the drawing before it included."""
    usual_degC = plastic.forming_degC
    # Crystals, not the glass transition, stiffen a crystalline plastic: until then it is a melt.
    held_s = (
        float(times_s[-1])
        if plastic.structure is Structure.CRYSTALLINE
        else time_at_s(times_s, course_degC, from_degC=usual_degC, glass_degC=plastic.glass_degC)
    )
    return max(LEAST_SHARE, share_left(DRAW_s + held_s, mean_s=mean_s))


def _courses(sheet: Sheet, gaps_W_m2K: tuple[float, ...]) -> list[tuple[Floats, Floats]]:
    """Return times and mean temperatures of free sheet, until it is too cold to form.

    One course for each way in which the air under the sheet conducts.
    """
    plastic = sheet.plastic
    body = stack((matter_of(plastic), sheet.gauge_mm / 1000, _CELLS))
    histories = march_all(
        [
            Exposure(
                body=body,
                start_degC=np.full(_CELLS, plastic.forming_degC),
                front=SheetFace(air_degC=ROOM_degC, film_W_m2K=gap_W_m2K),
                back=free_face(*_PART_mm, hot_up=True),
                duration_s=HOLD_s,
            )
            for gap_W_m2K in gaps_W_m2K
        ],
        n_steps=_STEPS,
    )
    return [_while_soft(plastic, history) for history in histories]


def _while_soft(plastic: Plastic, history: TemperatureHistory) -> tuple[Floats, Floats]:
    """Return times and mean temperatures of a course until the plastic is too cold to form."""
    times_s, means_degC = history.times_s[:, 0], history.profiles_degC[:, 0].mean(axis=1)
    end = int(np.flatnonzero(means_degC >= plastic.forming_low_degC)[-1]) + 1
    return times_s[:end], means_degC[:end]
