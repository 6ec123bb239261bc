"""The underside of a mold: channels, feet and air notches, from every vent to the table's holes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Annotated

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, STRtree

from moldgen.mold.choices import UndersideKind
from moldgen.mold.underside.props import FIN_MM, grown, printable, propped
from moldgen.mold.underside.table_holes import free_holes_mm2, unserved_share
from moldgen.mold.vents.vent import Vent
from moldgen.quantity import Quantity, Spec
from moldgen.solid.polygons import polygons_of
from moldgen.solid.slit import END_MM

__all__ = [
    "BORE_WALL_MM",
    "Underside",
    "UndersideKind",
    "UndersideSpec",
    "build_underside",
    "ceiling_of",
    "chamber_of",
    "free_holes_mm2",
    "served",
    "unserved_share",
    "widest_span_mm",
]

PAD_MM = 6.0
"""Side of the pads that carry a mold between its channels. [mm]."""

EDGE_PASSAGE_MM = 3.0
"""Width always kept free between pads and the rim, so that no pad can close a channel. [mm]."""

BORE_WALL_MM = 1.2
"""Least plastic around a bore: three lines of 0.4 mm (common practice, no source). [mm]."""


GOLDEN = 0.3819660113
"""Shift from one row of pads to the next, as a share of their pitch: the golden section."""

MOUTH_MM = 0.2
"""How much farther than its bore a mouth reaches, so that no two edges nearly meet. [mm]."""

FOOT_INSET_MM = 0.8
"""How far from the mold's edge its feet stay, out of the sheet's way. [mm]."""

SPECK_MM2 = 0.05
"""Pieces of channels and air notches no larger than this are left out. [mm²]."""

SHUT_IN = 0.25
"""A piece of channel under this share of the largest one is given a way to it. [-]."""

CRUMB_MM2 = 12.0
"""A piece of channel smaller than this, and with no vent, is not cut. [mm²]."""


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
    air_notch_mm: Annotated[
        float, Quantity("mm", "height of an air notch at the foot line", above=0, at_most=3)
    ] = 0.6
    air_notch_width_mm: Annotated[
        float, Quantity("mm", "width of an air notch", above=0, at_most=10)
    ] = 2.0
    air_notch_spacing_mm: Annotated[
        float, Quantity("mm", "greatest distance between air notches", at_least=5)
    ] = 30.0
    bore_mm: Annotated[
        float, Quantity("mm", "diameter of the counterbore under a vent", above=0, at_most=12)
    ] = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Underside:
    """Regions cut into the underside, all seen from above.

    Attributes
    ----------
    channels : MultiPolygon
        Cut to ``spec.depth_mm``. [mm]
    air_notches : MultiPolygon
        Cut to ``spec.air_notch_mm``. [mm]
    spec : UndersideSpec
        What was asked for.
    """

    channels: MultiPolygon
    air_notches: MultiPolygon
    spec: UndersideSpec

    @property
    def airways(self) -> MultiPolygon:
        """Channels and air notches as one region. [mm]."""
        return _pieces(shapely.union(self.channels, self.air_notches))


def build_underside(
    foot: MultiPolygon,
    vents: Sequence[Vent],
    spec: UndersideSpec,
    *,
    reserved: MultiPolygon | None = None,
) -> Underside:
    """Lay channels, pads and air notches under a mold.

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
    mouths = shapely.union_all([_mouth(vent, spec) for vent in vents])
    if spec.kind is UndersideKind.FEET:
        channels = [_feet(piece, mouths, kept, vents, spec) for piece in foot.geoms]
        return Underside(printable(shapely.union_all(channels)), MultiPolygon(), spec)
    channels = _relief(foot, mouths, kept, vents, spec)
    return Underside(channels, _air_notches(foot, channels, kept, spec), spec)


