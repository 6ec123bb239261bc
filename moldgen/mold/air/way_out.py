"""The proof that no air stays: every vent has a free way to a hole of the table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, pi

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from moldgen.finding import Finding, Severity, counted
from moldgen.mold.build import FLOOR_MM
from moldgen.mold.choices import UndersideKind
from moldgen.mold.features import FeaturePlan, bodies_of, roots_of
from moldgen.mold.underside.cut import BoreSpec
from moldgen.mold.underside.table_holes import unserved_share_of
from moldgen.mold.underside.underside import (
    Underside,
    ceiling_of,
    free_holes_mm2,
    served,
    unserved_share,
    widest_span_mm,
)
from moldgen.mold.vents.vent import LowPlace, Vent, VentPlan
from moldgen.solid.height.relief import Relief
from moldgen.solid.polygons import polygons_of
from moldgen.stock import FormingMachine, Printer

NEAR_FOOT_MM = 10.0
"""A low place on the table nearer than this to a body is that body's foot line. [mm]."""

FEW = 0.2
"""Share of the vents' area from which on the table's holes hold the air up noticeably. [-]."""

FAR = 1.5
"""A foot line this many spacings from an air notch is told of. [-]."""

COUNTER_EDGE_MM = 1.0
"""Rim of an open counter that the sheet closes before the rest of it. [mm]."""

