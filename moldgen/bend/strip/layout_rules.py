"""Layout rules: what is doubtful about the bends of a flat strip, and for a strip heater."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import radians

from moldgen.bend.strip.flat import BendLine, Layout
from moldgen.bend.strip.part import USUAL_RADIUS, Bend, StripSpec
from moldgen.finding import Finding, Severity
from moldgen.stock.strip_heater import SOFT_SHARE_BAND, StripHeater

PRACTICE = "common practice, no source"
CLEAR = 2.0
"""Thicknesses between a hole and the soft strip; common practice, no source."""
HEM_LEG = 4.0
"""Least leg after a closed fold over thickness; common practice, no source."""
LONGEST_LINE_MM = 610.0
"""Longer bend lines tend to bow (24 in); common practice, no source."""


def layout_findings(layout: Layout) -> Iterator[Finding]:
    """Yield what is doubtful about a layout whatever it is heated with."""
    for line in layout.lines:
        yield from _radius(layout, line)
        yield from _holes(layout, line)
        yield from _fold_legs(layout, line)
    yield from _soft_neighbors(layout)
    yield from _soft_ends(layout)
    if layout.lines and layout.strip.width_mm > LONGEST_LINE_MM:
        yield Finding(
            code="bend-line-long",
            severity=Severity.CAUTION,
            says="a bend line this long tends to bow",
            measured=layout.strip.width_mm,
            limit=LONGEST_LINE_MM,
            unit="mm",
            basis=PRACTICE,
            advice="Hold it straight in the jig until it is cold.",
        )


def heater_findings(layout: Layout, heater: StripHeater) -> Iterator[Finding]:
    """Yield what is doubtful about heating a layout on a strip heater."""
    if layout.lines and layout.strip.width_mm > heater.bed_length_mm:
        yield Finding(
            code="bend-line-beyond-bed",
            severity=Severity.STOP,
            says="the strip is wider than the heater is long",
            measured=layout.strip.width_mm,
            limit=heater.bed_length_mm,
            unit="mm",
            basis=heater.name,
            advice="Take a longer strip heater, or make the strip narrower.",
        )
    for line in layout.lines:
        yield from _short_legs(layout, line, heater)
        yield from _band(layout, line, heater)


def _short_legs(layout: Layout, line: BendLine, heater: StripHeater) -> Iterator[Finding]:
    last = line.number == len(layout.lines)
    before_mm = layout.lines[line.number - 2].end_mm if line.number > 1 else 0.0
    after_mm = layout.developed_mm if last else layout.lines[line.number].start_mm
    for leg, room_mm, at_end in (
        (line.number, line.center_mm - before_mm, line.number == 1),
        (line.number + 1, after_mm - line.center_mm, last),
    ):
        if room_mm < heater.least_leg_mm - 1e-9:
            yield Finding(
                code="leg-short-for-heater",
                severity=Severity.STOP if at_end else Severity.CAUTION,
                says=f"leg {leg} is too short to lie on the heater's bed",
                measured=room_mm,
                limit=heater.least_leg_mm,
                unit="mm",
                subject=line.name,
                basis=heater.name,
                advice="Leave it longer and cut it off after bending, or rest it on a support."
                if at_end
                else "Bend this line before its neighbor, or make the leg longer.",
            )


def _band(layout: Layout, line: BendLine, heater: StripHeater) -> Iterator[Finding]:
    if heater.soft_mm < line.heated_width_mm - 0.05:
        low_mm, high_mm = (share * heater.band_mm for share in SOFT_SHARE_BAND)
        yield Finding(
            code="band-narrow",
            severity=Severity.CAUTION,
            says="the heater softens a narrower strip than the bend needs: about "
            f"{heater.soft_mm:.0f} mm ({low_mm:.0f} to {high_mm:.0f})",
            measured=heater.soft_mm,
            limit=line.heated_width_mm,
            unit="mm",
            subject=line.name,
            basis="derived: the soft strip must cover the bend allowance, and three quarters of "
            f"the heated band, {heater.band_mm:g} mm, go soft",
            advice=f"Shift the strip to and fro while it heats{_rounder(layout, line, heater)}.",
        )


def _rounder(layout: Layout, line: BendLine, heater: StripHeater) -> str:
    """Return which inside radius the soft strip does make, if any."""
    radius_mm = largest_radius_mm(layout.strip, line.bend, heater)
    if radius_mm is None:
        return ", or take a heater with a wider band"
    return f", or take an inside radius of {radius_mm:g} mm"


def largest_radius_mm(strip: StripSpec, bend: Bend, heater: StripHeater) -> float | None:
    """Return the largest inside radius that the soft strip over a heater makes, in mm.

    In halves of a millimeter; none if it would be less than the thickness, if the soft strip is
    narrower than the three thicknesses of the least bend, or if a gap says the radius.
    """
    T, K = strip.thickness_mm, strip.neutral
    radius_mm = int(2 * (heater.soft_mm / radians(bend.angle_deg) - K * T)) / 2
    if bend.gap_mm is not None or radius_mm < T or heater.soft_mm < 3 * T:
        return None
    return radius_mm


def _radius(layout: Layout, line: BendLine) -> Iterator[Finding]:
    T = layout.strip.thickness_mm
    ratio, limit = line.radius_mm / T, 1.0
    if line.bend.gap_mm is not None and ratio < limit:
        says = "the closed fold stretches its outside far"
        advice = "Heat it longest, fold it slowly, or give the fold a wider gap."
    elif ratio < limit:
        says, advice = "the inside radius is less than the thickness", "Make it at least that."
    elif ratio < USUAL_RADIUS and line.bend.gap_mm is None:
        yield Finding(
            code="radius-small",
            severity=Severity.NOTE,
            says="two thicknesses are the usual inside radius",
            measured=line.radius_mm,
            limit=USUAL_RADIUS * T,
            unit="mm",
            subject=line.name,
            basis=PRACTICE,
        )
        return
    else:
        return
    yield Finding(
        code="radius-under-limit",
        severity=Severity.CAUTION,
        says=says,
        measured=line.radius_mm,
        limit=limit * T,
        unit="mm",
        subject=line.name,
        basis=PRACTICE,
        advice=advice,
    )


def _fold_legs(layout: Layout, line: BendLine) -> Iterator[Finding]:
    if not line.bend.is_fold:
        return
    limit_mm = HEM_LEG * layout.strip.thickness_mm
    for leg in (line.number - 1, line.number):
        if layout.flats_mm[leg] < limit_mm - 1e-9:
            yield Finding(
                code="fold-leg-short",
                severity=Severity.CAUTION,
                says=f"leg {leg + 1} is too short to press flat",
                measured=layout.flats_mm[leg],
                limit=limit_mm,
                unit="mm",
                subject=line.name,
                basis=PRACTICE,
                advice="Give the fold at least four thicknesses of straight leg.",
            )


def _holes(layout: Layout, line: BendLine) -> Iterator[Finding]:
    strip = layout.strip
    limit_mm = line.heated_width_mm / 2 + CLEAR * strip.thickness_mm
    spans = [(x - d / 2, x + d / 2, f"hole {n}") for n, (x, _, d) in enumerate(strip.holes, 1)]
    parts = strip.outline.geoms if strip.outline is not None else ()
    rings = [ring for part in parts for ring in part.interiors]
    spans += [(ring.bounds[0], ring.bounds[2], f"opening {n}") for n, ring in enumerate(rings, 1)]
    for left_mm, right_mm, what in spans:
        away_mm = max(left_mm - line.center_mm, line.center_mm - right_mm, 0.0)
        if away_mm < limit_mm - 1e-9:
            yield Finding(
                code="hole-near-bend",
                severity=Severity.CAUTION,
                says=f"the edge of {what} is so near the bend that it will be pulled out of shape",
                measured=away_mm,
                limit=limit_mm,
                unit="mm",
                subject=line.name,
                basis=PRACTICE,
                advice="Move it away from the bend line, or drill it after bending.",
            )


def _soft_neighbors(layout: Layout) -> Iterator[Finding]:
    for line, after in pairwise(layout.lines):
        apart_mm = after.center_mm - line.center_mm
        limit_mm = (line.heated_width_mm + after.heated_width_mm) / 2
        if apart_mm < limit_mm - 1e-9:
            yield Finding(
                code="soft-strips-meet",
                severity=Severity.CAUTION,
                says=f"heating it softens {after.name} too",
                measured=apart_mm,
                limit=limit_mm,
                unit="mm",
                subject=line.name,
                basis="derived: the soft strips must not meet",
                advice="Set the bends further apart, or heat and bend both at once.",
            )


def _soft_ends(layout: Layout) -> Iterator[Finding]:
    if not layout.lines:
        return
    first, last = layout.lines[0], layout.lines[-1]
    legs = (
        (1, first, first.center_mm),
        (len(layout.flats_mm), last, layout.developed_mm - last.center_mm),
    )
    for leg, line, room_mm in legs:
        limit_mm = line.heated_width_mm / 2 + layout.strip.thickness_mm
        if room_mm < limit_mm - 1e-9:
            yield Finding(
                code="leg-all-soft",
                severity=Severity.STOP,
                says=f"leg {leg} goes soft to its end",
                measured=room_mm,
                limit=limit_mm,
                unit="mm",
                subject=line.name,
                basis="derived: half the soft strip and one thickness",
                advice="Leave the leg longer and cut it off after bending.",
            )
