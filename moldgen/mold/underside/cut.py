"""Cut what is not lofted: vents, their bores, channels, air notches, label and pull insert."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import radians, tan
from typing import Annotated

import numpy as np
from manifold3d import CrossSection, FillRule, Manifold, OpType
from shapely import MultiPolygon

from moldgen.mold.features import FeaturePlan
from moldgen.mold.underside.marking import LABEL_DEPTH_MM, SLOT_HEIGHT_MM, Marking
from moldgen.mold.underside.slit import slit_tool
from moldgen.mold.underside.underside import Underside
from moldgen.mold.vents.vent import Vent
from moldgen.quantity import Quantity, Spec
from moldgen.solid.arcs import segments_for
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.prism import prism
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh, sound
from moldgen.stock import Printer

DRILL_POINT_DEG = 118.0
"""Point angle of a general-purpose twist drill (common practice, no source). [°]."""

OVERSHOOT_MM = 2.0
"""How far above its mouth the cutter of a printed hole reaches. [mm]."""

SIMPLER_MM = 1e-5
"""Corners nearer to each other, or to an edge, than this are made one after cutting. [mm]."""

CRUMB_MM3 = 0.5
"""A loose solid of less than this is a crumb that no printer would lay. [mm³]."""


class Opening(StrEnum):
    """How a vent is opened."""

    SLIT = "printed slit"
    PRINTED = "printed"
    DRILLED = "drilled"


@dataclass(frozen=True, kw_only=True, slots=True)
class BoreSpec(Spec):
    """How a vent is bored from below."""

    bore_mm: Annotated[
        float, Quantity("mm", "diameter of the counterbore", above=0, at_most=12)
    ] = 4.0
    land_mm: Annotated[
        float, Quantity("mm", "thickness left around the vent hole", above=0, at_most=10)
    ] = 1.6
    skin_mm: Annotated[
        float, Quantity("mm", "thickness left over a pilot to be drilled", above=0, at_most=5)
    ] = 0.8
    undersize_mm: Annotated[
        float, Quantity("mm", "what a printed hole loses in diameter", at_least=0, at_most=1)
    ] = 0.2
    least_hole_mm: Annotated[
        float, Quantity("mm", "least hole the printer makes", above=0, at_most=10)
    ] = 1.5
    slit_mm: Annotated[
        float, Quantity("mm", "width of a slit that the printer leaves open", above=0, at_most=3)
    ] = 0.4

    @classmethod
    def for_printer(cls, printer: Printer) -> BoreSpec:
        """Return how vents are bored for a printer: what holes lose, its least hole and slit."""
        return cls(
            least_hole_mm=printer.least_hole_mm,
            undersize_mm=printer.hole_undersize_mm,
            slit_mm=printer.least_slit_mm,
        )

    @property
    def slit_loss_mm(self) -> float:
        """What a slit loses in width: straight walls half of what round ones do. [mm]."""
        return self.undersize_mm / 2

    def opening(self, vent: Vent) -> Opening:
        """Return whether the printer makes the vent's opening, and which."""
        if vent.slit is not None:
            return Opening.SLIT
        return Opening.PRINTED if vent.diameter_mm >= self.least_hole_mm - 1e-9 else Opening.DRILLED


@dataclass(frozen=True, slots=True, eq=False)
class FinishedBody:
    """One top-level feature, cut and ready to be written to a file.

    Attributes
    ----------
    bodies : tuple of Body
        Its separate solids, named from left to right.
    euler_foretold : int
        Euler number of all their surfaces together by the outline and the vents: two for every
        piece, two less for every hole of the outline and for every vent that goes through.
    euler_measured : int
        The same, counted on the triangles.
    """

    bodies: tuple[Body, ...]
    euler_foretold: int
    euler_measured: int


def finish_body(
    root: FeaturePlan,
    mesh: Mesh,
    underside: Underside,
    *,
    vents: Sequence[Vent],
    bore: BoreSpec,
    marking: Marking | None = None,
) -> FinishedBody:
    """Cut everything out of one body at once, and part it into its pieces.

    Parameters
    ----------
    root : FeaturePlan
        The body's own feature; its name goes to the piece, with a number if there are several.
    mesh : Mesh
        The body as lofted.
    vents : sequence of Vent
        The vents of this body alone.
    marking : Marking, optional
        Label, pocket and pry slots.

    Raises
    ------
    GeometryError
        If the modeler fails or nothing is left.
    """
    tools = [*(vent_tool(vent, bore) for vent in vents), *_marking_tools(marking)]
    solid = solid_from_mesh(mesh, doing=f"raising {root.name}")
    bodies = _parted(root.name, cut_underside(solid, underside, tools))
    through = sum(bore.opening(vent) is not Opening.DRILLED for vent in vents)
    return FinishedBody(
        bodies=bodies,
        euler_foretold=2 * (euler_of_region(root.outer) - through),
        euler_measured=sum(_euler(body.mesh) for body in bodies),
    )


