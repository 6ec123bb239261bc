"""The pictures of a mold that go with its files: from two sides, cut open, and by draft."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.export.canvas import NAVY, PAPER, SIGNAL_RED, SLATE, Canvas, Colour, png_bytes
from moldgen.export.render import Frame, View, frame_of, render
from moldgen.export.section_picture import section_png
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.solid.normals import corner_normals

__all__ = ["draft_colours", "draft_map_png", "lit_views_png", "png_bytes", "section_png"]

MOLD: Colour = (150, 182, 199)
_PANEL_PX = (700, 480)
_FRONT = View(azimuth_deg=-30, elevation_deg=35)
_BACK = View(azimuth_deg=150, elevation_deg=35)
_ABOVE = View(azimuth_deg=0, elevation_deg=90)

# Classes of draft: red for trouble, then from deep water to shallows as the lean grows. The reds
# are told from the blues by every common kind of colour blindness, and by lightness as well.
_UNDERCUT: Colour = (96, 10, 40)
_UNDER_LIMIT: Colour = (232, 64, 52)
_WALLS: tuple[Colour, ...] = ((24, 66, 110), (52, 112, 158), (104, 162, 196), (164, 206, 222))
_FLAT: Colour = (226, 214, 186)
_NO_WALL: Colour = (176, 176, 172)
_FLAT_DEG = 89.5
_SLACK_DEG = 0.1
"""Shortfall that chords of rounded corners may cause. [°]."""


def lit_views_png(bodies: Sequence[Body], *, title: str = "") -> bytes:
    """Return a PNG of the mold from its front and its back, with scale bar and size.

    Parameters
    ----------
    bodies : sequence of Body
        Everything that stands on the bench. [mm]
    title : str, optional
        What stands in the caption before the size.

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
        even = Frame(right_mm=frame.right_mm, up_mm=frame.up_mm, px_per_mm=scale)
        panel = render(
            mesh, view=view, size_px=_PANEL_PX, colours=MOLD, background=PAPER, frame=even,
            normals=normals,
        )  # fmt: skip
        canvas.paste(panel, left_px=number * _PANEL_PX[0], top_px=0)
        words = ("front and left side", "back and right side")[number]
        canvas.write((number * _PANEL_PX[0] + 24, 34), words, size_px=17, colour=SLATE)
    _caption(canvas, mesh, title, px_per_mm=scale)
    return canvas.png()


