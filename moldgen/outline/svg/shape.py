"""The basic shapes of SVG as polylines, and the area of a drawn stroke."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import pi
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely import LinearRing, LineString, Polygon
from shapely.geometry.base import BaseGeometry

from moldgen.errors import OutlineError
from moldgen.outline.curves import Points, full_turn
from moldgen.outline.svg.path import Trace, path_traces
from moldgen.outline.svg.style import Style, number_or
from moldgen.outline.svg.value import Ruler, Viewport, numbers
from moldgen.solid.arcs import chords_for


class ElementMeasures:
    """Reads the measures of one element."""

    def __init__(self, element: Element, what: str, ruler: Ruler, viewport: Viewport) -> None:
        self.element, self.what, self.ruler, self.viewport = element, what, ruler, viewport

    def of(self, name: str, along: str, default: str = "0") -> float:
        """Return an attribute as a length in user units."""
        text = self.element.get(name, "").strip() or default
        return self.ruler.length(
            text, what=f"{name} of {self.what}", along=along, viewport=self.viewport
        )

    def size(self, name: str, along: str, default: str = "0") -> float:
        """Return a length that must not be negative."""
        value = self.of(name, along, default)
        if value < 0:
            raise OutlineError(
                f"{name} of {self.what} must be at least 0 (got {self.element.get(name)}); "
                "correct the drawing."
            )
        return value

    def given(self, name: str) -> bool:
        """Tell whether an attribute has a value of its own."""
        return self.element.get(name, "auto").strip() not in {"", "auto"}


def shape_traces(sizes: ElementMeasures, *, chord: float) -> list[Trace]:
    """Return a shape element as polylines in its own user units.

    Shapes without extent (a rectangle of no width) give none.

    Raises
    ------
    OutlineError
        If a measure cannot be read or is negative, or the path data break off.
    """
    return SHAPES[sizes.element.tag.rpartition("}")[2]](sizes, chord)


def _path(sizes: ElementMeasures, chord: float) -> list[Trace]:
    return path_traces(sizes.element.get("d", ""), chord=chord, what=sizes.what)


def _rect(sizes: ElementMeasures, chord: float) -> list[Trace]:
    x, y = sizes.of("x", "x"), sizes.of("y", "y")
    w, h = sizes.size("width", "x"), sizes.size("height", "y")
    if w == 0 or h == 0:
        return []
    rx, ry = _corner_radii(sizes)
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if rx == 0 or ry == 0:
        return [_closed(np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)]))]
    quarter = _quarter((rx, ry), chord)
    centers = [
        (x + w - rx, y + ry),
        (x + w - rx, y + h - ry),
        (x + rx, y + h - ry),
        (x + rx, y + ry),
    ]
    turns = [(1, -1), (1, 1), (-1, 1), (-1, -1)]
    corners = [
        center + (quarter[::-1] if sx * sy < 0 else quarter) * (sx, sy)
        for center, (sx, sy) in zip(centers, turns, strict=True)
    ]
    return [_closed(np.concatenate(corners))]


def _corner_radii(sizes: ElementMeasures) -> tuple[float, float]:
    """Return rx and ry; one that is missing takes the other's value (SVG 2, section 10.2)."""
    rx, ry = (
        sizes.size("rx", "x") if sizes.given("rx") else None,
        (sizes.size("ry", "y") if sizes.given("ry") else None),
    )
    first = rx if rx is not None else ry
    second = ry if ry is not None else rx
    return first or 0.0, second or 0.0


