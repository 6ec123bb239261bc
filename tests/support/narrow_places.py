"""Gaps and strokes that are too narrow for a wall."""

from __future__ import annotations

from shapely import MultiPolygon

from moldgen.solid.loft.narrow import narrow_between
from moldgen.solid.loft.profile import Profile


def narrow_places(region: MultiPolygon, profile: Profile) -> tuple[MultiPolygon, MultiPolygon]:
    """Return the gaps and the strokes of a raised outline too narrow for its wall. [mm]."""
    narrow = narrow_between(region, profile.foot_mm, profile.inset_mm)
    return narrow.gaps, narrow.strokes
