"""Places of letters in words: ``the slanted stroke of the N``, ``the counter of the A``.

What a stroke is, is told by geometry alone: by the direction of what the shortest way across it
crosses, as seen with the letter upright.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import LineString, MultiPolygon, Point, Polygon
from shapely.affinity import rotate

from moldgen.mold.place.around import Span, is_curved, narrowest_span
from moldgen.mold.place.position import in_row, ninth_of, side_of

_UPRIGHT_DEG = 10.0
"""How far from plumb a stroke may lean and still be upright, or from level a bar. [°]."""

_NEAR = 0.5
"""How far from a letter a place may be and still be told by it, in heights of the letter. [-]."""

_ON_WALL = 0.08
"""How far out of its outline the wall of a letter reaches, in heights of the letter. [-]."""

_HOLLOW = 0.6
"""Share of solid round a place of the outline from which it is an inner corner. [-]."""

_SMALL_PIECE = 0.35
"""Share of a letter under which a piece of it is a dot or a mark. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacedLetter:
    """A letter where it stands.

    Attributes
    ----------
    name : str
        What it is called with its article, such as ``the first A``.
    word : str
        The word it stands in; empty if it stands alone.
    region : MultiPolygon
        Its outline. [mm]
    turn_deg : float
        How far it is turned against the clock. [°]
    """

    name: str
    word: str
    region: MultiPolygon
    turn_deg: float = 0.0

    @property
    def full_name(self) -> str:
        """Name and word: ``the A in HARBOR``."""
        return f"{self.name} in {self.word}" if self.word else self.name


def place_in_letters(place: Point, letters: Sequence[PlacedLetter]) -> str:
    """Return what a place is called by the letters around it; nothing if it is far from all.

    Parameters
    ----------
    place : Point
        A place in plan. [mm]
    letters : sequence of PlacedLetter
        All letters of a mold.
    """
    if not letters:
        return ""
    nearest = min(letters, key=lambda letter: letter.region.distance(place))
    upright = [_turned(letter.region, -nearest.turn_deg) for letter in letters]
    at = rotate(place, -nearest.turn_deg, origin=(0, 0))
    region = upright[letters.index(nearest)]
    height_mm = region.bounds[3] - region.bounds[1]
    if region.distance(at) > _NEAR * height_mm:
        return ""
    if region.distance(at) == 0 and region.boundary.distance(at) > 1e-6:
        return f"{_part(at, region)} of {nearest.full_name}"
    return _beside(at, nearest, letters, upright)


def _turned(region: MultiPolygon, by_deg: float) -> MultiPolygon:
    return rotate(region, by_deg, origin=(0, 0)) if by_deg else region


def _beside(
    at: Point,
    nearest: PlacedLetter,
    letters: Sequence[PlacedLetter],
    regions: Sequence[MultiPolygon],
) -> str:
    """Return what a place outside the strokes is called."""
    region = regions[letters.index(nearest)]
    height_mm = region.bounds[3] - region.bounds[1]
    whole = f"of {nearest.full_name}"
    on_wall = region.distance(at) < 1e-6
    if on_wall and _is_hollow(at, region, within_mm=0.06 * height_mm):
        return f"{_corner(at, region)} {whole}"
    span = None if on_wall else narrowest_span(at, regions, squarely=True)
    counter = _counter(at, region)
    if counter and not on_wall:
        return f"{counter} {whole}"
    if span is not None and (span.balance > 0.4 or region.distance(at) > _ON_WALL * height_mm):
        gap = _gap(span, letters, regions)
        if gap:
            return gap
    if region.distance(at) < _ON_WALL * height_mm:
        return f"{_part(_just_inside(at, region), region)} {whole}"
    return f"the {ninth_of(at, region.bounds)} {whole}"


def _gap(span: Span, letters: Sequence[PlacedLetter], regions: Sequence[MultiPolygon]) -> str:
    """Return what a gap is called: between two letters, or within one."""
    first, second = (letters[number] for number in span.owners)
    if first is second:
        region = regions[span.owners[0]]
        middle = Point(span.middle_mm)
        if not span.is_parallel:
            return f"{_corner(middle, region)} of {first.full_name}"
        return f"{_gap_within(middle, region, span)} of {first.full_name}"
    left, right = sorted(span.owners)
    a, b = letters[left], letters[right]
    if a.word == b.word:
        return f"the gap between {a.name} and {b.full_name}"
    return f"the gap between {a.full_name} and {b.full_name}"


def _gap_within(middle: Point, region: MultiPolygon, span: Span) -> str:
    """Return which gap between the strokes of one letter is meant, such as an E's upper one."""
    level = not _is_upright(span.along_deg)
    line = _line_through(middle, region, level=not level)
    solid = _pieces_along(line, region)
    gaps = [(a.bounds, b.bounds) for a, b in pairwise(solid)]
    inside = [
        k for k, (a, b) in enumerate(gaps)
        if (a[3] <= middle.y <= b[1] if level else a[2] <= middle.x <= b[0])
    ]  # fmt: skip
    names = ("lower", "upper") if level else ("left", "right")
    return f"the {in_row(inside[0], len(gaps), names) if inside else ''}gap between the strokes"


