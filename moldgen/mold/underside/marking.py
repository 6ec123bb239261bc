"""What is sunk into the underside for people: which way is up, a label, something to pull on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import cos, pi

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.affinity import scale, translate

from moldgen.arrays import Floats
from moldgen.finding import Finding, Severity
from moldgen.mold.vents.vent import Vent
from moldgen.outline.lettering.font_choice import in_usual_letters
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.solid.height.relief import Relief
from moldgen.solid.polygons import polygons_of
from moldgen.stock import Insert, InsertKind

LETTER_HEIGHTS_MM = (6.0, 5.0, 4.0, 3.0)
"""Label letters that are tried, tallest first; strokes under 0.6 mm do not print. [mm]."""

LABEL_DEPTH_MM = 0.6
SKIN_MM = 1.2
"""Plastic left between a pocket and the mold's surface: six layers of 0.2 mm. [mm]."""

SLOT_MM = (12.0, 6.0)
"""Width and depth of a pry slot: a screwdriver or a putty knife goes in. [mm]."""

SLOT_HEIGHT_MM = 1.5
_STEP_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Marking:
    """Regions sunk into the underside, seen from above.

    Attributes
    ----------
    label : MultiPolygon
        Letters and arrow, mirrored so that they read from below; sunk ``LABEL_DEPTH_MM``. [mm]
    pocket : MultiPolygon
        Hole for the pull insert. [mm]
    pocket_depth_mm : float
        Depth of the pocket. [mm]
    reserved : MultiPolygon
        What channels must leave solid around all of it. [mm]
    findings : tuple of Finding
        What found no room.
    slots : MultiPolygon
        Pry slots at the foot, sunk ``SLOT_HEIGHT_MM``. [mm]
    """

    label: MultiPolygon
    pocket: MultiPolygon
    pocket_depth_mm: float
    reserved: MultiPolygon
    findings: tuple[Finding, ...]
    slots: MultiPolygon = field(default_factory=MultiPolygon)


def build_marking(
    name: str,
    foot: MultiPolygon,
    relief: Relief,
    vents: Sequence[Vent],
    *,
    lines: Sequence[str],
    arrow: bool,
    insert: Insert | None,
    rim_mm: float,
    insert_asked: bool = True,
    pry_slots: bool = False,
) -> Marking:
    """Find room under every piece of a body for a pull insert, then for an arrow and a label.

    Parameters
    ----------
    foot : MultiPolygon
        Where the body touches the table. [mm]
    lines : sequence of str
        Lines of the label; none for no label.
    arrow : bool
        Whether to sink an arrow that points to the top edge of the drawing.
    insert : Insert or None
        What to pull on.
    rim_mm : float
        Width kept free along the foot. [mm]
    insert_asked : bool
        Whether it is told if the insert finds no room. Label and arrow go where they fit.
    pry_slots : bool
        Whether to cut a slot into either end of the foot, to lever the mold out of the part.
    """
    wanted = _WantedMarks(tuple(lines), arrow, insert, insert_asked, pry_slots)
    markings = [
        _marked(name, MultiPolygon([piece]), relief, vents=vents, wanted=wanted, rim_mm=rim_mm)
        for piece in foot.geoms
    ]
    return Marking(
        label=_together([one.label for one in markings]),
        pocket=_together([one.pocket for one in markings]),
        pocket_depth_mm=max((one.pocket_depth_mm for one in markings), default=0.0),
        reserved=_together([one.reserved for one in markings]),
        findings=_counted([one.findings for one in markings]),
        slots=_together([one.slots for one in markings]),
    )


@dataclass(frozen=True, slots=True)
class _WantedMarks:
    """What every piece of a body should carry."""

    lines: tuple[str, ...]
    arrow: bool
    insert: Insert | None
    insert_asked: bool
    pry_slots: bool


