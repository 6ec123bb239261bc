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

_WINDOW = {"x": "-10%", "y": "-10%", "width": "120%", "height": "120%"}
"""Where a mask lies if it does not say (CSS Masking Module Level 1, section 8.1)."""

_BEYOND = ("filter", "mask")


def is_plain(mask: Element) -> bool:
    """Tell whether a mask holds shapes alone: no picture, no filter and no mask of its own."""
    return not any(map(_is_beyond, mask.iter()))


def _is_beyond(element: Element) -> bool:
    said = element.get("style", "").replace(" ", "")
    by_style = any(f"{word}:" in said for word in _BEYOND)
    return by_style or local_name(element) == "image" or bool(set(_BEYOND) & set(element.keys()))


def window_of(mask: Element) -> dict[str, str] | None:
    """Return the box that a mask states, as texts; None if it leaves it to the shape."""
    if not any(mask.get(name) for name in _WINDOW):
        return None
    return {name: mask.get(name) or usual for name, usual in _WINDOW.items()}


def is_of_alpha(mask: Element) -> bool:
    """Tell whether all that is painted in a mask is seen through it, whatever its color."""
    said = f"mask-type:{mask.get('mask-type', '')} {mask.get('style', '')}".replace(" ", "")
    return "mask-type:alpha" in said


def is_half_clear(pieces: Sequence[Piece]) -> bool:
    """Tell whether something in a mask lets some light through and keeps some."""
    return any(
        0 < piece.opacity * alpha < 1 for piece in pieces for _, alpha in _colors(piece.paints)
    )


def seen_through(pieces: Sequence[Piece], *, alpha: bool) -> BaseGeometry | None:
    """Return the area that a mask leaves: what is seen through it by half or more.

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
        effect = _effect(piece, alpha=alpha)
        if effect is None:
            return None
        if effect > 0:
            area = united([area, piece.area], what="a mask")
        elif effect < 0:
            area = shapely.difference(area, piece.area)
    return area


def _effect(piece: Piece, *, alpha: bool) -> int | None:
    """Return whether a shape in a mask shows (1), hides (-1) or changes nothing by half (0).

    None where its paints are no plain colors, or some do one thing, some another.
    """
    colors = _colors(piece.paints)
    if len(colors) < len(piece.paints):
        return None
    effects = {_effect_of(1.0 if alpha else light, a * piece.opacity) for light, a in colors}
    return effects.pop() if len(effects) == 1 else None


def _effect_of(light: float, alpha: float) -> int:
    """Return what a paint does to what is dark below it, and to what is light."""
    if light * alpha >= _LIGHT:
        return 1
    return 0 if light * alpha + 1 - alpha >= _LIGHT else -1


def _colors(paints: Iterable[str]) -> list[tuple[float, float]]:
    """Return luminance and alpha of each paint that is a plain color."""
    colors = (parse_color(paint) for paint in paints)
    return [(_luminance(one), float(one.alpha)) for one in colors if isinstance(one, Color)]


def _luminance(color: Color) -> float:
    parts = [share or 0.0 for share in color.to("srgb").coordinates]
    return sum(s * part for s, part in zip(_SHARES, parts, strict=True))
