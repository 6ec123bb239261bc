"""Lit views of a mold from two sides."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import PAPER, SLATE, Canvas, Color
from moldgen.export.picture.caption import write_caption
from moldgen.export.picture.render import View, ViewFrame, frame_of, render
from moldgen.solid.mesh import Body, Mesh, joined

MOLD: Color = (150, 182, 199)
_PANEL_PX = (700, 480)
_FRONT = View(azimuth_deg=-30, elevation_deg=35)
_BACK = View(azimuth_deg=150, elevation_deg=35)


def lit_views_png(bodies: Sequence[Body], *, title: str = "", sized: Mesh | None = None) -> bytes:
    """Return a PNG of the mold from its front and its back, with scale bar and size.

    Parameters
    ----------
    bodies : sequence of Body
        Everything that stands on the bench. [mm]
    title : str, optional
        What stands in the caption before the size.
    sized : Mesh, optional
        Whose size is told, if it is not that of all bodies as they are shown. [mm]

    Returns
    -------
    bytes
        1400 by 560 pixels; both views have the same scale.

    Raises
    ------
    SpecError
        If there is no body.
    """
    mesh = whole(bodies)
    frames = [frame_of(mesh, view=view, size_px=_PANEL_PX, margin=0.06) for view in (_FRONT, _BACK)]
    scale = min(frame.px_per_mm for frame in frames)
    canvas = Canvas(2 * _PANEL_PX[0], _PANEL_PX[1] + 80)
    for number, (view, frame) in enumerate(zip((_FRONT, _BACK), frames, strict=True)):
        even = ViewFrame(right_mm=frame.right_mm, up_mm=frame.up_mm, px_per_mm=scale)
        panel = render(
            mesh, view=view, size_px=_PANEL_PX, colors=MOLD, background=PAPER, frame=even
        )
        canvas.paste(panel, left_px=number * _PANEL_PX[0], top_px=0)
        words = ("front and left side", "back and right side")[number]
        canvas.write((number * _PANEL_PX[0] + 24, 34), words, size_px=17, color=SLATE)
    write_caption(canvas, mesh if sized is None else sized, title, px_per_mm=scale)
    return canvas.png()


def whole(bodies: Sequence[Body]) -> Mesh:
    """Return all bodies as one mesh, in their order.

    Raises
    ------
    SpecError
        If there is no body.
    """
    if not bodies:
        raise SpecError("bodies", "at least one body", "none")
    return joined([body.mesh for body in bodies])
