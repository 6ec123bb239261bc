"""Vents, where they are, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import numpy as np
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
class Vent:
    """A hole through the mold's surface.

    Attributes
    ----------
    name : str
        Letter V and a number, as in the drawing and the drill list.
    x_mm, y_mm, z_mm : float
        Center of its mouth. [mm]
    diameter_mm : float
        Diameter of the hole. [mm]
    feature : str
        The feature on whose flat it opens.
    low : LowPlace
        The place it serves.
    bore_mm : float, optional
        Diameter of the bore under it, where it is not the usual one. [mm]
    """

    name: str
    x_mm: float
    y_mm: float
    z_mm: float
    diameter_mm: float
    feature: str
    low: LowPlace
    bore_mm: float | None = None


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
