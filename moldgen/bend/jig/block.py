"""Block: the side view of a bend block: what is under the strip, above it, and behind its end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from moldgen.bend.jig.held import PressedStrip
from moldgen.solid.polygons import polygons_of

LEAST_TOP_MM = 24.0
"""A block is at least this tall above the strip, to be held. [mm]."""
LIP_MM = 3.0
"""Lips that keep a weight from sliding off its shelf: width and height. [mm]."""
LEAST_SHELF_MM = 25.0
WEIGHT_MM = 30.0
"""Height that a weight needs free above its shelf. [mm]."""
RAIL_MM = 6.0
"""How far the side rail reaches beyond the strip. [mm]."""
LONGEST_FENCE_MM = 700.0
_FAR_MM = 1e4


@dataclass(frozen=True, slots=True, kw_only=True)
class JigSizes:
    """What of a jig may be chosen; see `JigSpec`. [mm]."""

    face_mm: float
    base_mm: float
    fence_mm: float
    shelf_mm: float
    clearance_mm: float
    facing_mm: float
    relief_mm: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Block:
    """The side view of a jig. Regions in the jig's frame. [mm].

    Attributes
    ----------
    held : PressedStrip
        The strip in it.
    sizes : JigSizes
        What was chosen.
    solid : Geometry
        What is raised over the width of the strip.
    rail : Geometry
        The plate at the side, which joins all of it.
    former : Geometry
        The part of the solid inside the bend, on which the hot strip lies.
    base : tuple of four floats
        Box of the part under the held leg.
    fence_mm : float or None
        From the bend line to the fence at the strip's end; none if there is none.
    shelf_mm : float
        Length of the level top on which a weight can stand; 0 if there is no room.
    face_mm : float
        How far up the folded leg the block goes.
    """

    held: PressedStrip
    sizes: JigSizes
    solid: shapely.Geometry
    rail: shapely.Geometry
    former: shapely.Geometry
    base: tuple[float, float, float, float]
    fence_mm: float | None
    shelf_mm: float
    face_mm: float


def build_block(held: PressedStrip, sizes: JigSizes) -> Block:
    """Return the side view of the jig for a bend."""
    end = held.end_mm
    fence = end if end is not None and end <= LONGEST_FENCE_MM else None
    face = max(min(sizes.face_mm, held.runs_mm[1] - held.half_mm), 20.0)
    former, rear, top = _former(held, sizes, face, fence)
    left = -(rear if fence is None else fence + sizes.fence_mm)
    bottom = -held.thickness_mm / 2 - sizes.base_mm
    base = (left, bottom, _base_front(held, left), -held.thickness_mm / 2)
    stop = _stop(held, sizes, fence, bottom)
    shelf, lips = _shelf(held, sizes, former, rear, top)
    tail: list[Polygon] = []
    if not lips and fence is not None:
        shelf, tail = sizes.shelf_mm, _tail(sizes, left, bottom)
    cut_former = _cavity(held, sizes.clearance_mm + sizes.facing_mm, fence)
    cut_base = _cavity(held, sizes.clearance_mm, fence)
    swept = shapely.buffer(held.swept, sizes.clearance_mm, join_style="mitre")
    inside = shapely.union_all([former, *lips])
    inside = inside - cut_former - _relief(held, sizes) - swept
    under = shapely.union_all([shapely.box(*base), stop, *tail]) - cut_base - swept
    solid = _clean(shapely.union_all([inside, under]))
    rail = _rail(held, [former, *lips, shapely.box(*base), stop, *tail, solid], left, face)
    return Block(
        held=held,
        sizes=sizes,
        solid=solid,
        rail=rail,
        former=_clean(inside),
        base=base,
        fence_mm=fence,
        shelf_mm=shelf,
        face_mm=face,
    )


def _base_front(held: PressedStrip, left: float) -> float:
    """Return where the base ends: short of the soft strip, unless nothing would be left."""
    return max(-max(held.half_mm, held.hot_mm / 2), left + 6.0)


def _former(
    held: PressedStrip, sizes: JigSizes, face: float, fence: float | None
) -> tuple[Polygon, float, float]:
    """Return the block inside the bend before anything is cut, its length and its top."""
    inner = held.round_mm(held.inner_mm)
    tip = inner[-1] + face * held.way
    low = held.thickness_mm / 2
    leans_out = held.pressed_deg < 90.0 - 1e-9
    top = max(tip[1] + 8.0, low + LEAST_TOP_MM) if leans_out else float(tip[1])
    over = max(0.0, -float(tip[0]))
    rear = max(45.0, over + sizes.shelf_mm + 2 * LIP_MM)
    rear = _fitted_rear(held, sizes, rear, fence)
    ring = [(-rear, low), *map(tuple, inner), tuple(tip)]
    if leans_out:
        ring.append((float(tip[0]), top))
    ring.append((-rear, top))
    return Polygon(ring).buffer(0), rear, top


def _fitted_rear(held: PressedStrip, sizes: JigSizes, rear: float, fence: float | None) -> float:
    if fence is not None:
        # A short gap before the fence would only be a thin wall: join them.
        return fence + sizes.fence_mm if rear > fence - 15.0 else rear
    reach = -held.parts[0].bounds[0] + sizes.fence_mm
    return min(rear, reach) if rear > held.runs_mm[0] - 15.0 else rear


def _stop(
    held: PressedStrip, sizes: JigSizes, fence: float | None, bottom: float
) -> shapely.Geometry:
    """Return the fence: behind the strip's end, or nothing."""
    if fence is None:
        return Polygon()
    return shapely.box(-fence - sizes.fence_mm, bottom, -fence, held.thickness_mm / 2 + 8.0)


