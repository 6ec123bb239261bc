"""Walls that stand, whatever they were made from, and the sheet over them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldgen.finding import Finding
from moldgen.job.spec import MoldRequest
from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.features import Direction, Feature, foot_of
from moldgen.mold.rules import Rule, WallRules, vent_rule
from moldgen.mold.vents.by_ball import place_vents
from moldgen.mold.vents.vent import VentPlan, VentSpec
from moldgen.pipeline.mold.features import ResolvedFeatures, local_thickness_mm
from moldgen.pipeline.mold.forming import run_forming
from moldgen.pipeline.mold.trim_region import trim_region
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.types import Progress
from moldgen.solid.height.relief import Relief, relief_for_ball
from moldgen.solid.mesh import joined

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.physics.membrane.run import FormingRun

VentPlacer = Callable[[Relief, VentSpec, "FormingRun | None"], VentPlan]
"""Places vents on a mold seen from above, by the forming run if there is one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """Walls and the sheet over them: what stays as it is however close the vents stand.

    Attributes
    ----------
    raw : RawMold
        The bodies, before anything is cut into them.
    rules : mapping of str to WallRules
        What the rules asked of each feature's wall.
    findings : tuple of Finding
        What was found until the walls stood.
    vent_rule : Rule
        How wide vents may be.
    place_vents : callable
        Finds the places of vents on these walls.
    relief : Relief
        The bodies seen from above, as finely as the rolling ball needs. [mm]
    run : FormingRun or None
        The sheet formed over them, if that is asked for.
    formed : Formed or None
        What is read off it.
    """

    raw: RawMold
    rules: Mapping[str, WallRules]
    findings: tuple[Finding, ...]
    vent_rule: Rule
    place_vents: VentPlacer
    relief: Relief
    run: FormingRun | None
    formed: FormedSheet | None


def walls_of_features(
    request: MoldRequest, resolved: ResolvedFeatures, *, setting: Setting, progress: Progress
) -> Walls:
    """Build the walls of resolved features, and form a sheet over them if that is asked for."""
    raw = build_raw_mold(resolved.bodies)

    def place(relief: Relief, spec: VentSpec, run: FormingRun | None) -> VentPlan:
        if run is None:
            return place_vents(relief, raw.plans, spec)
        from moldgen.mold.vents.by_run import place_vents_by_run

        return place_vents_by_run(relief, run, raw.plans, spec)

    return walls_of_raw(
        request,
        raw,
        setting=setting,
        thinnest_mm=thinnest_mm(resolved.bodies, setting.sheet.gauge_mm),
        place_vents=place,
        rules=resolved.rules,
        findings=resolved.findings,
        progress=progress,
    )


def walls_of_raw(
    request: MoldRequest,
    raw: RawMold,
    *,
    setting: Setting,
    thinnest_mm: float,
    place_vents: VentPlacer,
    rules: Mapping[str, WallRules],
    findings: Sequence[Finding],
    progress: Progress,
) -> Walls:
    """Return bodies, whatever they were made from, with all that their vents depend on.

    Parameters
    ----------
    request : MoldRequest
        Size of the rolling ball, and how closely the sheet is followed.
    raw : RawMold
        The bodies.
    thinnest_mm : float
        Least mean thickness of the sheet where it can have a vent beside it. [mm]
    place_vents, rules, findings
        As the walls keep them.

    Raises
    ------
    SpecError
        If a sheet is to be formed over them and they do not fit into the clamp's opening.
    """
    mesh = joined(raw.meshes)
    progress("3/6 placing vents")
    run = run_forming(mesh, request.forming, setting.sheet, setting.machine, progress)
    relief = relief_for_ball(mesh, request.vents.ball_mm)
    return Walls(
        raw=raw,
        rules=rules,
        findings=(*findings, *raw.findings),
        vent_rule=vent_rule(setting.sheet.plastic, thinnest_mm),
        place_vents=place_vents,
        relief=relief,
        run=run,
        formed=None if run is None else _formed(request, run, raw, relief, setting),
    )


def _formed(
    request: MoldRequest, run: FormingRun, raw: RawMold, relief: Relief, setting: Setting
) -> FormedSheet:
    from moldgen.mold.sheet.formed import read_run

    height_mm = float(max(mesh.points_mm[:, 2].max() for mesh in raw.meshes))
    trim = trim_region(request, foot_of(raw.plans), height_mm)
    return read_run(run, sheet=setting.sheet, relief=relief, trim=trim, plans=raw.plans)


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