def _relief(
    foot: shapely.Geometry,
    mouths: shapely.Geometry,
    kept: shapely.Geometry,
    vents: Sequence[Vent],
    spec: UndersideSpec,
) -> MultiPolygon:
    room = shapely.difference(chamber_of(foot, spec.rim_mm), kept)
    pads = _pads(shapely.buffer(room, -EDGE_PASSAGE_MM), mouths, spec.bridge_mm)
    pads = shapely.union(pads, _rails(vents))
    laid = shapely.union(shapely.difference(room, pads), shapely.intersection(mouths, foot))
    joined = shapely.union_all([laid, *(_spur(vent, laid, spec) for vent in vents)])
    channels = propped(printable(joined), mouths, spec.bridge_mm)
    # Rails, props and pads may have shut a pocket in that was open before.
    shut = [
        spur
        for piece in shapely.get_parts(foot)
        for spur in _ways_out(piece, channels, vents, spec)
    ]
    if shut:
        channels = printable(shapely.union_all([channels, *shut]))
    return _leading(channels, mouths)


def _ways_out(
    piece: shapely.Polygon, channels: MultiPolygon, vents: Sequence[Vent], spec: UndersideSpec
) -> Iterator[shapely.Geometry]:
    """Yield ways from vents that are shut in to the largest channel under the same piece."""
    under = [part for part in channels.geoms if shapely.intersects(part, piece)]
    largest = max(under, key=lambda part: part.area, default=None)
    if largest is None:
        return
    for vent in vents:
        mouth = _mouth(vent, spec)
        own = [part for part in under if shapely.intersects(part, mouth)]
        if own and all(part.area < SHUT_IN * largest.area for part in own):
            yield _way(vent, largest)


def _leading(channels: MultiPolygon, mouths: shapely.Geometry) -> MultiPolygon:
    """Leave out crumbs between pads that stand close together: they lead nowhere."""
    largest = max((part.area for part in channels.geoms), default=0.0)
    return MultiPolygon(
        [
            part
            for part in channels.geoms
            if part.area > min(CRUMB_MM2, 0.5 * largest) or shapely.intersects(part, mouths)
        ]
    )


def _feet(
    piece: shapely.Polygon,
    mouths: shapely.Geometry,
    kept: shapely.Geometry,
    vents: Sequence[Vent],
    spec: UndersideSpec,
) -> shapely.Geometry:
    """Open all under a piece but its feet; a piece too small for feet keeps a closed rim."""
    pads = _pads(shapely.buffer(piece, -FOOT_INSET_MM), mouths, spec.bridge_mm)
    solid = shapely.union(pads, shapely.intersection(kept, piece))
    if not _stands(piece, solid):
        inside = [vent for vent in vents if piece.covers(shapely.Point(vent.x_mm, vent.y_mm))]
        within = shapely.intersection(mouths, piece)
        return _relief(MultiPolygon([piece]), within, kept, inside, spec)
    return shapely.difference(shapely.buffer(piece, 1.0), solid)


def _stands(piece: shapely.Polygon, feet: shapely.Geometry) -> bool:
    """Tell whether a piece on feet stands: its middle lies well within the hull of its feet."""
    hull = shapely.convex_hull(shapely.intersection(piece, feet))
    return bool(shapely.contains(shapely.buffer(hull, -1.0), piece.centroid))


def _mouth(vent: Vent, spec: UndersideSpec) -> shapely.Geometry:
    """Return the hole in the underside that a vent's bore opens into, wider than the bore.

    A slit's is longer than its pocket, but narrower: the rails beside it end in the pocket's walls.
    """
    if vent.slit is not None:
        return vent.strip_mm(_between_rails_mm(vent), longer_mm=END_MM + MOUTH_MM)
    radius = (vent.bore_mm or spec.bore_mm) / 2 + MOUTH_MM
    return shapely.buffer(shapely.Point(vent.x_mm, vent.y_mm), radius, quad_segs=8)


def _between_rails_mm(vent: Vent) -> float:
    """Return how far apart the rails beside a slit's pocket are laid: the pocket cuts the rest."""
    return max((vent.bore_mm or 0.0) - 2 * MOUTH_MM, FIN_MM + MOUTH_MM)