def _shelf(
    held: PressedStrip, sizes: JigSizes, former: Polygon, rear: float, top: float
) -> tuple[float, list[Polygon]]:
    """Return how long the level top is that a weight can stand on, and its two lips."""
    room = shapely.box(-rear, top, former.bounds[2], top + WEIGHT_MM)
    before, behind = (shapely.intersection(held.parts[k], room) for k in (2, 0))
    front = min(former.bounds[2], held.inner_mm + 1.0)
    if not before.is_empty:
        front = min(front, before.bounds[0] - sizes.clearance_mm - 0.5)
    back = -rear if behind.is_empty else behind.bounds[2] + sizes.clearance_mm
    length = front - back - 2 * LIP_MM
    if length < LEAST_SHELF_MM:
        return 0.0, []
    lips = [shapely.box(x, top - 0.5, x + LIP_MM, top + LIP_MM) for x in (back, front - LIP_MM)]
    return length, lips


def _tail(sizes: JigSizes, left: float, bottom: float) -> list[Polygon]:
    """Return a shelf for a weight behind the fence: a level plate and its lip."""
    end = left - sizes.shelf_mm - LIP_MM
    plate = shapely.box(end, bottom, left + 1.0, bottom + sizes.base_mm)
    lip = shapely.box(end, bottom, end + LIP_MM, bottom + sizes.base_mm + LIP_MM)
    return [plate, lip]


def _cavity(held: PressedStrip, gap: float, fence: float | None) -> shapely.Geometry:
    """Return the strip with room around it, but none between its end and the fence."""
    grown = shapely.buffer(held.region, gap, join_style="mitre", mitre_limit=3.0)
    if fence is None:
        return grown
    behind = shapely.box(-fence - _FAR_MM, -held.thickness_mm, -fence, held.thickness_mm)
    return grown - behind


def _relief(held: PressedStrip, sizes: JigSizes) -> shapely.Geometry:
    """Return the groove over the middle of the bend, into which its softened bead may swell."""
    arc = held.round_mm(held.inner_mm)
    n = len(arc)
    middle = arc[n // 4 : n - n // 4]
    line = LineString(middle) if len(middle) > 1 else shapely.Point(held.round_mm(0.0)[0])
    deep = sizes.clearance_mm + sizes.facing_mm + sizes.relief_mm
    if sizes.relief_mm == 0.0:
        return Polygon()
    return shapely.buffer(line, deep)


def _rail(
    held: PressedStrip, parts: list[shapely.Geometry], left: float, face: float
) -> shapely.Geometry:
    """Return the plate along the side of the strip: it joins the parts and keeps it square."""
    slot = shapely.box(left, -held.thickness_mm, -held.half_mm, held.thickness_mm)
    middle = held.round_mm(held.inner_mm + held.thickness_mm / 2)
    leg = np.concatenate([middle, middle[-1:] + face * held.way])
    along = shapely.buffer(
        LineString(leg), held.thickness_mm / 2 + RAIL_MM, cap_style="flat", join_style="round"
    )
    whole = shapely.union_all([*parts, slot, along])
    # Narrow gaps between the parts would only collect dust.
    closed = shapely.buffer(
        shapely.buffer(whole, 4.0, join_style="mitre"), -4.0, join_style="mitre"
    )
    level = shapely.box(-_FAR_MM, _bottom(parts), _FAR_MM, _FAR_MM)
    return _clean(shapely.union_all([closed & level, whole & level]))


def _bottom(parts: list[shapely.Geometry]) -> float:
    """Return the lowest place of several regions. [mm]."""
    return float(min(part.bounds[1] for part in parts if not part.is_empty))


def _clean(region: shapely.Geometry) -> shapely.Geometry:
    """Return a region without slivers that no printer would lay."""
    opened = shapely.buffer(
        shapely.buffer(region, -0.3, join_style="mitre"), 0.3, join_style="mitre"
    )
    kept = [p for p in polygons_of(region, speck_mm2=4.0).geoms if p.intersects(opened)]
    return shapely.MultiPolygon(kept)
