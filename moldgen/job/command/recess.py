"""Recesses in a block, as trays and nests have them: corners, ribs between, block around."""

from __future__ import annotations

from math import ceil, radians, tan

from moldgen.job.command.mold import MoldOptions
from moldgen.mold.trim_rule import RIM_MM

LEAN = 0.08
"""Lean of a recess's wall where the rules say its draft: 4.5°, the most of any plastic. [-]."""
CORNER_MM = 6.0
"""Usual corner of a recess, seen from above, and usual rib between two. [mm]."""
MOST_CORNER = 0.4
"""Share of a recess's smaller side that its corner may be. [-]."""
FLOOR_MM = 4.0
"""Block left under a recess, room for a vent's land and the channels (derived: 1.6 + 1.2, up)."""

_LAND_MM = 12.0
"""Block left round a recess, so that its wall carries the vacuum (common practice, no source)."""
_LEAST_EDGE_MM = 1.5
_FLOOR_CORNER = 0.05
"""Radius that is left of it at the floor, as a share of the depth (common practice, no source)."""


def corner_mm(options: MoldOptions, depth_mm: float, *, usual_mm: float = CORNER_MM) -> float:
    """Return a corner that is still round at the floor, where the sheet is thinnest. [mm]."""
    left_mm = max(options.sheet_mm, _FLOOR_CORNER * depth_mm)
    return max(usual_mm, ceil(2 * (LEAN * depth_mm + left_mm)) / 2)


def gap_mm(options: MoldOptions) -> float:
    """Return a gap between recesses that leaves a rib two gauges and 2 mm wide. [mm].

    The sheet lies on both sides of the rib, up to four fifths of its gauge thick.
    """
    return max(CORNER_MM, ceil(2 * (3.6 * options.sheet_mm + 2)) / 2)


def land_mm(options: MoldOptions, depth_mm: float) -> float:
    """Return the block left round recesses, so that its flat top holds the rim. [mm].

    A recess lies in the formed part, so its mouth is wider by the sheet, its lean and its edge;
    the block's own edge is round as well.
    """
    rim = RIM_MM if options.flange_mm is None else options.flange_mm
    lean = LEAN if options.draft_deg is None else tan(radians(options.draft_deg))
    edge = options.top_radius_mm
    if edge is None:
        edge = max(options.sheet_mm, _LEAST_EDGE_MM)
    return max(_LAND_MM, ceil(rim + options.sheet_mm + lean * depth_mm + 2 * edge))
