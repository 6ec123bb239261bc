"""Printed slits in place of round holes: along the foot of a wall, wherever one has room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.underside.underside import BORE_WALL_MM
from moldgen.mold.vents.by_ball import HOLE_MARGIN_MM
from moldgen.mold.vents.vent import Floor, Slit, Vent
from moldgen.solid.height.relief import Relief
from moldgen.solid.slit import END_MM, LAND_MM, roof_mm

LENGTHS_MM = (8.0, 6.5, 5.0, 4.0, 3.0, 2.0)
"""Slits that are tried, the most welcome first; those under 5 mm serve tight counters. [mm]."""

POCKETS_MM = (3.0, 2.4, 1.8, 1.2)
"""Pockets that are tried under a slit, the widest first. [mm]."""

UNEVEN_MM = 0.5
"""The ground beside a slit lies no lower than this under its mouth. [mm]."""

HIGHER_MM = 1.5
"""The ground over a slit rises no more than this: its cutter reaches 2 mm over its mouth. [mm]."""

LIP_MM = 0.8
"""Plastic on either side of a slit: two lines of 0.4 mm (common practice, no source). [mm]."""

_INWARD_MM = (0.0, 0.5, 1.0)
_SHIFTS = (0.0, 0.25, -0.25, 0.5, -0.5, 0.65, -0.65)
_TURNS_DEG = (0.0, 90.0, 15.0, -15.0, 30.0, -30.0, 45.0, -45.0, 60.0, -60.0, 75.0, -75.0)
_OFF_AND_SHIFTS = tuple(part.ravel() for part in np.meshgrid(_INWARD_MM, _SHIFTS))
_SLACK_MM = 0.02


class SlitSearch:
    """Where slits have room on a mold.

    Parameters
    ----------
    floors : sequence of Floor
        Its levels, each less what stands on it.
    relief : Relief
        The mold seen from above. [mm]
    slit_mm : float
        Width of every slit. [mm]
    """

    def __init__(self, floors: Sequence[Floor], relief: Relief, slit_mm: float) -> None:
        self._floors = {floor.name: floor for floor in floors}
        self._heights = relief.on_table_mm
        self._relief, self._slit_mm = relief, slit_mm
        self._middle = np.array([relief.x_mm.mean(), relief.y_mm.mean()])
        self._rooms: dict[str, tuple[shapely.Geometry, list[shapely.LineString]]] = {}

    def fit(self, vent: Vent, others: Sequence[Vent]) -> Vent | None:
        """Return a vent as a slit, the longest that fits; None if none does.

        Parameters
        ----------
        vent : Vent
            As a round hole.
        others : sequence of Vent
            Vents whose bores and pockets it must stay clear of.
        """
        near = [other for other in others if _apart_mm(vent, other) < 2 * LENGTHS_MM[0]]
        for there, pocket_mm in self._candidates(vent, near):
            slit = replace(there, bore_mm=pocket_mm)
            if self._has_walls(slit):
                return slit
        return None

    def _candidates(self, vent: Vent, near: Sequence[Vent]) -> Iterator[tuple[Vent, float]]:
        """Yield slits and their pockets on the vent's own ground, the most welcome first."""
        floor = self._floors.get(vent.feature)
        level = floor is not None and abs(floor.z_mm - vent.z_mm) < 1e-6
        if floor is None or not level:
            yield from self._on_slope(vent, near)
            return
        room, rings = self._room(floor)
        if room.is_empty:
            return
        low = shapely.Point(vent.low.x_mm, vent.low.y_mm)
        start = np.asarray(shapely.shortest_line(room, low).coords[0])
        inward = _off_wall(rings, start)
        # Mirror images look for room in mirrored order, so that a symmetric mold stays so.
        hand = -1.0 if _turning(inward, start - self._middle) < 0 else 1.0
        for length_mm, turn_deg in product(LENGTHS_MM, _TURNS_DEG):
            middles, along_deg = _laid(start, inward, hand, turn_deg=turn_deg, length_mm=length_mm)
            # Where vents stand close, other vents are in the way more often than walls are.
            clear = _clear_pockets(middles, _whole_turn_deg(along_deg), length_mm, near)
            free = np.flatnonzero(clear.any(axis=1))
            fits = shapely.covers(room, _lines(middles[free], along_deg, length_mm))
            for k in free[fits]:
                slit = self._slit(vent, middles[k], along_deg, length_mm)
                for number in np.flatnonzero(clear[k]):
                    yield slit, POCKETS_MM[number]

    def _on_slope(self, vent: Vent, near: Sequence[Vent]) -> Iterator[tuple[Vent, float]]:
        """Yield slits along the contour of ground that is not level."""
        middle = np.array([vent.x_mm, vent.y_mm])
        contour_deg = self._contour_deg(middle)
        for length_mm, turn_deg in product(LENGTHS_MM, _TURNS_DEG):
            along_deg = contour_deg + turn_deg
            clear = _clear_pockets(middle[None], _whole_turn_deg(along_deg), length_mm, near)
            for number in np.flatnonzero(clear[0]):
                yield self._slit(vent, middle, along_deg, length_mm), POCKETS_MM[number]

    def _slit(self, vent: Vent, middle: Floats, turn_deg: float, length_mm: float) -> Vent:
        turn_deg = _whole_turn_deg(turn_deg)
        slit = Slit(width_mm=self._slit_mm, length_mm=length_mm, turn_deg=turn_deg)
        return replace(vent, x_mm=float(middle[0]), y_mm=float(middle[1]), slit=slit)

    def _room(self, floor: Floor) -> tuple[shapely.Geometry, list[shapely.LineString]]:
        """Return where the middle line of a slit may lie on a floor, and the floor's edges."""
        if floor.name not in self._rooms:
            tidy = shapely.simplify(floor.region, 0.01)
            room = shapely.buffer(tidy, -(self._slit_mm / 2 + HOLE_MARGIN_MM))
            # A line along the very edge would cross it by rounding.
            room = shapely.buffer(room, _SLACK_MM)
            shapely.prepare(room)
            rings = list(shapely.get_rings(shapely.get_parts(tidy)))
            self._rooms[floor.name] = room, rings
        return self._rooms[floor.name]

    def _has_walls(self, vent: Vent) -> bool:
        """Tell whether the plastic beside a slit and around its pocket is thick enough."""
        slit, pocket_mm = vent.slit, vent.bore_mm
        if slit is None or pocket_mm is None:
            return False
        roof = roof_mm(pocket_mm, slit.width_mm)
        eaves_mm = vent.z_mm - LAND_MM - roof
        beside = self._heights_over(vent, slit.length_mm, slit.width_mm + 2 * LIP_MM)
        if beside.min() < vent.z_mm - UNEVEN_MM:
            return False
        # A cell tells the height of its middle: a steep wall may begin half a cell nearer.
        cell_mm = self._relief.cell_mm
        over = self._heights_over(vent, slit.length_mm + cell_mm, slit.width_mm + cell_mm)
        around = self._heights_over(
            vent, slit.length_mm + 2 * (END_MM + BORE_WALL_MM), pocket_mm + 2 * BORE_WALL_MM
        )
        return bool(
            over.max() <= vent.z_mm + HIGHER_MM
            and around.min() >= eaves_mm + roof / 2 + BORE_WALL_MM
        )

    def _heights_over(self, vent: Vent, length_mm: float, width_mm: float) -> Floats:
        """Return the heights of the mold over a strip along a vent's slit. [mm]."""
        turn = np.radians(vent.slit.turn_deg if vent.slit else 0.0)
        along = np.array([np.cos(turn), np.sin(turn)])
        offsets = _strip(length_mm, width_mm, self._relief.cell_mm)
        places = np.outer(offsets[:, 0], along) + np.outer(offsets[:, 1], (-along[1], along[0]))
        rows, columns = self._relief.cells(places + np.array([vent.x_mm, vent.y_mm])).T
        return np.asarray(self._heights[rows, columns])

    def _contour_deg(self, middle: Floats) -> float:
        """Return the direction in which the ground stays level. [°]."""
        row, column = self._relief.cells(middle[None])[0]
        around = self._heights[max(0, row - 2) : row + 3, max(0, column - 2) : column + 3]
        if min(around.shape) < 2:
            return 0.0
        up_y, up_x = (part.mean() for part in np.gradient(around))
        if np.hypot(up_x, up_y) < 1e-9:
            return 0.0
        return float(np.degrees(np.arctan2(up_x, -up_y)))