def _quarter(radii: tuple[float, float], chord: float) -> Points:
    """Return the first quadrant of an ellipse, from the x axis to the y axis."""
    turn = full_turn((0, 0), (radii[0], 0), (0, radii[1]), chord=chord)
    points = turn[: len(turn) // 4 + 1]
    points[-1] = 0, radii[1]
    return points


def _ellipse(sizes: ElementMeasures, chord: float) -> list[Trace]:
    if sizes.element.tag.endswith("circle"):
        rx = ry = sizes.size("r", "r")
    else:
        rx, ry = _corner_radii(sizes)
    if rx == 0 or ry == 0:
        return []
    center = sizes.of("cx", "x"), sizes.of("cy", "y")
    return [_closed(full_turn(center, (rx, 0), (0, ry), chord=chord)[:-1])]


def _line(sizes: ElementMeasures, chord: float) -> list[Trace]:
    ends = [(sizes.of("x1", "x"), sizes.of("y1", "y")), (sizes.of("x2", "x"), sizes.of("y2", "y"))]
    return [Trace(np.array(ends), closed=False)]


def _polyline(sizes: ElementMeasures, chord: float) -> list[Trace]:
    values = numbers(sizes.element.get("points", ""), what=f"points of {sizes.what}")
    if len(values) % 2:
        raise OutlineError(
            f"points of {sizes.what} holds {len(values)} numbers, so one has no partner; "
            "export the drawing again."
        )
    points = np.array(values).reshape(-1, 2)
    if len(points) < 2:
        return []
    return [_closed(points) if sizes.element.tag.endswith("polygon") else Trace(points, False)]


def _closed(points: Points) -> Trace:
    return Trace(np.concatenate([points, points[:1]]), closed=True)


SHAPES: dict[str, Callable[[ElementMeasures, float], list[Trace]]] = {
    "path": _path, "rect": _rect, "circle": _ellipse, "ellipse": _ellipse, "line": _line,
    "polyline": _polyline, "polygon": _polyline,
}  # fmt: skip
"""Every element that draws, and how."""

_CAPS = {"butt": "flat", "round": "round", "square": "square"}


def stroke_area(
    traces: Sequence[Trace], style: Style, *, width: float, chord: float
) -> BaseGeometry:
    """Return the area that a pen of some width paints along polylines.

    Parameters
    ----------
    traces : sequence of Trace
        The lines, in user units.
    style : mapping
        Tells ``stroke-linecap``, ``stroke-linejoin`` and ``stroke-miterlimit``.
    width : float
        Width of the pen, in user units.
    chord : float
        Largest distance between round joins and their arcs, in user units.

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2", section 13.5 (stroke shape).
    """
    r = width / 2
    steps = chords_for(r, pi / 2, chord_mm=chord, at_least=2)
    round_joins = style["stroke-linejoin"] == "round"
    cap = _CAPS.get(style["stroke-linecap"], "flat")
    pieces = [
        shapely.buffer(
            _pen_line(trace), r, quad_segs=steps, cap_style=cap,
            join_style="round" if round_joins else "bevel",
        )
        for trace in traces
    ]  # fmt: skip
    if style["stroke-linejoin"] not in {"round", "bevel"}:
        limit = number_or(style["stroke-miterlimit"], 4.0)
        pieces += [tip for trace in traces for tip in _miter_tips(trace, r, limit, chord)]
    return shapely.union_all(pieces)


def _pen_line(trace: Trace) -> BaseGeometry:
    points = shapely.remove_repeated_points(LineString(trace.points))
    if trace.closed and len(points.coords) > 3:
        return LinearRing(points.coords)
    return points


def _miter_tips(trace: Trace, r: float, limit: float, chord: float) -> list[Polygon]:
    """Return the kites that turn bevelled joins into mitered ones.

    The modeler's own mitered joins are cut off at the limit, where SVG asks for a bevel.
    """
    points = trace.points[np.r_[True, (np.diff(trace.points, axis=0) != 0).any(axis=1)]]
    if len(points) < 3:
        return []
    P = np.concatenate([points, points[1:2]]) if trace.closed else points
    along = np.diff(P, axis=0)
    along /= np.hypot(*along.T)[:, None]
    a, b = along[:-1], along[1:]
    turn = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    # cos of half the turning angle; the miter is as long as 1/cos of it (SVG 2, 13.5.4).
    half = np.sqrt(np.clip((1 + (a * b).sum(axis=1)) / 2, 0, 1))
    with np.errstate(divide="ignore"):
        mitered = (1 / half <= limit) & (r * (1 / half - 1) > chord)
    return [
        _kite(P[at + 1], a[at], b[at], r * (1 if turn[at] < 0 else -1), half[at])
        for at in np.flatnonzero(mitered)
    ]


def _kite(corner: Points, a: Points, b: Points, r: float, half: float) -> Polygon:
    first, second = np.array([-a[1], a[0]]) * r, np.array([-b[1], b[0]]) * r
    middle = first + second
    tip = middle / np.hypot(*middle) * abs(r) / half
    return Polygon([corner, corner + first, corner + tip, corner + second])