def _rails(vents: Sequence[Vent]) -> shapely.Geometry:
    """Return walls along both sides of every slit's pocket: they carry the ceiling beside it."""
    rails = [_beside(vent) for vent in vents if vent.slit is not None]
    return shapely.union_all(rails)


def _beside(vent: Vent) -> shapely.Geometry:
    width, longer = (vent.bore_mm or 0.0) + 2 * BORE_WALL_MM, END_MM + BORE_WALL_MM
    way = vent.strip_mm(_between_rails_mm(vent), longer_mm=longer + MOUTH_MM)
    return shapely.difference(vent.strip_mm(width, longer_mm=longer), way)


def chamber_of(foot: MultiPolygon, rim_mm: float) -> MultiPolygon:
    """Return the region within the rim; narrow strokes get a thinner rim rather than none. [mm]."""
    # Corners a few microns apart, as a loft leaves them, make every step here slow.
    foot = shapely.simplify(foot, 0.01)
    wide = shapely.buffer(foot, -rim_mm)
    thin = shapely.buffer(foot, -max(BORE_WALL_MM, rim_mm / 2))
    grown = shapely.buffer(shapely.simplify(wide, 0.01), rim_mm)
    narrow = shapely.difference(thin, grown)
    useful = [part for part in shapely.get_parts(narrow) if part.area > 12.0]
    ties = [shapely.intersection(shapely.buffer(part, rim_mm + 0.2), thin) for part in useful]
    return _pieces(shapely.union_all([wide, *ties]))


def widest_span_mm(region: MultiPolygon) -> float:
    """Return the longest way a printer must bridge over a channel, taken the shorter way. [mm].

    The largest circle that fits the region spans its diameter in every direction.
    """
    parts = shapely.get_parts(region)
    if len(parts) == 0:
        return 0.0
    return float(2 * shapely.length(shapely.maximum_inscribed_circle(parts, tolerance=0.05)).max())


def ceiling_of(underside: Underside, vents: Sequence[Vent], foot: MultiPolygon) -> MultiPolygon:
    """Return what a printer must bridge: the airways under the mold, less the bores. [mm]."""
    mouths = shapely.union_all([_mouth(vent, underside.spec) for vent in vents])
    over = shapely.intersection(underside.airways, foot)
    return _pieces(shapely.difference(over, mouths))


def _pads(room: shapely.Geometry, mouths: shapely.Geometry, bridge_mm: float) -> shapely.Geometry:
    """Return pads on a square grid, clipped to the room, clear of bores, freed of crumbs."""
    if room.is_empty:
        return MultiPolygon()
    x, y = _pad_corners(room.bounds, PAD_MM + 0.65 * bridge_mm)
    squares = shapely.box(x, y, x + PAD_MM, y + PAD_MM)
    free = shapely.difference(room, shapely.buffer(mouths, FIN_MM))
    clipped = shapely.intersection(squares, free)
    smooth = grown(grown(clipped, -0.5), 0.5)
    return shapely.union_all([pad for pad in shapely.get_parts(smooth) if pad.area > 4.0])


