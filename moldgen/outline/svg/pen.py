"""The area that a pen paints along a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moldgen.outline.curves import Points
from moldgen.outline.svg.path import Trace
from moldgen.outline.svg.style import Style, number_or
from moldgen.solid.arcs import chords_for

_CAPS = {"butt": "flat", "round": "round", "square": "square"}

_EXACT = 1000
"""Points up to which every step of a line is painted by itself: the modeler's own offset takes
bends within a hundredth of its width for none, and leaves out parts of bends that are tight."""

_WIDE = 8.0
"""Radius of a bend, over half the width, from which on that offset is used for longer lines."""


_OVERLAP = 1e-6
"""Share of the half width by which a join reaches into the strips beside it, to leave no hair."""

_SMOOTH = 0.97
"""Cosine of half the turn from which on a point is one of a curve and no corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """A pen of some width, in the unit of the lines.

    Attributes
    ----------
    r : float
        Half its width.
    chord : float
        Largest distance between round joins and their arcs.
    cap, join : str
        ``flat``, ``round`` or ``square``; ``round``, ``bevel`` or ``miter``.
    limit : float
        Length of a miter over the width up to which it is drawn. [-]
    """

    r: float
    chord: float
    cap: str
    join: str
    limit: float

    @property
    def steps(self) -> int:
        """Chords in a quarter of a round join."""
        return chords_for(self.r, pi / 2, chord_mm=self.chord, at_least=2)


def pen_of(style: Style, *, width: float, chord: float) -> Pen:
    """Return the pen that a style tells of.

    Parameters
    ----------
    style : mapping
        Tells ``stroke-linecap``, ``stroke-linejoin`` and ``stroke-miterlimit``.
    width : float
        Width of the pen, in user units.
    chord : float
        Largest distance between round joins and their arcs, in user units.
    """
    join = style["stroke-linejoin"]
    return Pen(
        r=width / 2,
        chord=chord,
        cap=_CAPS.get(style["stroke-linecap"], "flat"),
        join=join if join in {"round", "bevel"} else "miter",
        limit=number_or(style["stroke-miterlimit"], 4.0),
    )


def is_round(style: Style) -> bool:
    """Tell whether joins and ends are round, so that edges follow a curve as its chords do."""
    return style["stroke-linejoin"] == "round" and style["stroke-linecap"] == "round"


def stroke_area(traces: Sequence[Trace], pen: Pen) -> BaseGeometry:
    """Return the area that a pen paints along polylines.

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2", section 13.5 (stroke shape).
    """
    return shapely.union_all([piece for trace in traces for piece in _painted(trace, pen)])


def _painted(trace: Trace, pen: Pen) -> list[BaseGeometry]:
    """Return pieces that cover together what a pen paints along one line."""
    steps = np.diff(trace.points, axis=0)
    points = trace.points[np.r_[True, (steps != 0).any(axis=1)]]
    if len(points) < 2:
        return [
            shapely.buffer(shapely.Point(points[0]), pen.r, quad_segs=pen.steps, cap_style=pen.cap)
        ]
    is_ring = trace.closed and len(points) > 3
    P = np.concatenate([points, points[1:2]]) if is_ring else points
    steps = np.diff(P, axis=0)
    lengths = np.hypot(*steps.T)
    along = steps / lengths[:, None]
    at = _split(_turns_rad(along), lengths, pen.r)
    if is_ring:
        at = np.union1d(at, [len(points) - 2])
    ends = np.r_[0, at + 1, len(points) - 1]
    lines = [points[a : b + 1] for a, b in pairwise(ends) if a < b]
    painted = _bodies(lines, pen) + _joins(P[1:-1], along, at, pen)
    return painted if is_ring else painted + _ends(points, along, pen)


def _turns_rad(along: Points) -> Points:
    """Return the turn at each point between two directions, left positive. [rad]."""
    a, b = along[:-1], along[1:]
    cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return np.asarray(np.arctan2(cross, (a * b).sum(axis=1)))


