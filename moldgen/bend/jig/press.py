"""Press: in which a closed fold stiffens: a tray, a lid that carries a weight, a gap insert.

The hot strip is folded over the nose of the insert by hand, laid into the tray with its end at
the fence and its fold at the wall, and pressed by the lid, which comes to rest on the fence, the
rail and the wall when the fold is as thick as it should be.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Annotated

import numpy as np
import shapely
from manifold3d import Manifold

from moldgen.bend.jig.base import BaseSpec, build_on_rail, check_below, check_fence, titled
from moldgen.bend.jig.held import PressedStrip, build_held
from moldgen.bend.jig.keyed import pieces_of
from moldgen.bend.strip.layout import Layout
from moldgen.bend.strip.part import StripSpec
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity, ranked
from moldgen.printing.bed import check_printable, laid_out
from moldgen.printing.label import LABEL_MM, label_in
from moldgen.quantity import Meaning, Quantity
from moldgen.solid.mesh import Body
from moldgen.solid.prism import body, raised
from moldgen.solid.sound import sound
from moldgen.stock import Printer

LEAST_INSERT_MM = 0.8
"""A thinner insert does not print flat; it is a card or a piece of metal. [mm]."""
LONGEST_TRAY_MM = 400.0
_HANDLE_MM = 26.0
_LIP_MM = 3.0
_GEOMETRY = "geometry of the press"


@dataclass(frozen=True, slots=True, kw_only=True)
class PressSpec(BaseSpec):
    """How a press is made."""

    clearance_mm: Annotated[
        float, Quantity("mm", "between strip and tray, and in the gap", at_least=0.05, at_most=1)
    ] = 0.2
    wall_mm: Annotated[
        float, Quantity("mm", "thickness of fence and wall", at_least=5, at_most=40)
    ] = 8.0
    lid_mm: Annotated[float, Quantity("mm", "thickness of the lid", at_least=3, at_most=30)] = 6.0
    facing_mm: Annotated[
        float,
        Quantity(
            "mm",
            "wood or metal glued on floor, wall and lid; the insert is a board then",
            at_least=0,
            at_most=6,
        ),
    ] = 0.0
    hold: Annotated[str, Meaning("left or right: the leg that lies below; chosen if left out")] = ""
    label: Annotated[bool, Meaning("whether bend and gap are sunk into lid and insert")] = True


@dataclass(frozen=True, kw_only=True, eq=False)
class Press:
    """A press for one closed fold.

    Attributes
    ----------
    spec : PressSpec
        As asked for.
    number : int
        The bend it is for.
    held : PressedStrip
        The strip in it, folded.
    gap_mm : float
        What the fold must hold. [mm]
    insert_mm : float
        Thickness of the printed insert; 0 if it is too thin to print, or the press is faced. [mm]
    fence_mm : float or None
        From the bend line to the fence at the strip's end. [mm]
    tray, lid : Body
        As printed, in one piece; the tray lies on its rail.
    insert : Body or None
        As printed, flat.
    bodies : tuple of Body
        What is printed, side by side.
    findings : tuple of Finding
        What a person should know.
    """

    spec: PressSpec
    number: int
    held: PressedStrip
    gap_mm: float
    insert_mm: float
    fence_mm: float | None
    tray: Body
    lid: Body
    insert: Body | None
    bodies: tuple[Body, ...]
    findings: tuple[Finding, ...]


def build_press(
    strip: StripSpec,
    layout: Layout,
    number: int,
    spec: PressSpec,
    printer: Printer,
    *,
    bent: Collection[int] = (),
) -> Press:
    """Build the press for one closed fold.

    Parameters
    ----------
    number : int
        Bend, 1 for the leftmost.
    bent : collection of int
        Bends that are bent before, by number.

    Raises
    ------
    SpecError
        If there is no such bend, or it is not a closed fold.
    """
    held = _folded(strip, layout, number, bent, spec.hold)
    bend = strip.bends[number - 1]
    if not bend.is_fold:
        raise SpecError(
            "angle_deg",
            "180° for a press",
            f"{bend.angle_deg:g}° at bend {number}",
            "Fold it on a bend block.",
        )
    plan = _plan(held, spec)
    name = f"press {number}"
    tray = _tray(plan, spec)
    lid = _lid(plan, spec)
    insert = _insert(plan, spec)
    floor = plan.floor_mm
    band = (floor - spec.base_mm, floor - spec.clearance_mm)
    half = strip.width_mm / 2
    pieces = [
        *pieces_of(f"{name} tray", tray, printer, band_mm=band),
        *pieces_of(f"{name} lid", lid, printer, band_mm=(half - 8.0, half + 8.0)),
    ]
    inlay = body(f"{name} insert", insert, doing="building an insert") if insert else None
    bodies = laid_out([*pieces, *([inlay] if inlay else [])])
    findings = (*_findings(plan, name, spec), *check_printable(bodies, printer))
    return Press(
        spec=spec,
        number=number,
        held=held,
        gap_mm=plan.gap_mm,
        insert_mm=plan.insert_mm,
        fence_mm=plan.fence_mm,
        tray=body(f"{name} tray", tray, doing="building a press"),
        lid=body(f"{name} lid", lid, doing="building a press"),
        insert=inlay,
        bodies=bodies,
        findings=ranked(findings),
    )


def _folded(
    strip: StripSpec, layout: Layout, number: int, bent: Collection[int], hold: str
) -> PressedStrip:
    """Return the strip so that the leg that is folded over is the shorter one, if it may be."""
    sides = [hold] if hold else ["left", "right"]
    both = [build_held(strip, layout, number, bent=bent, hold=side) for side in sides]
    return min(
        both, key=lambda held: (held.runs_mm[0] < held.runs_mm[1] - 1e-6, held.end_mm is None)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """The places that matter, in the jig's frame. [mm]."""

    held: PressedStrip
    gap_mm: float
    insert_mm: float
    fence_mm: float | None
    floor_mm: float
    left_mm: float
    nose_mm: float
    rest_mm: float
    inner_end_mm: float


