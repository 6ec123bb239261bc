"""The flat strip at 1:1: edge, bend lines, what must be soft, and marks beside the edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.bend.strip.layout import BendLine, Layout
from moldgen.bend.strip.part import StripSpec
from moldgen.export.plan.items import Item, text_room_mm
from moldgen.export.plan.plan import Dimension, Layer, Line, Note, Plan, PlanRegion
from moldgen.outline.region import quarter_segments
from moldgen.solid.polygons import polygons_of
from moldgen.wording import gauge_text

_TICK_MM = (1.0, 7.0)
"""From the edge to where a tick begins and ends: a cutter on the edge must not touch it. [mm]."""
_ROW_MM = 7.0
_LETTER_MM = 2.5


def build_strip_plan(layout: Layout) -> Plan:
    """Return the drawing of a flat strip, left end at x = 0 and near edge at y = 0.

    The bend lines and the edges of the soft strip are drawn on lines of their own; what is cut is
    only the edge of the strip with its holes. Ticks beside both edges show where the bend lines
    are to be drawn on the film or the plastic.
    """
    strip = layout.strip
    items: list[Item] = [*_edge(layout), *_hole_crosses(strip)]
    for line in layout.lines:
        items += _bend_items(strip, line)
    items += _dimensions(layout)
    items += [
        Note(x_mm=4.0, y_mm=strip.width_mm + 4.5, text="FAR EDGE, MARKS ON TOP", align=0.0),
        Note(x_mm=4.0, y_mm=-4.5, text="NEAR EDGE", align=0.0),
        Note(x_mm=-5.0, y_mm=strip.width_mm / 2, text="LEFT END", angle_deg=90.0),
    ]
    about = f"flat strip, {gauge_text(strip.thickness_mm)} {strip.plastic}"
    return Plan(title=" ".join(strip.name.split()), items=tuple(items), about=about)


def bend_text(line: BendLine) -> str:
    """Return what is written beside a bend line: number, angle and way."""
    if line.bend.is_fold:
        gap = 2 * line.radius_mm
        return f"bend {line.number}: fold {line.bend.turn}, gap {gap:g}"
    return f"bend {line.number}: {line.bend.angle_deg:g}° {line.bend.turn}"


def flat_outline(layout: Layout) -> MultiPolygon:
    """Return the flat strip with its holes, seen from above. [mm]."""
    strip = layout.strip
    whole = strip.outline or shapely.box(0.0, 0.0, layout.developed_mm, strip.width_mm)
    holes = [
        shapely.Point(along, across).buffer(size / 2, quad_segs=quarter_segments(size / 2))
        for along, across, size in strip.holes
    ]
    region = shapely.difference(whole, shapely.union_all(holes)) if holes else whole
    return polygons_of(region)


def _edge(layout: Layout) -> Iterator[PlanRegion]:
    for part in flat_outline(layout).geoms:
        rings = [np.array(ring.coords)[:-1, :2] for ring in (part.exterior, *part.interiors)]
        for ring in rings:
            ring.setflags(write=False)
        yield PlanRegion(Layer.STRIP, tuple(rings))


def _hole_crosses(strip: StripSpec) -> Iterator[Item]:
    for along, across, size in strip.holes:
        arm = min(size * 0.3, 2.0)
        for dx, dy in ((arm, 0.0), (0.0, arm)):
            start, end = (along - dx, across - dy), (along + dx, across + dy)
            yield Line(start_mm=start, end_mm=end, layer=Layer.MARK)


def _bend_items(strip: StripSpec, line: BendLine) -> Iterator[Item]:
    low, high = 0.0, strip.width_mm
    x = line.center_mm
    yield Line(start_mm=(x, low), end_mm=(x, high), layer=Layer.BEND)
    for edge in line.hot_mm:
        yield Line(start_mm=(edge, low), end_mm=(edge, high), layer=Layer.HOT)
    near, far = _TICK_MM
    yield Line(start_mm=(x, low - near), end_mm=(x, low - far), layer=Layer.TICK)
    yield Line(start_mm=(x, high + near), end_mm=(x, high + far), layer=Layer.TICK)
    for aside, words in ((-2.2, bend_text(line)), (2.2, f"{x:.1f} mm, {inches(x)}")):
        middle = high + far + 2.0 + text_room_mm(words, _LETTER_MM) / 2
        yield Note(x_mm=x + aside, y_mm=middle, text=words, angle_deg=90.0)


def _dimensions(layout: Layout) -> Iterator[Dimension]:
    stops = [0.0, *(line.center_mm for line in layout.lines), layout.developed_mm]
    depth = _TICK_MM[1] + 6.0
    chain = list(_chain(stops, depth))
    yield from chain
    total = layout.developed_mm
    lowest = max(-run.offset_mm for run in chain)
    yield _below(0.0, total, lowest + _ROW_MM, f"{total:.1f} mm ({inches(total)})")
    width = layout.strip.width_mm
    yield Dimension(start_mm=(0.0, 0.0), end_mm=(0.0, width), offset_mm=12.0, text=f"{width:g} mm")


def _chain(stops: Sequence[float], depth_mm: float) -> Iterator[Dimension]:
    """Dimension each run; where runs are short, every second text is a row lower."""
    lowered = False
    for start, end in pairwise(stops):
        text = f"{end - start:.1f}"
        lowered = not lowered and end - start < text_room_mm(text, _LETTER_MM) + 3.0
        yield _below(start, end, depth_mm + (_ROW_MM if lowered else 0.0), text)


def _below(start: float, end: float, depth: float, text: str) -> Dimension:
    return Dimension(start_mm=(start, 0.0), end_mm=(end, 0.0), offset_mm=-depth, text=text)


def inches(length_mm: float) -> str:
    """Return a length in inches to the nearest 1/32, as a tape shows it: ``9 17/32 in``."""
    whole, rest = divmod(round(length_mm / 25.4 * 32), 32)
    if not rest:
        return f"{whole} in"
    below = 32
    while rest % 2 == 0:
        rest, below = rest // 2, below // 2
    return f"{whole} {rest}/{below} in" if whole else f"{rest}/{below} in"
