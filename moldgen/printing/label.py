"""Labels sunk into flat faces of printed parts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.affinity import translate

from moldgen.errors import SpecError
from moldgen.outline.choices import Align
from moldgen.outline.lettering.text import TextSpec, outline_from_text

LABEL_MM = 0.6
"""How deep letters are sunk. [mm]."""


LETTERS_MM = (8.0, 6.0, 5.0, 4.0, 3.0)
"""Heights of letters that are tried, tallest first; smaller strokes do not print. [mm]."""


LEAST_CLEAR_MM = 1.2
"""Left between a letter and an edge. [mm]."""


def label_in(
    room: shapely.Geometry, choices: Sequence[str], *, tallest_mm: float = LETTERS_MM[0]
) -> shapely.Geometry | None:
    """Return the first text that fits a region, as tall as fits; None if none does.

    Parameters
    ----------
    room : Polygon or MultiPolygon
        Where letters may be; they keep off its edge. [mm]
    choices : sequence of str
        Texts, the most welcome first; the last ones may be short.
    tallest_mm : float
        Height of the tallest letters that are tried. [mm]
    """
    clear = shapely.buffer(room, -LEAST_CLEAR_MM)
    if clear.is_empty:
        return None
    shapely.prepare(clear)
    for text in choices:
        for height in LETTERS_MM:
            if height <= tallest_mm:
                spec = TextSpec(text=text, height_mm=height, align=Align.CENTER, chord_mm=0.03)
                placed = _placed(outline_from_text(spec).region, clear)
                if placed is not None:
                    return placed
    return None


def _placed(words: shapely.Geometry, clear: shapely.Geometry) -> shapely.Geometry | None:
    x0, y0, x1, y1 = words.bounds
    left, low, right, high = clear.bounds
    if x1 - x0 > right - left or y1 - y0 > high - low:
        return None
    width, height = x1 - x0, y1 - y0
    xs = np.linspace(left, right - width, 13)
    ys = np.linspace(low, high - height, 9)
    boxes = [shapely.box(x, y, x + width, y + height) for y in ys for x in xs]
    fits = shapely.contains(clear, boxes)
    if not fits.any():
        return None
    middles = shapely.centroid(np.array(boxes)[fits])
    best = int(np.argmin(shapely.distance(middles, _heart(clear)).round(6)))
    spot = np.array(boxes)[fits][best].bounds
    return translate(words, spot[0] - x0, spot[1] - y0)


def _heart(region: shapely.Geometry) -> shapely.Point:
    """Return the middle of a region, or of its roomiest place if the middle is outside."""
    if region.contains(region.centroid):
        return region.centroid
    largest = max(shapely.get_parts(region), key=lambda part: part.area)
    return shapely.Point(shapely.maximum_inscribed_circle(largest).coords[0])


def writable(name: str) -> list[str]:
    """Return a name if one font has all its letters, else nothing."""
    try:
        outline_from_text(TextSpec(text=name, height_mm=5.0))
    except SpecError:
        return []
    return [name]
