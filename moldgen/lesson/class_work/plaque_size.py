"""The size that all plaques of a class have: what their words need, or what it was before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

LONGEST = 1.45
"""Up to so many of the usual length all plaques are as long as the longest word needs. [-]."""
SMALLEST = 0.6
"""Letters of longer words become no smaller than so many of their usual height. [-]."""
KEPT_LETTERS = 0.9
"""So that plaques keep their size, letters become no smaller than so many of what they were. [-]"""
MOST_SPARE_MM = 10.0
"""Plaques keep their size if they are no longer or deeper than so much more than needed. [mm]"""


@dataclass(frozen=True, slots=True)
class PlaqueSize:
    """Width and depth of a plaque. [mm]."""

    width_mm: float
    depth_mm: float

    def __str__(self) -> str:
        return f"{self.width_mm:.1f} x {self.depth_mm:.1f} mm"


def needed_size(sizes: Sequence[PlaqueSize], *, spare_mm: float) -> PlaqueSize:
    """Return the size of all plaques that suits their words, but for those that are much longer.

    Parameters
    ----------
    sizes : sequence of PlaqueSize
        What each word needs.
    spare_mm : float
        Margins left and right of the words. [mm]
    """
    longest_mm = max(size.width_mm for size in sizes)
    most_mm = max(
        LONGEST * median(size.width_mm for size in sizes),
        spare_mm + SMALLEST * (longest_mm - spare_mm),
    )
    return PlaqueSize(min(most_mm, longest_mm), max(size.depth_mm for size in sizes))


def still_does(before: PlaqueSize, needed: PlaqueSize, *, spare_mm: float) -> bool:
    """Tell whether plaques may keep the size that they had in an earlier run.

    They may where words that have become longer fit with letters that are a little smaller, and
    plaques are not much too large: molds that are printed stay right.
    """
    sides = (
        (before.width_mm, needed.width_mm),
        (before.depth_mm, needed.depth_mm),
    )
    return all(
        share_of(had_mm, needed_mm, spare_mm=spare_mm) >= KEPT_LETTERS
        and had_mm <= needed_mm + MOST_SPARE_MM
        for had_mm, needed_mm in sides
    )


def share_of(side_mm: float, needed_mm: float, *, spare_mm: float) -> float:
    """Return how much of their height letters can have on a plaque, by one of its sides. [-]."""
    return min(1.0, (side_mm - spare_mm) / max(needed_mm - spare_mm, 1e-6))


def stays_text(before: PlaqueSize, needed: PlaqueSize) -> str:
    """Return what is told when plaques keep a size that is not what their words need."""
    return (
        f"Plaques stay {before}, as an earlier run made them; these words alone would have "
        f"{needed}. Ask for --rearrange to choose the size anew"
    )
