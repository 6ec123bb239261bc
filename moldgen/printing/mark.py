"""Mark: a number sunk into the side that lies on the bed, to be read from below."""

from __future__ import annotations

import shapely
from manifold3d import Manifold
from shapely.affinity import scale

from moldgen.printing.label import LABEL_MM, label_in
from moldgen.solid.polygons import polygons_of
from moldgen.solid.prism import prism
from moldgen.solid.slices import within_all

SKIN_MM = 1.2
"""Plastic left over a sunk number. [mm]."""
_NEAR_MM = 0.03


def label_tool(
    solid: Manifold, words: str, *, clear: shapely.Geometry | None = None, tallest_mm: float = 8.0
) -> Manifold | None:
    """Return the cutter of words sunk into a solid's underside; None if there is no room.

    Parameters
    ----------
    clear : region, optional
        Where nothing may be sunk, seen from above. [mm]
    """
    _, _, low, _, _, high = solid.bounding_box()
    deep = LABEL_MM + SKIN_MM
    if high - low <= deep:
        return None
    levels = [low + _NEAR_MM, low + LABEL_MM, low + deep]
    room = within_all(solid, levels, 0.0)
    if clear is not None and not clear.is_empty:
        room = polygons_of(shapely.difference(room, clear))
    if room.is_empty:
        return None
    # What is read from below is drawn mirrored.
    mirrored = scale(room, xfact=-1.0, origin=(0, 0))
    placed = label_in(mirrored, [words], tallest_mm=tallest_mm)
    if placed is None:
        return None
    region = scale(placed, xfact=-1.0, origin=(0, 0))
    return prism(region, low - 1.0, low + LABEL_MM)