def _plan(held: PressedStrip, spec: PressSpec) -> _Plan:
    gap = 2 * held.inner_mm
    insert = gap - spec.clearance_mm
    end = held.end_mm
    fence = end if end is not None and end <= LONGEST_TRAY_MM else None
    folded = held.runs_mm[1] - held.half_mm
    nose = float(held.center_mm[0]) + held.inner_mm + held.thickness_mm
    reach = -held.half_mm - folded
    left = -fence if fence is not None else max(-held.runs_mm[0] + 2.0, reach - 30.0)
    return _Plan(
        held=held,
        gap_mm=gap,
        insert_mm=0.0 if spec.facing_mm or insert < LEAST_INSERT_MM else insert,
        fence_mm=fence,
        floor_mm=-held.thickness_mm / 2 - spec.facing_mm,
        left_mm=left,
        nose_mm=nose + spec.clearance_mm + spec.facing_mm,
        rest_mm=held.thickness_mm * 1.5 + gap + spec.facing_mm,
        inner_end_mm=max(reach, -held.runs_mm[0]),
    )


def _tray(plan: _Plan, spec: PressSpec) -> Manifold:
    """Return the tray, lying on its rail."""
    held = plan.held
    low = plan.floor_mm - spec.base_mm
    behind = spec.wall_mm if plan.fence_mm is not None else 0.0
    left, right = plan.left_mm - behind, plan.nose_mm + spec.wall_mm
    whole = shapely.box(left, low, right, plan.rest_mm)
    parts = [
        shapely.box(left, low, right, plan.floor_mm),
        shapely.box(plan.nose_mm, low, right, plan.rest_mm),
    ]
    if plan.fence_mm is not None:
        parts.append(shapely.box(left, low, plan.left_mm, plan.rest_mm))
    room = shapely.buffer(held.region, spec.clearance_mm, join_style="mitre")
    if plan.fence_mm is not None:
        # The held leg butts against the fence; a longer folded one passes over it.
        room = room - shapely.box(left - 1.0, low, plan.left_mm, held.thickness_mm / 2)
    solid = shapely.union_all(parts) - room
    top = spec.rail_mm + held.strip.width_mm
    tray = build_on_rail(whole, solid, spec.rail_mm, top)
    return sound(tray, doing="building a press tray")


