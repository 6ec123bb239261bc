"""Where formed parts are cut from their sheet."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import MultiPolygon

from moldgen.job.spec import JobTrim, Side, TrimShape
from moldgen.mold.checks.spacing import flange_mm


def trim_region(trim: JobTrim, side: Side, foot: MultiPolygon, height_mm: float) -> MultiPolygon:
    """Return the region the formed parts are cut out along. [mm]."""
    flange = trim_flange_mm(trim, side, height_mm)
    if trim.shape is TrimShape.STRAIGHT:
        box = shapely.buffer(shapely.box(*foot.bounds), flange)
        return _as_multi([MultiPolygon([shapely.box(*box.bounds)])])
    return _as_multi([shapely.buffer(foot, flange, quad_segs=24)])


def trim_flange_mm(trim: JobTrim, side: Side, height_mm: float) -> float:
    """Return how much sheet is left round a part of some height. [mm]."""
    if trim.flange_mm is not None:
        return trim.flange_mm
    return flange_mm(1000.0 if side is Side.FEMALE else height_mm)


def _as_multi(regions: Sequence[MultiPolygon]) -> MultiPolygon:
    return MultiPolygon([part for region in regions for part in shapely.get_parts(region)])
