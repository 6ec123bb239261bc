"""From resolved features to a finished, vented and checked mold."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import MultiPolygon

from moldgen.finding import Finding, Severity, ranked
from moldgen.job import Job
from moldgen.job.spec import Side, TrimShape
from moldgen.mold.airways import check_airways
from moldgen.mold.arrival import place_vents_by_run
from moldgen.mold.bores import settle_bores
from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.checks import Case, Checked, check_all, grouped
from moldgen.mold.checks.spacing import flange_mm
from moldgen.mold.features import Direction, Feature, FeaturePlan, Wall
from moldgen.mold.finish import BoreSpec, Finished, finish_body
from moldgen.mold.formed import Formed, read_run
from moldgen.mold.formed_findings import check_formed
from moldgen.mold.marking import LABEL_DEPTH_MM, Marking, build_marking
from moldgen.mold.rules import Rule, vent_rule
from moldgen.mold.underside import Underside, UndersideKind, UndersideSpec, build_underside
from moldgen.mold.vents import Vent, VentPlan, VentSpec, place_vents
from moldgen.physics.membrane import FormingRun
from moldgen.pipeline.features import Resolved, local_thickness_mm
from moldgen.pipeline.forming import run_forming
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.solid.relief import Relief, cell_for, relief_of
from moldgen.stock import Filament, Gauge, Printer, Sheet, Shop, Station

SLANTING = 1.4
"""A line over a crossing of channels is up to so many times as long as the circle there is wide."""

Walls = tuple[RawMold, FormingRun | None]
"""A raw mold, and the sheet that was formed over it."""

CELLS_PER_BALL = 16
"""Cells of the relief along the radius of the rolling ball; finer ones find the same places."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What of the shop a job uses."""

    sheet: Sheet
    station: Station
    printer: Printer
    filament: Filament
    gauges: tuple[Gauge, ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mold:
    """A finished mold with everything that was decided and measured on the way.

    Attributes
    ----------
    bodies : tuple of Body
        The pieces to be printed, as they stand on the table. [mm]
    plans : tuple of FeaturePlan
        Every feature as built.
    vents : VentPlan
        Where the air goes.
    vent_rule : Rule
        Why the vents are as wide as they are.
    bore : BoreSpec
        How they are bored.
    undersides : tuple of Underside
        What is cut under each top-level feature.
    markings : tuple of Marking
        What is sunk under each top-level feature.
    checked : Checked
        Every check's answer.
    findings : tuple of Finding
        All findings, gravest first.
    relief : Relief
        The mold seen from above, before vents were cut. [mm]
    formed : Formed, optional
        The sheet that was formed over it, if the job wants to know.
    """

    bodies: tuple[Body, ...]
    plans: tuple[FeaturePlan, ...]
    vents: VentPlan
    vent_rule: Rule
    bore: BoreSpec
    undersides: tuple[Underside, ...]
    markings: tuple[Marking, ...]
    checked: Checked
    findings: tuple[Finding, ...]
    relief: Relief
    formed: Formed | None = None

    @property
    def foot(self) -> MultiPolygon:
        """Where the mold stands on the table. [mm]."""
        return _as_multi([plan.outer for plan in self.plans if not plan.parent])

    @property
    def height_mm(self) -> float:
        """Greatest height above the table. [mm]."""
        return float(max(body.mesh.points_mm[:, 2].max() for body in self.bodies))


def setting_of(job: Job, shop: Shop) -> Setting:
    """Look up what a job is made with.

    Raises
    ------
    SpecError
        With the nearest names, if there is no such entry.
    """
    return Setting(
        sheet=Sheet(plastic=shop.plastic(job.sheet.plastic), gauge_mm=job.sheet.gauge_mm),
        station=shop.station(job.station),
        printer=shop.printer(job.printer),
        filament=shop.filament(job.filament),
        gauges=shop.gauges_for(job.sheet.plastic),
    )


def vent_job(
    job: Job,
    bodies: Sequence[Feature],
    raw: RawMold,
    setting: Setting,
    run: FormingRun | None = None,
) -> tuple[Relief, VentPlan, Rule]:
    """Look at the raw mold from above and place its vents: where the sheet arrives last.

    Without a forming run, a rolling ball tells where that is.
    """
    relief = relief_for_vents(joined(raw.meshes), job.vents.ball_mm)
    rule = vent_rule(setting.sheet.plastic, thinnest_mm(bodies, setting.sheet.gauge_mm))
    spec = VentSpec(
        diameter_mm=job.vents.diameter_mm or rule.value,
        spacing_mm=job.vents.spacing_mm,
        ball_mm=job.vents.ball_mm,
        least_air_mm3=job.vents.least_air_mm3,
    )
    if run is None:
        plan = place_vents(relief, raw.plans, spec)
    else:
        plan = place_vents_by_run(relief, run, raw.plans, spec)
    return relief, plan if job.vents.place else replace(plan, vents=()), rule


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Underneath:
    """What is cut from below, one of each for every top-level feature."""

    finished: tuple[Finished, ...]
    undersides: tuple[Underside, ...]
    markings: tuple[Marking, ...]

    @property
    def bodies(self) -> tuple[Body, ...]:
        """All pieces of the mold."""
        return tuple(body for whole in self.finished for body in whole.bodies)

    @property
    def findings(self) -> Iterator[Finding]:
        """What found no room, and what came out otherwise than foretold."""
        for marking in self.markings:
            yield from marking.findings
        for whole in self.finished:
            if whole.euler_foretold != whole.euler_measured:
                yield _unforeseen(whole)


def bore_spec(printer: Printer) -> BoreSpec:
    """Return how vents are bored on a printer."""
    return BoreSpec(least_hole_mm=printer.least_hole_mm, undersize_mm=printer.hole_undersize_mm)


def relief_for_vents(mesh: Mesh, ball_mm: float) -> Relief:
    """Look at a mold from above, as finely as a rolling ball of this size needs it."""
    margin = 2 * ball_mm
    cell = max(ball_mm / CELLS_PER_BALL, cell_for(mesh, margin_mm=margin, n_cells=250_000))
    return relief_of(mesh, cell_mm=cell, margin_mm=margin)


def finish_mold(
    job: Job, raw: RawMold, relief: Relief, vents: VentPlan, setting: Setting, shop: Shop
) -> Underneath:
    """Cut vents, underside, label and insert into every top-level feature."""
    roots = [plan for plan in raw.plans if not plan.parent]
    finished, undersides, markings = [], [], []
    for root, mesh in zip(roots, raw.meshes, strict=True):
        own = [vent for vent in vents.vents if root_of(vent.feature, raw.plans) == root.name]
        marking = _marking(job, root, relief, own, setting, shop)
        spec = underside_spec(job, setting)
        underside = build_underside(root.outer, own, spec, reserved=marking.reserved)
        bore = bore_spec(setting.printer)
        finished.append(finish_body(root, mesh, underside, vents=own, bore=bore, marking=marking))
        undersides.append(underside)
        markings.append(marking)
    return Underneath(
        finished=tuple(finished), undersides=tuple(undersides), markings=tuple(markings)
    )


def underside_spec(job: Job, setting: Setting) -> UndersideSpec:
    """Return how the underside is relieved, fitted to the sheet and the printer."""
    return UndersideSpec(
        kind=UndersideKind(job.underside.kind.value),
        depth_mm=job.underside.depth_mm,
        bridge_mm=max(4.0, setting.printer.clean_bridge_mm / SLANTING),
        gate_mm=min(0.6, 0.5 * setting.sheet.gauge_mm),
    )


def root_of(name: str, plans: Sequence[FeaturePlan]) -> str:
    """Return the body that a feature belongs to."""
    parents = {plan.name: plan.parent for plan in plans}
    while parents[name]:
        name = parents[name]
    return name


def thinnest_mm(features: Sequence[Feature], gauge_mm: float) -> float:
    """Return the least mean sheet thickness over any feature that can have a vent beside it. [mm].

    The outer wall of a body needs none, so a body counts only if nothing stands on it.
    """
    below = [thinnest_mm(f.children, gauge_mm) for f in features if f.children]
    own = [
        local_thickness_mm(
            feature.region, feature.wall.height_mm, gauge_mm=gauge_mm,
            sunk=feature.direction is Direction.SUNK,
        )
        for feature in features
        if not feature.children
    ]  # fmt: skip
    return min([*own, *below])


def check_mold(
    bodies: Sequence[Body],
    raw: RawMold,
    job: Job,
    setting: Setting,
    bore: BoreSpec,
    vents: Sequence[Vent],
) -> Checked:
    """Ask every check of the finished bodies."""
    widest = max((vent.diameter_mm for vent in vents), default=0.0) + bore.undersize_mm
    return check_all(
        Case(
            bodies=tuple(bodies),
            sheet=setting.sheet,
            station=setting.station,
            printer=setting.printer,
            plan=raw.plans,
            side=job.side.value,
            tactile=job.tactile,
            widest_vent_mm=widest,
        )
    )


def build_mold(
    job: Job, resolved: Resolved, setting: Setting, shop: Shop, progress: Callable[[str], None]
) -> Mold:
    """Build, vent, finish and check the mold of resolved features."""
    walls = build_walls(job, resolved, setting, progress)
    return mold_of_walls(job, resolved, walls, setting, shop, progress)


def build_walls(
    job: Job, resolved: Resolved, setting: Setting, progress: Callable[[str], None]
) -> Walls:
    """Build the raw mold of resolved features, and form a sheet over it if the job wants to."""
    raw = build_raw_mold(resolved.bodies)
    progress("3/6 placing vents")
    return raw, run_forming(
        joined(raw.meshes), job.forming, setting.sheet, setting.station, progress
    )


def mold_of_walls(
    job: Job,
    resolved: Resolved,
    walls: Walls,
    setting: Setting,
    shop: Shop,
    progress: Callable[[str], None],
) -> Mold:
    """Vent, finish and check the mold of walls that stand."""
    raw, run = walls
    vented = vent_job(job, resolved.bodies, raw, setting, run)
    return finish_raw(job, raw, vented, setting, shop, progress, told=resolved.findings, run=run)


def finish_raw(
    job: Job,
    raw: RawMold,
    vented: tuple[Relief, VentPlan, Rule],
    setting: Setting,
    shop: Shop,
    progress: Callable[[str], None],
    *,
    told: Sequence[Finding] = (),
    run: FormingRun | None = None,
) -> Mold:
    """Bore, finish and check a raw mold, whatever it was made from.

    Parameters
    ----------
    vented : tuple
        The raw mold seen from above, its vents as placed, and why they are as wide as they are.
    told : sequence of Finding
        What was found before the raw mold was made.
    run : FormingRun, optional
        The sheet that was formed over the raw mold.
    """
    relief, placed, rule = vented
    formed = None if run is None else _formed(job, run, raw, relief, setting)
    bore = bore_spec(setting.printer)
    vents, unbored = settle_bores(placed, raw.plans, relief, bore)
    under = finish_mold(job, raw, relief, vents, setting, shop)
    progress("4/6 checking")
    checked = check_mold(under.bodies, raw, job, setting, bore, vents.vents)
    airways = check_airways(
        vents, under.undersides, raw.plans,
        relief=relief, station=setting.station, printer=setting.printer, bore=bore,
    )  # fmt: skip
    findings = [
        *told, *raw.findings, *unbored, *under.findings, *airways,
        *unforetold(checked.findings, raw.plans),
        *(check_formed(formed, wanted_mm=job.forming.least_mm) if formed else ()),
        *_no_vents(job),
    ]  # fmt: skip
    return Mold(
        bodies=under.bodies, plans=raw.plans, vents=vents, vent_rule=rule, bore=bore,
        undersides=under.undersides, markings=under.markings, checked=checked,
        findings=ranked(grouped(findings)), relief=relief, formed=formed,
    )  # fmt: skip


def _formed(job: Job, run: FormingRun, raw: RawMold, relief: Relief, setting: Setting) -> Formed:
    foot = _as_multi([plan.outer for plan in raw.plans if not plan.parent])
    height_mm = float(max(mesh.points_mm[:, 2].max() for mesh in raw.meshes))
    trim = trim_region(job, foot, height_mm)
    return read_run(run, sheet=setting.sheet, relief=relief, trim=trim, plans=raw.plans)


def trim_region(job: Job, foot: MultiPolygon, height_mm: float) -> MultiPolygon:
    """Return the region the formed parts are cut out along. [mm]."""
    flange = trim_flange_mm(job, height_mm)
    if job.trim.shape is TrimShape.STRAIGHT:
        box = shapely.buffer(shapely.box(*foot.bounds), flange)
        return _as_multi([MultiPolygon([shapely.box(*box.bounds)])])
    return _as_multi([shapely.buffer(foot, flange, quad_segs=24)])


def trim_flange_mm(job: Job, height_mm: float) -> float:
    """Return how much sheet is left round a part of some height. [mm]."""
    if job.trim.flange_mm is not None:
        return job.trim.flange_mm
    return flange_mm(1000.0 if job.side is Side.FEMALE else height_mm)


def unforetold(findings: Sequence[Finding], plans: Sequence[FeaturePlan]) -> Iterator[Finding]:
    """Leave out what is as it was made: radii that a rule has told of, strokes of the label."""
    walls = {plan.name: plan.wall for plan in plans}
    for finding in findings:
        if not (_made_so(finding, walls) or _in_label(finding)):
            yield finding


def _made_so(finding: Finding, walls: Mapping[str, Wall]) -> bool:
    wall = walls.get(finding.subject)
    if wall is None or finding.measured is None:
        return False
    made = {"edge-convex": wall.rim_mm, "edge-concave": wall.root_mm}.get(finding.code, 0.0)
    # In a plan corner the wall's lean takes from the radius: about half of it is left at the foot.
    return made > 0 and finding.measured >= 0.45 * made


def _in_label(finding: Finding) -> bool:
    return (
        finding.code == "wall-thin"
        and finding.where_mm is not None
        and finding.where_mm[2] < LABEL_DEPTH_MM + 0.05
    )


def label_lines(job: Job, draft_deg: float) -> tuple[str, ...]:
    """Return the lines of a label: title, sheet and draft, date."""
    if not job.underside.label:
        return ()
    sheet = f"{job.sheet.plastic} {job.sheet.gauge_mm:g} mm, {draft_deg:g}°"
    return tuple(line for line in (job.title, sheet, job.date) if line.strip())


def _marking(
    job: Job, root: FeaturePlan, relief: Relief, vents: Sequence[Vent], setting: Setting, shop: Shop
) -> Marking:
    wanted = job.underside.insert_wanted
    return build_marking(
        root.name,
        root.outer,
        relief,
        vents,
        lines=label_lines(job, root.wall.draft_deg),
        arrow=job.underside.arrow,
        insert=shop.insert(wanted[1], wanted[0]) if wanted else None,
        rim_mm=underside_spec(job, setting).rim_mm,
        pry_slots=job.underside.pry,
    )


def _no_vents(job: Job) -> Iterator[Finding]:
    if not job.vents.place:
        yield Finding(
            code="no-vents",
            severity=Severity.CAUTION,
            says="no vents were placed, as asked",
            basis="the job says vents: place = false",
            advice="Air trapped in low places keeps the sheet off the mold; drill where it bulges.",
        )


def _unforeseen(whole: Finished) -> Finding:
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


def _as_multi(regions: Sequence[MultiPolygon]) -> MultiPolygon:
    return MultiPolygon([part for region in regions for part in shapely.get_parts(region)])
