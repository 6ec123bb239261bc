"""Mark: a number sunk into the side that lies on the bed, to be read from below."""

from __future__ import annotations

from manifold3d import Manifold
from shapely.affinity import scale

from moldgen.printing.label import LABEL_MM, label_in
from moldgen.solid.prism import prism
from moldgen.solid.slices import within_all

SKIN_MM = 1.2
"""Plastic left over a sunk number. [mm]."""
_NEAR_MM = 0.03
_TALLEST_MM = 8.0


def label_tool(solid: Manifold, text: str) -> Manifold | None:
    """Return the cutter of a text sunk into a solid's underside; None if there is no room."""
    _, _, low, _, _, high = solid.bounding_box()
    deep = LABEL_MM + SKIN_MM
    if high - low <= deep:
        return None
    levels = [low + _NEAR_MM, low + LABEL_MM, low + deep]
    room = within_all(solid, levels, 0.0)
    if room.is_empty:
        return None
    # What is read from below is drawn mirrored.
    mirrored = scale(room, xfact=-1.0, origin=(0, 0))
    placed = label_in(mirrored, [text], tallest_mm=_TALLEST_MM)
    if placed is None:
        return None
    region = scale(placed, xfact=-1.0, origin=(0, 0))
    return prism(region, low - 1.0, low + LABEL_MM)
