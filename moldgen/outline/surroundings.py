"""What lies around the paper in a photograph: a dark table, taken for ink."""

from __future__ import annotations

import shapely
from shapely import MultiPolygon

_ALONG_EDGE = 0.15
"""Share of the picture's border from which on what touches it is no drawing that runs off."""

_LEAST_LEFT = 0.002
"""Share of the picture that must be left for the drawing."""

_NEAR_PX = 1.0


def without_surroundings(
    region: MultiPolygon, size_px: tuple[int, int]
) -> tuple[MultiPolygon, float]:
    """Return the ink without what lies around the paper, and the area of that. [px].

    What goes along the border of the picture is left out if something else remains.

    Parameters
    ----------
    region : MultiPolygon
        Everything dark. [px]
    size_px : tuple of two ints
        Width and height of the picture.
    """
    frame = shapely.box(0, 0, *size_px)
    rim = shapely.difference(shapely.buffer(frame, 1.0), shapely.buffer(frame, -_NEAR_PX))
    most_px2 = _ALONG_EDGE * frame.length * _NEAR_PX
    around = [
        part for part in region.geoms if shapely.area(shapely.intersection(part, rim)) > most_px2
    ]
    rest = [part for part in region.geoms if part not in around]
    if not around or sum(part.area for part in rest) < _LEAST_LEFT * frame.area:
        return region, 0.0
    return MultiPolygon(rest), float(sum(part.area for part in around))
