"""What of a mold bears the vacuum: each kind of part, at its worst place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, inf, radians, tan
from typing import Annotated

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from moldgen.mold.checks.widths import widths_across
from moldgen.mold.features import Direction, FeaturePlan
from moldgen.mold.load.strength import AllowedStress
from moldgen.mold.underside.underside import Underside, ceiling_of
from moldgen.mold.vents.vent import Vent
from moldgen.physics.plate import Bent, strip, strip_thickness_mm, upright
from moldgen.quantity import Quantity, Spec
from moldgen.solid.height.relief import Relief
from moldgen.stock.infill import USUAL_INFILL

MOST_BEND_MM = 0.3
"""No part of the mold's surface sinks by more: common practice (0.2 to 0.3), no source. [mm]."""

MOST_BEND_SHARE = 0.005
"""Nor by more than this share of its span: common practice, no source. [-]."""

THIN_RUN_MM = 3.0
"""A wall counts as thin as its thinnest stretch of this length, not as its sharpest tip. [mm]."""


class BearingPart(StrEnum):
    """What of a mold bears the vacuum."""

    CEILING = "the ceiling of a channel"
    SKIN = "the skin over the infill"
    WALL = "a thin wall"
    PADS = "the pads it stands on"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintStructure(Spec):
    """How the mold is sliced, as far as it bears."""

    skin_mm: Annotated[
        float, Quantity("mm", "thickness of top and bottom skin", above=0, at_most=20)
    ] = 1.2
    """Six layers of 0.2 mm: common practice, no source."""
    shell_mm: Annotated[
        float, Quantity("mm", "thickness of all walls together", above=0, at_most=20)
    ] = 1.2
    """Three lines of 0.4 mm: common practice, no source."""
    infill: Annotated[
        float, Quantity("", "share of the inside that is filled", above=0, at_most=1)
    ] = USUAL_INFILL
    mold_degC: Annotated[
        float, Quantity("°C", "how warm the mold gets inside its skin", at_least=0, at_most=200)
    ] = 40.0
    """Common practice, no source: after some pulls with pauses."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Borne:
    """What one part of a mold has to bear.

    Attributes
    ----------
    part : BearingPart
        What it is.
    subject : str
        The body or feature it belongs to.
    where_mm : tuple of three floats or None
        The worst place. [mm]
    span_mm, thickness_mm : float
        Its span or height, and how thick it is. [mm]
    stress_MPa, allowed_MPa : float
        What it bears and what it may bear. [MPa]
    bend_mm, most_bend_mm : float
        How far it gives and how far it may. [mm]
    """

    part: BearingPart
    subject: str
    where_mm: tuple[float, float, float] | None
    span_mm: float
    thickness_mm: float
    stress_MPa: float
    allowed_MPa: float
    bend_mm: float
    most_bend_mm: float

    @property
    def used(self) -> float:
        """The larger share of what is allowed: more than 1 is too much."""
        stress = self.stress_MPa / self.allowed_MPa if self.allowed_MPa > 0 else inf
        return max(stress, self.bend_mm / self.most_bend_mm)


@dataclass(frozen=True, slots=True)
class LoadCase:
    """Pressure, what is allowed, and how it is sliced."""

    vacuum_kPa: float
    allowed: AllowedStress
    spec: PrintStructure

    def skin(self, span_mm: float, thickness_mm: float) -> Bent:
        """Return what a long plate bears between two edges that hold it."""
        return strip(
            span_mm,
            thickness_mm,
            pressure_kPa=self.vacuum_kPa,
            modulus_MPa=self.allowed.modulus_MPa,
        )

    def wall(self, height_mm: float, foot_mm: float, middle_mm: float) -> Bent:
        """Return what a wall bears at its foot, and how far its top gives."""
        load = {"pressure_kPa": self.vacuum_kPa, "modulus_MPa": self.allowed.modulus_MPa}
        at_foot = upright(height_mm, foot_mm, **load)
        on_the_whole = upright(height_mm, middle_mm, **load)
        shell_mm = self.spec.shell_mm
        return Bent(
            stress_MPa=at_foot.stress_MPa / shell_share(foot_mm, shell_mm),
            deflection_mm=on_the_whole.deflection_mm / shell_share(middle_mm, shell_mm),
        )


def shell_share(thickness_mm: float, shell_mm: float) -> float:
    """Return how stiff a wall's two shells are with nothing between, over a solid wall's. [-]."""
    return 1 - max(0.0, 1 - 2 * shell_mm / thickness_mm) ** 3


def allowed_bend_mm(span_mm: float) -> float:
    """Return how far a part of a span may give. [mm]."""
    return min(MOST_BEND_MM, MOST_BEND_SHARE * span_mm)


def skin_of(infill_mm: float, case: LoadCase) -> Borne:
    """Return the skin between two lines of infill, air at the atmosphere on one side of it."""
    skin_mm = case.spec.skin_mm
    bent = case.skin(infill_mm, skin_mm)
    return Borne(
        part=BearingPart.SKIN,
        subject="",
        where_mm=None,
        span_mm=infill_mm,
        thickness_mm=skin_mm,
        stress_MPa=bent.stress_MPa,
        allowed_MPa=case.allowed.along_MPa,
        bend_mm=bent.deflection_mm,
        most_bend_mm=allowed_bend_mm(infill_mm),
    )


def least_skin_mm(infill_mm: float, case: LoadCase, layer_mm: float) -> float:
    """Return the least skin in whole layers; infinite if the print bears nothing any more. [mm]."""
    if case.allowed.along_MPa <= 0:
        return inf
    least = strip_thickness_mm(
        infill_mm,
        pressure_kPa=case.vacuum_kPa,
        modulus_MPa=case.allowed.modulus_MPa,
        stress_MPa=case.allowed.along_MPa,
        deflection_mm=allowed_bend_mm(infill_mm),
    )
    return ceil(least / layer_mm - 1e-9) * layer_mm


def ceilings_of(
    root: FeaturePlan, underside: Underside, vents: Sequence[Vent], relief: Relief, case: LoadCase
) -> Iterator[Borne]:
    """Yield each channel at its widest: a long plate as thick as what is left above it.

    Parameters
    ----------
    root : FeaturePlan
        The body as planned.
    underside : Underside
        Its channels.
    vents : Sequence[Vent]
        Its vents.
    relief : Relief
        Its heights from above.
    case : LoadCase
        Pressure, printer and filament.
    """
    spec = underside.spec
    ceiling = ceiling_of(underside, vents, root.outer)
    for piece in shapely.get_parts(shapely.intersection(ceiling, underside.channels)):
        if not isinstance(piece, Polygon) or piece.is_empty:
            continue
        circle = shapely.maximum_inscribed_circle(piece, tolerance=0.05)
        middle = shapely.get_point(circle, 0)
        span = 2 * float(circle.length)
        over = _least_height_mm(relief, middle, max(span / 2, relief.cell_mm))
        # Sparse infill between two skins ties them together, but counts for nothing by itself.
        thickness = min(over - spec.depth_mm, 2 * case.spec.skin_mm)
        if thickness <= 0:
            continue
        bent = case.skin(span, thickness)
        yield Borne(
            part=BearingPart.CEILING,
            subject=root.name,
            where_mm=(middle.x, middle.y, spec.depth_mm),
            span_mm=span,
            thickness_mm=thickness,
            stress_MPa=bent.stress_MPa,
            allowed_MPa=case.allowed.along_MPa,
            bend_mm=bent.deflection_mm,
            most_bend_mm=allowed_bend_mm(span),
        )


def _least_height_mm(relief: Relief, middle: shapely.Point, radius_mm: float) -> float:
    """Return the lowest place of the surface over a circle. [mm]."""
    x, y = relief.x_mm - middle.x, relief.y_mm - middle.y
    columns, rows = np.flatnonzero(abs(x) <= radius_mm), np.flatnonzero(abs(y) <= radius_mm)
    near = relief.on_table_mm[np.ix_(rows, columns)]
    away = np.hypot(*np.meshgrid(x[columns], y[rows]))
    return float(near[away <= radius_mm].min(initial=inf))


def pads_of(root: FeaturePlan, underside: Underside, case: LoadCase) -> Borne:
    """Return the pressure between pads and table, all of the vacuum on what is not cut away."""
    foot = root.outer.area
    bears = foot - shapely.intersection(underside.airways, root.outer).area
    return Borne(
        part=BearingPart.PADS,
        subject=root.name,
        where_mm=None,
        span_mm=0.0,
        thickness_mm=underside.spec.depth_mm,
        stress_MPa=case.vacuum_kPa * 1e-3 * foot / max(bears, 1e-6),
        allowed_MPa=case.allowed.across_MPa,
        bend_mm=0.0,
        most_bend_mm=MOST_BEND_MM,
    )


def walls_of(plan: FeaturePlan, case: LoadCase) -> Iterator[Borne]:
    """Yield a raised feature at its thinnest stroke, pressed from one side."""
    if plan.direction is Direction.RAISED:
        height = abs(plan.z_flat_mm - plan.z_parent_mm)
        yield from _upright(plan.outer, height, plan.wall.draft_deg, plan, case, inward=True)


def ribs_of(plans: Sequence[FeaturePlan], case: LoadCase) -> Iterator[Borne]:
    """Yield what stands between recesses side by side, as high as the deepest of them."""
    for parent in plans:
        sunk = [
            plan
            for plan in plans
            if plan.parent == parent.name and plan.direction is Direction.SUNK
        ]
        if sunk:
            flats = MultiPolygon([part for plan in sunk for part in plan.flat.geoms])
            depth = max(plan.z_parent_mm - plan.z_flat_mm for plan in sunk)
            draft = min(plan.wall.draft_deg for plan in sunk)
            yield from _upright(flats, depth, draft, parent, case, inward=False)


def _upright(
    region: MultiPolygon,
    height_mm: float,
    draft_deg: float,
    plan: FeaturePlan,
    case: LoadCase,
    *,
    inward: bool,
) -> Iterator[Borne]:
    """Yield the wall where its foot is thinnest, if there are walls facing each other."""
    widths = widths_across(region, reach_mm=3 * height_mm + 5, inward=inward)
    if not len(widths.widths_mm) or height_mm <= 0:
        return
    order = np.argsort(widths.widths_mm, kind="stable")
    run = np.cumsum(widths.shares_mm[order])
    n = int(order[min(int(np.searchsorted(run, THIN_RUN_MM)), len(order) - 1)])
    foot = float(widths.widths_mm[n])
    # Half way up it is as thick as it is on the whole; that counts for how far it gives.
    middle = max(foot - height_mm * tan(radians(draft_deg)), foot / 2)
    bent = case.wall(height_mm, foot, middle)
    x, y = widths.middles_mm[n]
    yield Borne(
        part=BearingPart.WALL,
        subject=plan.name,
        where_mm=(float(x), float(y), min(plan.z_flat_mm, plan.z_parent_mm)),
        span_mm=height_mm,
        thickness_mm=foot,
        stress_MPa=bent.stress_MPa,
        allowed_MPa=case.allowed.across_MPa,
        bend_mm=bent.deflection_mm,
        most_bend_mm=allowed_bend_mm(2 * height_mm),
    )


def infill_spacing_mm(infill: float, line_mm: float) -> float:
    """Return how far apart the lines of an infill lie that is laid in two directions. [mm].

    Lines of width w every s fill w/s of the inside; two directions together twice as much.
    """
    return 2 * line_mm / infill
