"""Held: a strip in the hand of its jig, one bend pressed, seen from the side.

The frame of a jig: the middle of the bend, still flat, is the origin; the leg that is held runs
to the left, and the other leg is folded up. Which leg that is, and which face is above, differs
from bend to bend: the strip is turned end for end or over until it lies like this.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, radians, sin

import numpy as np
import shapely
from shapely import Polygon

from moldgen.arrays import Floats
from moldgen.bend.heat.overbend import pressed_deg
from moldgen.bend.order.swing import Swing
from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.layout import Layout
from moldgen.bend.strip.part import StripSpec
from moldgen.bend.strip.shape import CHORD_MM, StripShape, formed
from moldgen.errors import SpecError

_SWING_DEG = 4.0
"""Steps in which the free leg is swept; between two it is taken as their hull. [°]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PressedStrip:
    """A strip of which one bend is pressed.

    Attributes
    ----------
    shape : StripShape
        The strip with all its bends.
    number : int
        The bend that is pressed, 1 for the leftmost.
    bent : frozenset of int
        Bends that are bent already, by number.
    left : bool
        Whether the leg to the left of the bend is the one that is held.
    hot_mm : float
        How wide the strip is soft. [mm]
    """

    shape: StripShape
    number: int
    bent: frozenset[int]
    left: bool
    hot_mm: float

    @property
    def strip(self) -> StripSpec:
        """What was asked for."""
        return self.shape.strip

    @property
    def thickness_mm(self) -> float:
        """Thickness of the strip. [mm]."""
        return self.strip.thickness_mm

    @property
    def marks_up(self) -> bool:
        """Whether the marks are above while it is folded."""
        return self.strip.bends[self.number - 1].turn is Turn.UP

    @property
    def signs(self) -> Floats:
        """What turns the strip's own side view into the jig's: 1 or -1 for x and z."""
        return np.array([1.0 if self.left else -1.0, 1.0 if self.marks_up else -1.0])

    @property
    def far_edge(self) -> bool:
        """Whether the far edge of the strip, as on the flat drawing, lies at the rail."""
        return bool(np.prod(self.signs) > 0)

    @property
    def pressed_deg(self) -> float:
        """Angle it is pressed to. [°]."""
        return pressed_deg(self.strip, self.number)

    @property
    def half_mm(self) -> float:
        """Half the length that is bent. [mm]."""
        return float(self.shape.path.flat.allowances_mm[self.number - 1]) / 2

    @property
    def inner_mm(self) -> float:
        """Inside radius while it is pressed. [mm]."""
        neutral = 2 * self.half_mm / radians(self.pressed_deg)
        return max(neutral - self.strip.neutral * self.thickness_mm, 0.0)

    @property
    def center_mm(self) -> Floats:
        """Center of the bend while it is pressed, shape (2,). [mm]."""
        return np.array([-self.half_mm, self.inner_mm + self.thickness_mm / 2])

    @property
    def way(self) -> Floats:
        """Direction of the folded leg, shape (2,)."""
        angle = radians(self.pressed_deg)
        return np.array([cos(angle), sin(angle)])

    @cached_property
    def swing(self) -> Swing:
        """The strip around the bend."""
        return Swing(self.shape)

    @property
    def mask(self) -> int:
        """The bent bends as a number, as `Swing` counts them."""
        return sum(1 << (number - 1) for number in self.bent)

    @property
    def runs_mm(self) -> tuple[float, float]:
        """How far the strip is straight from the bend line: held side, free side. [mm]."""
        left, right = self.swing.runs_mm(self.mask, self.number - 1)
        return (left, right) if self.left else (right, left)

    @property
    def end_mm(self) -> float | None:
        """From the bend line to the strip's end on the held side; None if a bend is between."""
        numbers = range(1, self.number) if self.left else range(self.number + 1, 1000)
        if self.bent & set(numbers):
            return None
        return self.runs_mm[0]

    def round_mm(self, radius_mm: float) -> Floats:
        """Return an arc about the bend's center, from the held leg to the folded one. [mm]."""
        n = max(2, int(np.ceil(self.pressed_deg / 3.0)))
        turns = -pi / 2 + np.linspace(0.0, radians(self.pressed_deg), n + 1)
        arc: Floats = self.center_mm + radius_mm * np.column_stack([np.cos(turns), np.sin(turns)])
        return arc

    @cached_property
    def parts(self) -> tuple[shapely.Geometry, shapely.Geometry, shapely.Geometry]:
        """Held side, bend and folded side of the strip, pressed. [mm]."""
        held, free = self._sides()
        outer = self.round_mm(self.inner_mm + self.thickness_mm)
        ring = np.concatenate([self.round_mm(self.inner_mm), outer[::-1]])
        folded = self._folded(free, radians(self.pressed_deg))
        return _united(held), Polygon(ring).buffer(0), _united(folded)

    @property
    def region(self) -> shapely.Geometry:
        """The whole strip, pressed. [mm]."""
        return shapely.union_all([shapely.buffer(part, 1e-6) for part in self.parts])

    @cached_property
    def swept(self) -> shapely.Geometry:
        """Everything the free side passes on its way from flat to pressed. [mm]."""
        _, free = self._sides()
        n = max(2, int(np.ceil(self.pressed_deg / _SWING_DEG)))
        steps = np.linspace(0.0, radians(self.pressed_deg), n + 1)
        places = np.stack([self._folded(free, step) for step in steps])
        both = np.concatenate([places[:-1], places[1:]], axis=2).reshape(-1, 8, 2)
        hulls = shapely.convex_hull(shapely.multipoints(both))
        return shapely.union_all(hulls)

    def _sides(self) -> tuple[Floats, Floats]:
        left, right = self.swing.sides_mm(self.mask, self.number - 1)
        held, free = (left, right) if self.left else (right, left)
        return held * self.signs, free * self.signs

    def _folded(self, free: Floats, angle: float) -> Floats:
        """Return pieces of the free side at an angle of the bend."""
        half = self.half_mm
        c, s = cos(angle), sin(angle)
        rolled = (free - np.array([half, 0.0])) @ np.array([[c, s], [-s, c]])
        if angle == 0.0:
            return free
        neutral = 2 * half / angle
        radius = max(neutral - self.strip.neutral * self.thickness_mm, 0.0) + self.thickness_mm / 2
        start = np.array([-half + radius * s, radius * (1 - c)])
        folded: Floats = rolled + start
        return folded