def euler_of_region(region: MultiPolygon) -> int:
    """Return the pieces of a region less its holes."""
    return len(region.geoms) - sum(len(part.interiors) for part in region.geoms)


def _euler(mesh: Mesh) -> int:
    return len(mesh.points_mm) - mesh.edges.n_edges + len(mesh.triangles)


def _marking_tools(marking: Marking | None) -> Iterator[Manifold]:
    if marking is None:
        return
    sunk = (
        (marking.label, LABEL_DEPTH_MM),
        (marking.pocket, marking.pocket_depth_mm),
        (marking.slots, SLOT_HEIGHT_MM),
    )
    for region, depth in sunk:
        if not region.is_empty:
            yield below(region, depth)


def _parted(name: str, solid: Manifold) -> tuple[Body, ...]:
    """Return the separate solids, those too small to print left out, from left to right."""
    parts = [part for part in solid.decompose() if part.volume() > CRUMB_MM3]
    parts.sort(
        key=lambda part: (round(part.bounding_box()[0], 3), round(part.bounding_box()[1], 3))
    )
    meshes = [mesh_from_solid(part) for part in parts]
    if len(meshes) == 1:
        return (Body(name, meshes[0]),)
    return tuple(Body(f"{name} {n}", mesh) for n, mesh in enumerate(meshes, start=1))


def cut_underside(solid: Manifold, underside: Underside, tools: Sequence[Manifold]) -> Manifold:
    """Cut channels, air notches and further tools out of a body.

    Raises
    ------
    GeometryError
        If the modeler fails or nothing is left.
    """
    spec = underside.spec
    airways = [
        below(region, depth)
        for region, depth in (
            (underside.channels, spec.depth_mm),
            (underside.air_notches, spec.air_notch_mm),
        )
        if not region.is_empty
    ]
    cutters = [*airways, *tools]
    if not cutters:
        return solid
    cut = Manifold.batch_boolean([solid, *cutters], OpType.Subtract)
    return sound(cut.simplify(SIMPLER_MM), doing="cutting the underside")


def below(region: MultiPolygon, depth_mm: float) -> Manifold:
    """Return a region as a cutter from under the table up to a depth into the mold."""
    return sound(prism(region, -1.0, depth_mm), doing="shaping the underside")


def vent_tool(vent: Vent, spec: BoreSpec, *, chord_mm: float = 0.01) -> Manifold:
    """Return the cutter of one vent: a clearance bore, then the hole or the pilot's cone.

    A printed hole goes through. A hole to be drilled ends in the cone of a drill point, which
    guides the drill from below; its apex lies ``skin_mm`` under the mold's surface. A slit opens
    into a pocket of its own.
    """
    if vent.slit is not None:
        return slit_tool(vent, top_mm=vent.z_mm + OVERSHOOT_MM)
    if spec.opening(vent) is Opening.PRINTED:
        return _printed_tool(vent, spec, chord_mm)
    return _pilot_tool(vent, spec, chord_mm)


def _printed_tool(vent: Vent, spec: BoreSpec, chord_mm: float) -> Manifold:
    hole = (vent.diameter_mm + spec.undersize_mm) / 2
    bore = (vent.bore_mm or spec.bore_mm) / 2
    top, step = vent.z_mm + OVERSHOOT_MM, vent.z_mm - spec.land_mm
    stepped = [(bore, -1.0), (bore, step), (hole, step)] if step > 0.4 and bore > hole else []
    return _turned([*(stepped or [(hole, -1.0)]), (hole, top)], vent, chord_mm)


def _pilot_tool(vent: Vent, spec: BoreSpec, chord_mm: float) -> Manifold:
    bore = (vent.bore_mm or spec.bore_mm) / 2
    apex = vent.z_mm - spec.skin_mm
    steep = tan(radians(DRILL_POINT_DEG / 2))
    base = apex - bore / steep
    if base > -1.0:
        return _turned([(bore, -1.0), (bore, base), (0.0, apex)], vent, chord_mm)
    return _turned([((apex + 1.0) * steep, -1.0), (0.0, apex)], vent, chord_mm)


def _turned(outline: Sequence[tuple[float, float]], vent: Vent, chord_mm: float) -> Manifold:
    """Return the solid of revolution of (radius, height) points, going up, about a vent's axis."""
    points = np.array([(0.0, outline[0][1]), *outline])
    if outline[-1][0] > 0:
        points = np.vstack([points, (0.0, outline[-1][1])])
    segments = segments_for(float(points[:, 0].max()), chord_mm, at_least=12)
    tool = Manifold.revolve(CrossSection([points], FillRule.Positive), segments)
    return sound(tool.translate((vent.x_mm, vent.y_mm, 0.0)), doing=f"boring vent {vent.name}")
