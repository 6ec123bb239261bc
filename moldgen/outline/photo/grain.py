"""Broken, grainy ink, such as crayon, taken for the area that it covers."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from moldgen.outline.photo.contour import contour
from moldgen.outline.photo.raster import Gray, reduced
from moldgen.solid.height.even import evened

_GRAINS = 40
"""Holes from which on ink is grainy."""

_CALM = 12
"""Pieces and holes of a drawing without grain."""

_SPREADS = (0.003, 0.005, 0.01)
"""Over which shares of the drawing's size ink is averaged, until few grains are left."""

_FINE_PX = 1000


def n_rings(region: MultiPolygon) -> int:
    """Return of how many lines, outer and inner, a region consists."""
    return sum(1 + len(part.interiors) for part in region.geoms)


def extent_px(region: MultiPolygon) -> float:
    """Return the longer side of the box round a region. [px]."""
    x0, y0, x1, y1 = region.bounds
    return float(max(x1 - x0, y1 - y0))


def without_grain(ink: Gray, region: MultiPolygon) -> MultiPolygon:
    """Return what grainy ink covers, ends and holes narrower than its grain closed.

    Parameters
    ----------
    ink : ndarray, shape (ny, nx)
        Above 0 where there is ink.
    region : MultiPolygon
        What that traces to; it is returned if it has no grain. [px]
    """
    if n_rings(region) - len(region.geoms) < _GRAINS:
        return region
    step = max(1, round(max(ink.shape) / _FINE_PX))
    cover = reduced(ink > 0, step)
    size = extent_px(region) / step
    even = region
    for spread in _SPREADS:
        even = _covered(cover, spread * size)
        if n_rings(even) < _CALM:
            break
    return shapely.transform(even, lambda xy: xy * step)


def _covered(cover: Gray, spread: float) -> MultiPolygon:
    """Return where ink covers half as much as it usually does within itself."""
    mean = evened(cover, spread_cells=spread)
    within = mean[mean > 0.35]
    usual = float(np.median(within)) if len(within) else 1.0
    parts = contour(mean - usual / 2).geoms
    return MultiPolygon(
        [
            Polygon(part.exterior, [one for one in part.interiors if _is_wide(one, 4 * spread)])
            for part in parts
            if _is_wide(part.exterior, 3 * spread)
        ]
    )


def _is_wide(ring: shapely.LinearRing, side_px: float) -> bool:
    return bool(Polygon(ring).area >= side_px**2)
