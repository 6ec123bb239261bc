"""Lit views of a bent strip and of the jigs it is bent in."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from moldgen.export.picture.canvas import PAPER, Canvas, Color
from moldgen.export.picture.render import View, ViewFrame, frame_of, render
from moldgen.solid.mesh import Body, joined
from moldgen.units_text import as_read

_PLASTIC: Color = (150, 182, 199)
_PRINT: Color = (221, 190, 132)
_PANEL_PX = (700, 460)
_VIEWS = (View(azimuth_deg=-30, elevation_deg=28), View(azimuth_deg=60, elevation_deg=28))


def bodies_png(printed: Sequence[Body], *, strip: Body | None = None, title: str = "") -> bytes:
    """Return a PNG of printed bodies, and of a strip in another color, from two sides.

    Raises
    ------
    SpecError
        If there is nothing to show.
    """
    bodies = [*printed, *([strip] if strip is not None else [])]
    mesh = joined([body.mesh for body in bodies])
    paint = [_PRINT] * len(printed) + [_PLASTIC]
    colors = np.concatenate(
        [
            np.tile(np.array(color, np.uint8), (len(body.mesh.triangles), 1))
            for body, color in zip(bodies, paint, strict=False)
        ]
    )
    frames = [frame_of(mesh, view=view, size_px=_PANEL_PX, margin=0.07) for view in _VIEWS]
    scale = min(frame.px_per_mm for frame in frames)
    wide, tall = _PANEL_PX
    canvas = Canvas(2 * wide, tall + 60)
    for number, (view, frame) in enumerate(zip(_VIEWS, frames, strict=True)):
        even = ViewFrame(right_mm=frame.right_mm, up_mm=frame.up_mm, px_per_mm=scale)
        panel = render(
            mesh, view=view, size_px=_PANEL_PX, colors=colors, background=PAPER, frame=even
        )
        canvas.paste(panel, left_px=number * wide, top_px=0)
    low, high = mesh.bounds_mm
    size = " x ".join(f"{side:.0f}" for side in high - low)
    size = as_read(f"{size} mm")
    words = f"{title}, {size}" if title else size
    canvas.write((28, tall + 36), words, size_px=20, room_px=2 * wide - 56)
    return canvas.png()
