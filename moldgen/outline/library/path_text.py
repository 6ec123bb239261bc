"""SVG path data for a few plain forms, with absolute commands, clockwise on the page."""

from __future__ import annotations

from collections.abc import Sequence
from math import acos, cos, hypot, sin

Point = tuple[float, float]


def polygon(corners: Sequence[Point]) -> str:
    """Return a polygon with sharp corners."""
    return "M" + " L".join(xy(corner) for corner in corners) + " Z"


def rounded_polygon(corners: Sequence[Point], radius: float) -> str:
    """Return a polygon whose corners are arcs; a short side makes its arcs smaller."""
    if radius <= 0:
        return polygon(corners)
    pieces = []
    around = [corners[-1], *corners, corners[0]]
    for before, corner, after in zip(around, around[1:], around[2:], strict=False):
        first, last, r, sweep = _fillet(before, corner, after, radius)
        pieces.append(f"L{xy(first)} A{xy((r, r))} 0 0 {sweep} {xy(last)}")
    return "M" + " ".join(pieces)[1:] + " Z"


def swollen_polygon(corners: Sequence[Point], radius: float) -> str:
    """Return a convex polygon, clockwise on the page, grown all round by a radius."""
    pieces = []
    around = [corners[-1], *corners, corners[0]]
    for before, (x, y), after in zip(around, around[1:], around[2:], strict=False):
        u, v = _toward(before, (x, y)), _toward((x, y), after)
        first, last = (x + radius * u[1], y - radius * u[0]), (x + radius * v[1], y - radius * v[0])
        pieces.append(f"L{xy(first)} A{xy((radius, radius))} 0 0 1 {xy(last)}")
    return "M" + " ".join(pieces)[1:] + " Z"


def ellipse(x: float, y: float, rx: float, ry: float) -> str:
    """Return an ellipse about a center."""
    ends = [xy((x - rx, y)), xy((x + rx, y))]
    half = f"A{xy((rx, ry))} 0 0 1"
    return f"M{ends[0]} {half} {ends[1]} {half} {ends[0]} Z"


def swing(x0: float, x1: float, y0: float, y1: float) -> str:
    """Return an S-curve, level at both ends, as a wave has it from crest to trough."""
    # The slope in the middle of this curve is that of a sine when the handles are 0.3642
    # of the span long.
    handle = 0.3642 * (x1 - x0)
    return f"C{xy((x0 + handle, y0))} {xy((x1 - handle, y1))} {xy((x1, y1))}"


def xy(point: Point) -> str:
    """Return a point as path data."""
    return f"{point[0] + 0.0:.10g} {point[1] + 0.0:.10g}"


def _fillet(
    before: Point, corner: Point, after: Point, radius: float
) -> tuple[Point, Point, float, int]:
    """Return where the arc of a corner begins and ends, its radius and its turn."""
    a, b = _toward(corner, before), _toward(corner, after)
    half_angle = acos(max(-1.0, min(1.0, a[0] * b[0] + a[1] * b[1]))) / 2
    room = min(hypot(before[0] - corner[0], before[1] - corner[1]),
               hypot(after[0] - corner[0], after[1] - corner[1])) / 2  # fmt: skip
    reach = min(radius * cos(half_angle) / sin(half_angle), room)
    first = (corner[0] + a[0] * reach, corner[1] + a[1] * reach)
    last = (corner[0] + b[0] * reach, corner[1] + b[1] * reach)
    r = reach * sin(half_angle) / cos(half_angle)
    return first, last, r, int(a[0] * b[1] - a[1] * b[0] < 0)


def _toward(start: Point, end: Point) -> Point:
    length = hypot(end[0] - start[0], end[1] - start[1])
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length
