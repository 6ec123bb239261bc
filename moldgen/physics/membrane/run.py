"""What is asked of a forming run, and what comes back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.quantity import Quantity, Spec

Mask = NDArray[np.bool_]


Progress = Callable[[str, float], None]
"""Told the stage (``sag``, ``rise`` or ``draw``) and its share done, 0 to 1."""


FREE, ON_MOLD, ON_FLOOR, HELD = 0, 1, 2, 3
"""What a point of the sheet rests on, as in `FormingRun.touches`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormingSpec(Spec):
    """How the sheet is drawn, and how exactly it is to be told.

    Attributes
    ----------
    pressure_per_mm : float
        Greatest pressure toward the mold, over gauge and the modulus at the end. [1/mm]
    relaxed_share : float
        Share of its stiffness that the sheet has left at the end, by its stress relaxing under the
        full pressure; 1 for rubber. The pressure that it is drawn with is this share of the
        greatest: the rest of the way it is the modulus that falls. [-]
    volume_mm3 : float, optional
        Swept volume to stop at, if it comes before the pressure; counted from the flat sheet in
        its clamp. Without it, the run ends at the pressure. [mm³]
    sag_mm : float
        How deep the sheet hangs (its lowest point, toward the mold) before the mold rises; less
        than 0 is a sheet blown up, away from the mold. [mm]
    tolerance : float
        The run has settled when the out-of-balance force of the free points has fallen to this
        share of all forces in them. [-]
    pace : float
        How slowly mold and air move, against the quickest way that keeps the sheet near
        balance; 2 takes about twice the steps. [-]
    most_steps : int
        Steps after which the run ends, settled or not.
    """

    pressure_per_mm: Annotated[float, Quantity("1/mm", "greatest pressure", at_least=0)] = 0.3
    relaxed_share: Annotated[
        float, Quantity("", "stiffness left at the end", above=0, at_most=1)
    ] = 1.0
    volume_mm3: Annotated[float | None, Quantity("mm³", "swept volume to stop at", above=0)] = None
    sag_mm: Annotated[float, Quantity("mm", "depth the sheet hangs before the mold rises")] = 0.0
    tolerance: Annotated[float, Quantity("", "out-of-balance force", above=0, below=1)] = 1e-3
    pace: Annotated[float, Quantity("", "slowness", at_least=0.1, at_most=100)] = 1.0
    most_steps: Annotated[int, Quantity("", "steps", at_least=1)] = 50_000

    @property
    def drawn_per_mm(self) -> float:
        """Full pressure over gauge and the modulus before it has relaxed. [1/mm]."""
        return self.pressure_per_mm * self.relaxed_share


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """What was going on along the run, one value per record, shape (k,) each.

    Attributes
    ----------
    time : ndarray
        The run's own time: -1 to 0 while the sheet is made to sag, 0 to 1 while the mold rises,
        1 to 2 while air is drawn, and 2 while the sheet settles under the greatest pressure. [-]
    energy_mm2 : ndarray
        Energy stored in the sheet, over modulus and gauge. [mm²]
    pressure_per_mm : ndarray
        Pressure toward the mold, over modulus and gauge. [1/mm]
    swept_mm3 : ndarray
        Volume between the clamp plane and the sheet, positive toward the mold. [mm³]
    residual : ndarray
        Out-of-balance force of the free points over all forces in them. [-]
    """

    time: Floats
    energy_mm2: Floats
    pressure_per_mm: Floats
    swept_mm3: Floats
    residual: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frames:
    """How the sheet hung now and then while air was drawn, the first as the drawing began.

    Attributes
    ----------
    time : ndarray, shape (k,)
        When, in the time of `History`, rising. [-]
    pressure_per_mm : ndarray, shape (k,)
        Pressure toward the mold then, over modulus and gauge. [1/mm]
    points_mm : ndarray of float32, shape (k, n, 3)
        Where the points were, in the mold's heights. [mm]
    """

    time: Floats
    pressure_per_mm: Floats
    points_mm: NDArray[np.float32]

    def __post_init__(self) -> None:
        for array in (self.time, self.pressure_per_mm, self.points_mm):
            array.setflags(write=False)