_GRAPH = (
    "graph of vents, bores, channels, air notches and table holes, at the worst placing (geometry)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _BodyAir:
    """One body with everything its air passes through."""

    name: str
    foot: MultiPolygon
    underside: Underside
    vents: tuple[Vent, ...]
    low: tuple[LowPlace, ...]


def check_airways(
    vents: VentPlan,
    undersides: Sequence[Underside],
    plans: Sequence[FeaturePlan],
    *,
    relief: Relief,
    machine: FormingMachine,
    printer: Printer,
    bore: BoreSpec,
) -> tuple[Finding, ...]:
    """Prove for every body that its air gets out, or find where it does not.

    Parameters
    ----------
    vents : VentPlan
        Vents as bored, and the low places on the table.
    undersides : sequence of Underside
        One for each body, in the order of the plans.
    plans : sequence of FeaturePlan
        Every feature as built, parents before children.
    relief : Relief
        The raw mold seen from above.
    machine : FormingMachine
        Gives the table's holes.
    printer : Printer
        Gives the widest bridge.
    bore : BoreSpec
        How vents are bored.

    Returns
    -------
    tuple of Finding
        Vents without a way out, placings without a table hole, ceilings too wide or too thin,
        low places at the foot far from any air notch. Empty if the proof holds.
    """
    findings: list[Finding] = []
    for body in _bodies(vents, undersides, plans):
        findings += _check_vents(body)
        findings += _check_holes(body, machine)
        findings += _check_span(body, printer)
        findings += _check_ceiling(body, relief)
        findings += _check_foot(body, machine)
        findings += _check_feet(body)
    return tuple(findings)


def vent_area_mm2(vents: Sequence[Vent]) -> float:
    """Return the area of all vents together. [mm²]."""
    return sum(vent.area_mm2 for vent in vents)


def _bodies(
    vents: VentPlan, undersides: Sequence[Underside], plans: Sequence[FeaturePlan]
) -> Iterator[_BodyAir]:
    owner = bodies_of(plans)
    for root, underside in zip(roots_of(plans), undersides, strict=True):
        near = [
            place
            for place in vents.on_table
            if root.outer.distance(shapely.Point(place.x_mm, place.y_mm)) < NEAR_FOOT_MM
        ]
        yield _BodyAir(
            name=root.name,
            foot=root.outer,
            underside=underside,
            vents=tuple(vent for vent in vents.vents if owner[vent.feature] == root.name),
            low=tuple(near),
        )


def _check_vents(body: _BodyAir) -> Iterator[Finding]:
    """Every vent opens into an airway; without any, it opens onto the table itself."""
    for vent, piece in zip(body.vents, served(body.vents, body.underside), strict=True):
        if piece < 0:
            flat = body.underside.spec.kind is UndersideKind.FLAT
            yield Finding(
                code="vent-without-way",
                severity=Severity.CAUTION if flat else Severity.STOP,
                says=f"vent {vent.name} opens onto the table, where a hole may or may not be"
                if flat
                else f"vent {vent.name} opens into no channel",
                where_mm=(vent.x_mm, vent.y_mm, 0.0),
                subject=body.name,
                basis=_GRAPH,
                advice="Relieve the underside with channels or feet."
                if flat
                else "Move the vent, or make the channels' rim narrower.",
            )


def _check_holes(body: _BodyAir, machine: FormingMachine) -> Iterator[Finding]:
    """Every airway with vents meets the table's holes wherever the mold is put down."""
    pieces = list(body.underside.airways.geoms)
    numbers = served(body.vents, body.underside)
    for number in sorted(Counter(n for n in numbers if n >= 0)):
        own = [vent for vent, n in zip(body.vents, numbers, strict=True) if n == number]
        yield from _check_piece(body, pieces[number], own, machine)


def _check_piece(
    body: _BodyAir, piece: Polygon, vents: Sequence[Vent], machine: FormingMachine
) -> Iterator[Finding]:
    region = MultiPolygon([piece])
    pitch, hole = machine.hole_pitch_mm, machine.hole_diameter_mm
    names = ", ".join(vent.name for vent in vents)
    first = vents[0]
    where = (first.x_mm, first.y_mm, 0.0)
    placings_mm2 = free_holes_mm2(region, pitch_mm=pitch, hole_mm=hole)
    share = unserved_share_of(placings_mm2, hole_mm=hole)
    if share > 0:
        yield Finding(
            code="airway-misses-holes",
            severity=Severity.STOP if share > 1 - 1e-9 else Severity.CAUTION,
            says=f"the channel under {names} meets no hole of the table in some placings",
            measured=100 * share,
            limit=0.0,
            unit="%",
            where_mm=where,
            subject=body.name,
            basis=f"{_GRAPH}; holes of {hole:g} mm every {pitch:g} mm",
            advice="Put the mold down so that a table hole lies under its channel, or lay it on "
            "a piece of open mesh.",
        )
        return
    free, best = float(placings_mm2.min()), float(placings_mm2.max())
    needed = FEW * vent_area_mm2(vents)
    if free < needed <= best:  # where no placing is better there is nothing to do about it
        enough = ceil(needed / (pi / 4 * hole**2))
        yield Finding(
            code="table-holes-few",
            severity=Severity.NOTE,
            says="at the worst placing the free table holes under the channels are a far narrower "
            "way than the vents",
            measured=free,
            limit=needed,
            unit="mm²",
            where_mm=where,
            subject=body.name,
            basis=f"{_GRAPH}; holes of {hole:g} mm every {pitch:g} mm",
            advice=f"Shift the mold on the table, by {pitch / 2:g} mm at most either way, until "
            f"{counted(enough, 'hole')} of it {'lies' if enough == 1 else 'lie'} under it.",
        )


def _check_span(body: _BodyAir, printer: Printer) -> Iterator[Finding]:
    ceiling = ceiling_of(body.underside, body.vents, body.foot)
    widest, limit = widest_span_mm(ceiling), printer.clean_bridge_mm
    if widest > limit + 0.1:
        circles = shapely.maximum_inscribed_circle(shapely.get_parts(ceiling), tolerance=0.05)
        middle = shapely.get_point(circles[int(shapely.length(circles).argmax())], 0)
        yield Finding(
            code="bridge-wide",
            severity=Severity.CAUTION,
            says="the ceiling of a channel is wider than the printer bridges cleanly",
            measured=widest,
            limit=limit,
            unit="mm",
            where_mm=(middle.x, middle.y, body.underside.spec.depth_mm),
            subject=body.name,
            basis=printer.sources.get("clean_bridge_mm", "common practice, no source"),
            advice="It will sag a little; ask for channels with a narrower bridge.",
        )


def _check_ceiling(body: _BodyAir, relief: Relief) -> Iterator[Finding]:
    """Enough plastic is left above every channel."""
    spec = body.underside.spec
    # At the very foot the wall itself comes down to the table; there the rim is what counts.
    inner = shapely.buffer(body.foot, -spec.rim_mm)
    over = shapely.buffer(
        shapely.intersection(body.underside.channels, inner), -0.5 * relief.cell_mm
    )
    grid_x, grid_y = np.meshgrid(relief.x_mm, relief.y_mm)
    if over.is_empty:
        return
    shapely.prepare(over)
    inside = shapely.contains_xy(over, grid_x, grid_y)
    left = np.where(inside, relief.on_table_mm - spec.depth_mm, np.inf)
    thinnest = float(left.min())
    if thinnest < FLOOR_MM - 0.01:
        row, column = np.unravel_index(int(left.argmin()), left.shape)
        x, y = float(relief.x_mm[column]), float(relief.y_mm[row])
        yield Finding(
            code="ceiling-thin",
            severity=Severity.STOP,
            says="too little plastic is left above a channel",
            measured=thinnest,
            limit=FLOOR_MM,
            unit="mm",
            where_mm=(x, y, spec.depth_mm),
            subject=body.name,
            basis="six layers of 0.2 mm; common practice, no source",
            advice=f"Raise the body by {FLOOR_MM - thinnest:.1f} mm, sink less deep, or ask for a "
            "flat underside.",
        )


def _check_foot(body: _BodyAir, machine: FormingMachine) -> Iterator[Finding]:
    """Low spots on the table lie near an air notch, or in a counter with a table hole."""
    spec = body.underside.spec
    if spec.kind is UndersideKind.FEET:
        return
    counters = [Polygon(ring) for part in body.foot.geoms for ring in part.interiors]
    for counter in counters:
        yield from _check_counter(body, counter, machine)
    outside = [p for p in body.low if not _within(p, counters)]
    far = [(_away_mm(place, body.underside.air_notches), place) for place in outside]
    away, place = max(far, key=lambda one: one[0], default=(0.0, None))
    # Half as far again is still near enough for air that leaves along the foot.
    if place is not None and away > FAR * spec.air_notch_spacing_mm:
        yield Finding(
            code="foot-far-from-air-notch",
            severity=Severity.NOTE,
            says="the foot line is far from any air notch",
            measured=away if np.isfinite(away) else None,
            limit=FAR * spec.air_notch_spacing_mm,
            unit="mm",
            where_mm=(place.x_mm, place.y_mm, 0.0),
            subject=body.name,
            basis="vents about every 25 mm: a trade guide, common practice, no source",
            advice="Air at the foot leaves through the table's own holes beside the mold.",
        )


def _check_counter(body: _BodyAir, counter: Polygon, machine: FormingMachine) -> Iterator[Finding]:
    air_notches = body.underside.air_notches
    if not air_notches.is_empty and shapely.intersects(air_notches, shapely.buffer(counter, -0.2)):
        return
    region = polygons_of(shapely.buffer(counter, -COUNTER_EDGE_MM))
    share = unserved_share(region, pitch_mm=machine.hole_pitch_mm, hole_mm=machine.hole_diameter_mm)
    if share > 0:
        middle = counter.representative_point()
        yield Finding(
            code="counter-without-way",
            severity=Severity.CAUTION,
            says="an open counter has no air notch, and in some placings no hole of the table",
            measured=100 * share,
            limit=0.0,
            unit="%",
            where_mm=(middle.x, middle.y, 0.0),
            subject=body.name,
            basis=_GRAPH,
            advice="Put the mold down with a table hole inside the counter, or scratch a groove "
            "under the stroke beside it.",
        )


def _check_feet(body: _BodyAir) -> Iterator[Finding]:
    spec = body.underside.spec
    if spec.kind is UndersideKind.FEET:
        yield Finding(
            code="open-foot",
            severity=Severity.NOTE,
            says="the mold stands on feet, and a soft sheet can be drawn in under its edge",
            measured=spec.depth_mm,
            limit=None,
            unit="mm",
            subject=body.name,
            basis="geometry",
            advice="Feet lower than the sheet is thick keep it out; channels within a closed rim "
            "shut it out altogether.",
        )


def _within(place: LowPlace, counters: Sequence[Polygon]) -> bool:
    return any(shapely.contains_xy(counter, place.x_mm, place.y_mm) for counter in counters)


def _away_mm(place: LowPlace, air_notches: MultiPolygon) -> float:
    if air_notches.is_empty:
        return float("inf")
    return float(air_notches.distance(shapely.Point(place.x_mm, place.y_mm)))
