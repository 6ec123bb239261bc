"""How narrow strokes and gaps may be for a sheet: numbers alone, without geometry."""

from __future__ import annotations

EXTRA_MM = 2.0
"""Least flat that is left on top of a stroke besides the two skins. [mm]."""


def least_stroke_mm(gauge_mm: float, height_mm: float) -> float:
    """Return the narrowest raised stroke that forms well. [mm]."""
    return max(2 * gauge_mm + EXTRA_MM, height_mm)


def least_gap_mm(gauge_mm: float, height_mm: float) -> float:
    """Return the narrowest gap between raised walls that forms without webs. [mm]."""
    return max(2 * gauge_mm, height_mm)
