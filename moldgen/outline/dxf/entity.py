"""The entities of a DXF drawing as polylines in its own unit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import pi, radians
from typing import Any

import numpy as np
from shapely import MultiPolygon

from moldgen.errors import OutlineError
from moldgen.execution import checkpoint, limits_now
from moldgen.finding import Severity
from moldgen.outline.curves import Points, arc_points, bulge_points, full_turn, spline_points
from moldgen.outline.drawing import Remarks
from moldgen.outline.dxf.fills import FILLS, area_within, borders_of, borders_painted

_LEVEL = 1e-9
"""Heights below this, in drawing units, are none."""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One drawn line: points of shape (n, 2), its layer and the block it came from."""

    points: Points
    layer: str
    block: str


class Surveyor:
    """Meets every visible entity of a drawing's model space, blocks resolved."""

    def __init__(self, document: Any, wanted: set[str] | None, *, chord: float) -> None:
        self.document, self.wanted, self.chord = document, wanted, chord
        self.remarks = Remarks()
        self.limits = limits_now()
        self.fills: list[tuple[Any, str, str]] = []
        self.count = self.n_points = 0
        self.unseen = {
            layer.dxf.name.lower()
            for layer in document.layers
            if layer.is_frozen() or layer.is_off()
        }
        self.frozen = {layer.dxf.name.lower() for layer in document.layers if layer.is_frozen()}

    def curves(self) -> Iterator[Curve]:
        """Yield every line that is to be read, in the order of the file.

        Raises
        ------
        OutlineError
            If blocks hold themselves, there are too many entities, or a number is broken.
        """
        for entity in self.document.modelspace():
            layer = entity.dxf.layer if entity.dxf.is_supported("layer") else "0"
            yield from self._visit(entity, layer, "", 0)

    def _visit(self, entity: Any, layer: str, block: str, depth: int) -> Iterator[Curve]:
        self._count(1, depth)
        if entity.dxf.get("invisible", 0):
            self.remarks.add("drawing-hidden", "invisible entities are left out")
        elif entity.dxftype() == "INSERT":
            yield from self._inserted(entity, layer, depth)
        elif self._is_read(layer):
            yield from self._curve(entity, layer, block)

    def _count(self, number: int, depth: int, *, ahead: int = 0) -> None:
        """Count entities before they are made; empty blocks and arrays count as well."""
        checkpoint()
        self.count += number
        if self.count + ahead > self.limits.entities or depth > self.limits.nesting:
            raise OutlineError(
                "The drawing has blocks that hold themselves, or more than "
                f"{self.limits.entities:g} entities; export only the outlines, with blocks "
                "exploded."
            )

    def _inserted(self, insert: Any, layer: str, depth: int) -> Iterator[Curve]:
        # A frozen layer hides a block whole; one that is off hides only what lies on it.
        if layer.lower() in self.frozen and self.wanted is None:
            self._is_read(layer)
            return
        if insert.block() is None:
            raise OutlineError(
                f"The drawing uses the block {insert.dxf.name}, which it does not hold; "
                "export it with blocks exploded."
            )
        # The library copies a block whole before it hands out the first entity of it.
        n_copies = max(1, insert.mcount)
        self._count(n_copies, depth, ahead=n_copies * len(insert.block()))
        copies = insert.multi_insert() if insert.mcount > 1 else [insert]
        for copy in copies:
            for entity in copy.virtual_entities(skipped_entity_callback=self._skipped):
                own = entity.dxf.layer
                yield from self._visit(
                    entity, layer if own == "0" else own, insert.dxf.name, depth + 1
                )

    def _skipped(self, entity: Any, reason: str) -> None:
        self._ignored(entity.dxftype())

    def _is_read(self, layer: str) -> bool:
        if self.wanted is not None:
            return layer.lower() in self.wanted
        if layer.lower() in self.unseen:
            self.remarks.add(
                "drawing-hidden",
                f"layer {layer} is frozen or off and left out",
                subject=layer,
                advice="Name the layer to read it.",
            )
            return False
        return True

    def _curve(self, entity: Any, layer: str, block: str) -> Iterator[Curve]:
        kind = entity.dxftype()
        read = _READ.get(kind)
        if read is None or (kind == "POLYLINE" and not _is_line(entity)):
            if kind in FILLS:
                self.fills.append((entity, layer, block))
            self._ignored(kind)
            return
        points = read(entity, self.chord)
        if not len(points):
            self.remarks.add("drawing-ignored", "lines without points are left out")
            return
        self._check(points, kind, layer)
        if np.ptp(points[:, 2]) > _LEVEL * max(1.0, float(np.abs(points).max())):
            self.remarks.add(
                "drawing-height",
                "lines that rise or fall are read as seen from above",
                severity=Severity.CAUTION,
            )
        elif abs(points[0, 2]) > _LEVEL:
            self.remarks.add("drawing-elevation", "heights above the drawing plane are ignored")
        if kind == "LWPOLYLINE" and entity.dxf.const_width:
            self.remarks.add("drawing-line-width", "the width of lines is not counted")
        yield Curve(points[:, :2], layer, block)

    def _check(self, points: Points, kind: str, layer: str) -> None:
        """Count corners; refuse too many of them, and broken numbers."""
        self.n_points += len(points)
        if self.n_points > self.limits.points:
            raise OutlineError(
                f"The drawing has {self.n_points:,} corners, more than "
                f"{self.limits.points:,.0f}; simplify its outlines, or check its unit."
            )
        if not np.isfinite(points).all() or np.abs(points).max(initial=0) > self.limits.number:
            raise OutlineError(
                f"The drawing has a {kind} with a broken number on layer {layer}; "
                "delete it or export the drawing again."
            )

    def borders(self) -> Iterator[Curve]:
        """Yield the borders of filled areas, for a drawing in which nothing else is drawn.

        Raises
        ------
        OutlineError
            If there are too many corners or crossings, or a number is broken.
        """
        areas: dict[tuple[str, str], list[MultiPolygon]] = {}
        for entity, layer, block in self.fills:
            checkpoint()
            borders = borders_painted(entity, chord=self.chord)
            for points in borders:
                self._check(points, entity.dxftype(), layer)
            areas.setdefault((layer, block), []).append(area_within(borders))
        for (layer, block), own in areas.items():
            yield from (Curve(ring, layer, block) for ring in borders_of(own))
        for kind in FILLS:
            self.remarks.drop("drawing-ignored", kind)
        self.remarks.add(
            "drawing-fills-used", "no lines are drawn, so the borders of filled areas are read"
        )

    def _ignored(self, kind: str) -> None:
        says = _IGNORED.get(kind, f"{kind} entities are left out")
        self.remarks.add("drawing-ignored", says, subject=kind, advice=_ADVICE.get(kind, ""))


