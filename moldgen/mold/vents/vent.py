"""Vents, where they are, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import cos, pi, radians, sin
from typing import Annotated

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.quantity import Quantity, Spec

BALL_BASIS = (
    "rolling-ball gap of the height field (geometry); common practice for the radius, no source"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class VentSpec(Spec):
    """How vents are placed and bored."""

    diameter_mm: Annotated[float, Quantity("mm", "vent hole", above=0, at_most=6)]
    spacing_mm: Annotated[
        float, Quantity("mm", "greatest distance between vents along a low line", at_least=5)
    ] = 25.0
    ball_mm: Annotated[
        float,
        Quantity("mm", "radius of the ball that stands for the hot sheet", above=0, at_most=60),
    ] = 8.0
    least_gap_mm: Annotated[
        float, Quantity("mm", "gap under the ball that still counts as a low spot", above=0)
    ] = 1.0
    least_air_mm3: Annotated[
        float, Quantity("mm³", "trapped air a pocket may keep without a vent of its own", above=0)
    ] = 30.0


class Reason(StrEnum):
    """Why a vent stands where it stands."""

    POCKET = "last point to fill"
    LINE = "along a low line"


@dataclass(frozen=True, slots=True, kw_only=True)
class LowPlace:
    """A place that the sheet reaches last.

    Attributes
    ----------
    x_mm, y_mm, z_mm : float
        Where it is. [mm]
    gap_mm : float
        Gap under the rolling ball there. [mm]
    air_mm3 : float
        Air the pocket holds when it is cut off; 0 along a line. [mm³]
    reason : Reason
        Pocket, or one of a row along a line.
    """

    x_mm: float
    y_mm: float
    z_mm: float
    gap_mm: float
    air_mm3: float
    reason: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Slit:
    """The mouth of a vent that is long and narrow.

    Attributes
    ----------
    width_mm, length_mm : float
        As drawn. [mm]
    turn_deg : float
        From x to its length, against the clock. [°]
    """

    width_mm: float
    length_mm: float
    turn_deg: float


@dataclass(frozen=True, kw_only=True)
class Vent:
    """An opening in the mold's surface: a round hole, or a slit.

    Attributes
    ----------
    name : str
        Letter V and a number, as in the drawing and the drill list.
    x_mm, y_mm, z_mm : float
        Center of its mouth. [mm]
    diameter_mm : float
        Diameter of the hole, or of the one it would be in place of a slit. [mm]
    feature : str
        The feature on whose flat it opens.
    low : LowPlace
        The place it serves.
    bore_mm : float, optional
        Diameter of the bore under a hole, or width of the pocket under a slit, where it is not
        the usual one. [mm]
    slit : Slit, optional
        Its mouth, if that is not round.
    in_waste : bool
        Whether it opens outside the trim line, where its mark is on no part.
    """

    name: str
    x_mm: float
    y_mm: float
    z_mm: float
    diameter_mm: float
    feature: str
    low: LowPlace
    bore_mm: float | None = None
    slit: Slit | None = None
    in_waste: bool = False

    @property
    def area_mm2(self) -> float:
        """Area of its mouth, as drawn. [mm²]."""
        if self.slit is not None:
            return self.slit.width_mm * self.slit.length_mm
        return pi / 4 * self.diameter_mm**2

    @property
    def across_mm(self) -> float:
        """The narrow way over its mouth: what the sheet spans and what marks the part. [mm]."""
        return self.diameter_mm if self.slit is None else self.slit.width_mm

    @cached_property
    def axis_mm(self) -> shapely.Geometry:
        """Its middle, as a point; of a slit the line from end to end. [mm]."""
        if self.slit is None:
            return shapely.Point(self.x_mm, self.y_mm)
        turn, half = radians(self.slit.turn_deg), self.slit.length_mm / 2
        x, y = half * cos(turn), half * sin(turn)
        return shapely.LineString([(self.x_mm - x, self.y_mm - y), (self.x_mm + x, self.y_mm + y)])

    def strip_mm(self, width_mm: float, *, longer_mm: float = 0.0) -> shapely.Geometry:
        """Return a rectangle along a slit, longer than it by so much at either end. [mm]."""
        (x0, y0), (x1, y1) = self.axis_mm.coords
        length = max(float(self.axis_mm.length), 1e-9)
        x, y = (x1 - x0) / length * longer_mm, (y1 - y0) / length * longer_mm
        line = shapely.LineString([(x0 - x, y0 - y), (x1 + x, y1 + y)])
        return shapely.buffer(line, width_mm / 2, cap_style="flat")


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """A level region where the sheet ends up: a flat less what stands on it."""

    name: str
    region: MultiPolygon
    z_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class VentPlan:
    """Vents in the mold, and low places that lie on the table beside it.

    Attributes
    ----------
    vents : tuple of Vent
        Holes to be made.
    on_table : tuple of LowPlace
        Low places on the table: the foot line and open counters.
    gap : ndarray, shape (ny, nx)
        The field they were read from, on the relief's raster. [mm]
    basis : str
        What that field is.
    """

    vents: tuple[Vent, ...]
    on_table: tuple[LowPlace, ...]
    gap: NDArray[np.float64]
    basis: str = BALL_BASIS