def _split(turn_rad: Points, lengths: Points, r: float) -> NDArray[np.intp]:
    """Return at which of the points between its ends a line is cut: at corners and bends."""
    if len(turn_rad) < _EXACT:
        return np.flatnonzero(turn_rad)
    shorter = np.minimum(lengths[:-1], lengths[1:])
    return np.flatnonzero(np.abs(turn_rad) * _WIDE * r > shorter)


def _bodies(lines: Sequence[Points], pen: Pen) -> list[BaseGeometry]:
    """Return what is painted along pieces, their ends flat."""
    bent = [shapely.LineString(line) for line in lines if len(line) > 2]
    straight = np.reshape([line for line in lines if len(line) == 2], (-1, 2, 2))
    join = "round" if pen.join == "round" else "bevel"
    broad = shapely.buffer(bent, pen.r, quad_segs=pen.steps, cap_style="flat", join_style=join)
    return [*broad, *_strips(straight, pen.r)]


def _strips(lines: Points, r: float) -> NDArray[np.object_]:
    """Return the rectangles along straight lines, shape (n, 2, 2)."""
    along = lines[:, 1] - lines[:, 0]
    along = along / np.hypot(*along.T)[:, None]
    side = (np.stack([-along[:, 1], along[:, 0]], axis=1) * r)[:, None]
    return np.asarray(shapely.polygons(np.concatenate([lines - side, (lines + side)[:, ::-1]], 1)))


def _joins(corners: Points, along: Points, at: NDArray[np.intp], pen: Pen) -> list[BaseGeometry]:
    """Return what lies between pieces at their corners, and the tips of miters everywhere."""
    a, b = along[:-1], along[1:]
    # cos of half the turning angle; the miter is as long as 1/cos of it (SVG 2, 13.5.4).
    half = np.sqrt(np.clip((1 + (a * b).sum(axis=1)) / 2, 0, 1))
    with np.errstate(divide="ignore"):
        sharp = pen.r * (1 / half - 1) > pen.chord
        mitered = sharp & (1 / half <= pen.limit) & (pen.join == "miter")
    rounded = at[sharp[at]] if pen.join == "round" else at[:0]
    if len(corners) >= _EXACT:
        # The modeler's offset ends a hair from the strips beside it; a disk covers that.
        rounded = np.union1d(rounded, at[~sharp[at]])
    disks = shapely.buffer(shapely.points(corners[rounded]), pen.r, quad_segs=pen.steps)
    side = np.where(_turns_rad(along) < 0, pen.r, -pen.r)
    tips = [_kite(corners[k], a[k], b[k], side[k], half[k]) for k in np.flatnonzero(mitered)]
    blunt = np.setdiff1d(at, np.union1d(rounded, np.flatnonzero(mitered)))
    bevels = [_kite(corners[k], a[k], b[k], side[k]) for k in blunt]
    # Beyond the middle of a tight bend the strips on its inner side fan out as well.
    fans = [_kite(corners[k], a[k], b[k], -side[k]) for k in at if half[k] > _SMOOTH]
    return [*disks, *tips, *bevels, *fans]


def _kite(
    corner: Points, a: Points, b: Points, r: float, half: float | None = None
) -> BaseGeometry:
    """Return what a join adds on its outer side: up to the tip of a miter, or bevelled."""
    first, second = np.array([-a[1], a[0]]) * r, np.array([-b[1], b[0]]) * r
    tip = []
    if half is not None:
        middle = first + second
        tip = [corner + middle / np.hypot(*middle) * abs(r) / half]
    back, ahead = corner - a * abs(r) * _OVERLAP, corner + b * abs(r) * _OVERLAP
    start, end = corner + first, corner + second
    corners = [back, back + first, start, *tip, end, ahead + second, ahead]
    return shapely.MultiPoint(np.array(corners)).convex_hull


def _ends(points: Points, along: Points, pen: Pen) -> list[BaseGeometry]:
    """Return the caps of an open line."""
    if pen.cap == "flat":
        return []
    if pen.cap == "round":
        return list(shapely.buffer(shapely.points(points[[0, -1]]), pen.r, quad_segs=pen.steps))
    out = np.stack([-along[0], along[-1]])
    return list(_strips(np.stack([points[[0, -1]], points[[0, -1]] + out * pen.r], axis=1), pen.r))
