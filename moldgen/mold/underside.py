"""The underside of a mold: channels, feet and gates that lead every vent to the table's holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil
from typing import Annotated

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, STRtree

from moldgen.mold.vents import Vent
from moldgen.quantity import Quantity, Spec

PAD_MM = 6.0
"""Side of the pads that carry a mold between its channels. [mm]."""

EDGE_PASSAGE_MM = 3.0
"""Width always kept free between pads and the rim, so that no pad can close a channel. [mm]."""

BORE_WALL_MM = 1.2
"""Least plastic around a bore: three lines of 0.4 mm (common practice, no source). [mm]."""


class UndersideKind(StrEnum):
    """What lies between the mold and the table."""

    RELIEF = "relief"
    """Shallow channels between pads, within a closed rim with small gates to the foot line."""
    FEET = "feet"
    """Small feet all over: air passes everywhere under the mold."""
    FLAT = "flat"
    """Nothing: the mold stands flat on the table."""


@dataclass(frozen=True, kw_only=True, slots=True)
class UndersideSpec(Spec):
    """How the underside is relieved."""

    kind: UndersideKind = UndersideKind.RELIEF
    depth_mm: Annotated[float, Quantity("mm", "depth of the channels", above=0, at_most=10)] = 1.2
    rim_mm: Annotated[
        float, Quantity("mm", "width of the closed rim at the foot", above=0, at_most=20)
    ] = 2.4
    bridge_mm: Annotated[
        float, Quantity("mm", "greatest width the printer bridges", above=2, at_most=60)
    ] = 10.0
    gate_mm: Annotated[
        float, Quantity("mm", "height of a gate at the foot line", above=0, at_most=3)
    ] = 0.6
    gate_width_mm: Annotated[float, Quantity("mm", "width of a gate", above=0, at_most=10)] = 2.0
    gate_spacing_mm: Annotated[
        float, Quantity("mm", "greatest distance between gates", at_least=5)
    ] = 30.0
    bore_mm: Annotated[
        float, Quantity("mm", "diameter of the bore under a vent", above=0, at_most=12)
    ] = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Underside:
    """Regions cut into the underside, all seen from above.

    Attributes
    ----------
    channels : MultiPolygon
        Cut to ``spec.depth_mm``. [mm]
    gates : MultiPolygon
        Cut to ``spec.gate_mm``. [mm]
    spec : UndersideSpec
        What was asked for.
    """

    channels: MultiPolygon
    gates: MultiPolygon
    spec: UndersideSpec

    @property
    def airways(self) -> MultiPolygon:
        """Channels and gates as one region. [mm]."""
        return _polygons(shapely.union(self.channels, self.gates))


def build_underside(
    foot: MultiPolygon,
    vents: Sequence[Vent],
    spec: UndersideSpec,
    *,
    reserved: MultiPolygon | None = None,
) -> Underside:
    """Lay channels, pads and gates under a mold.

    Parameters
    ----------
    foot : MultiPolygon
        Where the mold touches the table. [mm]
    vents : sequence of Vent
        Each gets an open way to the channels.
    reserved : MultiPolygon, optional
        Places kept solid for a label or an insert. [mm]
    """
    kept = MultiPolygon() if reserved is None else reserved
    if spec.kind is UndersideKind.FLAT:
        return Underside(MultiPolygon(), MultiPolygon(), spec)
    if spec.kind is UndersideKind.FEET:
        open_all = shapely.difference(shapely.buffer(foot, 1.0), kept)
        pads = _pads(shapely.buffer(foot, -0.8), spec.bridge_mm, edge_mm=0.0)
        return Underside(_polygons(shapely.difference(open_all, pads)), MultiPolygon(), spec)
    chamber = chamber_of(foot, spec.rim_mm)
    room = shapely.difference(chamber, kept)
    pads = _pads(shapely.buffer(room, -EDGE_PASSAGE_MM), spec.bridge_mm, edge_mm=0.5)
    channels = shapely.difference(room, pads)
    spurs = [_spur(vent, channels, spec.bore_mm) for vent in vents]
    joined = shapely.union_all([channels, *spurs])
    return Underside(_polygons(joined), _gates(foot, chamber, spec), spec)


def chamber_of(foot: MultiPolygon, rim_mm: float) -> MultiPolygon:
    """Return the region within the rim; narrow strokes get a thinner rim rather than none. [mm]."""
    wide = shapely.buffer(foot, -rim_mm)
    thin = shapely.buffer(foot, -max(BORE_WALL_MM, rim_mm / 2))
    grown = shapely.buffer(wide, rim_mm)
    narrow = shapely.difference(thin, grown)
    useful = [part for part in shapely.get_parts(narrow) if part.area > 12.0]
    ties = [shapely.intersection(shapely.buffer(part, rim_mm + 0.2), thin) for part in useful]
    return _polygons(shapely.union_all([wide, *ties]))


def widest_span_mm(region: MultiPolygon) -> float:
    """Return the longest way a printer must bridge over a channel, taken the shorter way. [mm].

    The largest circle that fits the region spans its diameter in every direction.
    """
    parts = shapely.get_parts(region)
    if len(parts) == 0:
        return 0.0
    return float(2 * shapely.length(shapely.maximum_inscribed_circle(parts, tolerance=0.05)).max())


def unserved_share(region: MultiPolygon, *, pitch_mm: float, hole_mm: float) -> float:
    """Return the share of all placings on the table at which no hole lies under a region.

    The region is folded onto one cell of the hole grid: a placing is served if the folded region,
    widened by what a hole may overlap it, covers the hole.

    Parameters
    ----------
    region : MultiPolygon
        Open to the table from above. [mm]
    pitch_mm, hole_mm : float
        Spacing and diameter of the table's holes. [mm]
    """
    if region.is_empty:
        return 1.0
    n = max(24, ceil(pitch_mm / 0.5))
    reach = shapely.buffer(region, max(0.0, hole_mm / 2 - 0.5))
    return 1.0 - float(_folded(reach, pitch_mm, n).mean())


def _folded(region: shapely.Geometry, pitch_mm: float, n: int) -> NDArray[np.bool_]:
    """Return which of ``n x n`` places of a grid cell have some of the region over them."""
    x0, y0, x1, y1 = region.bounds
    columns, rows = ceil((x1 - x0) / pitch_mm), ceil((y1 - y0) / pitch_mm)
    step = pitch_mm / n
    x = x0 + (np.arange(columns * n) + 0.5) * step
    y = y0 + (np.arange(rows * n) + 0.5) * step
    shapely.prepare(region)
    inside = shapely.contains_xy(region, *np.meshgrid(x, y))
    return np.asarray(inside.reshape(rows, n, columns, n).any(axis=(0, 2)))


def _pads(room: shapely.Geometry, bridge_mm: float, *, edge_mm: float) -> shapely.Geometry:
    """Return pads on a square grid, clipped to the room and freed of crumbs."""
    if room.is_empty:
        return MultiPolygon()
    x0, y0, x1, y1 = room.bounds
    pitch = PAD_MM + 0.65 * bridge_mm
    x, y = _spread(x0, x1, pitch), _spread(y0, y1, pitch)
    corners = [grid.ravel() for grid in np.meshgrid(x, y)]
    squares = shapely.box(corners[0], corners[1], corners[0] + PAD_MM, corners[1] + PAD_MM)
    clipped = shapely.intersection(squares, room)
    smooth = shapely.buffer(shapely.buffer(clipped, -edge_mm), edge_mm) if edge_mm else clipped
    return shapely.union_all([pad for pad in smooth if pad.area > 4.0])


def _spread(low: float, high: float, pitch: float) -> NDArray[np.float64]:
    """Return where pads start so that they reach from end to end, no farther apart than asked."""
    run = high - low - PAD_MM
    if run <= 0:
        return np.array([(low + high - PAD_MM) / 2])
    return np.linspace(low, high - PAD_MM, ceil(run / pitch) + 1)


def _spur(vent: Vent, channels: shapely.Geometry, bore_mm: float) -> shapely.Geometry:
    """Return the foot of a vent's bore and its way to the nearest channel."""
    point = shapely.Point(vent.x_mm, vent.y_mm)
    mouth = shapely.buffer(point, bore_mm / 2 + 0.2, quad_segs=8)
    if channels.is_empty or shapely.intersection(mouth, channels).area > 2.0:
        return mouth
    way = shapely.shortest_line(point, channels)
    end = np.asarray(way.coords)
    direction = (end[1] - end[0]) / max(way.length, 1e-9)
    longer = shapely.LineString([end[0], end[1] + direction])
    return shapely.union(mouth, shapely.buffer(longer, EDGE_PASSAGE_MM / 2, quad_segs=4))


