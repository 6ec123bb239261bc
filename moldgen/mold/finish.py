"""Cut what is not lofted: vents, their bores, channels, gates, label and pull insert."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, radians, tan
from typing import Annotated

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold, OpType
from shapely import MultiPolygon

from moldgen.mold.underside import Underside
from moldgen.mold.vents import Vent
from moldgen.quantity import Quantity, Spec
from moldgen.solid.sound import sound

DRILL_POINT_DEG = 118.0
"""Point angle of a general-purpose twist drill (common practice, no source). [°]."""


class Opening(StrEnum):
    """How a vent is opened."""

    PRINTED = "printed"
    DRILLED = "drilled"


@dataclass(frozen=True, kw_only=True, slots=True)
class BoreSpec(Spec):
    """How a vent is bored from below."""

    bore_mm: Annotated[float, Quantity("mm", "diameter of the bore", above=0, at_most=12)] = 4.0
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

    def opening(self, vent: Vent) -> Opening:
        """Return whether the printer can make the vent's hole."""
        return Opening.PRINTED if vent.diameter_mm >= self.least_hole_mm - 1e-9 else Opening.DRILLED


def cut_underside(solid: Manifold, underside: Underside, tools: Sequence[Manifold]) -> Manifold:
    """Cut channels, gates and further tools out of a body.

    Raises
    ------
    GeometryError
        If the modeller fails or nothing is left.
    """
    spec = underside.spec
    airways = [
        below(region, depth)
        for region, depth in ((underside.channels, spec.depth_mm), (underside.gates, spec.gate_mm))
        if not region.is_empty
    ]
    cutters = [*airways, *tools]
    if not cutters:
        return solid
    cut = Manifold.batch_boolean([solid, *cutters], OpType.Subtract)
    return sound(cut, doing="cutting the underside")


def below(region: MultiPolygon, depth_mm: float) -> Manifold:
    """Return a region as a cutter from under the table up to a depth into the mold."""
    rings = [
        np.asarray(ring.coords)[:-1]
        for part in region.geoms
        for ring in (part.exterior, *part.interiors)
    ]
    section = CrossSection(rings, FillRule.EvenOdd)
    cutter = section.extrude(depth_mm + 1.0).translate((0.0, 0.0, -1.0))
    return sound(cutter, doing="shaping the underside")


def vent_tool(vent: Vent, spec: BoreSpec, *, chord_mm: float = 0.01) -> Manifold:
    """Return the cutter of one vent: a clearance bore, then the hole or the pilot's cone.

    A printed hole goes through. A hole to be drilled ends in the cone of a drill point, which
    guides the drill from below; its apex lies ``skin_mm`` under the mold's surface.
    """
    if spec.opening(vent) is Opening.PRINTED:
        return _printed_tool(vent, spec, chord_mm)
    return _pilot_tool(vent, spec, chord_mm)


def _printed_tool(vent: Vent, spec: BoreSpec, chord_mm: float) -> Manifold:
    hole = (vent.diameter_mm + spec.undersize_mm) / 2
    top = vent.z_mm + 5.0
    tool = _cylinder(hole, -1.0, top, chord_mm)
    bore_top = vent.z_mm - spec.land_mm
    if bore_top > 0.4:
        tool += _cylinder(spec.bore_mm / 2, -1.0, bore_top, chord_mm)
    return sound(tool.translate((vent.x_mm, vent.y_mm, 0.0)), doing=f"boring vent {vent.name}")


def _pilot_tool(vent: Vent, spec: BoreSpec, chord_mm: float) -> Manifold:
    radius = spec.bore_mm / 2
    apex = vent.z_mm - spec.skin_mm
    cone = radius / tan(radians(DRILL_POINT_DEG / 2))
    segments = _segments(radius, chord_mm)
    tip = Manifold.cylinder(cone, radius, 0.0, segments).translate((0.0, 0.0, apex - cone))
    if apex - cone > -0.9:
        tip += _cylinder(radius, -1.0, apex - cone, chord_mm)
    return sound(tip.translate((vent.x_mm, vent.y_mm, 0.0)), doing=f"boring vent {vent.name}")


def _cylinder(radius_mm: float, low_mm: float, high_mm: float, chord_mm: float) -> Manifold:
    segments = _segments(radius_mm, chord_mm)
    cylinder = Manifold.cylinder(high_mm - low_mm, radius_mm, radius_mm, segments)
    return cylinder.translate((0.0, 0.0, low_mm))


def _segments(radius_mm: float, chord_mm: float) -> int:
    """Return the sides of a polygon that stays within the chord tolerance of its circle."""
    return max(12, 4 * ceil(np.pi / np.arccos(max(0.0, 1 - chord_mm / radius_mm)) / 4))


def free_for_bores(foot: MultiPolygon, bore_mm: float, wall_mm: float) -> shapely.Geometry:
    """Return where the axis of a bore may stand so that a wall is left around it. [mm]."""
    return shapely.buffer(foot, -(bore_mm / 2 + wall_mm))
