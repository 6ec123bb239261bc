"""Raise or sink an outline along a wall profile: a surface that closes by construction.

The outline is offset inward to stations on the profile, and the band between two neighboring
contours is filled by a triangulation whose corners are just the two contours. Every corner keeps
its height and neighboring bands share their corners, so the surface has no seams, its flats are
flat and its straight walls are plane. Letters split and vanish where they are too thin for the
wall without any special case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, STRtree

from moldgen.solid.loft.band import BandLimits
from moldgen.solid.loft.contour import Contour, Loop, arc_steps_for, inset
from moldgen.solid.loft.narrow import (
    ON_OUTLINE_MM,
    Narrow,
    all_over,
    narrow_between,
    short_edged,
    too_narrow,
    with_outline,
    with_ridge_steps,
)
from moldgen.solid.loft.profile import Profile
from moldgen.solid.loft.surface import NONE, Steepest, Surface

__all__ = [
    "Contour",
    "LoftedWall",
    "Loop",
    "Surface",
    "add_wall",
    "inset",
    "too_narrow",
]

SLACK_DEG = 0.05
"""How much less than the draft a triangle may lean before its band is cut more carefully. [°]."""


@dataclass(frozen=True, slots=True, eq=False)
class LoftedWall:
    """A lofted wall.

    Attributes
    ----------
    outer, inner : Contour
        Where it leaves the parent's flat, and where its own flat begins.
    steepest : Steepest
        Its steepest triangle; slivers thinner than a micrometre are not judged.
    """

    outer: Contour
    inner: Contour
    steepest: Steepest


def add_wall(
    surface: Surface,
    region: MultiPolygon,
    profile: Profile,
    *,
    z_mm: float,
    sunk: bool = False,
    chord_mm: float = 0.01,
) -> LoftedWall:
    """Add the wall of a raised or sunk outline to a surface.

    Parameters
    ----------
    surface : Surface
        Gathers the corners and triangles.
    region : MultiPolygon
        The outline at the profile's reading height. [mm]
    profile : Profile
        For a sunk outline the profile is read from the floor up, like any other: its root is at
        the floor of the recess and its rim at the mouth.
    z_mm : float
        Height of the flat that the wall leaves: its foot if raised, its mouth if sunk. [mm]
    sunk : bool
        Whether the wall goes down.
    chord_mm : float
        Greatest distance between the profile and its chords. [mm]

    Returns
    -------
    LoftedWall
        The contours at either end; the caller fills the flats.
    """
    d, z = profile.stations(chord_mm=chord_mm)
    if sunk:
        # The raised wall of the recess's plug, seen from its mouth: distances run the other way.
        d, z = -d[::-1], (z - profile.height_mm)[::-1]
    d, z = with_outline(d, z + z_mm)
    steepest = 1 / tan(radians(max(profile.draft_deg - SLACK_DEG, 1e-3)))
    walls = [_add_island(surface, part, d, z, steepest) for part in _islands(region, d[0])]
    return LoftedWall(
        Contour.together([wall.outer for wall in walls]),
        Contour.together([wall.inner for wall in walls]),
        max((wall.steepest for wall in walls), key=lambda each: each.slope, default=NONE),
    )


def _islands(region: MultiPolygon, first_mm: float) -> list[MultiPolygon]:
    """Return the groups of an outline's parts that share one piece of the first contour."""
    pieces = list(inset(region, first_mm).geoms)
    if len(pieces) == 1:
        return [region]
    inner = shapely.point_on_surface(shapely.get_parts(region))
    owner = STRtree(pieces).query_nearest(inner, all_matches=False)[1]
    parts = shapely.get_parts(region)
    groups = [MultiPolygon(parts[owner == number].tolist()) for number in range(len(pieces))]
    return [group for group in groups if not group.is_empty]


def _add_island(
    surface: Surface,
    region: MultiPolygon,
    d_mm: NDArray[np.float64],
    z_mm: NDArray[np.float64],
    steepest: float,
) -> LoftedWall:
    since = surface.mark()
    walled = _add_refined(
        surface,
        region,
        d_mm=d_mm,
        z_mm=z_mm,
        steepest=steepest,
        narrow=narrow_between(region, d_mm[0], d_mm[-1]),
    )
    if not steepest < walled.steepest.slope < np.inf:
        return walled
    first = surface.take_back(since)
    again = _add_refined(
        surface, region, d_mm=d_mm, z_mm=z_mm, steepest=steepest, narrow=all_over(region, d_mm[0])
    )
    if again.steepest.slope < walled.steepest.slope:
        return again
    surface.take_back(since)
    surface.put_back(first)
    return walled


def _add_refined(
    surface: Surface,
    region: MultiPolygon,
    *,
    d_mm: NDArray[np.float64],
    z_mm: NDArray[np.float64],
    steepest: float,
    narrow: Narrow,
) -> LoftedWall:
    """Add the wall of an island, in finer steps where it is narrow."""
    since = surface.mark()
    if narrow:
        d_mm, z_mm = with_ridge_steps(d_mm, z_mm, narrow)
    arc_steps = arc_steps_for(max(-d_mm[0], d_mm[-1]))
    levels = [inset(region, distance, arc_steps=arc_steps) for distance in d_mm]
    if narrow:
        levels = short_edged(levels, d_mm, narrow)
    outer, inner = _add_levels(surface, levels, d_mm, z_mm, steepest)
    return LoftedWall(outer, inner, surface.ease(since, (outer, inner), limit=steepest))


def _add_levels(
    surface: Surface,
    levels: Sequence[MultiPolygon],
    d_mm: NDArray[np.float64],
    z_mm: NDArray[np.float64],
    steepest: float,
) -> tuple[Contour, Contour]:
    first = contour = surface.add_contour(levels[0], z_mm[0])
    for k in range(1, len(levels)):
        before, run = contour, float(d_mm[k] - d_mm[k - 1])
        if run < 1e-9:
            contour = surface.add_copy(before, z_mm[k])
            surface.fill_upright(before, contour)
            continue
        contour = surface.add_contour(levels[k], z_mm[k])
        band = BandLimits(
            run_mm=run,
            rise_mm=float(z_mm[k] - z_mm[k - 1]),
            steepest=steepest,
            outward=bool(d_mm[k] < ON_OUTLINE_MM),
        )
        surface.fill_band(before, contour, band)
    return first, contour