_IGNORED = {
    "TEXT": "text is left out",
    "MTEXT": "text is left out",
    "ATTRIB": "text is left out",
    "ATTDEF": "text is left out",
    "DIMENSION": "dimensions are left out",
    "HATCH": "hatching is left out",
    "POINT": "points are left out",
}
_ADVICE = {
    "TEXT": "Convert text to lines if it belongs to the outline.",
    "MTEXT": "Convert text to lines if it belongs to the outline.",
    "HATCH": "Draw the border of the hatching if it belongs to the outline.",
}


def _is_line(entity: Any) -> bool:
    return bool(entity.is_2d_polyline or entity.is_3d_polyline)


def _in_world(entity: Any, points: Points, elevation: float) -> Points:
    """Return points of an entity's own plane as (n, 3) in the drawing's axes."""
    ocs = entity.ocs()
    frame = np.array([tuple(axis) for axis in (ocs.ux, ocs.uy, ocs.uz)])
    return np.asarray(np.column_stack([points, np.full(len(points), elevation)]) @ frame)


def _line(entity: Any, chord: float) -> Points:
    return np.array([tuple(entity.dxf.start), tuple(entity.dxf.end)])


def _circle(entity: Any, chord: float) -> Points:
    center, r = entity.dxf.center, entity.dxf.radius
    points = full_turn((center.x, center.y), (r, 0), (0, r), chord=chord)
    return _in_world(entity, points, center.z)


