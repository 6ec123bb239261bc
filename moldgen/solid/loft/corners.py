"""Corners of a recess that get rounder on the way down, seen from above.

A wall that leans moves inward on its way down, and a corner loses as much of its radius as the
wall moves. The sheet reaches the corners of the floor last and is thinnest there; so each level
line is opened by a disk that grows with depth. Where the disk grows no level line comes nearer to
the one above it than the wall's own run, so that no corner leans less than the wall.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.solid.loft.contour import arc_steps_for, as_multi, inset

SPARED_MM = 0.01
"""A corner of which a disk takes less than this counts as round: chords stray as far. [mm]."""

_HALVINGS = 10

Line = NDArray[np.float64]


def with_round_corners(
    region: MultiPolygon, levels: Sequence[MultiPolygon], d_mm: Line, z_mm: Line, floor_mm: float
) -> list[MultiPolygon]:
    """Return the level lines of a recess with corners that are as round as told at its floor.

    Parameters
    ----------
    region : MultiPolygon
        The outline. [mm]
    levels : sequence of MultiPolygon
        From the mouth down; those that do not lie within the outline stay as they are. [mm]
    d_mm, z_mm : ndarray, shape (n,)
        How far inward of the outline they lie, and how high. [mm]
    floor_mm : float
        Least radius of a corner of the last one. [mm]
    """
    read = next(k for k, d in enumerate(d_mm) if d > -1e-9)
    mouth_mm = least_corner_mm(levels[read], floor_mm)
    deep = (z_mm[read] - z_mm) / (z_mm[read] - z_mm[-1])
    radii = mouth_mm + (floor_mm - mouth_mm) * deep
    steps = arc_steps_for(max(float((d_mm + radii)[-1]), -d_mm[0]))
    return [
        opened(region, float(d_mm[k]), float(radii[k]), steps) if k > read else level
        for k, level in enumerate(levels)
    ]


def opened(region: MultiPolygon, d_mm: float, radius_mm: float, steps: int) -> MultiPolygon:
    """Return what a disk reaches from within of an outline moved inward. [mm].

    Parameters
    ----------
    region : MultiPolygon
        The outline. [mm]
    d_mm : float
        How far inward of it the level line lies. [mm]
    radius_mm : float
        Radius of the disk. [mm]
    steps : int
        Chords per quarter turn, the same for all level lines of a wall.
    """
    core = inset(region, d_mm + radius_mm, arc_steps=steps)
    return as_multi(shapely.buffer(core, radius_mm, quad_segs=steps))


def least_corner_mm(region: MultiPolygon, most_mm: float) -> float:
    """Return the radius of the sharpest outer corner, up to a limit. [mm]."""
    if _same(region, most_mm):
        return most_mm
    low, high = 0.0, most_mm
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _same(region, middle) else (low, middle)
    return low


def _same(region: MultiPolygon, radius_mm: float) -> bool:
    """Tell whether a disk reaches all of a region but for what chords stray."""
    if radius_mm <= SPARED_MM:
        return True
    steps = arc_steps_for(radius_mm)
    core = shapely.buffer(region, -radius_mm, quad_segs=steps)
    far = shapely.buffer(core, radius_mm + SPARED_MM, quad_segs=steps)
    return bool(far.covers(region))
