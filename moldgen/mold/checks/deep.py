"""Whether a mold is so deep that a mean thickness says too little: its corners get far thinner."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

import shapely
from shapely import MultiPolygon

from moldgen.mold.checks.draw import Draw

DEEP_HEIGHT_TO_WIDTH = 1 / 3
"""Height over width from which a mold is deep (common practice, no source). [-]."""

DEEP_AREAL = 1.6
"""Areal draw ratio from which a mold is deep (common practice, no source). [-]."""

_STEP_MM = 0.5


def depth_text(draws: Sequence[Draw]) -> str:
    """Return why a mold is deep, in words that follow "since"; empty if it is not.

    Parameters
    ----------
    draws : sequence of Draw
        Of the whole part, first, and of every feature.
    """
    if not draws:
        return ""
    high = draws[0].height_to_width
    if high > DEEP_HEIGHT_TO_WIDTH:
        return f"its height is {high:.2g} of its width"
    most = max(draws, key=lambda draw: draw.areal)
    if most.areal > DEEP_AREAL:
        return f"{most.name or 'the sheet'} is drawn {most.areal:.1f} times"
    return ""


def shallow_mm(region: MultiPolygon, most_mm: float) -> float:
    """Return the greatest height up to ``most_mm`` at which an outline makes no deep mold. [mm].

    Walls are taken as upright, so that what leans is shallower still.
    """
    width_mm = 2 * float(shapely.maximum_inscribed_circle(region.convex_hull).length)
    tall_mm = min(most_mm, DEEP_HEIGHT_TO_WIDTH * width_mm)
    height_mm = _STEP_MM * floor(tall_mm / _STEP_MM + 1e-9)
    while height_mm > _STEP_MM and _areal(region, height_mm) > DEEP_AREAL:
        height_mm -= _STEP_MM
    return height_mm


def _areal(region: MultiPolygon, height_mm: float) -> float:
    """Return the areal draw ratio of upright walls, fed from as far around as they are high."""
    return 1 + float(region.length) * height_mm / float(region.buffer(height_mm).area)
