"""Leg and arc: what the side view of a bent strip consists of."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from moldgen.arrays import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A straight part: its middle line in the side view.

    Attributes
    ----------
    number : int
        1 for the leftmost.
    start_mm, end_mm : tuple of two floats
        Ends of the middle line. [mm]
    heading_deg : float
        Direction from start to end, counter-clockwise from x. [°]
    length_mm : float
        Between the tangent lines. [mm]
    """

    number: int
    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    heading_deg: float
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A bend: exact arcs about one center.

    Attributes
    ----------
    number : int
        1 for the leftmost bend.
    center_mm : tuple of two floats
        Center of the arcs. [mm]
    inner_mm, middle_mm, outer_mm : float
        Radii of the inside face, the middle of the thickness and the outside face. [mm]
    from_deg : float
        Direction from the center to the first tangent point. [°]
    sweep_deg : float
        Angle of the bend, positive counter-clockwise. [°]
    """

    number: int
    center_mm: tuple[float, float]
    inner_mm: float
    middle_mm: float
    outer_mm: float
    from_deg: float
    sweep_deg: float


def extremes_mm(arc: Arc) -> Floats:
    """Return the points of an arc furthest left, right, up and down, shape (n, 2). [mm]."""
    low, high = sorted((arc.from_deg, arc.from_deg + arc.sweep_deg))
    quarters = np.arange(ceil(low / 90), floor(high / 90) + 1) * 90.0
    turns = np.radians(quarters)
    ways = np.column_stack([np.cos(turns), np.sin(turns)])
    return np.array(arc.center_mm) + arc.outer_mm * ways