def _marked(
    name: str,
    piece: MultiPolygon,
    relief: Relief,
    *,
    vents: Sequence[Vent],
    wanted: _WantedMarks,
    rim_mm: float,
) -> Marking:
    room = _Room(piece, relief, vents, rim_mm)
    findings: list[Finding] = []
    slots = _slots(name, piece, relief, vents, findings) if wanted.pry_slots else MultiPolygon()
    kept = shapely.buffer(slots, SKIN_MM, join_style="mitre")
    room.close(kept)
    pocket, depth, boss = _pocket(name, room, wanted, findings)
    label, plate = _label(room, wanted)
    reserved = shapely.union_all([part for part in (boss, plate, kept) if not part.is_empty])
    return Marking(label, pocket, depth, polygons_of(reserved), tuple(findings), slots)


def _counted(findings: Sequence[Sequence[Finding]]) -> tuple[Finding, ...]:
    """Return findings that several pieces share once, with how many pieces they concern."""
    every = [finding for piece in findings for finding in piece]
    kinds = dict.fromkeys(finding.says for finding in every)
    shared = []
    for says in kinds:
        same = [finding for finding in every if finding.says == says]
        more = f" (on {len(same)} of {len(findings)} pieces)" if len(findings) > 1 else ""
        shared.append(replace(same[0], says=says + more))
    return tuple(shared)


def _together(regions: Sequence[MultiPolygon]) -> MultiPolygon:
    return polygons_of(shapely.union_all(regions))


class _Room:
    """The underside on a raster: which cells are still free, and how much mold is above them."""

    def __init__(
        self, foot: MultiPolygon, relief: Relief, vents: Sequence[Vent], rim_mm: float
    ) -> None:
        x0, y0, x1, y1 = foot.bounds
        self.x = np.arange(x0 + _STEP_MM / 2, x1, _STEP_MM)
        self.y = np.arange(y0 + _STEP_MM / 2, y1, _STEP_MM)
        grid = np.meshgrid(self.x, self.y)
        inside = shapely.buffer(foot, -rim_mm)
        shapely.prepare(inside)
        self._grid = grid
        self.free = shapely.contains_xy(inside, *grid)
        for vent in vents:
            self.free &= _away_mm(vent, *grid) > 4.0
        places = np.column_stack([grid[0].ravel(), grid[1].ravel()])
        rows, columns = relief.cells(places).T
        self.above_mm = relief.on_table_mm[rows, columns].reshape(self.free.shape)
        self.middle = np.array([foot.centroid.x, foot.centroid.y])

    def close(self, region: shapely.Geometry) -> None:
        """Take what lies within a region."""
        if not region.is_empty:
            self.free &= ~shapely.contains_xy(shapely.buffer(region, _STEP_MM), *self._grid)

    def take(
        self, width_mm: float, depth_mm: float, *, height_mm: float = 0.0
    ) -> tuple[float, float] | None:
        """Return the middle of the free rectangle nearest the body's middle, and take it."""
        columns, rows = (int(np.ceil(side / _STEP_MM)) for side in (width_mm, depth_mm))
        usable = self.free & (self.above_mm >= height_mm)
        starts = _fits(usable, rows, columns)
        if not len(starts):
            return None
        middles = np.column_stack(
            [
                self.x[starts[:, 1]] + (columns - 1) * _STEP_MM / 2,
                self.y[starts[:, 0]] + (rows - 1) * _STEP_MM / 2,
            ]
        )
        best = int(np.argmin(np.round(np.hypot(*(middles - self.middle).T), 6)))
        row, column = starts[best]
        self.free[row : row + rows, column : column + columns] = False
        return float(middles[best, 0]), float(middles[best, 1])


def _away_mm(vent: Vent, x_mm: Floats, y_mm: Floats) -> Floats:
    """Return how far places are from the middle of a vent, or from the line of its slit. [mm]."""
    turn, half = (0.0, 0.0) if vent.slit is None else (vent.slit.turn_deg, vent.slit.length_mm / 2)
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    along = c * (x_mm - vent.x_mm) + s * (y_mm - vent.y_mm)
    across = c * (y_mm - vent.y_mm) - s * (x_mm - vent.x_mm)
    return np.asarray(np.hypot(np.maximum(np.abs(along) - half, 0.0), across))


