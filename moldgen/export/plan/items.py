"""What a plan is drawn with: closed regions, round holes, text and dimensions, in millimeters."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, ceil, cos, degrees, hypot, isfinite, radians, sin
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import OutlineError
from moldgen.export.plan.layers import PILOT_LAYERS, Layer
from moldgen.quantity import Quantity

Place: TypeAlias = tuple[float, float]
Stroke: TypeAlias = tuple[Place, Place]
Bounds: TypeAlias = tuple[float, float, float, float]

LETTER_HEIGHT_MM = 2.5  # height of capitals: the least nominal lettering height of ISO 3098-1,
# from memory
_DIAMETER = Quantity("mm", "diameter of a hole", above=0, at_most=200)
_CAPITALS_PER_EM = 0.718  # cap height of Helvetica, from its public font metrics
_WIDTH_PER_EM = 0.56  # mean advance of mixed text, rounded up: only used to leave room
_TICK_MM = 1.2


@dataclass(frozen=True, slots=True, eq=False)
class PlanRegion:
    """One closed region: its outer ring first, then its holes, filled even-odd.

    Attributes
    ----------
    layer : Layer
        The line kind.
    rings : tuple of ndarray, shape (n, 2)
        Read-only corners of each ring, the first one not repeated. [mm]
    """

    layer: Layer
    rings: tuple[NDArray[np.float64], ...]

    @property
    def bounds_mm(self) -> Bounds:
        """Least and greatest x and y [mm]."""
        (x0, y0), (x1, y1) = self.rings[0].min(axis=0), self.rings[0].max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole: printed through, or a marked place to drill.

    Attributes
    ----------
    x_mm, y_mm : float
        Its center. [mm]
    diameter_mm : float
        Its diameter, or the size of the drill. [mm]
    note : str
        What is written beside it, such as the drill's name.
    layer : Layer
        `Layer.VENT`, `Layer.DRILL` or `Layer.HANG`.
    """

    x_mm: float
    y_mm: float
    diameter_mm: float
    note: str = ""
    layer: Layer = Layer.VENT

    def __post_init__(self) -> None:
        _DIAMETER.check("diameter_mm", self.diameter_mm)
        if not (isfinite(self.x_mm) and isfinite(self.y_mm)):
            raise OutlineError(f"A hole lies at x {self.x_mm:g}, y {self.y_mm:g}: place it again.")

    @property
    def bounds_mm(self) -> Bounds:
        """Least and greatest x and y [mm]."""
        r = self.diameter_mm / 2
        return self.x_mm - r, self.y_mm - r, self.x_mm + r, self.y_mm + r

    @property
    def cross(self) -> tuple[Stroke, ...]:
        """Center lines that stand out of the circle; none for a printed vent."""
        if self.layer not in PILOT_LAYERS:
            return ()
        x, y, arm = self.x_mm, self.y_mm, self.diameter_mm / 2 + 1.0
        return ((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One line of text at a place.

    Attributes
    ----------
    x_mm, y_mm : float
        Where it stands: half-way up its capitals. [mm]
    text : str
        One line.
    height_mm : float
        Height of its capitals. [mm]
    angle_deg : float
        Turn against the clock. [°]
    align : float
        The share of the line that lies before the place: 0 starts there, 0.5 centers. [-]
    layer : Layer
        The line kind.
    """

    x_mm: float
    y_mm: float
    text: str
    height_mm: float = LETTER_HEIGHT_MM
    angle_deg: float = 0.0
    align: float = 0.5
    layer: Layer = Layer.MARK

    @property
    def size_mm(self) -> float:
        """Font size whose capitals have the asked height [mm]."""
        return self.height_mm / _CAPITALS_PER_EM

    @property
    def base_mm(self) -> Place:
        """The place, moved down to the base line the letters stand on [mm]."""
        turn, down = radians(self.angle_deg), self.height_mm / 2
        return self.x_mm + down * sin(turn), self.y_mm - down * cos(turn)

    @property
    def bounds_mm(self) -> Bounds:
        """Room the text takes, on the generous side [mm]."""
        room, h = text_room_mm(self.text, self.height_mm), self.height_mm
        c, s = cos(radians(self.angle_deg)), sin(radians(self.angle_deg))
        before, after = -room * self.align, room * (1 - self.align)
        xs = [along * c - up * s for along in (before, after) for up in (-h, h)]
        ys = [along * s + up * c for along in (before, after) for up in (-h, h)]
        return self.x_mm + min(xs), self.y_mm + min(ys), self.x_mm + max(xs), self.y_mm + max(ys)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A measured distance: witness lines, a line with ticks, and its text.

    Attributes
    ----------
    start_mm, end_mm : tuple of two floats
        The points measured between. [mm]
    offset_mm : float
        How far to the left of start-to-end the line stands. [mm]
    text : str
        What is written on it.
    layer : Layer
        The line kind.
    """

    start_mm: Place
    end_mm: Place
    offset_mm: float
    text: str
    layer: Layer = Layer.MARK

    @property
    def length_mm(self) -> float:
        """Distance measured [mm]."""
        return hypot(self.end_mm[0] - self.start_mm[0], self.end_mm[1] - self.start_mm[1])

    @property
    def _left(self) -> Place:
        (ax, ay), (bx, by) = self.start_mm, self.end_mm
        length = self.length_mm or 1.0
        return (ay - by) / length, (bx - ax) / length

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """Witness lines, dimension line and its two slanting ticks [mm]."""
        nx, ny = self._left
        ends = self.start_mm, self.end_mm
        a, b = ((x + nx * self.offset_mm, y + ny * self.offset_mm) for x, y in ends)
        over = self.offset_mm + (1.5 if self.offset_mm >= 0 else -1.5)
        witnesses = [((x, y), (x + nx * over, y + ny * over)) for x, y in ends]
        slant = (nx + ny) * _TICK_MM, (ny - nx) * _TICK_MM
        ticks = [((x - slant[0], y - slant[1]), (x + slant[0], y + slant[1])) for x, y in (a, b)]
        return (*witnesses, (a, b), *ticks)

    @property
    def note(self) -> Note:
        """Its text, on the outside of the line and never upside down."""
        nx, ny = self._left
        away = self.offset_mm + (1 if self.offset_mm >= 0 else -1) * LETTER_HEIGHT_MM
        x = (self.start_mm[0] + self.end_mm[0]) / 2 + nx * away
        y = (self.start_mm[1] + self.end_mm[1]) / 2 + ny * away
        turn = degrees(atan2(-nx, ny))
        upright = turn - 180 * ceil((turn - 90) / 180)
        return Note(x_mm=x, y_mm=y, text=self.text, angle_deg=upright + 0.0, layer=self.layer)

    @property
    def bounds_mm(self) -> Bounds:
        """Room its lines and its text take [mm]."""
        corners = [point for stroke in self.strokes for point in stroke]
        xs, ys = [x for x, _ in corners], [y for _, y in corners]
        return joined([(min(xs), min(ys), max(xs), max(ys)), self.note.bounds_mm])


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line between two points.

    Attributes
    ----------
    start_mm, end_mm : tuple of two floats
        Its ends. [mm]
    layer : Layer
        The line kind.
    """

    start_mm: Place
    end_mm: Place
    layer: Layer

    @property
    def bounds_mm(self) -> Bounds:
        """Least and greatest x and y [mm]."""
        (ax, ay), (bx, by) = self.start_mm, self.end_mm
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSlit(Line):
    """A vent that is long and narrow, drawn as the line in its middle.

    Attributes
    ----------
    note : str
        What is written beside it.
    """

    layer: Layer = Layer.VENT
    note: str = ""

    @property
    def length_mm(self) -> float:
        """From end to end [mm]."""
        return hypot(self.end_mm[0] - self.start_mm[0], self.end_mm[1] - self.start_mm[1])


Item: TypeAlias = PlanRegion | Hole | Note | Dimension | Line


def text_room_mm(text: str, height_mm: float) -> float:
    """Return the width a line of text may take, on the generous side [mm]."""
    return len(text) * height_mm / _CAPITALS_PER_EM * _WIDTH_PER_EM


def joined(boxes: list[Bounds]) -> Bounds:
    """Return the box around boxes, or a point at the origin if there are none."""
    if not boxes:
        return 0.0, 0.0, 0.0, 0.0
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)