def _pad_corners(
    bounds: tuple[float, float, float, float], pitch: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the low corners of pads in rows, each row shifted against all the others.

    Pads in step with the table's holes could stand on every hole at once; rows shifted by the
    golden section are in step with no grid.
    """
    x0, y0, x1, y1 = bounds
    rows = _spread(y0, y1, pitch)
    if x1 - x0 <= PAD_MM + pitch:
        x, y = np.meshgrid(_spread(x0, x1, pitch), rows)
        return x.ravel(), y.ravel()
    steps = np.arange(-1, ceil((x1 - x0) / pitch) + 1) * pitch
    shift = np.modf(np.arange(len(rows)) * GOLDEN)[0] * pitch
    x = x0 + steps[None, :] + shift[:, None]
    return x.ravel(), np.repeat(rows, len(steps))


def _spread(low: float, high: float, pitch: float) -> NDArray[np.float64]:
    """Return where pads start so that they reach from end to end, no farther apart than asked."""
    run = high - low - PAD_MM
    if run <= 0:
        return np.array([(low + high - PAD_MM) / 2])
    return np.linspace(low, high - PAD_MM, ceil(run / pitch) + 1)


def _spur(vent: Vent, channels: shapely.Geometry, spec: UndersideSpec) -> shapely.Geometry:
    """Return the way from the foot of a vent's bore to the nearest channel beyond its mouth."""
    mouth = _mouth(vent, spec)
    own = [part for part in shapely.get_parts(channels) if shapely.intersects(part, mouth)]
    if any(part.area > 2 * mouth.area for part in own):
        return mouth
    others = shapely.difference(channels, shapely.union_all(own))
    if others.is_empty:
        return mouth
    return shapely.union(mouth, _way(vent, others))


def _way(vent: Vent, channels: shapely.Geometry) -> shapely.Geometry:
    """Return a passage from a vent to the nearest of some channels, and a little into it."""
    end = np.asarray(shapely.shortest_line(vent.axis_mm, channels).coords)
    direction = (end[1] - end[0]) / max(float(np.hypot(*(end[1] - end[0]))), 1e-9)
    longer = shapely.LineString([end[0], end[1] + direction])
    return shapely.buffer(longer, EDGE_PASSAGE_MM / 2, quad_segs=4)


def _air_notches(
    foot: MultiPolygon, channels: MultiPolygon, kept: MultiPolygon, spec: UndersideSpec
) -> MultiPolygon:
    """Return slots through the rim, spaced along every ring of the foot."""
    if channels.is_empty:
        return MultiPolygon()
    rings = [ring for part in foot.geoms for ring in (part.exterior, *part.interiors)]
    shut = shapely.buffer(kept, FIN_MM)
    slots = [
        air_notch for ring in rings for air_notch in _ring_air_notches(ring, channels, shut, spec)
    ]
    return _pieces(shapely.union_all(slots)) if slots else MultiPolygon()


def _ring_air_notches(
    ring: shapely.LinearRing, channels: MultiPolygon, shut: shapely.Geometry, spec: UndersideSpec
) -> Iterator[shapely.Polygon]:
    """Yield air notches evenly along a ring, a little aside where what is kept solid is in the way.

    An air notch runs from outside the foot well into the channels.
    """
    count = max(2, ceil(ring.length / spec.air_notch_spacing_mm))
    step = ring.length / count
    for k in range(count):
        for aside in (0.0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36):
            point = ring.interpolate(((k + 0.5 + aside) * step) % ring.length)
            air_notch = _air_notch(point, channels, spec)
            if air_notch is not None and not shapely.intersects(air_notch, shut):
                yield air_notch
                break


def _air_notch(
    point: shapely.Point, channels: MultiPolygon, spec: UndersideSpec
) -> shapely.Polygon | None:
    way = np.asarray(shapely.shortest_line(point, channels).coords)
    length = float(np.linalg.norm(way[1] - way[0]))
    if not 1e-6 < length < 3 * spec.rim_mm:
        return None
    direction = (way[1] - way[0]) / length
    middle = shapely.LineString([way[0] - direction, way[1] + direction])
    return shapely.buffer(middle, spec.air_notch_width_mm / 2, cap_style="flat")


def served(vents: Sequence[Vent], underside: Underside) -> list[int]:
    """Return, for each vent, the number of the airway piece it opens into (-1 if none)."""
    pieces = list(underside.airways.geoms)
    if not pieces or not vents:
        return [-1] * len(vents)
    tree = STRtree(pieces)
    middles = [vent.axis_mm for vent in vents]
    vent_number, piece = tree.query(middles, predicate="intersects")
    owner = dict(zip(vent_number.tolist(), piece.tolist(), strict=True))
    return [owner.get(number, -1) for number in range(len(vents))]


def _pieces(geometry: shapely.Geometry) -> MultiPolygon:
    return polygons_of(geometry, speck_mm2=SPECK_MM2)
