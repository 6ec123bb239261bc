"""What drawn lines enclose, small gaps in them closed."""

from __future__ import annotations

import shapely
from shapely import MultiPolygon, Polygon

from moldgen.errors import OutlineError
from moldgen.outline.photo.grain import extent_px
from moldgen.solid.polygons import polygons_of

_REACHES = (0.0, 0.001, 0.002, 0.004, 0.006, 0.008, 0.01)
"""How far the ends of lines reach for one another, as shares of the drawing's size."""

_MOST_OF_IT = 0.95
_NOTHING = 1.05
"""What encloses less than this share of its ink encloses nothing."""

_THIN = 0.01
"""Half the width of lines that are too thin to be meant as areas, as a share of the size."""

_BROAD = 0.02
"""Half the width, as a share of the size, from which on ink is an area and no line."""

_THICKER = 1.6


def enclosed(ink: MultiPolygon) -> MultiPolygon:
    """Return ink with what its lines enclose, gaps up to a hundredth of its size closed.

    Raises
    ------
    OutlineError
        If thin lines enclose nothing.
    """
    size = extent_px(ink)
    base = polygons_of(shapely.simplify(ink, min(0.5, 0.002 * size)))
    closed = [_closed(base, reach * size) for reach in _REACHES]
    enough = _MOST_OF_IT * closed[-1].area
    filled = next(one for one in closed if one.area >= enough)
    whole = _outer(polygons_of(shapely.union(ink, filled)))
    if whole.area < _NOTHING * ink.area and _half_width_px(ink) < _THIN * size:
        raise OutlineError(
            "The drawn lines enclose nothing: they have gaps wider than a hundredth of the "
            "drawing, or are too pale in places. Go over them with a darker pen and close them, "
            "or leave filling out to raise the lines themselves."
        )
    return whole


def open_share(ink: MultiPolygon, whole: MultiPolygon) -> float:
    """Return the share of ink in lines that enclose nothing. [-]."""
    half = _half_width_px(ink)
    if half > _BROAD * extent_px(ink):
        return 0.0
    if whole.area < _NOTHING * ink.area:
        return 1.0
    thick = shapely.buffer(shapely.buffer(whole, -_THICKER * half), 2 * _THICKER * half)
    return float(shapely.difference(whole, thick).area / ink.area)


def _closed(ink: MultiPolygon, reach: float) -> MultiPolygon:
    if not reach:
        return _outer(ink)
    wide = _outer(polygons_of(shapely.buffer(ink, reach, quad_segs=4)))
    return polygons_of(shapely.buffer(wide, -reach, quad_segs=4))


def _outer(region: MultiPolygon) -> MultiPolygon:
    return polygons_of(shapely.union_all([Polygon(part.exterior) for part in region.geoms]))


def _half_width_px(ink: MultiPolygon) -> float:
    return float(ink.area / ink.length)
