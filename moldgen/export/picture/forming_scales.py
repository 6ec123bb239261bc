"""Scales for maps of a formed sheet: how thick it came out, and in which order it arrived.

Both run from light to dark all the way, so that grays and every kind of color blindness tell the
same: dry sand to brass to rust as the sheet gets thin, shallows to deep water as it arrives later.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from moldgen.arrays import Floats
from moldgen.export.picture.canvas import Color
from moldgen.export.picture.value_scale import ValueScale, blend

THIN_SHARE = 0.25
"""Sheet thinner than this share of its gauge is trouble."""

_THICKNESS: tuple[Color, ...] = (
    (64, 14, 20), (150, 48, 22), (206, 132, 52), (228, 188, 110), (244, 230, 192),
)  # fmt: skip
_ARRIVAL: tuple[Color, ...] = ((186, 218, 224), (104, 164, 198), (44, 100, 150), (14, 38, 70))
_ROSE: Color = (238, 240, 230)
_NEVER: Color = (206, 92, 40)
_LEVELS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
HELD_SHARE = 2.0
"""A share of the vacuum, as `arrival_values` takes it, of what came to rest as it was held. [-]."""
_BEFORE, _HELD, _AFTER = -0.05, 1.1, 1.2
"""Values of what arrived as the mold rose, of what did as it was held, and of what never did."""


def thickness_scale(gauge_mm: float) -> ValueScale:
    """Return classes of thickness from nothing to a gauge, in round steps of about a tenth."""
    step_mm = next(step for step in (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0) if gauge_mm < 15.5 * step)
    n_classes = int(np.ceil(gauge_mm / step_mm - 1e-9))
    return ValueScale(
        edges=tuple(round(step_mm * k, 6) for k in range(n_classes + 1)),
        colors=blend(_THICKNESS, n_classes),
        label="thickness [mm]",
    )


def arrival_scale() -> ValueScale:
    """Return classes of when a sheet comes to rest, as shares of the greatest vacuum."""
    ends = [f"{100 * level:.0f}" for level in _LEVELS]
    return ValueScale(
        edges=(
            2 * _BEFORE,
            _BEFORE / 2,
            *_LEVELS[1:-1],
            1.0 + 1e-6,
            _HELD + 1e-6,
            _AFTER + 1e-6,
        ),
        colors=(_ROSE, *blend(_ARRIVAL, len(_LEVELS)), _NEVER),
        names=(
            "as the mold rose",
            *(f"{low} to {high} %" for low, high in pairwise(ends)),
            "while held",
            "never",
        ),
    )


def arrival_values(vacuum: Floats) -> Floats:
    """Return shares of the vacuum as finite numbers that `arrival_scale` takes, shape (n,).

    Parameters
    ----------
    vacuum : ndarray, shape (n,)
        Share of the full vacuum at which each point came to rest: less than 0 while the mold
        rose, more than 1 while it was held, inf where it never did.
    """
    values = np.where(vacuum < 0, _BEFORE, np.where(vacuum > 1.0, _HELD, vacuum))
    return np.where(np.isinf(vacuum), _AFTER, values)