@dataclass(frozen=True, kw_only=True, eq=False)
class FormingRun:
    """A sheet that has been formed, or what there is of it if the run did not settle.

    Attributes
    ----------
    mesh : SheetMesh
        The flat sheet. [mm]
    rubber : Rubber
        The law it followed.
    spec : FormingSpec
        How it was drawn.
    points_mm : ndarray, shape (n, 3)
        Where the points ended, in the mold's heights. [mm]
    arrival : ndarray, shape (n,)
        When a point came to rest on mold or floor, in the time of `History`; inf if never.
    touches : ndarray of int8, shape (n,)
        `FREE`, `ON_MOLD`, `ON_FLOOR` or `HELD`.
    clamp_mm : float
        Height of the clamp plane at the end. [mm]
    history : History
        Energy, pressure, volume and residual along the way.
    frames : Frames
        The sheet on its way.
    converged : bool
        Whether the residual fell to the tolerance.
    steps : int
        Steps taken.
    """

    mesh: SheetMesh
    rubber: Rubber
    spec: FormingSpec
    points_mm: Floats
    arrival: Floats
    touches: NDArray[np.int8]
    clamp_mm: float
    history: History
    frames: Frames
    converged: bool
    steps: int

    def __post_init__(self) -> None:
        for array in (self.points_mm, self.arrival, self.touches):
            array.setflags(write=False)

    @property
    def contact(self) -> Mask:
        """Which points rest on mold or floor, shape (n,)."""
        mask: Mask = (self.touches == ON_MOLD) | (self.touches == ON_FLOOR)
        return mask

    @property
    def residual(self) -> float:
        """Out-of-balance force at the end over all forces. [-]."""
        return float(self.history.residual[-1])

    @cached_property
    def areas_mm2(self) -> Floats:
        """Area of every formed triangle, shape (m,). [mm²]."""
        return _kept(0.5 * _length(_cross(*_sides(self.points_mm, self.mesh))))

    @cached_property
    def thickness(self) -> Floats:
        """Thickness of every triangle over that of the clamped sheet, shape (m,). [-]."""
        return _kept(self.mesh.areas_mm2 / self.areas_mm2)

    @cached_property
    def thickness_at_points(self) -> Floats:
        """Thickness at every point: its triangles' flat area over their formed area. [-]."""
        flat, formed = (_area_at(self.mesh, each.areas_mm2) for each in (self.mesh, self))
        return _kept(flat / formed)

    @cached_property
    def stretches(self) -> Floats:
        """Greater and lesser stretch in the plane of every triangle, shape (m, 2). [-]."""
        return _kept(principal_stretches(self.mesh, self.points_mm))


def principal_stretches(mesh: SheetMesh, points_mm: Floats) -> Floats:
    """Return greater and lesser stretch of every triangle against the flat sheet, shape (m, 2)."""
    (ux, uy), (vx, vy) = _sides(mesh.points_mm, mesh)
    u, v = _sides(points_mm, mesh)
    over = 1.0 / (ux * vy - uy * vx)
    # The columns of the gradient, by the inverse of the flat sides.
    first = [(a * vy - b * uy) * over for a, b in zip(u, v, strict=True)]
    second = [(b * ux - a * vx) * over for a, b in zip(u, v, strict=True)]
    xx, xy, yy = _dot(first, first), _dot(first, second), _dot(second, second)
    greater = 0.5 * (xx + yy) + np.hypot(0.5 * (xx - yy), xy)
    determinant = xx * yy - xy**2
    stretches: Floats = np.sqrt(np.stack([greater, determinant / greater], axis=1))
    return stretches


def _sides(points_mm: Floats, mesh: SheetMesh) -> tuple[list[Floats], list[Floats]]:
    """Two sides of every triangle, coordinate by coordinate, shape (m,) each."""
    a, b, c = mesh.triangles.T
    columns = [np.ascontiguousarray(column) for column in points_mm.T]
    return [x[b] - x[a] for x in columns], [x[c] - x[a] for x in columns]


def _cross(u: list[Floats], v: list[Floats]) -> list[Floats]:
    turns = ((1, 2), (2, 0), (0, 1))
    return [u[i] * v[j] - u[j] * v[i] for i, j in turns]


def _dot(u: list[Floats], v: list[Floats]) -> Floats:
    return sum((a * b for a, b in zip(u[1:], v[1:], strict=True)), u[0] * v[0])


def _length(u: list[Floats]) -> Floats:
    return np.sqrt(_dot(u, u))


def _kept(numbers: Floats) -> Floats:
    """Return numbers that are kept, so that nobody changes them."""
    numbers.setflags(write=False)
    return numbers


def _area_at(mesh: SheetMesh, areas_mm2: Floats) -> Floats:
    each = np.repeat(areas_mm2, 3)
    sums = np.bincount(mesh.triangles.ravel(), each, minlength=len(mesh.points_mm))
    return sums.astype(np.float64)
