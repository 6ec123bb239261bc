"""Words beside vents and rings of a plan, where they cover neither these nor one another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry, Point

from moldgen.export.picture.free_place import Label, free_place
from moldgen.export.plan.items import (
    Bounds,
    DrawnSlit,
    Hole,
    Note,
    Place,
    PlanRegion,
)
from moldgen.export.plan.layers import Layer

_NOTE_MM, _NOTE_SHARE = 2.0, 0.009
"""Height of a vent's words, and of the room they get in a drawing that is seen small. [mm, -]."""

_RING_MM, _RING_SHARE = 2.5, 0.014
"""Radius of a ring, at least and as a share of the drawing. [mm, -]."""

_HOLE_SHARE = 0.006
"""Room of a hole, which a small picture draws larger than it is. [-]."""

_CORNERS = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """What gets words: where they go first, how they look."""

    label: Label
    height_mm: float
    layer: Layer


def labeled(
    holes: Sequence[Hole],
    slits: Sequence[DrawnSlit],
    rings: Mapping[str, Place],
    *,
    around: Bounds,
) -> tuple[list[PlanRegion], list[Note]]:
    """Return rings round places, and the words of rings, holes and slits in free places.

    Rings come first, so that their numbers stand nearest; the same drawing gives the same places.

    Parameters
    ----------
    holes, slits : sequence of Hole, of DrawnSlit
        Vents, each with its words; without words it is drawn round all the same.
    rings : mapping of str to (x, y)
        Places to be ringed, by what is written beside each. [mm]
    around : (x0, y0, x1, y1)
        The drawing, without dimensions: words stay within. [mm]
    """
    size_mm = max(around[2] - around[0], around[3] - around[1])
    radius_mm = max(_RING_MM, _RING_SHARE * size_mm)
    spots = [
        *(_ring_spot(words, place, radius_mm) for words, place in rings.items()),
        *(_hole_spot(hole) for hole in holes if hole.note),
        *(_slit_spot(slit) for slit in slits if slit.note),
    ]
    circles = [Point(place).buffer(radius_mm, quad_segs=_CORNERS // 4) for place in rings.values()]
    ink = _ink(holes, slits, circles, size_mm)
    paths = [_ring_path(circle) for circle in circles]
    return paths, _notes(spots, ink, around, size_mm)


def _notes(spots: Sequence[_Spot], ink: Geometry, around: Bounds, size_mm: float) -> list[Note]:
    shapely.prepare(ink)
    taken: list[Bounds] = []
    notes = []
    for spot in spots:
        room_mm = max(spot.height_mm, spot.height_mm / _NOTE_MM * _NOTE_SHARE * size_mm)
        box = free_place(spot.label, ink, taken, room=around, line_mm=_LINE * room_mm)
        taken.append(box)
        notes.append(
            Note(
                x_mm=(box[0] + box[2]) / 2,
                y_mm=(box[1] + box[3]) / 2,
                text=spot.label.words,
                height_mm=spot.height_mm,
                align=0.5,
                layer=spot.layer,
            )
        )
    return notes


_LINE = 1.35
"""Height of a line over that of its capitals. [-]."""


def _ink(
    holes: Sequence[Hole], slits: Sequence[DrawnSlit], circles: Sequence[Geometry], size_mm: float
) -> Geometry:
    """Return all that words keep off."""
    round_ones = [
        Point(hole.x_mm, hole.y_mm).buffer(max(hole.diameter_mm / 2, _HOLE_SHARE * size_mm))
        for hole in holes
    ]
    lines = [shapely.LineString([slit.start_mm, slit.end_mm]) for slit in slits]
    return shapely.union_all([*round_ones, *lines, *circles])


def _ring_path(circle: shapely.Polygon) -> PlanRegion:
    ring = np.array(circle.exterior.coords)[:-1]
    ring.setflags(write=False)
    return PlanRegion(Layer.FINDING, (ring,))


def _ring_spot(words: str, place: Place, radius_mm: float) -> _Spot:
    label = Label(spot_mm=place, out=_UP_RIGHT, words=words)
    return _Spot(label=label, height_mm=1.1 * radius_mm, layer=Layer.FINDING)


def _hole_spot(hole: Hole) -> _Spot:
    label = Label(spot_mm=(hole.x_mm, hole.y_mm), out=_UP_RIGHT, words=hole.note)
    return _Spot(label=label, height_mm=_NOTE_MM, layer=hole.layer)


def _slit_spot(slit: DrawnSlit) -> _Spot:
    """Words stand beside a slit's upper end, so that it is seen whose they are."""
    end = max(slit.start_mm, slit.end_mm, key=lambda one: (one[1], one[0]))
    label = Label(spot_mm=end, out=_UP_RIGHT, words=slit.note)
    return _Spot(label=label, height_mm=_NOTE_MM, layer=slit.layer)


_UP_RIGHT = (0.8, 0.6)
