"""The walls of a shape that somebody brings: draft and radii where it lacks them."""

from __future__ import annotations

from math import atan, degrees, radians, tan

import numpy as np

from moldgen.arrays import Flags, Grid
from moldgen.solid.height.envelope import lower_envelope, upper_envelope
from moldgen.solid.height.even import evened
from moldgen.solid.height.rolling import filled_hollows, rounded_edges

LEAN_LOST = 0.0042
"""Share of its lean that a triangle between smoothed nodes of a cone may lose: 0.00414, found by
trying cones and pairs of cones all over a cell, once they are smoothed by `EVEN_CELLS`."""

EVEN_CELLS = 1.0
"""Spread of the bell that evens out the steps of the grid. [cells]."""

LEAST_BLUR_CELLS, STEEP_CELLS = 0.3, 1.3
"""How far a ball on nodes may leave a round that is round enough: level, and more by the sine of
its slope, at most one cell; found by trying walls of 3 to 10° and radii of 4 to 15 cells."""

GENTLE = 0.25
"""Sine of the slope up to which a ball is taken as it rolls; fully below 0.1."""

KEPT_CELLS = 0.2
"""What evening out moves farther than this is kept as brought, if it leans enough. [cells]."""

MOST_STEEP = 0.85
"""Share of the steepest slope up to which that may be."""

KEPT_SPREAD = 0.7
"""Spread of the bell over the places that are kept. [cells]."""


def leaning(
    wanted: Grid,
    *,
    cell_mm: float,
    draft_deg: float,
    top_radius_mm: float,
    base_radius_mm: float,
    sunk: bool,
) -> Grid:
    """Return heights with draft and radii, so smooth that triangles keep the draft of the nodes.

    Parameters
    ----------
    wanted : ndarray, shape (ny, nx)
        Heights as brought, on their plate; ``-inf`` where nothing stands. [mm]
    top_radius_mm, base_radius_mm : float
        Radius of raised and of hollow edges; 0 for none. [mm]
    sunk : bool
        Whether walls of recesses are cut back rather than built up.

    Returns
    -------
    ndarray, shape (ny, nx)
        Finite. A round that is as round as asked is as it was brought. [mm]
    """
    draft = degrees(atan(tan(radians(draft_deg)) * (1 + LEAN_LOST)))
    heights = wanted
    if sunk:
        heights = lower_envelope(heights, cell_mm=cell_mm, draft_deg=draft)
    heights = upper_envelope(heights, cell_mm=cell_mm, draft_deg=draft)
    changed = _away_mm(heights, np.maximum(wanted, -cell_mm), cell_mm) > KEPT_CELLS * cell_mm
    for ball, roll in ((base_radius_mm, filled_hollows), (top_radius_mm, _rounded_above)):
        if ball > 0:
            rolled = roll(heights, ball_mm=ball, cell_mm=cell_mm, draft_deg=draft)
            near = _near_rolled(heights, rolled, ball_mm=ball, cell_mm=cell_mm)
            heights = heights + _share_rolled(heights, near, cell_mm) * (rolled - heights)
            changed |= near
    return _evened_out(heights, changed, cell_mm, 1 / tan(radians(draft)))


def _rounded_above(heights: Grid, **ball: float) -> Grid:
    """Round raised edges, but not the foot of a fillet: there the table goes on.

    At the foot of a wall it does not count, or a ball in the table would leave a film beside it.
    """
    above = np.maximum(heights, 0.0)
    fillet = np.clip((0.5 - _sine(above, ball["cell_mm"])) / 0.2, 0.0, 1.0)
    bare = rounded_edges(heights, **ball)
    on_table = np.minimum(rounded_edges(above, **ball), heights)
    return np.asarray(bare + fillet * (on_table - bare))


def _near_rolled(heights: Grid, rolled: Grid, *, ball_mm: float, cell_mm: float) -> Flags:
    """Return where a ball is needed, and within its reach of there.

    A ball that stands on nodes takes up to a cell off a steep edge even if that is round enough.
    What moves no farther proves nothing.
    """
    blur = np.minimum(LEAST_BLUR_CELLS + STEEP_CELLS * _sine(heights, cell_mm), 1.0) * cell_mm
    needed = _away_mm(rolled, heights, cell_mm) > np.minimum(blur, ball_mm / 4)
    needed &= np.maximum(heights, rolled) > 0
    return _grown(needed, ball_mm / cell_mm + 2)


def _grown(flags: Flags, reach_cells: float) -> Flags:
    """Return the nodes within a square round every flagged one."""
    if not flags.any():
        return flags
    return np.asarray(evened(flags.astype(np.float64), spread_cells=reach_cells / 3) > 0)


def _share_rolled(heights: Grid, near: Flags, cell_mm: float) -> Grid:
    """Return 1 where a rolled field is taken, 0 where heights stay, in between on the way.

    On gentle ground a ball is true; there it is always taken, and smooths what no sheet shows.
    """
    gentle = GENTLE - _sine(evened(heights, spread_cells=2.0), cell_mm)
    taken = evened(near.astype(np.float64), spread_cells=2.0) if near.any() else 0.0
    # A step from one to the other would be a wall of its own.
    return np.asarray(np.clip(np.maximum(2 * taken, 1 + gentle / (GENTLE - 0.1)), 0.0, 1.0))


def _sine(heights: Grid, cell_mm: float) -> Grid:
    """Return the sine of a field's slope."""
    slope = np.hypot(*np.gradient(heights, cell_mm))
    return np.asarray(slope / np.sqrt(1 + slope**2))


def _evened_out(heights: Grid, changed: Flags, cell_mm: float, limit: float) -> Grid:
    """Even out the steps of the grid; keep the rounds that were brought, which that would flatten.

    Walls at the limit are evened out all the same, for that keeps the draft of their triangles.
    """
    even = evened(heights, spread_cells=EVEN_CELLS)
    steep = np.hypot(*np.gradient(heights, cell_mm)) / limit
    near = _grown(changed, 3 * EVEN_CELLS)
    far = _away_mm(even, heights, cell_mm) / (KEPT_CELLS * cell_mm) - 1
    kept = np.clip(far, 0.0, 1.0) * np.clip((MOST_STEEP - steep) / 0.1, 0.0, 1.0)
    kept = evened(np.where(near, 0.0, kept), spread_cells=KEPT_SPREAD)
    return np.asarray(even + kept * (heights - even))


def _away_mm(one: Grid, other: Grid, cell_mm: float) -> Grid:
    """Return how far apart two fields are, square to the first. [mm]."""
    along, across = np.gradient(one, cell_mm)
    return np.asarray(np.abs(one - other) / np.sqrt(1 + along**2 + across**2))