def _part(at: Point, region: MultiPolygon) -> str:
    """Return which stroke of a letter a place lies in."""
    piece = min(region.geoms, key=at.distance)
    if len(region.geoms) > 1 and piece.area < _SMALL_PIECE * region.area:
        x0, y0, x1, y1 = piece.bounds
        return "the dot" if max(x1 - x0, y1 - y0) < 1.5 * min(x1 - x0, y1 - y0) else "the mark"
    whole = MultiPolygon([piece])
    kind = _kind(at, whole)
    if kind == "curve":
        return f"the {_side(at, region)}curve"
    if kind == "bar":
        number, of = _among(at, whole, kind, level=False)
        share = (at.y - region.bounds[1]) / (region.bounds[3] - region.bounds[1])
        if of == 1 and 0.2 < share < 0.8:
            return "the crossbar"
        if of == 1:
            return f"the {'upper' if share > 0.5 else 'lower'} bar"
        return f"the {in_row(number, of, ('lower', 'upper'))}bar"
    number, of = _among(at, whole, kind, level=True)
    return f"the {in_row(number, of, ('left', 'right'))}{kind}"


def _kind(at: Point, region: MultiPolygon) -> str:
    """Return what kind of stroke there is at a place: by its direction, or as a curve."""
    span = narrowest_span(at, [region], squarely=True)
    if span is None:
        return "stroke"
    if is_curved(span, region):
        return "curve"
    if _is_upright(span.along_deg):
        return "upright"
    return "bar" if _is_level(span.along_deg) else "slanted stroke"


def _is_upright(along_deg: float) -> bool:
    return abs(along_deg - 90.0) <= _UPRIGHT_DEG


def _is_level(along_deg: float) -> bool:
    return min(along_deg, 180.0 - along_deg) <= _UPRIGHT_DEG


def _among(at: Point, region: MultiPolygon, kind: str, *, level: bool) -> tuple[int, int]:
    """Return which of the strokes of a kind along a line is meant, and how many there are."""
    pieces = _pieces_along(_line_through(at, region, level=level), region)
    middles = [piece.interpolate(0.5, normalized=True) for piece in pieces]
    own = min(range(len(pieces)), key=lambda k: pieces[k].distance(at))
    alike = [k for k, middle in enumerate(middles) if k == own or _kind(middle, region) == kind]
    return alike.index(own), len(alike)


def _line_through(at: Point, region: MultiPolygon, *, level: bool) -> LineString:
    x0, y0, x1, y1 = region.bounds
    if level:
        return LineString([(x0 - 1, at.y), (x1 + 1, at.y)])
    return LineString([(at.x, y0 - 1), (at.x, y1 + 1)])


def _pieces_along(line: LineString, region: MultiPolygon) -> list[LineString]:
    """Return where a line lies in a region, from left to right or from below upward."""
    parts = shapely.get_parts(line.intersection(region))
    return sorted(
        (part for part in parts if part.geom_type == "LineString"), key=lambda part: part.bounds
    )


def _side(at: Point, region: MultiPolygon) -> str:
    """Return on which side of a letter a curve runs: ``upper ``, ``left `` or nothing."""
    return f"{side_of(at, region.bounds)} "


def _counter(at: Point, region: MultiPolygon) -> str:
    """Return which counter of a letter a place lies in; nothing if in none."""
    holes = [Polygon(ring) for piece in region.geoms for ring in piece.interiors]
    own = [k for k, hole in enumerate(holes) if hole.intersects(at)]
    if not own:
        return ""
    middles = [hole.centroid for hole in holes]
    tall = max(m.y for m in middles) - min(m.y for m in middles)
    wide = max(m.x for m in middles) - min(m.x for m in middles)
    order = sorted(range(len(holes)), key=lambda k: middles[k].y if tall >= wide else middles[k].x)
    names = ("lower", "upper") if tall >= wide else ("left", "right")
    return f"the {in_row(order.index(own[0]), len(holes), names)}counter"


def _is_hollow(at: Point, region: MultiPolygon, *, within_mm: float) -> bool:
    near = at.buffer(within_mm, quad_segs=8)
    return bool(near.intersection(region).area > _HOLLOW * near.area)


def _corner(at: Point, region: MultiPolygon) -> str:
    return f"the {side_of(at, region.bounds)} inner corner"


def _just_inside(at: Point, region: MultiPolygon) -> Point:
    """Return a place a little within the outline, as near as there is one."""
    height_mm = region.bounds[3] - region.bounds[1]
    for share in (0.03, 0.01, 0.002):
        inner = region.buffer(-share * height_mm)
        if not inner.is_empty:
            return shapely.get_point(shapely.shortest_line(inner, at), 0)
    return region.representative_point()