def draft_map_png(
    bodies: Sequence[Body],
    drafts_deg: NDArray[np.float64],
    *,
    limit_deg: float,
    title: str = "",
) -> bytes:
    """Return a PNG of the mold from above, its walls coloured by how much they lean.

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
    colours = draft_colours(drafts_deg, limit_deg=limit_deg)
    if len(colours) != len(mesh.triangles):
        rule = f"one for each of {len(mesh.triangles)} triangles"
        raise SpecError("drafts_deg", rule, str(len(colours)))
    size_px = (1400, _map_height_px(mesh))
    frame = frame_of(mesh, view=_ABOVE, size_px=size_px, margin=0.05)
    canvas = Canvas(size_px[0], size_px[1] + 140)
    panel = render(
        mesh,
        view=_ABOVE,
        size_px=size_px,
        colours=colours,
        background=PAPER,
        frame=frame,
        even_light=True,
    )
    canvas.paste(panel, left_px=0, top_px=0)
    _mark_least(canvas, mesh, drafts_deg, frame, size_px, limit_deg=limit_deg)
    _legend(canvas, mesh, drafts_deg, limit_deg=limit_deg, top_px=size_px[1])
    _caption(canvas, mesh, title, px_per_mm=frame.px_per_mm)
    return canvas.png()


def draft_colours(drafts_deg: NDArray[np.float64], *, limit_deg: float) -> NDArray[np.uint8]:
    """Return the screen colour of each draft, for maps and for bodies in GLB files.

    Parameters
    ----------
    drafts_deg : ndarray, shape (m,)
        As for `draft_map_png`. [°]
    limit_deg : float
        Draft that every wall should have; 0.1° less still counts. [°]

    Returns
    -------
    ndarray, shape (m, 3), uint8
        Red under the limit, dark red undercut, blues above, sand for flats, grey for nan.
    """
    edges, colours, _ = _classes(limit_deg)
    paint = np.array([*colours, _NO_WALL], dtype=np.uint8)
    number = np.searchsorted(edges, np.nan_to_num(drafts_deg), side="right")
    number[np.isnan(drafts_deg)] = len(colours)
    return paint[number]


def _classes(limit_deg: float) -> tuple[list[float], list[Colour], list[str]]:
    """Upper borders of the classes but the last, their colours and what the legend calls them."""
    inner = [border for border in (10.0, 20.0, 45.0) if border > limit_deg]
    # The darkest blue always stands for the walls just above the limit.
    walls = [*_WALLS[: len(inner)], _WALLS[-1]]
    edges = [-_SLACK_DEG, limit_deg - _SLACK_DEG, *inner, _FLAT_DEG]
    ends = [f"{border:g}" for border in (limit_deg, *inner)]
    names = [f"{low} to {high}°" for low, high in zip(ends, [*ends[1:], "89.5"], strict=True)]
    return (
        edges,
        [_UNDERCUT, _UNDER_LIMIT, *walls, _FLAT],
        ["undercut", f"under {limit_deg:g}°", *names, "flat"],
    )


def _whole(bodies: Sequence[Body]) -> Mesh:
    if not bodies:
        raise SpecError("bodies", "at least one body", "none")
    return bodies[0].mesh if len(bodies) == 1 else joined([body.mesh for body in bodies])


def _map_height_px(mesh: Mesh) -> int:
    width, depth, _ = np.ptp(mesh.points_mm, axis=0)
    return int(np.clip(1260 * depth / max(width, 1e-9) + 120, 360, 1000))


def _mark_least(
    canvas: Canvas,
    mesh: Mesh,
    drafts_deg: NDArray[np.float64],
    frame: Frame,
    size_px: tuple[int, int],
    *,
    limit_deg: float,
) -> None:
    """Ring the wall that leans least, if it leans too little."""
    least = int(np.nanargmin(drafts_deg)) if np.isfinite(drafts_deg).any() else -1
    if least < 0 or drafts_deg[least] >= limit_deg - _SLACK_DEG:
        return
    x_mm, y_mm = mesh.corners_mm[least].mean(axis=0)[:2]
    x = size_px[0] / 2 + (x_mm - frame.right_mm) * frame.px_per_mm
    y = size_px[1] / 2 - (y_mm - frame.up_mm) * frame.px_per_mm
    canvas.ring((x, y), radius_px=17, colour=SIGNAL_RED, width_px=2.5)
    side, anchor = (26, "lm") if x < 0.8 * size_px[0] else (-26, "rm")
    words = f"least: {drafts_deg[least]:.1f}°"
    canvas.write((x + side, y), words, size_px=18, colour=SIGNAL_RED, anchor=anchor, bold=True)


def _legend(
    canvas: Canvas, mesh: Mesh, drafts_deg: NDArray[np.float64], *, limit_deg: float, top_px: int
) -> None:
    """Explain the colours, with the area of each."""
    edges, colours, names = _classes(limit_deg)
    known = np.isfinite(drafts_deg)
    number = np.searchsorted(edges, drafts_deg[known], side="right")
    areas_cm2 = np.bincount(number, mesh.areas_mm2[known], minlength=len(names)) / 100.0
    step = (canvas.width_px - 48) / len(names)
    for i, (colour, name, area) in enumerate(zip(colours, names, areas_cm2, strict=True)):
        x, y = 24 + i * step, top_px + 12
        box = [(x, y), (x + step - 12, y), (x + step - 12, y + 18), (x, y + 18)]
        canvas.area(box, colour=colour)
        trouble = i < 2 and area >= 0.05
        ink = SIGNAL_RED if trouble else NAVY
        canvas.write((x, y + 38), name, size_px=15, colour=ink, bold=trouble)
        canvas.write((x, y + 57), f"{area:.1f} cm²", size_px=14, colour=ink if trouble else SLATE)


def _caption(canvas: Canvas, mesh: Mesh, title: str, *, px_per_mm: float) -> None:
    """Write scale bar, title and size along the foot of a picture."""
    foot = canvas.height_px
    canvas.trail([(24, foot - 66), (canvas.width_px - 24, foot - 66)], width_px=1, colour=SLATE)
    bar_mm = _bar_mm(px_per_mm, room_px=canvas.width_px / 3)
    _scale_bar(canvas, (24, foot - 30), bar_mm * px_per_mm, f"{bar_mm:g} mm")
    width, depth, height = np.ptp(mesh.points_mm, axis=0)
    size = f"{width:.1f} × {depth:.1f} × {height:.1f} mm"
    right = canvas.width_px - 24
    canvas.write((right, foot - 24), size, size_px=21, anchor="rs", bold=True)
    canvas.write((canvas.width_px / 2, foot - 24), title, size_px=21, anchor="ms", room_px=560)


def _bar_mm(px_per_mm: float, *, room_px: float) -> float:
    """Return 50 mm, or the next round length that can be drawn and seen."""
    fits = [b for b in (50, 10, 5, 1, 0.1, 100, 500) if 40 <= b * px_per_mm <= room_px]
    return fits[0] if fits else room_px / px_per_mm / 2


def _scale_bar(canvas: Canvas, place: tuple[float, float], length_px: float, words: str) -> None:
    x, y = place
    for part in range(5):
        left, right = x + part * length_px / 5, x + (part + 1) * length_px / 5
        ink = NAVY if part % 2 == 0 else (255, 255, 255)
        canvas.area([(left, y - 4), (right, y - 4), (right, y + 4), (left, y + 4)], colour=ink)
    frame = [(x, y - 4), (x + length_px, y - 4), (x + length_px, y + 4), (x, y + 4), (x, y - 4)]
    canvas.trail(frame, width_px=1)
    canvas.write((x + length_px + 10, y), words, size_px=17, anchor="lm")