def _fits(usable: NDArray[np.bool_], rows: int, columns: int) -> NDArray[np.int64]:
    """Return the corner cells of all full rectangles of this size, by a summed-area table."""
    if rows > usable.shape[0] or columns > usable.shape[1]:
        return np.empty((0, 2), np.int64)
    table = np.pad(usable.astype(np.int64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    full = (
        table[rows:, columns:]
        - table[:-rows, columns:]
        - table[rows:, :-columns]
        + table[:-rows, :-columns]
    )
    return np.argwhere(full == rows * columns)


def _pocket(
    name: str, room: _Room, wanted: _WantedMarks, findings: list[Finding]
) -> tuple[MultiPolygon, float, shapely.Geometry]:
    insert = wanted.insert
    if insert is None:
        return MultiPolygon(), 0.0, MultiPolygon()
    depth = (insert.thickness_mm or 0.0) + 1.0
    shape = _pocket_shape(insert)
    across = shape.bounds[2] - shape.bounds[0] + 2 * 2.4
    spot = room.take(across, across, height_mm=depth + SKIN_MM)
    if spot is None:
        if wanted.insert_asked:
            findings.append(_no_room(name, f"the {insert.title} to lift it by", depth + SKIN_MM))
        return MultiPolygon(), 0.0, MultiPolygon()
    boss = shapely.buffer(shapely.Point(*spot), across / 2)
    return MultiPolygon([translate(shape, *spot)]), depth, boss


def _pocket_shape(insert: Insert) -> shapely.Polygon:
    """Return a round hole for a heat-set insert, or a hexagon that holds a nut, middle at 0."""
    if insert.kind is InsertKind.NUT and insert.across_flats_mm is not None:
        corner = (insert.across_flats_mm + 0.2) / 2 / cos(pi / 6)
        turns = np.arange(6) * pi / 3
        return shapely.Polygon(np.column_stack([corner * np.cos(turns), corner * np.sin(turns)]))
    return shapely.Point(0, 0).buffer((insert.hole_mm or 0.0) / 2, quad_segs=12)


def _slots(
    name: str,
    foot: MultiPolygon,
    relief: Relief,
    vents: Sequence[Vent],
    findings: list[Finding],
) -> MultiPolygon:
    """Return two slots where the long axis of the body leaves its foot."""
    body = max(foot.geoms, key=lambda part: part.area)
    axis = _long_axis(body)
    mid = np.array([body.centroid.x, body.centroid.y])
    found = [_slot(body, mid, sign * axis, relief, vents) for sign in (1.0, -1.0)]
    slots = [slot for slot in found if slot is not None]
    if len(slots) < 2:
        findings.append(_no_room(name, "two pry slots", SLOT_HEIGHT_MM + SKIN_MM))
        return MultiPolygon()
    return MultiPolygon(slots)


def _long_axis(body: shapely.Polygon) -> NDArray[np.float64]:
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(body))
    sides = np.diff(corners[:3], axis=0)
    lengths = np.hypot(*sides.T)
    longest = sides[int(lengths[1] > lengths[0] + 1e-6)]
    return np.asarray(longest / max(float(lengths.max()), 1e-9))


def _slot(
    body: shapely.Polygon,
    mid: NDArray[np.float64],
    way: NDArray[np.float64],
    relief: Relief,
    vents: Sequence[Vent],
) -> shapely.Polygon | None:
    """Return a slot from outside to its depth inside the foot, if the plastic there allows."""
    width, depth = SLOT_MM
    far = float((shapely.get_coordinates(body.exterior) @ way).max()) - float(mid @ way)
    line = shapely.LineString([mid, mid + (far + 1.0) * way])
    ends = shapely.get_coordinates(shapely.intersection(line, body.exterior))
    if not len(ends):
        return None
    edge = float(((ends - mid) @ way).max())
    run = shapely.LineString([mid + (edge - depth) * way, mid + (edge + 4.0) * way])
    slot = shapely.buffer(run, width / 2, cap_style="flat")
    inside = shapely.intersection(slot, body)
    clear = all(slot.distance(vent.axis_mm) > 2.0 + SKIN_MM for vent in vents)
    # Behind the slot a channel still passes, within the rim of whatever lies beyond.
    behind = shapely.LineString([mid + (edge - depth - 7.0) * way, mid + (edge - 1.0) * way])
    roomy = inside.area > 0.85 * width * depth and edge > 2 * depth and body.covers(behind)
    return slot if clear and roomy and _thick(inside, relief) else None


def _thick(inside: shapely.Geometry, relief: Relief) -> bool:
    """Tell whether enough plastic is left over the inner half of a slot."""
    x0, y0, x1, y1 = inside.bounds
    grid = np.meshgrid(np.arange(x0, x1, 0.5), np.arange(y0, y1, 0.5))
    places = np.column_stack([axis.ravel() for axis in grid])
    within = shapely.contains_xy(shapely.buffer(inside, -SLOT_MM[1] / 4), *places.T)
    rows, columns = relief.cells(places[within]).T
    heights = relief.on_table_mm[rows, columns]
    return bool(heights.min(initial=np.inf) >= SLOT_HEIGHT_MM + SKIN_MM)


def _label(room: _Room, wanted: _WantedMarks) -> tuple[MultiPolygon, shapely.Geometry]:
    for block in _blocks(wanted.lines, wanted.arrow):
        x0, y0, x1, y1 = block.bounds
        spot = room.take(x1 - x0 + 2.0, y1 - y0 + 2.0, height_mm=LABEL_DEPTH_MM + SKIN_MM)
        if spot is not None:
            placed = translate(block, spot[0] - (x0 + x1) / 2, spot[1] - (y0 + y1) / 2)
            return placed, shapely.box(*shapely.buffer(shapely.box(*placed.bounds), 0.8).bounds)
    return MultiPolygon(), MultiPolygon()


def _blocks(lines: tuple[str, ...], arrow: bool) -> Iterator[MultiPolygon]:
    """Yield mirrored label blocks to be tried, the most welcome first; at last the arrow alone."""
    for height in LETTER_HEIGHTS_MM if lines and _words(lines) else ():
        yield _block(lines, height, arrow)
    if arrow:
        yield _mirrored([_arrow(8.0)])


@lru_cache(maxsize=16)
def _block(lines: tuple[str, ...], height_mm: float, arrow: bool) -> MultiPolygon:
    """Return the words in one size, with the arrow beside them, mirrored."""
    size = height_mm / LETTER_HEIGHTS_MM[0]
    text = scale(_words(lines), size, size, origin=(0, 0))
    parts = [text]
    if arrow:
        x0, y0, _, y1 = text.bounds
        sign = _arrow(max(8.0, y1 - y0))
        parts.append(translate(sign, x0 - 3.0 - sign.bounds[2], y0 - sign.bounds[1]))
    return _mirrored(parts)


@lru_cache(maxsize=16)
def _words(lines: tuple[str, ...]) -> MultiPolygon:
    """Return the lines of a label in the largest size. [mm]."""
    spec = TextSpec(
        text=in_usual_letters("\n".join(lines)), height_mm=LETTER_HEIGHTS_MM[0], chord_mm=0.03
    )
    return outline_from_text(spec).region


def _arrow(height_mm: float) -> shapely.Polygon:
    """Return an arrow that points along y."""
    h = height_mm
    return shapely.Polygon(
        [(-1, 0), (1, 0), (1, h - 4), (3.2, h - 4), (0, h), (-3.2, h - 4), (-1, h - 4)]
    )


def _mirrored(parts: Sequence[shapely.Geometry]) -> MultiPolygon:
    return polygons_of(scale(shapely.union_all(parts), xfact=-1.0, origin=(0, 0)))


def _no_room(name: str, what: str, height_mm: float) -> Finding:
    return Finding(
        code="no-room-underneath",
        severity=Severity.NOTE,
        says=f"there is no room in the underside for {what}",
        limit=None,
        measured=None,
        subject=name,
        basis="geometry of the underside",
        advice=f"It was left out; it needs {height_mm:.1f} mm of plastic above the table and more "
        "room beside the vents.",
    )