@lru_cache(maxsize=64)
def _strip(length_mm: float, width_mm: float, step_mm: float) -> Floats:
    """Return places evenly over a strip, along and across it, its edges among them. [mm]."""
    along = np.linspace(-length_mm / 2, length_mm / 2, int(np.ceil(length_mm / step_mm)) + 1)
    across = np.linspace(-width_mm / 2, width_mm / 2, int(np.ceil(width_mm / step_mm)) + 1)
    u, v = np.meshgrid(along, across)
    places: Floats = np.column_stack([u.ravel(), v.ravel()])
    places.setflags(write=False)
    return places


def _off_wall(rings: Sequence[shapely.LineString], start: Floats) -> Floats:
    """Return the way from the nearest edge of a floor to a place, a unit vector. [-]."""
    point = shapely.Point(start)
    ring = rings[int(np.argmin(shapely.distance(rings, point)))]
    off = start - np.asarray(shapely.shortest_line(ring, point).coords[0])
    length = float(np.hypot(*off))
    return off / length if length > 1e-9 else np.array([0.0, 1.0])


def _turning(a: Floats, b: Floats) -> float:
    """Return how far one vector is to the left of another, 0 within rounding."""
    return float(np.round(a[0] * b[1] - a[1] * b[0], 3))


def _laid(
    start: Floats, inward: Floats, hand: float, *, turn_deg: float, length_mm: float
) -> tuple[Floats, float]:
    """Return the middles of slits past a place, and how they lie. [mm], [°]."""
    along_deg = float(np.degrees(np.arctan2(inward[1], inward[0]))) + hand * (90.0 + turn_deg)
    turn = np.radians(along_deg)
    off, shifts = _OFF_AND_SHIFTS
    middles: Floats = (
        start + np.outer(off, inward) + np.outer(length_mm * shifts, (np.cos(turn), np.sin(turn)))
    )
    return middles, along_deg


