"""Vents, bores, underside, label and insert, cut into walls that stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from moldgen.finding import Finding, Severity
from moldgen.job.spec import JobVents, MoldRequest
from moldgen.mold.air.bores import settle_bores
from moldgen.mold.features import FeaturePlan, bodies_of, roots_of
from moldgen.mold.rules import Rule
from moldgen.mold.underside.cut import BoreSpec, FinishedBody, finish_body
from moldgen.mold.underside.marking import Marking, build_marking
from moldgen.mold.underside.underside import UndersideSpec, build_underside
from moldgen.mold.vents.vent import Vent, VentPlan, VentSpec
from moldgen.pipeline.mold.mold import CutMold
from moldgen.pipeline.mold.walls import Walls
from moldgen.pipeline.setting import Setting
from moldgen.stock import Shop

SLANTING = 1.4
"""A line over a crossing of channels is up to so many times as long as the circle there is wide."""


def cut_mold(request: MoldRequest, walls: Walls, *, setting: Setting, shop: Shop) -> CutMold:
    """Vent walls and cut everything else into them, one body after the other.

    Raises
    ------
    SpecError
        If the shop has no such insert.
    GeometryError
        If the modeler fails or nothing is left of a body.
    """
    bore = BoreSpec.for_printer(setting.printer)
    plans, relief = walls.raw.plans, walls.relief
    vents, unbored = settle_bores(_placed(request, walls), plans, relief, bore)
    owner = bodies_of(plans)
    bodies = []
    for root, mesh in zip(roots_of(plans), walls.raw.meshes, strict=True):
        own = [vent for vent in vents.vents if owner[vent.feature] == root.name]
        marking = _marking(request, root, walls, own, setting=setting, shop=shop)
        spec = underside_spec(request, setting)
        underside = build_underside(root.outer, own, spec, reserved=marking.reserved)
        whole = finish_body(root, mesh, underside, vents=own, bore=bore, marking=marking)
        bodies.append((whole, underside, marking))
    finished, undersides, markings = zip(*bodies, strict=True)
    return CutMold(
        bodies=tuple(body for whole in finished for body in whole.bodies),
        plans=plans, vents=vents, vent_rule=walls.vent_rule, bore=bore,
        undersides=undersides, markings=markings,
        findings=(*walls.findings, *unbored, *_cut_findings(finished, markings)),
        relief=relief, formed=walls.formed,
    )  # fmt: skip


def vent_spec(wanted: JobVents, rule: Rule) -> VentSpec:
    """Return how vents are placed: as asked, and as wide as the rule says where nothing is."""
    return VentSpec(
        diameter_mm=wanted.diameter_mm or rule.value,
        spacing_mm=wanted.spacing_mm,
        ball_mm=wanted.ball_mm,
        least_air_mm3=wanted.least_air_mm3,
    )


def underside_spec(request: MoldRequest, setting: Setting) -> UndersideSpec:
    """Return how the underside is relieved, fitted to the sheet and the printer."""
    return UndersideSpec(
        kind=request.underside.kind,
        depth_mm=request.underside.depth_mm,
        bridge_mm=max(4.0, setting.printer.clean_bridge_mm / SLANTING),
        air_notch_mm=min(0.6, 0.5 * setting.sheet.gauge_mm),
    )


def label_lines(request: MoldRequest, draft_deg: float) -> tuple[str, ...]:
    """Return the lines of a label: title, sheet and draft, date."""
    if not request.underside.label:
        return ()
    sheet = f"{request.sheet.plastic} {request.sheet.gauge_mm:g} mm, {draft_deg:g}°"
    return tuple(line for line in (request.title, sheet, request.date) if line.strip())


def _placed(request: MoldRequest, walls: Walls) -> VentPlan:
    spec = vent_spec(request.vents, walls.vent_rule)
    plan = walls.place_vents(walls.relief, spec, walls.run)
    return plan if request.vents.place else replace(plan, vents=())


def _marking(
    request: MoldRequest,
    root: FeaturePlan,
    walls: Walls,
    vents: Sequence[Vent],
    *,
    setting: Setting,
    shop: Shop,
) -> Marking:
    wanted = request.underside.insert_wanted
    return build_marking(
        root.name,
        root.outer,
        walls.relief,
        vents,
        lines=label_lines(request, root.wall.draft_deg),
        arrow=request.underside.arrow,
        insert=shop.insert(wanted[1], wanted[0]) if wanted else None,
        rim_mm=underside_spec(request, setting).rim_mm,
        pry_slots=request.underside.pry,
    )


def _cut_findings(
    finished: Sequence[FinishedBody], markings: Sequence[Marking]
) -> Iterator[Finding]:
    """Yield what found no room, and what came out otherwise than foretold."""
    for marking in markings:
        yield from marking.findings
    for whole in finished:
        if whole.euler_foretold != whole.euler_measured:
            yield _unforeseen(whole)


def _unforeseen(whole: FinishedBody) -> Finding:
    parted = len(whole.bodies) > 1 and whole.euler_measured > whole.euler_foretold
    says, advice = _PARTED if parted else _HOLED
    return Finding(
        code="pieces-unforeseen" if parted else "surface-unforeseen",
        severity=Severity.CAUTION,
        says=says,
        measured=float(len(whole.bodies) if parted else whole.euler_measured),
        limit=None if parted else float(whole.euler_foretold),
        unit="pieces" if parted else "",
        subject=whole.bodies[0].name,
        basis="Euler number of a closed surface",
        advice=advice,
    )


_PARTED = (
    "the finished mold is in more pieces, or has fewer holes, than its outline foretells",
    "Look where its outline meets itself in a point or a neck too thin for its corners.",
)
_HOLED = (
    "the finished surface has other holes than its outline and vents foretell",
    "Look for vents that run into each other or break through a wall.",
)