def _arc(entity: Any, chord: float) -> Points:
    center, r = entity.dxf.center, entity.dxf.radius
    start_deg = entity.dxf.start_angle
    sweep_deg = (entity.dxf.end_angle - start_deg) % 360 or 360
    points = arc_points(
        (center.x, center.y), (r, 0), (0, r),
        start_rad=radians(start_deg), sweep_rad=radians(sweep_deg), chord=chord,
    )  # fmt: skip
    return _in_world(entity, points, center.z)


def _ellipse(entity: Any, chord: float) -> Points:
    center = np.array(tuple(entity.dxf.center))
    u, v = np.array(tuple(entity.dxf.major_axis)), np.array(tuple(entity.minor_axis))
    start, end = entity.dxf.start_param, entity.dxf.end_param
    sweep = (end - start) % (2 * pi)
    if sweep < 1e-9 or sweep > 2 * pi - 1e-9:
        flat = full_turn(center[:2], u[:2], v[:2], chord=chord)
    else:
        flat = arc_points(center[:2], u[:2], v[:2], start_rad=start, sweep_rad=sweep, chord=chord)
    # Heights only tell whether it is tilted; the plan above is exact.
    rise = np.linspace(0.0, float(np.hypot(u[2], v[2])), len(flat))
    return np.column_stack([flat, center[2] + rise])


def _polyline_points(entity: Any, vertices: Points, chord: float, elevation: float) -> Points:
    """Return a run of vertices, shape (n, 3): x, y and bulge to the next."""
    if entity.is_closed and len(vertices):
        vertices = np.concatenate([vertices, vertices[:1]])
    runs = [bulge_points(a[:2], b[:2], a[2], chord=chord)[1:] for a, b in pairwise(vertices)]
    points = np.concatenate([vertices[:1, :2], *runs])
    return _in_world(entity, points, elevation)


def _lwpolyline(entity: Any, chord: float) -> Points:
    vertices = np.array(entity.get_points("xyb"), dtype=np.float64).reshape(-1, 3)
    return _polyline_points(entity, vertices, chord, entity.dxf.elevation)


_SPLINE_FRAME = 16
"""Flag of a vertex that only steers a curve fitted through other vertices."""


def _polyline(entity: Any, chord: float) -> Points:
    drawn = [v for v in entity.vertices if not v.dxf.get("flags", 0) & _SPLINE_FRAME]
    places = np.array([tuple(v.dxf.location) for v in drawn]).reshape(-1, 3)
    if entity.is_3d_polyline:
        return np.concatenate([places, places[:1]]) if entity.is_closed else places
    bulges = np.array([v.dxf.get("bulge", 0.0) for v in drawn]).reshape(-1, 1)
    vertices = np.hstack([places[:, :2], bulges])
    return _polyline_points(entity, vertices, chord, float(places[0, 2]) if len(places) else 0.0)


def _spline(entity: Any, chord: float) -> Points:
    try:
        spline = entity.construction_tool()
    except (ValueError, ArithmeticError, LookupError) as error:
        raise OutlineError(
            f"The drawing has a spline that is not complete ({error}); redraw it."
        ) from error
    controls = np.array([tuple(point) for point in spline.control_points])
    weights = list(spline.weights()) or [1.0] * len(controls)
    if min(weights) <= 0:
        raise OutlineError("The drawing has a spline with a weight of 0 or less; redraw it.")
    plan = spline_points(controls[:, :2], knots=list(spline.knots()), weights=weights, chord=chord)
    if np.allclose(controls[0], controls[-1], rtol=0, atol=1e-12):
        plan[-1] = plan[0]
    rise = np.linspace(controls[0, 2], controls[0, 2] + np.ptp(controls[:, 2]), len(plan))
    return np.column_stack([plan, rise])


_READ: dict[str, Callable[[Any, float], Points]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}
