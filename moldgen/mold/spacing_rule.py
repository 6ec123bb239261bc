"""How far molds stand from each other and from the clamp: numbers alone, without geometry."""

from __future__ import annotations

BETWEEN = 1.75
"""Distance between molds per height below which a web is likely. [-]."""

BETWEEN_STEEP = 2.0
"""The same between walls that hardly lean: common practice says 1.75 to 2, no source. [-]."""

STEEP_DEG, LEANING_DEG = 2.0, 5.0
"""Draft up to which walls count as steep, and from which as leaning; no source. [°]."""

LOW_MM = 15.0
"""Up to this height what stands side by side is a relief, and has the rule of its gaps. [mm]."""

BETWEEN_LOW = 1.0
"""Distance per height between low molds, as between raised walls (`least_gap_mm`). [-]."""

TO_CLAMP = 1.0
"""Distance to the clamp per height below which a web is likely. [-]."""

LEAST_TO_CLAMP_MM = 25.0
"""Least distance to the clamp, however low the mold. [mm]."""


def web_gap_mm(tallest_mm: float, *, draft_deg: float = LEANING_DEG) -> float:
    """Return the distance of two molds below which the sheet is likely to web between them.

    Parameters
    ----------
    tallest_mm : float
        Height of the taller one. [mm]
    draft_deg : float
        Draft of the steeper walls of the two. [°]
    """
    if tallest_mm <= LOW_MM:
        return BETWEEN_LOW * tallest_mm
    steep = (LEANING_DEG - draft_deg) / (LEANING_DEG - STEEP_DEG)
    share = BETWEEN + (BETWEEN_STEEP - BETWEEN) * min(max(steep, 0.0), 1.0)
    return share * tallest_mm


def clamp_gap_mm(height_mm: float) -> float:
    """Return the distance to the clamp below which the sheet is likely to web. [mm]."""
    return max(TO_CLAMP * height_mm, LEAST_TO_CLAMP_MM)
