"""The draft of every wall of a mold, seen from above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.export.picture.canvas import Color
from moldgen.export.picture.class_map import ClassMap, class_map, class_map_png
from moldgen.export.picture.mark import Mark, with_ring_number
from moldgen.export.picture.value_scale import ValueScale
from moldgen.export.picture.views import whole
from moldgen.solid.mesh import Body, Mesh

# Classes of draft: red for trouble, then from deep water to shallows as the lean grows. The reds
# are told from the blues by every common kind of color blindness, and by lightness as well.
_UNDERCUT: Color = (96, 10, 40)
_UNDER_LIMIT: Color = (232, 64, 52)
_WALLS: tuple[Color, ...] = ((24, 66, 110), (52, 112, 158), (104, 162, 196), (164, 206, 222))
_FLAT: Color = (226, 214, 186)
_FLAT_DEG = 89.5
_SLACK_DEG = 0.1
"""Shortfall that chords of rounded corners may cause. [°]."""


def draft_map_png(
    bodies: Sequence[Body],
    drafts_deg: Floats,
    *,
    limit_deg: float,
    title: str = "",
    rings: Mapping[str, tuple[float, float]] | None = None,
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
    rings : mapping of str to (x, y), optional
        Places of findings by their numbers, which a mark there carries. [mm]

    Returns
    -------
    bytes
        1400 pixels wide.

    Raises
    ------
    SpecError
        If there is no body, or the drafts are not one for each triangle.
    """
    shown = draft_map(whole(bodies), drafts_deg, limit_deg=limit_deg, title=title)
    marks = tuple(with_ring_number(mark, rings or {}) for mark in shown.marks)
    return class_map_png(replace(shown, marks=marks))


def draft_map(mesh: Mesh, drafts_deg: Floats, *, limit_deg: float, title: str = "") -> ClassMap:
    """Return the map of `draft_map_png`, to be plotted."""
    if len(drafts_deg) != len(mesh.triangles):
        rule = f"one for each of {len(mesh.triangles)} triangles"
        raise SpecError("drafts_deg", rule, str(len(drafts_deg)))
    width, depth, height = np.ptp(mesh.bounds_mm, axis=0)
    return class_map(
        mesh,
        drafts_deg,
        draft_scale(limit_deg),
        title=title,
        about=f"draft of every wall; {width:.1f} × {depth:.1f} × {height:.1f} mm",
        n_trouble=2,
        marks=_least_mark(mesh, drafts_deg, limit_deg=limit_deg),
    )


def draft_colors(drafts_deg: Floats, *, limit_deg: float) -> NDArray[np.uint8]:
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
    return draft_scale(limit_deg).colors_of(drafts_deg)


def draft_scale(limit_deg: float) -> ValueScale:
    """Return the classes of draft: undercut, under the limit, walls, flats."""
    inner = [border for border in (10.0, 20.0, 45.0) if border > limit_deg]
    # The darkest blue always stands for the walls just above the limit.
    walls = [*_WALLS[: len(inner)], _WALLS[-1]]
    ends = [f"{border:g}" for border in (limit_deg, *inner)]
    names = [f"{low} to {high}°" for low, high in pairwise([*ends, "89.5"])]
    return ValueScale(
        edges=(-90.0, -_SLACK_DEG, limit_deg - _SLACK_DEG, *inner, _FLAT_DEG, 90.0),
        colors=(_UNDERCUT, _UNDER_LIMIT, *walls, _FLAT),
        names=("undercut", f"under {limit_deg:g}°", *names, "top face"),
    )


def _least_mark(mesh: Mesh, drafts_deg: Floats, *, limit_deg: float) -> tuple[Mark, ...]:
    """Mark the wall that leans least, if it leans too little."""
    least = int(np.nanargmin(drafts_deg)) if np.isfinite(drafts_deg).any() else -1
    if least < 0 or drafts_deg[least] >= limit_deg - _SLACK_DEG:
        return ()
    x_mm, y_mm = (float(v) for v in mesh.corners_mm[least].mean(axis=0)[:2])
    return (Mark(x_mm=x_mm, y_mm=y_mm, words=f"least: {drafts_deg[least]:.1f}°"),)
