"""Marking gauge: a stepped plate that is hooked over the strip's corner; a step for each bend.

It is printed with its hooks upward and used with them down; the numbers are in the face that is
on the printer's bed, and are above in use.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Annotated

import shapely
from manifold3d import Manifold
from shapely import Polygon
from shapely.affinity import scale

from moldgen.bend.jig.keyed import pieces_of
from moldgen.bend.strip.layout import Layout
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity, ranked
from moldgen.printing.bed import check_printable
from moldgen.printing.label import LABEL_MM, label_in, writable
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.solid.mesh import Body
from moldgen.solid.prism import body, raised
from moldgen.solid.sound import sound
from moldgen.stock import Printer

LEAST_STEP_MM = 2.5
"""A shorter step gives too short a pencil line to be lengthened true. [mm]."""
_HOOK_MM = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkGaugeSpec(Spec):
    """How a marking gauge is made."""

    plate_mm: Annotated[float, Quantity("mm", "thickness of the plate", at_least=2, at_most=10)] = (
        3.0
    )
    step_mm: Annotated[
        float, Quantity("mm", "length of the line drawn at a step", at_least=2.5, at_most=50)
    ] = 8.0
    label: Annotated[bool, Meaning("whether the numbers of the bends are sunk in")] = True


@dataclass(frozen=True, kw_only=True, eq=False)
class MarkGauge:
    """A marking gauge.

    Attributes
    ----------
    spec : MarkGaugeSpec
        As asked for.
    steps_mm : tuple of float
        Distance of each step from the strip's left end. [mm]
    plate : Polygon
        Its outline from above as printed: x from the strip's left end, y from its edge. [mm]
    whole : Body
        In one piece, as printed.
    bodies : tuple of Body
        What is printed.
    findings : tuple of Finding
        What a person should know.
    """

    spec: MarkGaugeSpec
    steps_mm: tuple[float, ...]
    plate: Polygon
    whole: Body
    bodies: tuple[Body, ...]
    findings: tuple[Finding, ...]


def build_mark_gauge(layout: Layout, spec: MarkGaugeSpec, printer: Printer) -> MarkGauge:
    """Build the marking gauge for a strip.

    Raises
    ------
    SpecError
        If the strip has no bends, or is so narrow that no line can be drawn for each.
    """
    strip = layout.strip
    if not layout.lines:
        raise SpecError("bends", "at least one", "0", "A strip without bends needs no marks.")
    steps = tuple(line.center_mm for line in layout.lines)
    floor = min(12.0, strip.width_mm / 3)
    height = min(spec.step_mm, (strip.width_mm - floor) / len(steps))
    if height < LEAST_STEP_MM:
        least = ceil(LEAST_STEP_MM * len(steps) * 1.5)
        raise SpecError(
            "width_mm",
            f"at least {least} mm for a gauge of {len(steps)} bends",
            f"{strip.width_mm:g} mm",
            "Mark this strip with a rule.",
        )
    plate = _plate(steps, floor, height)
    solid = _solid(plate, layout, spec, floor, height)
    name = "marking gauge"
    bodies = pieces_of(name, solid, printer, band_mm=(0.0, floor))
    findings = [*check_printable(bodies, printer)]
    if len(bodies) > 1:
        findings.append(
            Finding(
                code="jig-in-pieces",
                severity=Severity.NOTE,
                says="is longer than the printer and comes in pieces",
                measured=float(len(bodies)),
                subject=name,
                basis="geometry of the gauge",
                advice="Push the faces beside the keys together until they butt, then glue.",
            )
        )
    return MarkGauge(
        spec=spec,
        steps_mm=steps,
        plate=plate,
        whole=body(name, solid, doing="building a gauge"),
        bodies=bodies,
        findings=ranked(findings),
    )


def _plate(steps: tuple[float, ...], floor: float, height: float) -> Polygon:
    """Return the staircase, highest at the strip's left end."""
    top = floor + height * len(steps)
    ring = [(-_HOOK_MM, -_HOOK_MM), (steps[-1], -_HOOK_MM)]
    for number in range(len(steps), 0, -1):
        low = top - number * height
        ring += [(steps[number - 1], low if number < len(steps) else -_HOOK_MM)]
        ring += [(steps[number - 1], low + height)]
    ring.append((-_HOOK_MM, top))
    return Polygon(ring).buffer(0)


def _solid(
    plate: Polygon, layout: Layout, spec: MarkGaugeSpec, floor: float, height: float
) -> Manifold:
    top = plate.bounds[3]
    hooks = shapely.union_all(
        [
            shapely.box(-_HOOK_MM, -_HOOK_MM, 0.0, top),
            shapely.box(-_HOOK_MM, -_HOOK_MM, plate.bounds[2], 0.0),
        ]
    )
    # A hook longer than the strip is thick would rock on the bench.
    hook = spec.plate_mm + max(0.8 * layout.strip.thickness_mm, 1.0)
    solid = raised(plate, 0.0, spec.plate_mm) + raised(hooks, spec.plate_mm - 0.5, hook)
    if spec.label:
        for words in _words(plate, layout, floor, height):
            solid = solid - raised(words, -1.0, LABEL_MM)
    return sound(solid, doing="building a gauge")


def _words(plate: Polygon, layout: Layout, floor: float, height: float) -> list[shapely.Geometry]:
    """Return the numbers of the steps, and the strip's name, as the bed sees them."""
    top = plate.bounds[3]
    words = []
    for line in layout.lines:
        low = top - line.number * height
        room = shapely.box(line.center_mm - 45.0, low, line.center_mm, low + height) & plate
        turned = scale(room, yfact=-1.0, origin=(0, 0))
        text = label_in(turned, [f"{line.number}: {line.center_mm:.1f}", f"{line.number}"])
        words += [scale(text, yfact=-1.0, origin=(0, 0))] if text is not None else []
    room = shapely.box(0.0, -_HOOK_MM, plate.bounds[2], min(floor, floor + height) - 1.0) & plate
    title = label_in(
        scale(room, yfact=-1.0, origin=(0, 0)), writable(layout.strip.name), tallest_mm=6.0
    )
    return [*words, *([scale(title, yfact=-1.0, origin=(0, 0))] if title is not None else [])]