def _united(quads: Floats) -> shapely.Geometry:
    hulls = shapely.convex_hull(shapely.multipoints(quads.reshape(-1, 4, 2)))
    # The pieces meet in lines that may be a hair apart.
    return shapely.union_all(shapely.buffer(hulls, 1e-6, join_style="mitre"))


def build_held(
    strip: StripSpec,
    layout: Layout,
    number: int,
    *,
    bent: Collection[int] = (),
    hold: str = "",
) -> PressedStrip:
    """Return a strip in its jig.

    Parameters
    ----------
    number : int
        Bend to press, 1 for the leftmost.
    bent : collection of int
        Bends that are bent already, by number.
    hold : {"", "left", "right"}
        Which leg is held; left out, the one whose end reaches a fence soonest.

    Raises
    ------
    SpecError
        If there is no such bend, or it is bent already.
    """
    n_bends = len(strip.bends)
    if not 1 <= number <= n_bends:
        raise SpecError("number", f"that of a bend, 1 to {n_bends}", str(number), "")
    if hold not in ("", "left", "right"):
        raise SpecError("hold", "left or right", repr(hold), "Leave it out to have it chosen.")
    done = frozenset(bent)
    if number in done or not done <= set(range(1, n_bends + 1)):
        raise SpecError(
            "bent",
            f"numbers of other bends, 1 to {n_bends} without {number}",
            ", ".join(str(one) for one in sorted(done)),
            "Leave out the bend that the jig is for.",
        )
    shape = formed(strip, layout, chord_mm=CHORD_MM)
    both = [
        PressedStrip(
            shape=shape,
            number=number,
            bent=done,
            left=left,
            hot_mm=layout.lines[number - 1].heated_width_mm,
        )
        for left in (True, False)
    ]
    if hold:
        return both[0] if hold == "left" else both[1]
    return min(both, key=_dislike)


def _dislike(held: PressedStrip) -> tuple[bool, bool, float, bool]:
    """Return what speaks against holding a side: no end to stop it, parts that hang below it."""
    bottom = held.parts[0].bounds[1] < -held.thickness_mm / 2 - 1.0
    end = held.end_mm
    short = held.runs_mm[0] < held.half_mm + 15.0
    return short, bottom, end if end is not None else 1e4, not held.left
