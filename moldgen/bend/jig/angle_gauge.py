"""Angle gauge: a plate with two points that go into a bend: one for each limit of its angle.

A bend is good if the point marked with the least angle touches with its sides far from the bend
while light shows at its tip, and the point marked with the greatest angle touches with its tip.
A closed fold is tried with two blades: the thin one must go in, the thick one must not.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin, tan
from typing import Annotated

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import Polygon
from shapely.affinity import scale, translate

from moldgen.bend.strip.layout import BendLine, Layout
from moldgen.errors import SpecError
from moldgen.finding import Finding, ranked
from moldgen.printing.bed import check_printable
from moldgen.printing.label import LABEL_MM, label_in
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.solid.mesh import Body
from moldgen.solid.prism import body, raised
from moldgen.solid.sound import sound
from moldgen.stock import Printer

SHARPEST_DEG = 12.0
"""A sharper point breaks off. [°]."""
THINNEST_MM = 0.8
_GRIP_MM = 44.0
_BLADE_MM = (25.0, 16.0)
_BLADE_STEP_MM = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleGaugeSpec(Spec):
    """How an angle gauge is made."""

    tolerance_deg: Annotated[
        float, Quantity("°", "how far a bend may be off", at_least=0.25, at_most=10)
    ] = 1.5
    side_mm: Annotated[
        float, Quantity("mm", "length of the sides of a point", at_least=12, at_most=100)
    ] = 30.0
    plate_mm: Annotated[float, Quantity("mm", "thickness of the plate", at_least=2, at_most=20)] = (
        4.0
    )
    label: Annotated[bool, Meaning("whether the angles are sunk in")] = True


@dataclass(frozen=True, kw_only=True, eq=False)
class AngleGauge:
    """A go and no-go gauge for one bend.

    Attributes
    ----------
    spec : AngleGaugeSpec
        As asked for.
    number : int
        The bend, 1 for the leftmost.
    limits : tuple of two floats
        Least and greatest bend angle [°]; for a closed fold, thickness of the blade that must go
        in and of the one that must not [mm].
    bodies : tuple of Body
        What is printed: one plate.
    findings : tuple of Finding
        What a person should know.
    """

    spec: AngleGaugeSpec
    number: int
    limits: tuple[float, float]
    bodies: tuple[Body, ...]
    findings: tuple[Finding, ...]


def build_angle_gauge(
    layout: Layout, number: int, spec: AngleGaugeSpec, printer: Printer
) -> AngleGauge:
    """Build the gauge for one bend.

    Raises
    ------
    SpecError
        If there is no such bend, its point would be too sharp to print, or the gap of a closed
        fold is too thin for a printed blade.
    """
    if not 1 <= number <= len(layout.lines):
        raise SpecError("number", f"that of a bend, 1 to {len(layout.lines)}", str(number), "")
    line = layout.lines[number - 1]
    if line.bend.is_fold:
        limits, solid = _blades(line, spec)
    else:
        limits, solid = _points(line, spec)
    name = f"angle gauge {number}"
    bodies = (body(name, sound(solid, doing="building a gauge"), doing="building a gauge"),)
    return AngleGauge(
        spec=spec,
        number=number,
        limits=limits,
        bodies=bodies,
        findings=ranked(check_printable(bodies, printer)),
    )


def _points(line: BendLine, spec: AngleGaugeSpec) -> tuple[tuple[float, float], Manifold]:
    angle, tolerance = line.bend.angle_deg, spec.tolerance_deg
    limits = (max(angle - tolerance, 0.1), angle + tolerance)
    if 180.0 - limits[1] < SHARPEST_DEG:
        raise SpecError(
            "angle_deg",
            f"at most {180 - SHARPEST_DEG - tolerance:g}° for an angle gauge",
            f"{angle:g}° at bend {line.number}",
            "Measure this bend with a protractor.",
        )
    left, right = (_point(limit, line.radius_mm, spec.side_mm) for limit in limits)
    half = max(left.bounds[3], right.bounds[3], 12.0)
    grip = shapely.box(-_GRIP_MM / 2, -half, _GRIP_MM / 2, half)
    west = translate(left, -_GRIP_MM / 2 - left.bounds[2])
    east = scale(right, xfact=-1.0, origin=(0, 0))
    east = translate(east, _GRIP_MM / 2 - east.bounds[0])
    plate = shapely.union_all([_joined(west, grip), _joined(east, grip), grip])
    solid = raised(plate, 0.0, spec.plate_mm)
    if spec.label:
        rooms = (
            (
                shapely.box(plate.bounds[0], -half, -_GRIP_MM / 2 + 12, half) & plate,
                "least",
                limits[0],
            ),
            (
                shapely.box(_GRIP_MM / 2 - 12, -half, plate.bounds[2], half) & plate,
                "most",
                limits[1],
            ),
        )
        texts = [
            label_in(room, [f"{word}\n{at:g}°", f"{at:g}°"], tallest_mm=5.0)
            for room, word, at in rooms
        ]
        middle = shapely.box(-_GRIP_MM / 2 + 12, -half, _GRIP_MM / 2 - 12, half)
        texts.append(
            label_in(middle, [f"bend\n{line.number}\n{angle:g}°", f"{line.number}"], tallest_mm=6.0)
        )
        solid = _lettered(solid, texts, spec.plate_mm)
    return limits, solid


def _joined(point: Polygon, grip: Polygon) -> shapely.Geometry:
    """Return a point with what fills the corners between it and the grip."""
    overlap = 0.5 if point.bounds[0] < grip.bounds[0] else -0.5
    return shapely.union_all([point, translate(point, overlap)])


def _point(angle_deg: float, radius_mm: float, side_mm: float) -> Polygon:
    """Return the inside of a bend as a point to the left, its tip cut off at the round."""
    half = radians(180.0 - angle_deg) / 2
    blunt = radius_mm * tan(radians(angle_deg) / 2) + 0.5
    ends = np.array([blunt, blunt + side_mm])
    x, y = ends * cos(half), ends * sin(half)
    return Polygon([(x[0], -y[0]), (x[1], -y[1]), (x[1], y[1]), (x[0], y[0])])


def _blades(line: BendLine, spec: AngleGaugeSpec) -> tuple[tuple[float, float], Manifold]:
    gap = 2 * line.radius_mm
    limits = (gap - _BLADE_STEP_MM / 2, gap + _BLADE_STEP_MM)
    if limits[0] < THINNEST_MM:
        raise SpecError(
            "gap_mm",
            f"at least {THINNEST_MM + _BLADE_STEP_MM / 2:g} mm for a printed blade",
            f"{gap:g} mm at bend {line.number}",
            "Try the fold with what it must hold.",
        )
    length, wide = _BLADE_MM
    grip = shapely.box(-_GRIP_MM / 2, -wide / 2, _GRIP_MM / 2, wide / 2)
    thick = max(spec.plate_mm, limits[1])
    solid = raised(grip, 0.0, thick)
    for limit, side in zip(limits, (-1.0, 1.0), strict=True):
        ends = sorted((side * (_GRIP_MM / 2 - 1.0), side * (_GRIP_MM / 2 + length)))
        solid = solid + raised(shapely.box(ends[0], -wide / 2, ends[1], wide / 2), 0.0, limit)
    if spec.label:
        halves = (
            (shapely.box(-_GRIP_MM / 2, -wide / 2, 0.0, wide / 2), "go", limits[0]),
            (shapely.box(0.0, -wide / 2, _GRIP_MM / 2, wide / 2), "not", limits[1]),
        )
        texts = [
            label_in(room, [f"{word}\n{at:.1f}", f"{at:.1f}"], tallest_mm=5.0)
            for room, word, at in halves
        ]
        solid = _lettered(solid, texts, thick)
    return limits, solid


def _lettered(solid: Manifold, texts: list[shapely.Geometry | None], top_mm: float) -> Manifold:
    for text in texts:
        if text is not None:
            solid = solid - raised(text, top_mm - LABEL_MM, top_mm + 1.0)
    return solid
