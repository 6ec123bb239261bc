"""What every check looks at: the bodies, the shop they are for, and what is measured once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.mold.checks.hull import hull_of
from moldgen.mold.checks.outlines import Outline, outline_of_mesh, outlines_of_plan, owners
from moldgen.mold.features import FeaturePlan
from moldgen.solid.edges import Edges
from moldgen.solid.height.relief import Relief, cell_for, relief_of
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.solid.topology import Topology, topology_of, welded
from moldgen.stock.forming_machine import FormingMachine
from moldgen.stock.plastic import Sheet
from moldgen.stock.printer import Printer

Place = tuple[float, float, float]

WITHIN = 0.95
"""A shortfall under a twentieth of a rule of thumb is none: no run tells it from none. [-]."""

PRECISION = 2.0**-23
"""Relative spacing of the single-precision coordinates that mesh files carry."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """A mold, or any mesh a person brings, and the shop it shall be formed in.

    Attributes
    ----------
    bodies : tuple of Body
        The pieces of the mold as they stand on the table. [mm]
    sheet, machine, printer
        What the mold is formed and printed with.
    plan : tuple of FeaturePlan
        The features, for a mold of our own; empty for a mesh of unknown make.
    draw_direction : tuple of three floats
        Direction in which the part comes off; any length but 0.
    side : {"male", "female"}
        Whether the sheet is drawn over the mold or into it, where no plan tells.
    tactile : bool
        Whether raised characters are to be read by touch.
    widest_vent_mm : float
        Diameter, as drawn, of the widest vent known to be one. [mm]
    """

    bodies: tuple[Body, ...]
    sheet: Sheet
    machine: FormingMachine
    printer: Printer
    plan: tuple[FeaturePlan, ...] = ()
    draw_direction: Place = (0.0, 0.0, 1.0)
    side: Literal["male", "female"] = "male"
    tactile: bool = False
    widest_vent_mm: float = 0.0

    def __post_init__(self) -> None:
        length = float(np.linalg.norm(self.draw_direction))
        if not (np.isfinite(length) and length > 0):
            raise SpecError(
                "draw_direction", "a direction, such as 0, 0, 1", str(self.draw_direction)
            )
        if not self.bodies or not all(len(body.mesh.triangles) for body in self.bodies):
            raise SpecError("bodies", "at least one body, each with triangles", "none")
        if not all(np.isfinite(body.mesh.points_mm).all() for body in self.bodies):
            raise SpecError("bodies", "meshes with finite coordinates", "nan or inf")

    @cached_property
    def axes(self) -> Floats:
        """Unit vectors across, along and up the draw direction, as rows, shape (3, 3)."""
        up = np.array(self.draw_direction) / np.linalg.norm(self.draw_direction)
        if up[2] == 1.0:
            return np.eye(3)
        helper = np.eye(3)[int(np.argmin(np.abs(up)))]
        across = np.cross(helper, up)
        across /= np.linalg.norm(across)
        return np.array([across, np.cross(up, across), up])

    @cached_property
    def welded(self) -> tuple[Mesh, ...]:
        """Every body as brought, with points at the same place made one. [mm]."""
        return tuple(welded(body.mesh) for body in self.bodies)

    @cached_property
    def parts(self) -> tuple[Mesh, ...]:
        """Every body, outside out, turned so that the draw direction is +z. [mm]."""
        return tuple(_outside_out(mesh, self.axes) for mesh in self.welded)

    @cached_property
    def topologies(self) -> tuple[Topology, ...]:
        """How the triangles of every body hang together, as brought."""
        return tuple(topology_of(mesh) for mesh in self.welded)

    @cached_property
    def mesh(self) -> Mesh:
        """All bodies as one mesh, triangles in the order of the bodies. [mm]."""
        return joined(self.parts)

    @cached_property
    def body(self) -> NDArray[np.int64]:
        """Number of the body each triangle belongs to, shape (m,)."""
        counts = [len(part.triangles) for part in self.parts]
        return np.repeat(np.arange(len(counts)), counts)

    @cached_property
    def edges(self) -> Edges:
        """Pairs of neighboring triangles of the whole mesh."""
        return self.mesh.edges

    @cached_property
    def normals(self) -> Floats:
        """Outward unit normals; zeros for triangles without area, shape (m, 3)."""
        areas = self.mesh.areas_mm2[:, None]
        normals: Floats = np.divide(
            self.mesh.area_vectors_mm2, areas, out=np.zeros((len(areas), 3)), where=areas > 0
        )
        return normals

    @cached_property
    def middles_mm(self) -> Floats:
        """Middle of every triangle, shape (m, 3). [mm]."""
        middles: Floats = self.mesh.corners_mm.mean(axis=1)
        return middles

    @cached_property
    def box_mm(self) -> Floats:
        """Least and greatest corner of all bodies, shape (2, 3). [mm]."""
        return self.mesh.bounds_mm

    @cached_property
    def leans_deg(self) -> Floats:
        """Draft of every triangle: 90 flat, 0 along the draw direction, -90 upside down. [°]."""
        leans: Floats = np.degrees(np.arcsin(np.clip(self.normals[:, 2], -1, 1)))
        return leans

    @cached_property
    def uncertainty_deg(self) -> Floats:
        """How far rounding of the coordinates can turn each triangle, shape (m,). [°].

        A corner may be off by one step of single precision; the lower the triangle, the more
        that turns it. Needles and triangles without area may face anywhere: 180°.
        """
        corners = self.mesh.corners_mm
        squares = [
            np.einsum("ij,ij->i", side, side)
            for side in (corners[:, k] - corners[:, k - 1] for k in range(3))
        ]
        longest = np.sqrt(np.maximum.reduce(squares))
        altitude = 2 * self.mesh.areas_mm2 / np.maximum(longest, 1e-300)
        turn = np.degrees(2 * self.precision_mm / np.maximum(altitude, 1e-300))
        return np.asarray(np.minimum(turn, 180.0), np.float64)

    @cached_property
    def outlines(self) -> tuple[Outline, ...]:
        """One outline per planned feature, else one per body."""
        if self.plan:
            return outlines_of_plan(self.plan)
        return tuple(
            outline_of_mesh(body.name, part, sunk=self.side == "female")
            for body, part in zip(self.bodies, self.parts, strict=True)
        )

    @cached_property
    def owner(self) -> NDArray[np.int64]:
        """Number of the innermost outline each triangle belongs to, shape (m,); -1 for none."""
        if not self.plan and self.side == "male":
            return self.body
        return owners(self.middles_mm, self.outlines)

    @property
    def is_upright(self) -> bool:
        """Whether the part comes off straight up, so that plans show it where findings tell it."""
        return self.draw_direction == (0.0, 0.0, 1.0)

    @property
    def precision_mm(self) -> float:
        """Least step between coordinates as large as these in a mesh file. [mm]."""
        return float(np.abs(self.box_mm).max()) * PRECISION

    @property
    def floor_mm(self) -> float:
        """Height of the table: the lowest point of all bodies. [mm]."""
        return float(self.box_mm[0, 2])

    @property
    def height_mm(self) -> float:
        """Height of the tallest body above the table. [mm]."""
        return float(np.ptp(self.box_mm[:, 2]))

    @cached_property
    def relief(self) -> Relief:
        """The top of the mold as a picture of at most 400 000 cells. [mm]."""
        return relief_of(self.mesh, cell_mm=cell_for(self.mesh), floor_mm=self.floor_mm)

    @cached_property
    def footprints(self) -> tuple[Polygon, ...]:
        """Convex hull of every body seen along the draw direction. [mm]."""
        return tuple(hull_of(part.points_mm) for part in self.parts)

    @property
    def narrow_mm(self) -> float:
        """Width up to which the sheet spans a hole: two gauges, or that of a vent. [mm].

        A vent is at least as wide as the smallest hole of the printer, drawn wider by what
        printed holes lose.
        """
        printed = self.printer.least_hole_mm + self.printer.hole_undersize_mm
        return max(2 * self.sheet.gauge_mm, 1.02 * max(printed, self.widest_vent_mm))

    def place(self, point_mm: Floats) -> Place:
        """Return a place as the person who brought the mesh would measure it. [mm]."""
        x, y, z = (float(value) for value in np.asarray(point_mm) @ self.axes)
        return x, y, z

    def source(self, field: str, otherwise: str) -> str:
        """Return where the plastic's value comes from."""
        return self.sheet.plastic.sources.get(field) or otherwise


def _outside_out(mesh: Mesh, axes: Floats) -> Mesh:
    """Turn the draw direction upward, and the surface outward if all of it is inside out."""
    turned = mesh if axes[2, 2] == 1.0 else Mesh(mesh.points_mm @ axes.T, mesh.triangles)
    if turned.volume_mm3 >= 0:
        return turned
    return Mesh(turned.points_mm, np.ascontiguousarray(mesh.triangles[:, ::-1]))