def _gates(foot: MultiPolygon, chamber: MultiPolygon, spec: UndersideSpec) -> MultiPolygon:
    """Return slots through the rim, spaced along every ring of the foot."""
    if chamber.is_empty:
        return MultiPolygon()
    rings = [ring for part in foot.geoms for ring in (part.exterior, *part.interiors)]
    lines = [line for ring in rings for line in _gate_lines(ring, chamber, spec)]
    slots = [shapely.buffer(line, spec.gate_width_mm / 2, cap_style="flat") for line in lines]
    return _polygons(shapely.union_all(slots)) if slots else MultiPolygon()


def _gate_lines(
    ring: shapely.LinearRing, chamber: MultiPolygon, spec: UndersideSpec
) -> list[shapely.LineString]:
    count = max(2, ceil(ring.length / spec.gate_spacing_mm))
    points = shapely.line_interpolate_point(ring, (np.arange(count) + 0.5) * ring.length / count)
    lines = []
    for point in points:
        way = np.asarray(shapely.shortest_line(point, chamber).coords)
        length = float(np.linalg.norm(way[1] - way[0]))
        if 1e-6 < length < 3 * spec.rim_mm:
            direction = (way[1] - way[0]) / length
            lines.append(shapely.LineString([way[0] - 2 * direction, way[1] + direction]))
    return lines


def served(vents: Sequence[Vent], underside: Underside) -> list[int]:
    """Return, for each vent, the number of the airway piece it opens into (-1 if none)."""
    pieces = list(underside.airways.geoms)
    if not pieces or not vents:
        return [-1] * len(vents)
    tree = STRtree(pieces)
    points = shapely.points([(vent.x_mm, vent.y_mm) for vent in vents])
    vent_number, piece = tree.query(points, predicate="intersects")
    owner = dict(zip(vent_number.tolist(), piece.tolist(), strict=True))
    return [owner.get(number, -1) for number in range(len(vents))]


def _polygons(geometry: shapely.Geometry) -> MultiPolygon:
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type == "Polygon"]
    return MultiPolygon([part for part in parts if part.area > 0.05])
