"""Letters as shapes, for the names that a built-in font cannot spell."""

from __future__ import annotations

from functools import cache
from typing import Any

from moldgen.typeface.face import drawing_font

_STEPS = 6  # straight pieces to a curve: finer than print at lettering sizes


@cache
def glyph_rings(
    text: str, size_mm: float
) -> tuple[tuple[tuple[tuple[float, float], ...], ...], float]:
    """Return the closed rings of a line of text on a base line, and its width [mm].

    Rings are wound as the font winds them, to be filled by the non-zero rule.
    """
    import uharfbuzz

    font = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(drawing_font()))))
    scale = size_mm / font.face.upem
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    rings: list[tuple[tuple[float, float], ...]] = []
    x = 0.0
    for glyph, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        pen = _RingPen(scale, x + place.x_offset, place.y_offset)
        font.draw_glyph_with_pen(glyph.codepoint, pen)
        rings += pen.rings
        x += place.x_advance
    return tuple(rings), x * scale


class _RingPen:
    """Collects what the font draws, curves cut straight; its methods have the caller's names."""

    def __init__(self, scale: float, x: float, y: float) -> None:
        self.rings: list[tuple[tuple[float, float], ...]] = []
        self._scale, self._x, self._y = scale, x, y
        self._ring: list[tuple[float, float]] = []

    def moveTo(self, point: Any) -> None:
        self._ring = [point]

    def lineTo(self, point: Any) -> None:
        self._ring.append(point)

    def qCurveTo(self, control: Any, end: Any) -> None:
        (ax, ay), (bx, by), (cx, cy) = self._ring[-1], control, end
        for step in range(1, _STEPS + 1):
            t = step / _STEPS
            a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
            self._ring.append((a * ax + b * bx + c * cx, a * ay + b * by + c * cy))

    def curveTo(self, first: Any, second: Any, end: Any) -> None:
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self._ring[-1], first, second, end
        for step in range(1, _STEPS + 1):
            t = step / _STEPS
            a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
            self._ring.append(
                (a * ax + b * bx + c * cx + d * dx, a * ay + b * by + c * cy + d * dy)
            )

    def closePath(self) -> None:
        self.rings.append(
            tuple(((x + self._x) * self._scale, (y + self._y) * self._scale) for x, y in self._ring)
        )
