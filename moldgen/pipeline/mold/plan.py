"""The mold on the table: plan drawing, drill list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from moldgen.finding import Finding, counted
from moldgen.job.spec import MoldRequest
from moldgen.mold.underside.cut import Opening
from moldgen.mold.vents.vent import Vent
from moldgen.pipeline.mold.hanging import hanging_holes
from moldgen.pipeline.mold.mold import CutMold, Mold
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.setting import Setting
from moldgen.solid.polygons import polygons_of
from moldgen.stock import FormingMachine, nearest_drill

if TYPE_CHECKING:
    from moldgen.export.plan.plan import DrawnSlit, Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilling:
    """One line of the drill list.

    Attributes
    ----------
    vent : Vent
        Which hole.
    metric, inch : str
        Standard drills no larger than the vent.
    """

    vent: Vent
    metric: str
    inch: str


def plan_of(
    request: MoldRequest, mold: Mold, setting: Setting, drilling: Sequence[Drilling]
) -> Plan:
    """Return the plan of a mold at 1:1, on its table."""
    from moldgen.export.plan.plan import Hole, build_plan
    from moldgen.export.report.report import problem_places

    drills = {drill.vent.name: drill for drill in drilling}
    round_vents = [vent for vent in mold.vents.vents if vent.slit is None]
    holes = [
        Hole(x_mm=v.x_mm, y_mm=v.y_mm, diameter_mm=v.diameter_mm, note=_note(v, drills))
        for v in round_vents
    ]
    printed = [h for h, v in zip(holes, round_vents, strict=True) if v.name not in drills]
    pilots = [h for h, v in zip(holes, round_vents, strict=True) if v.name in drills]
    slits = [_slit(v) for v in mold.vents.vents if v.slit is not None]
    machine = setting.machine
    plan = build_plan(
        title=request.title,
        foot=mold.foot,
        flats=[plan.flat for plan in mold.plans if not plan.flat.is_empty],
        vents=printed,
        drills=pilots,
        slits=slits,
        hanging=[
            Hole(x_mm=hole.x_mm, y_mm=hole.y_mm, diameter_mm=hole.diameter_mm)
            for hole in hanging_holes(request, mold)
        ],
        channels=[under.airways for under in mold.undersides if not under.airways.is_empty],
        trim=trim_plan_of(request, mold, setting.sheet).region,
        opening=_centerd_box(mold.foot, machine.opening_width_mm, machine.opening_depth_mm),
        sheet=_centerd_box(mold.foot, machine.sheet_width_mm, machine.sheet_depth_mm),
        rings=problem_places(mold.findings),
    )
    return plan if setting.is_printed else _drilled_in_wood(plan)


def _drilled_in_wood(plan: Plan) -> Plan:
    """Return a plan whose drilled vents are told as those of a mold of wood."""
    from moldgen.export.plan.plan import Layer

    items = tuple(
        replace(item, layer=Layer.BORE) if item.layer is Layer.DRILL else item
        for item in plan.items
    )
    return replace(plan, items=items)


def plan_of_part(
    *,
    title: str,
    foot: MultiPolygon,
    places: Sequence[tuple[float, float]],
    vent_mm: float,
    trim: MultiPolygon,
    machine: FormingMachine,
    findings: tuple[Finding, ...] = (),
) -> Plan:
    """Return the plan at 1:1 of a part that somebody brings, on its table.

    Parameters
    ----------
    foot, trim : MultiPolygon
        Its outline on the table, and what would be cut out of the sheet. [mm]
    places : sequence of (x, y)
        Where a vent is wanted. [mm]
    vent_mm : float
        Widest hole that leaves no mark. [mm]
    findings : tuple of Finding
        What was found; the places of those that have a ring are ringed.
    """
    from moldgen.export.plan.plan import Hole, build_plan
    from moldgen.export.report.report import problem_places

    drills = [
        Hole(x_mm=x, y_mm=y, diameter_mm=vent_mm, note=f"v{number}")
        for number, (x, y) in enumerate(places, start=1)
    ]
    return build_plan(
        title=title,
        foot=foot,
        drills=drills,
        trim=trim,
        opening=_centerd_box(foot, machine.opening_width_mm, machine.opening_depth_mm),
        sheet=_centerd_box(foot, machine.sheet_width_mm, machine.sheet_depth_mm),
        rings=problem_places(findings),
    )


def drill_list(mold: CutMold) -> tuple[Drilling, ...]:
    """Return the vents that are drilled after printing, with standard drills."""
    return tuple(
        Drilling(
            vent=vent,
            metric=nearest_drill(vent.diameter_mm, "metric", at_most=True).name,
            inch=nearest_drill(vent.diameter_mm, "inch", at_most=True).name,
        )
        for vent in mold.vents.vents
        if mold.bore.opening(vent) is Opening.DRILLED
    )


def drills_in_text(drilling: Sequence[Drilling]) -> str:
    """Return the drills needed, such as ``12 to drill with 1 mm (#61)``."""
    if not drilling:
        return "none to drill"
    sizes = sorted({(d.metric, d.inch) for d in drilling})
    return f"{len(drilling)} to drill with " + " and ".join(f"{m} ({i})" for m, i in sizes)


def vents_in_text(mold: CutMold, drilling: Sequence[Drilling]) -> str:
    """Return how many vents there are of each kind, such as ``16 printed slits 0.4 mm wide``."""
    vents = mold.vents.vents
    slits = [vent.slit for vent in vents if vent.slit is not None]
    holes = len(vents) - len(slits) - len(drilling)
    told = []
    if slits:
        told.append(f"{counted(len(slits), 'printed slit')} {slits[0].width_mm:g} mm wide")
    if holes:
        told.append(counted(holes, "printed hole"))
    return ", ".join((*told, drills_in_text(drilling))) if vents else "none"


def _slit(vent: Vent) -> DrawnSlit:
    """Return a vent's slit as it is drawn: a line from end to end."""
    from moldgen.export.plan.plan import DrawnSlit

    (start, end) = vent.axis_mm.coords
    return DrawnSlit(start_mm=start, end_mm=end, note=vent.name)


def _note(vent: Vent, drills: dict[str, Drilling]) -> str:
    sizes = {drilling.metric for drilling in drills.values()}
    if len(sizes) > 1 and vent.name in drills:
        return f"{vent.name} {drills[vent.name].metric}"
    return vent.name


def _centerd_box(region: MultiPolygon, width_mm: float, depth_mm: float) -> MultiPolygon:
    x0, y0, x1, y1 = region.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    box = shapely.box(x - width_mm / 2, y - depth_mm / 2, x + width_mm / 2, y + depth_mm / 2)
    return polygons_of(box)
