"""Raise or sink an outline along a wall profile: a surface that closes by construction.

The outline is offset inward to stations on the profile, and the band between two neighboring
contours is filled by a triangulation whose corners are just the two contours. Every corner keeps
its height and neighboring bands share their corners, so the surface has no seams, its flats are
flat and its straight walls are plane. Letters split and vanish where they are too thin for the
wall without any special case.
"""

from __future__ import annotations

from math import radians, tan

import shapely
from shapely import MultiPolygon, STRtree

from moldgen.solid.loft.contour import Contour, Loop, inset
from moldgen.solid.loft.island import LoftedWall, Stations, add_island
from moldgen.solid.loft.narrow import too_narrow, with_outline
from moldgen.solid.loft.profile import Profile
from moldgen.solid.loft.surface import NONE, Surface

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


def add_wall(
    surface: Surface,
    region: MultiPolygon,
    profile: Profile,
    *,
    z_mm: float,
    sunk: bool = False,
    chord_mm: float = 0.01,
    floor_corner_mm: float = 0.0,
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
    floor_corner_mm : float
        Least radius of the corners of a recess at its floor, seen from above; from the mouth on
        they grow to it evenly with depth. [mm]

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
    slope = 1 / tan(radians(max(profile.draft_deg - SLACK_DEG, 1e-3)))
    stations = Stations(
        d_mm=d, z_mm=z, steepest=slope, floor_corner_mm=floor_corner_mm if sunk else 0.0
    )
    walls = [add_island(surface, part, stations) for part in _islands(region, d[0])]
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
