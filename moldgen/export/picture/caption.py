"""The line along the foot of a picture: scale bar, title, size."""

from __future__ import annotations

import numpy as np

from moldgen.export.picture.canvas import NAVY, SLATE, Canvas
from moldgen.solid.mesh import Mesh
from moldgen.units_text import Units, as_read, drawn_scale, units_now


def write_caption(canvas: Canvas, mesh: Mesh, title: str, *, px_per_mm: float) -> None:
    """Write scale bar, title and size along the foot of a picture."""
    foot = canvas.height_px
    canvas.trail([(24, foot - 66), (canvas.width_px - 24, foot - 66)], width_px=1, color=SLATE)
    bar_mm = _bar_mm(px_per_mm, room_px=canvas.width_px / 3)
    scale = drawn_scale("mm")
    words = f"{round(scale.told(bar_mm), 6):g} {scale.unit}"
    _scale_bar(canvas, (24, foot - 30), bar_mm * px_per_mm, words)
    width, depth, height = np.ptp(mesh.points_mm, axis=0)
    size = as_read(f"{width:.1f} × {depth:.1f} × {height:.1f} mm")
    right = canvas.width_px - 24
    canvas.write((right, foot - 24), size, size_px=21, anchor="rs", bold=True)
    canvas.write((canvas.width_px / 2, foot - 24), title, size_px=21, anchor="ms", room_px=560)


def _bar_mm(px_per_mm: float, *, room_px: float) -> float:
    """Return 50 mm or 2 in, or the next round length that can be drawn and seen."""
    round_ones = (50, 10, 5, 1, 0.1, 100, 500) if units_now() is Units.MM else _ROUND_INCHES_MM
    fits = [b for b in round_ones if 40 <= b * px_per_mm <= room_px]
    return fits[0] if fits else room_px / px_per_mm / 2


_ROUND_INCHES_MM = tuple(25.4 * inches for inches in (2, 0.5, 0.2, 0.05, 0.005, 5, 20))


def _scale_bar(canvas: Canvas, place: tuple[float, float], length_px: float, words: str) -> None:
    x, y = place
    for part in range(5):
        left, right = x + part * length_px / 5, x + (part + 1) * length_px / 5
        ink = NAVY if part % 2 == 0 else (255, 255, 255)
        canvas.area([(left, y - 4), (right, y - 4), (right, y + 4), (left, y + 4)], color=ink)
    frame = [(x, y - 4), (x + length_px, y - 4), (x + length_px, y + 4), (x, y + 4), (x, y - 4)]
    canvas.trail(frame, width_px=1)
    canvas.write((x + length_px + 10, y), words, size_px=17, anchor="lm")