def _lid(plan: _Plan, spec: PressSpec) -> Manifold:
    """Return the lid, its pressing face on the bed, a shelf with a rim on top."""
    held = plan.held
    behind = spec.wall_mm if plan.fence_mm is not None else 0.0
    left, right = plan.left_mm - behind, plan.nose_mm + spec.wall_mm
    above = shapely.box(left, plan.rest_mm + 0.1, right, plan.rest_mm + 60.0) & held.region
    if not above.is_empty:
        left = min(above.bounds[2] + 1.0, right - 20.0)
    wide = held.strip.width_mm + spec.rail_mm
    plate = shapely.box(left, 0.0, right, wide)
    rim = plate - shapely.buffer(plate, -_LIP_MM, join_style="mitre")
    solid = raised(plate, 0.0, spec.lid_mm) + raised(rim, spec.lid_mm - 0.5, spec.lid_mm + _LIP_MM)
    if spec.label:
        room = shapely.buffer(plate, -_LIP_MM, join_style="mitre")
        words = label_in(
            room, titled(held.strip.name, f"bend {held.number}\ngap {plan.gap_mm:.1f}")
        )
        if words is not None:
            solid = solid - raised(words, spec.lid_mm - LABEL_MM, spec.lid_mm + 1.0)
    return sound(solid, doing="building a press lid")


def _insert(plan: _Plan, spec: PressSpec) -> Manifold | None:
    """Return the insert, flat, its nose to the right and its handle in front."""
    if plan.insert_mm == 0.0:
        return None
    held, thick = plan.held, plan.insert_mm
    nose = float(plan.held.center_mm[0]) + held.inner_mm - spec.clearance_mm / 2
    left = max(plan.inner_end_mm - 10.0, plan.left_mm + spec.clearance_mm)
    slack = spec.clearance_mm
    # The nose is a wedge of 45° both ways: it lies within the round and prints without support.
    side = np.array(
        [(left, 0.0), (nose - thick / 2, 0.0), (nose, thick / 2), (nose - thick / 2, thick),
         (left, thick)]
    )  # fmt: skip
    wide = held.strip.width_mm - slack
    blade = raised(shapely.Polygon(side), 0.0, wide).rotate((90.0, 0.0, 0.0))
    handle = shapely.box(left, -wide - _HANDLE_MM, nose - thick, -wide + 0.5)
    rounded = shapely.buffer(shapely.buffer(handle, -5.0), 5.0, quad_segs=12) | shapely.box(
        left, -wide - 6.0, nose - thick, -wide + 0.5
    )
    solid = blade + raised(rounded, 0.0, thick)
    if spec.label and thick > 2 * LABEL_MM:
        words = label_in(handle, [f"insert {plan.insert_mm:.1f}", f"{plan.insert_mm:.1f}"])
        if words is not None:
            solid = solid - raised(words, thick - LABEL_MM, thick + 1.0)
    return sound(solid, doing="building an insert")


def _findings(plan: _Plan, name: str, spec: PressSpec) -> list[Finding]:
    findings = []
    if plan.insert_mm == 0.0 and not spec.facing_mm:
        findings.append(
            Finding(
                code="press-without-insert",
                severity=Severity.NOTE,
                says="the gap of the fold is too thin for a printed insert",
                measured=plan.gap_mm,
                limit=LEAST_INSERT_MM,
                unit="mm",
                subject=name,
                basis=_GEOMETRY,
                advice="Lay in card or sheet metal of that thickness, or a layer of baking paper.",
            )
        )
    findings += check_below(
        plan.held, spec.base_mm + spec.facing_mm, name, floor="tray", basis=_GEOMETRY,
        advice="Set the tray at the edge of the bench, or on blocks as high.",
    )  # fmt: skip
    findings += check_fence(
        plan.fence_mm, name, basis=_GEOMETRY,
        advice="Push the fold against the wall and see that the strip lies square.",
    )  # fmt: skip
    return findings
