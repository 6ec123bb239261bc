"""Rectangle fit: how an outline is turned to lie within a rectangle, and what it lacks if not.

Only the corners of the convex hull matter. Between two turns at which a side of the hull is
parallel to a side of the rectangle, width and depth are each the real part of one turned vector,
so every limit is a root that can be written down: no turn is tried by steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, degrees, pi, radians

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.arrays import Floats

Vectors = NDArray[np.complex128]

STRAIGHT_DEG = (0.0, 90.0)
"""Turns that need no protractor. [°]."""
_SLACK_MM = 1e-6
_STEPS_DEG = (1.0, 0.1)
_SIDES = ("width", "depth")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """By how much an outline does not fit a rectangle, and how it would.

    Attributes
    ----------
    side : str
        Which of its sides lacks most room, named as it lies: width or depth (or height).
    size_mm, room_mm : float
        That side, and the room it has, laid the straight way that lacks least. [mm]
    cuts : tuple of str
        What to take off, such as ``3.0 mm off its width``.
    turn_deg : float
        Straight turn to lay it by once that is done. [°]
    scale : float
        Largest scale at which it fits in any turn. [-]
    scaled_turn_deg : float
        That turn. [°]
    """

    side: str
    size_mm: float
    room_mm: float
    cuts: tuple[str, ...]
    turn_deg: float
    scale: float
    scaled_turn_deg: float

    @property
    def mending(self) -> str:
        """What makes it fit: how much to take off, or how far to scale it, and how to turn it."""
        percent = int(100 * self.scale)
        return (
            f"Take {' and '.join(self.cuts)}{_and_turn(self.turn_deg)}, "
            f"or scale it to {percent} %{_and_turn(self.scaled_turn_deg)}"
        )


def turn_text(turn_deg: float) -> str:
    """Return a turn seen from above, such as ``38° counter-clockwise``; ``90°`` if right."""
    if turn_deg in STRAIGHT_DEG:
        return f"{turn_deg:g}°"
    way = "clockwise" if turn_deg < 0 else "counter-clockwise"
    return f"{round(abs(turn_deg), 2):g}° {way}"


def _and_turn(turn_deg: float) -> str:
    return f" and turn it by {turn_text(turn_deg)}" if turn_deg else ""


def fit_deg(footprint: shapely.Geometry, width_mm: float, depth_mm: float) -> float | None:
    """Return a turn by which an outline fits a rectangle: none, a right angle, else the least.

    Parameters
    ----------
    footprint : Polygon
        What shall fit. [mm]
    width_mm, depth_mm : float
        Sides of the rectangle along x and y. [mm]

    Returns
    -------
    float or None
        Turn, counter-clockwise, above -90 up to 90; on a whole degree, or on a tenth, where that
        fits as well. None if it fits in no way. [°]
    """
    hull = _hull(footprint)

    def fits(turn_deg: float) -> bool:
        return bool(_within(hull, np.array([radians(turn_deg)]), width_mm, depth_mm)[0])

    straight = next(filter(fits, STRAIGHT_DEG), None)
    if straight is not None:
        return straight
    across, along = _spans(hull, _middles(hull)).T
    turns = np.concatenate([_roots(across, width_mm), _roots(along, depth_mm)])
    fitting = turns[_within(hull, turns, width_mm, depth_mm)]
    if not len(fitting):
        return None
    least = degrees(min(fitting.tolist(), key=_nearness))
    return next(filter(fits, _rounded(least)), least)


def lack_of(footprint: shapely.Geometry, width_mm: float, depth_mm: float) -> Lack:
    """Return what an outline lacks to fit a rectangle: by the straight turn that lacks least.

    Sides keep the names they have as the outline lies, so that they agree with its stated size.
    """
    hull = _hull(footprint)
    sizes = _sizes_mm(hull, np.zeros(1))[0]
    room = np.array([width_mm, depth_mm])
    rooms = min((room, room[::-1]), key=lambda given: float((sizes - given).max()))
    over = sizes - rooms
    most = int(np.argmax(over))
    scale, turn = _largest(hull, width_mm, depth_mm)
    return Lack(
        side=_SIDES[most],
        size_mm=float(sizes[most]),
        room_mm=float(rooms[most]),
        cuts=tuple(f"{over[k]:.1f} mm off its {_SIDES[k]}" for k in (0, 1) if over[k] > _SLACK_MM),
        turn_deg=STRAIGHT_DEG[0] if rooms[0] == room[0] else STRAIGHT_DEG[1],
        scale=scale,
        scaled_turn_deg=turn,
    )


def _largest(hull: Vectors, width_mm: float, depth_mm: float) -> tuple[float, float]:
    """Return the largest scale at which a hull fits, and the turn for it. [-], [°].

    Room over size falls to its least within a stretch, so its largest value is at the end of one,
    or where both sides have the same share of room.
    """
    across, along = _spans(hull, _middles(hull)).T
    even = _roots(across / width_mm - along / depth_mm, 0.0)
    turns = np.array(sorted([0.0, pi / 2, *_breaks(hull), *even], key=_nearness))
    sizes = np.maximum(_sizes_mm(hull, turns), _SLACK_MM)
    shares = (np.array([width_mm, depth_mm]) / sizes).min(axis=1)
    best = int(np.argmax(shares >= shares.max() * (1 - 1e-9)))
    return float(shares[best]), round(degrees(turns[best]), 1)


def _nearness(turn: float) -> tuple[float, float]:
    """Order turns by how far they are, counter-clockwise first."""
    return round(abs(turn), 9), -turn


def _rounded(turn_deg: float) -> list[float]:
    """Return rounder turns, away from none, the roundest first. [°]."""
    steps = [ceil(abs(turn_deg) / step - 1e-9) * step for step in _STEPS_DEG]
    return [float(np.copysign(round(step, 1), turn_deg)) for step in steps]


def _hull(footprint: shapely.Geometry) -> Vectors:
    """Return the corners of the convex hull, counter-clockwise, as x + iy. [mm]."""
    hull = shapely.convex_hull(footprint)
    corners = shapely.get_coordinates(hull)
    if hull.geom_type == "Polygon":
        corners = corners[:-1]
        corners = corners if hull.exterior.is_ccw else corners[::-1]
    return np.asarray(corners[:, 0] + 1j * corners[:, 1], np.complex128)


def _normals_rad(hull: Vectors) -> Floats:
    """Return the outward direction of each side, which begins at the corner of its number."""
    return np.angle(-1j * (np.roll(hull, -1) - hull))


def _farthest(hull: Vectors, ways_rad: Floats) -> Vectors:
    """Return the corner that is farthest in each direction."""
    normals = _normals_rad(hull)
    # Sides keep their order, which sorting would not where two of them lie in one line.
    first = int(np.argmax(np.roll(normals, 1) - normals))
    rising = np.maximum.accumulate(np.roll(normals, -first))
    after = np.searchsorted(rising, np.angle(np.exp(1j * ways_rad)))
    return np.asarray(hull[(after + first) % len(hull)], np.complex128)


def _spans(hull: Vectors, turns_rad: Floats) -> Vectors:
    """Return vectors whose real parts, turned, are width and depth at each turn, (k, 2). [mm]."""
    right, left, top, bottom = (_farthest(hull, k * pi - turns_rad) for k in (0, 1, 0.5, -0.5))
    return np.stack([right - left, -1j * (top - bottom)], axis=1)


def _sizes_mm(hull: Vectors, turns_rad: Floats) -> Floats:
    """Return width and depth at each turn, (k, 2). [mm]."""
    turned = _spans(hull, turns_rad) * np.exp(1j * turns_rad)[:, None]
    return np.asarray(turned.real, np.float64)


def _within(
    hull: Vectors, turns_rad: Floats, width_mm: float, depth_mm: float
) -> NDArray[np.bool_]:
    room = np.array([width_mm, depth_mm]) + _SLACK_MM
    return np.asarray((_sizes_mm(hull, turns_rad) <= room).all(axis=1), np.bool_)


def _breaks(hull: Vectors) -> Floats:
    """Return every turn at which a side of the hull lies along the rectangle, half a turn round."""
    quarter = np.unique(np.concatenate([[0.0], -_normals_rad(hull) % (pi / 2)]))
    return np.concatenate([quarter - pi / 2, quarter, [pi / 2]])


def _middles(hull: Vectors) -> Floats:
    breaks = _breaks(hull)
    return (breaks[1:] + breaks[:-1]) / 2


def _roots(vectors: Vectors, value: float) -> Floats:
    """Return the turns at which the real part of a vector has a value; half a turn is the same."""
    long = vectors[np.abs(vectors) > max(abs(value), 1e-12)]
    away = np.arccos(value / np.abs(long))
    turns = np.concatenate([away, -away]) - np.tile(np.angle(long), 2)
    return (turns + pi / 2) % pi - pi / 2
