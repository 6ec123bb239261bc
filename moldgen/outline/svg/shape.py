"""The basic shapes of SVG as polylines."""

from __future__ import annotations

from collections.abc import Callable
from xml.etree.ElementTree import Element

import numpy as np

from moldgen.errors import OutlineError
from moldgen.outline.curves import Points, full_turn
from moldgen.outline.svg.path import Trace, path_traces
from moldgen.outline.svg.value import Ruler, Viewport, numbers


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


def shape_traces(sizes: ElementMeasures, *, chord: float, beside: float = 0.0) -> list[Trace]:
    """Return a shape element as polylines in its own user units.

    Shapes without extent (a rectangle of no width) give none.

    Parameters
    ----------
    sizes : ElementMeasures
        Of the element.
    chord : float
        Largest distance between a curve and its chords, in user units.
    beside : float, default 0
        Half the width of a line along it whose edges are to be as close, in user units.

    Raises
    ------
    OutlineError
        If a measure cannot be read or is negative, or the path data break off.
    """
    return SHAPES[sizes.element.tag.rpartition("}")[2]](sizes, chord, beside)


def _path(sizes: ElementMeasures, chord: float, beside: float) -> list[Trace]:
    data = sizes.element.get("d", "")
    return path_traces(data, chord=chord, what=sizes.what, beside=beside)


def _rect(sizes: ElementMeasures, chord: float, beside: float) -> list[Trace]:
    x, y = sizes.of("x", "x"), sizes.of("y", "y")
    w, h = sizes.size("width", "x"), sizes.size("height", "y")
    if w == 0 or h == 0:
        return []
    rx, ry = _corner_radii(sizes)
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if rx == 0 or ry == 0:
        return [_closed(np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)]))]
    quarter = _quarter((rx, ry), chord, beside)
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


def _quarter(radii: tuple[float, float], chord: float, beside: float) -> Points:
    """Return the first quadrant of an ellipse, from the x axis to the y axis."""
    turn = full_turn((0, 0), (radii[0], 0), (0, radii[1]), chord=chord, beside=beside)
    points = turn[: len(turn) // 4 + 1]
    points[-1] = 0, radii[1]
    return points


def _ellipse(sizes: ElementMeasures, chord: float, beside: float) -> list[Trace]:
    if sizes.element.tag.endswith("circle"):
        rx = ry = sizes.size("r", "r")
    else:
        rx, ry = _corner_radii(sizes)
    if rx == 0 or ry == 0:
        return []
    center = sizes.of("cx", "x"), sizes.of("cy", "y")
    return [_closed(full_turn(center, (rx, 0), (0, ry), chord=chord, beside=beside)[:-1])]


def _line(sizes: ElementMeasures, chord: float, beside: float) -> list[Trace]:
    ends = [(sizes.of("x1", "x"), sizes.of("y1", "y")), (sizes.of("x2", "x"), sizes.of("y2", "y"))]
    return [Trace(np.array(ends), closed=False)]


def _polyline(sizes: ElementMeasures, chord: float, beside: float) -> list[Trace]:
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


SHAPES: dict[str, Callable[[ElementMeasures, float, float], list[Trace]]] = {
    "path": _path, "rect": _rect, "circle": _ellipse, "ellipse": _ellipse, "line": _line,
    "polyline": _polyline, "polygon": _polyline,
}  # fmt: skip
"""Every element that draws, and how."""
