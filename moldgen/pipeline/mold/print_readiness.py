"""What printing a mold takes: plastic and time, the first layer, what hangs, what layers leave."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

from moldgen.execution import checkpoint
from moldgen.finding import Finding
from moldgen.job.spec import Format
from moldgen.mold.features import FeaturePlan
from moldgen.mold.load.bearing import PrintStructure as Sliced
from moldgen.mold.release.layer_steps import Steps, check_terraces, coarsest_layer_mm, wall_steps
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.print_estimate import print_spec
from moldgen.pipeline.setting import Setting
from moldgen.printing.estimate import Estimate, estimate, summed, timed_by
from moldgen.printing.overhang import (
    Overhangs,
    check_overhangs,
    measure_overhangs,
    widest_bridge_mm,
)
from moldgen.printing.print_spec import PrintSpec
from moldgen.printing.skin import InfillAdvice, infill_advice
from moldgen.printing.warp import FirstLayer, check_warp, end_pull_mm, measure_bed_faces
from moldgen.solid.mesh import Body
from moldgen.stock.infill import USUAL_INFILL
from moldgen.table.noted import NotedFactor

_CLOSELY = {Format.HTML, Format.JSON}


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintReadiness:
    """What printing a mold takes, as it stands on the table.

    Attributes
    ----------
    bodies : tuple of Body
        The pieces. [mm]
    plans : tuple of FeaturePlan
        Its features, for their drafts.
    setting : Setting
        Printer, filament, plastic.
    spec : PrintSpec
        How it is sliced: the skin, outlines and infill that load and heat count on.
    closely : bool
        Whether what hangs is measured: it takes about as long as the mold, and only a report or
        the findings as a file tell it.
    taken : tuple of Estimate
        What every piece takes; its time as notes of the log have it.
    first : tuple of FirstLayer
        What every piece lays on the bed.
    """

    bodies: tuple[Body, ...]
    plans: tuple[FeaturePlan, ...]
    setting: Setting
    spec: PrintSpec
    closely: bool
    taken: tuple[Estimate, ...]
    first: tuple[FirstLayer, ...]

    @cached_property
    def all_taken(self) -> Estimate:
        """What all pieces take."""
        return summed(self.taken)

    @property
    def noted(self) -> NotedFactor | None:
        """What notes of the log made of the time of all pieces; None without."""
        ratio = self.setting.printing
        if ratio is None:
            return None
        return NotedFactor(factor=ratio.next, computed_s=self.all_taken.time_s / ratio.value)

    @property
    def first_layer_mm2(self) -> float:
        """Area on the bed. [mm²]."""
        return sum(one.area_mm2 for one in self.first)

    @property
    def longest_mm(self) -> float:
        """Greatest length of plastic on the bed in one piece. [mm]."""
        return max(one.longest_mm for one in self.first)

    @property
    def end_pull_mm(self) -> float:
        """How far each end of that wants to pull in. [mm]."""
        return end_pull_mm(self.longest_mm, self.setting.filament)

    @property
    def solid_g(self) -> float:
        """Mass without any air inside. [g]."""
        return self.all_taken.volume_mm3 * self.setting.filament.density_kg_m3 * 1e-6

    @property
    def bridge_mm(self) -> float:
        """Widest ceiling that prints without support. [mm]."""
        return widest_bridge_mm(self.setting.printer)

    @cached_property
    def hangs(self) -> tuple[Overhangs, ...]:
        """What hangs of every piece; empty if it was not measured."""
        checkpoint()
        return tuple(measure_overhangs(body.mesh) for body in self.bodies) if self.closely else ()

    @property
    def advice(self) -> InfillAdvice:
        """The least infill that carries the skin."""
        return infill_advice(self.setting.filament, self.setting.printer, skin_mm=Sliced().skin_mm)

    @property
    def steepest(self) -> FeaturePlan:
        """The feature that leans least over what its height, plastic and layers ask for."""
        return min(self.plans, key=lambda plan: plan.wall.draft_deg - self.steps(plan).rule.value)

    def steps(self, plan: FeaturePlan) -> Steps:
        """Return what layers leave on a feature's walls."""
        return wall_steps(
            plan.wall.draft_deg,
            self.setting.printer.layer_mm,
            plastic=self.setting.sheet.plastic,
            direction=plan.direction,
            height_mm=plan.wall.height_mm,
        )

    def coarsest_mm(self, plan: FeaturePlan) -> float:
        """Return the thickest layer that a feature's draft still releases; 0 for none. [mm]."""
        return coarsest_layer_mm(
            plan.wall.draft_deg,
            plastic=self.setting.sheet.plastic,
            direction=plan.direction,
            height_mm=plan.wall.height_mm,
        )

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What of this a person should know; grooves of layers are the drafts' own findings."""
        printer, filament = self.setting.printer, self.setting.filament
        findings: list[Finding] = []
        for body, first in zip(self.bodies, self.first, strict=True):
            checkpoint()
            findings += check_warp(body.name, first, filament)
            findings += check_terraces(body.name, body.mesh, layer_mm=printer.layer_mm)
        for body, hangs in zip(self.bodies, self.hangs, strict=False):
            checkpoint()
            findings += check_overhangs(body.name, hangs, printer, must_stand=True)
        return tuple(findings)


def wants_overhangs(formats: Collection[Format]) -> bool:
    """Tell whether a file of these formats tells what hangs of a print."""
    return bool(_CLOSELY & set(formats))


def readiness_of(
    mold: Mold, setting: Setting, *, closely: bool, infill: float = USUAL_INFILL
) -> PrintReadiness:
    """Return what printing a mold takes; what hangs is measured when it is first asked for.

    Parameters
    ----------
    closely : bool
        Whether it is.
    infill : float
        Share of the inside that is filled. [-]
    """
    spec = print_spec(setting.printer, infill=infill)
    taken = (
        estimate(body.mesh, filament=setting.filament, printer=setting.printer, spec=spec)
        for body in mold.bodies
    )
    return PrintReadiness(
        bodies=mold.bodies,
        plans=mold.plans,
        setting=setting,
        spec=spec,
        closely=closely,
        taken=tuple(timed_by(one, setting.printing) for one in taken),
        first=tuple(measure_bed_faces(body.mesh) for body in mold.bodies),
    )