def _lines(middles: Floats, turn_deg: float, length_mm: float) -> Floats:
    """Return the middle lines of slits that lie alike."""
    turn = np.radians(turn_deg)
    half = length_mm / 2 * np.array([np.cos(turn), np.sin(turn)])
    lines: Floats = shapely.linestrings(np.stack([middles - half, middles + half], axis=1))
    return lines


def _whole_turn_deg(turn_deg: float) -> float:
    """Return how a line lies, which has no direction: 10° and 190° are one. [°]."""
    return float(np.round(turn_deg % 180.0, 1) % 180.0)


def _apart_mm(vent: Vent, other: Vent) -> float:
    return hypot(vent.x_mm - other.x_mm, vent.y_mm - other.y_mm)


def _clear_pockets(
    middles: Floats, turn_deg: float, length_mm: float, near: Sequence[Vent]
) -> NDArray[np.bool_]:
    """Return which pockets under slits that lie alike stay clear of vents, shape (n, pockets)."""
    clear = np.ones((len(middles), len(POCKETS_MM)), dtype=np.bool_)
    if near:
        axes = np.array([other.axis_mm for other in near], dtype=object)
        apart_mm = shapely.distance(_lines(middles, turn_deg, length_mm)[:, None], axes)
        for number, pocket_mm in enumerate(POCKETS_MM):
            least_mm = np.array([_apart_at_least_mm(pocket_mm, other) for other in near])
            clear[:, number] = (apart_mm >= least_mm).all(axis=1)
    return clear


def _apart_at_least_mm(pocket_mm: float, other: Vent) -> float:
    """Return how far the axis of a pocket stays from that of another vent. [mm]."""
    return (pocket_mm + (other.bore_mm or other.diameter_mm)) / 2 + BORE_WALL_MM


def is_clear(vent: Vent, other: Vent) -> bool:
    """Tell whether a wall stays between the pockets of two vents."""
    least_mm = _apart_at_least_mm(vent.bore_mm or 0.0, other)
    return bool(vent.axis_mm.distance(other.axis_mm) >= least_mm)
