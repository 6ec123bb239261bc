"""Where words go beside what is drawn, so that they cover neither it nor one another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from moldgen.arrays import Floats

Box = tuple[float, float, float, float]

_TURNS = (0.0, 0.5, -0.5, 1.0, -1.0)
_STEP, _FARTHEST = 0.45, 13.0
"""How far from one try to the next, and how far at most, in heights of a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words about a spot of a drawing.

    Attributes
    ----------
    spot_mm : (x, y)
        What they are about. [mm]
    out : (x, y)
        Unit vector away from the drawing there.
    words : str
        One line.
    is_bend : bool
        Whether they are about a bend.
    """

    spot_mm: tuple[float, float]
    out: tuple[float, float]
    words: str
    is_bend: bool = False


def free_place(
    label: Label, ink: BaseGeometry, taken: Sequence[Box], *, room: Box, line_mm: float
) -> Box:
    """Return the nearest box for a label, straight out or straight in, that covers nothing.

    Parameters
    ----------
    ink : geometry
        What is drawn. [mm]
    taken : sequence of (x0, y0, x1, y1)
        Boxes of other labels; the way to the label does not cross them either. [mm]
    room : (x0, y0, x1, y1)
        Where labels may lie. [mm]
    line_mm : float
        Height of a line of words. [mm]

    Returns
    -------
    (x0, y0, x1, y1)
        Around the spot itself, if there is no free place. [mm]
    """
    half = line_mm * np.array([0.29 * len(label.words) + 0.25, 0.75])
    start, way = np.array(label.spot_mm), np.array(label.out)
    found: list[tuple[float, Box]] = []
    for side in (1.0, -1.0):
        for turn in _TURNS:
            c, s = np.cos(turn), np.sin(turn)
            ray = side * np.array([c * way[0] - s * way[1], s * way[0] + c * way[1]])
            hit = _first_free(start, ray, half, ink=ink, taken=taken, room=room, line_mm=line_mm)
            if hit is not None:
                lines, box = hit
                found.append((lines + 1.2 * abs(turn) + (0.7 if side < 0 else 0.0), box))
    if not found:
        return _box(start, half)
    return min(found, key=lambda one: one[0])[1]


def _first_free(
    start: Floats, ray: Floats, half: Floats, *, ink: BaseGeometry, taken: Sequence[Box],
    room: Box, line_mm: float,
) -> tuple[float, Box] | None:  # fmt: skip
    for lines in np.arange(_STEP, _FARTHEST, _STEP).tolist():
        end = start + ray * lines * line_mm
        box = _box(end + ray * half, half)
        way = shapely.LineString([start, end])
        crossed = any(way.intersects(shapely.box(*other)) for other in taken)
        if not crossed and is_free(box, ink, taken, room=room):
            return lines, box
    return None


def is_free(box: Box, ink: BaseGeometry, taken: Sequence[Box], *, room: Box) -> bool:
    """Return whether a box lies in its room and covers neither ink nor a box that is taken."""
    x0, y0, x1, y1 = box
    if x0 < room[0] or y0 < room[1] or x1 > room[2] or y1 > room[3]:
        return False
    if any(x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1 for b in taken):
        return False
    return not shapely.box(*box).intersects(ink)


def _box(center: Floats, half: Floats) -> Box:
    (x0, y0), (x1, y1) = (center - half).tolist(), (center + half).tolist()
    return x0, y0, x1, y1
