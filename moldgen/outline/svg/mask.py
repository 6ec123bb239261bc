"""What a mask leaves of a shape: what is painted light in it, or painted at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.etree.ElementTree import Element

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry
from tinycss2.color4 import Color, parse_color

from moldgen.outline.region import united
from moldgen.outline.svg.frame import Piece
from moldgen.outline.svg.tree import local_name

_LIGHT = 0.5
"""Luminance from which a shape under a mask is seen rather than not (no source)."""

_SHARES = (0.2125, 0.7154, 0.0721)
"""Of red, green and blue in luminance (CSS Masking Module Level 1, section 7.10.1)."""

_WINDOW = ("x", "y", "width", "height")


def is_plain(mask: Element) -> bool:
    """Tell whether a mask lies where masks usually do, and nothing in it is half clear."""
    boxed = mask.get("maskContentUnits") == "objectBoundingBox"
    cut = mask.get("maskUnits") != "userSpaceOnUse" and any(mask.get(name) for name in _WINDOW)
    return not (boxed or cut) and not any(map(_is_half_clear, mask.iter()))


def _is_half_clear(element: Element) -> bool:
    """Tell whether an element may let some light through and keep some."""
    said = element.get("style", "").replace(" ", "")
    by_style = any(word in said for word in ("opacity:", "filter:", "mask:"))
    return by_style or local_name(element) == "image" or bool(_CLEAR & set(element.keys()))


_CLEAR = {"opacity", "fill-opacity", "stroke-opacity", "filter", "mask"}


def is_of_alpha(mask: Element) -> bool:
    """Tell whether all that is painted in a mask is seen through it, whatever its color."""
    said = f"mask-type:{mask.get('mask-type', '')} {mask.get('style', '')}".replace(" ", "")
    return "mask-type:alpha" in said


def seen_through(pieces: Sequence[Piece], *, alpha: bool) -> BaseGeometry | None:
    """Return the area that a mask leaves.

    Parameters
    ----------
    pieces : sequence of Piece
        What is painted in it, the lowest first. [mm]
    alpha : bool
        Whether whatever is painted counts, or what is light.

    Returns
    -------
    geometry or None
        None where a paint is no plain color.
    """
    area: BaseGeometry = MultiPolygon()
    for piece in pieces:
        light = _is_plain_color(piece.paints) if alpha else _is_light(piece.paints)
        if light is None:
            return None
        if light:
            area = united([area, piece.area], what="a mask")
        else:
            area = shapely.difference(area, piece.area)
    return area


def _is_plain_color(paints: Iterable[str]) -> bool | None:
    return None if any(_is_light_color(paint) is None for paint in paints) else True


def _is_light(paints: Iterable[str]) -> bool | None:
    """Tell whether paints are light; None if they are no plain colors, or some light, some not."""
    seen = {_is_light_color(paint) for paint in paints}
    return seen.pop() if len(seen) == 1 else None


def _is_light_color(paint: str) -> bool | None:
    color = parse_color(paint)
    if not isinstance(color, Color) or color.alpha != 1:
        return None
    parts = [share or 0.0 for share in color.to("srgb").coordinates]
    return sum(s * part for s, part in zip(_SHARES, parts, strict=True)) >= _LIGHT
