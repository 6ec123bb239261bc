"""Classes for maps of a formed sheet: how thick it came out, and in which order it arrived."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from moldgen.arrays import Floats
from moldgen.export.picture.canvas import Color
from moldgen.export.picture.class_map import Classes
from moldgen.finding import amount

# Thin is the red of trouble; then from shallow to deep water as more of the sheet is left.
_THICKNESS: tuple[Color, ...] = (
    (232, 64, 52), (240, 156, 92), (214, 226, 214), (150, 196, 214), (84, 146, 186), (24, 66, 110),
)  # fmt: skip
_SHARES = (0.25, 0.4, 0.55, 0.7, 0.85)
# From pale dry sand to dark wet sand, and red for what was never reached.
_ARRIVAL: tuple[Color, ...] = (
    (244, 232, 200), (222, 198, 148), (186, 152, 100), (136, 104, 66), (84, 60, 40),
    (232, 64, 52),
)  # fmt: skip
_LEVELS = (0.25, 0.5, 0.75)


def thickness_classes(gauge_mm: float) -> Classes:
    """Return the classes of thickness of a sheet that began at a gauge."""
    borders = tuple(share * gauge_mm for share in _SHARES)
    ends = [amount(border, "") for border in borders]
    between = [f"{low} to {high}" for low, high in pairwise(ends)]
    return Classes(
        borders=borders,
        colors=_THICKNESS,
        names=(f"under {ends[0]} mm", *(f"{words} mm" for words in between), f"over {ends[-1]} mm"),
        n_trouble=1,
    )


def arrival_classes() -> Classes:
    """Return the classes of when a sheet comes to rest, as shares of the greatest vacuum."""
    ends = [f"{100 * level:.0f}" for level in (*_LEVELS, 1.0)]
    return Classes(
        borders=(1e-9, *_LEVELS, 2.0),
        colors=_ARRIVAL,
        names=(
            "as the mold rose",
            f"up to {ends[0]} % of the vacuum",
            *(f"{low} to {high} %" for low, high in pairwise(ends)),
            "never",
        ),
    )


def arrival_values(vacuum: Floats) -> Floats:
    """Return shares of the vacuum as numbers that `arrival_classes` takes, shape (m,).

    Parameters
    ----------
    vacuum : ndarray, shape (m,)
        Share of the greatest vacuum at which each triangle came to rest: 0 or less while the
        mold rose, inf where it touches nothing.
    """
    return np.where(np.isfinite(vacuum), np.minimum(vacuum, 1.0), 3.0)
