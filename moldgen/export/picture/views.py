"""The pictures of a mold that go with its files: from two sides, cut open, and by draft."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import PAPER, SLATE, Canvas, Color, png_bytes
from moldgen.export.picture.caption import write_caption
from moldgen.export.picture.class_map import Classes, Mark, class_map_png
from moldgen.export.picture.render import View, ViewFrame, frame_of, render
from moldgen.export.picture.section import section_png
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.solid.normals import corner_normals

__all__ = ["draft_colors", "draft_map_png", "lit_views_png", "png_bytes", "section_png"]

MOLD: Color = (150, 182, 199)
_PANEL_PX = (700, 480)
_FRONT = View(azimuth_deg=-30, elevation_deg=35)
_BACK = View(azimuth_deg=150, elevation_deg=35)

# Classes of draft: red for trouble, then from deep water to shallows as the lean grows. The reds
# are told from the blues by every common kind of color blindness, and by lightness as well.
_UNDERCUT: Color = (96, 10, 40)
_UNDER_LIMIT: Color = (232, 64, 52)
_WALLS: tuple[Color, ...] = ((24, 66, 110), (52, 112, 158), (104, 162, 196), (164, 206, 222))
_FLAT: Color = (226, 214, 186)
_FLAT_DEG = 89.5
_SLACK_DEG = 0.1
"""Shortfall that chords of rounded corners may cause. [°]."""


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
    mesh = _whole(bodies)
    frames = [frame_of(mesh, view=view, size_px=_PANEL_PX, margin=0.06) for view in (_FRONT, _BACK)]
    scale = min(frame.px_per_mm for frame in frames)
    canvas = Canvas(2 * _PANEL_PX[0], _PANEL_PX[1] + 80)
    normals = corner_normals(mesh)
    for number, (view, frame) in enumerate(zip((_FRONT, _BACK), frames, strict=True)):
        even = ViewFrame(right_mm=frame.right_mm, up_mm=frame.up_mm, px_per_mm=scale)
        panel = render(
            mesh, view=view, size_px=_PANEL_PX, colors=MOLD, background=PAPER, frame=even,
            normals=normals,
        )  # fmt: skip
        canvas.paste(panel, left_px=number * _PANEL_PX[0], top_px=0)
        words = ("front and left side", "back and right side")[number]
        canvas.write((number * _PANEL_PX[0] + 24, 34), words, size_px=17, color=SLATE)
    write_caption(canvas, mesh if sized is None else sized, title, px_per_mm=scale)
    return canvas.png()


def draft_map_png(
    bodies: Sequence[Body],
    drafts_deg: NDArray[np.float64],
    *,
    limit_deg: float,
    title: str = "",
) -> bytes:
    """Return a PNG of the mold from above, its walls colored by how much they lean.

    Parameters
    ----------
    bodies : sequence of Body
        The mold. [mm]
    drafts_deg : ndarray, shape (m,)
        Lean of each triangle of all bodies in their order: 0 upright, negative undercut, 90 flat,
        nan where the sheet does not lie. [°]
    limit_deg : float
        Draft that every wall should have. [°]
    title : str, optional
        What stands in the caption before the size.

    Returns
    -------
    bytes
        1400 pixels wide.

    Raises
    ------
    SpecError
        If there is no body, or the drafts are not one for each triangle.
    """
    mesh = _whole(bodies)
    if len(drafts_deg) != len(mesh.triangles):
        rule = f"one for each of {len(mesh.triangles)} triangles"
        raise SpecError("drafts_deg", rule, str(len(drafts_deg)))
    classes = draft_classes(limit_deg)
    marks = _least_mark(mesh, drafts_deg, limit_deg=limit_deg)
    return class_map_png(mesh, drafts_deg, classes, title=title, marks=marks)


def draft_colors(drafts_deg: NDArray[np.float64], *, limit_deg: float) -> NDArray[np.uint8]:
    """Return the screen color of each draft, for maps and for bodies in GLB files.

    Parameters
    ----------
    drafts_deg : ndarray, shape (m,)
        As for `draft_map_png`. [°]
    limit_deg : float
        Draft that every wall should have; 0.1° less still counts. [°]

    Returns
    -------
    ndarray, shape (m, 3), uint8
        Red under the limit, dark red undercut, blues above, sand for flats, gray for nan.
    """
    return draft_classes(limit_deg).colors_of(drafts_deg)


def draft_classes(limit_deg: float) -> Classes:
    """Return the classes of draft: undercut, under the limit, walls, flats."""
    inner = [border for border in (10.0, 20.0, 45.0) if border > limit_deg]
    # The darkest blue always stands for the walls just above the limit.
    walls = [*_WALLS[: len(inner)], _WALLS[-1]]
    ends = [f"{border:g}" for border in (limit_deg, *inner)]
    names = [f"{low} to {high}°" for low, high in pairwise([*ends, "89.5"])]
    return Classes(
        borders=(-_SLACK_DEG, limit_deg - _SLACK_DEG, *inner, _FLAT_DEG),
        colors=(_UNDERCUT, _UNDER_LIMIT, *walls, _FLAT),
        names=("undercut", f"under {limit_deg:g}°", *names, "top face"),
        n_trouble=2,
    )


def _whole(bodies: Sequence[Body]) -> Mesh:
    if not bodies:
        raise SpecError("bodies", "at least one body", "none")
    return bodies[0].mesh if len(bodies) == 1 else joined([body.mesh for body in bodies])


def _least_mark(
    mesh: Mesh, drafts_deg: NDArray[np.float64], *, limit_deg: float
) -> tuple[Mark, ...]:
    """Mark the wall that leans least, if it leans too little."""
    least = int(np.nanargmin(drafts_deg)) if np.isfinite(drafts_deg).any() else -1
    if least < 0 or drafts_deg[least] >= limit_deg - _SLACK_DEG:
        return ()
    x_mm, y_mm = (float(v) for v in mesh.corners_mm[least].mean(axis=0)[:2])
    return (Mark(x_mm=x_mm, y_mm=y_mm, words=f"least: {drafts_deg[least]:.1f}°"),)
