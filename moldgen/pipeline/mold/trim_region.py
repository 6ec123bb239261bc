"""Where formed parts are cut from their sheet: on which line, by which rule, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely import MultiPolygon, Polygon

from moldgen.finding import Finding
from moldgen.fixture.trim.choices import TrimLineKind
from moldgen.fixture.trim.line import (
    LineSpec,
    TrimPart,
    build_trim_lines,
    filled,
    kept_mm,
    line_kind,
)
from moldgen.fixture.trim.line_checks import check_rim
from moldgen.fixture.trim.tool import KIND_REASONS
from moldgen.job import Job
from moldgen.job.outline import JobText
from moldgen.job.spec import JobTrim, MoldRequest, Side
from moldgen.mold.features import Direction, FeaturePlan, roots_of
from moldgen.mold.trim_rule import DEEP_MM, FLANGES, TrimUse
from moldgen.pipeline.mold.mold import CutMold
from moldgen.solid.polygons import polygons_of
from moldgen.stock import Sheet

_SPARE_MM = 0.005
"""How far a line may move to have fewer corners. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrimPlan:
    """The trim line of a mold's parts.

    Attributes
    ----------
    use : TrimUse
        What stands in the sheet.
    kind : TrimLineKind
        How the line runs.
    flange_mm : float
        Sheet that stays, as far as there is room for it. [mm]
    wanted_mm : float
        Sheet that was to stay. [mm]
    asked : bool
        Whether that was asked for; otherwise it is the rule's.
    because : str
        Why the line runs so, in words.
    parts : tuple of TrimPart
        What the line goes round.
    spec : LineSpec
        What was asked of the line.
    region : MultiPolygon
        What is cut out of the sheet, seen from above. [mm]
    """

    use: TrimUse
    kind: TrimLineKind
    flange_mm: float
    wanted_mm: float
    asked: bool
    because: str
    parts: tuple[TrimPart, ...]
    spec: LineSpec
    region: MultiPolygon

    @property
    def where(self) -> str:
        """Where the line runs, such as ``10 mm outside the plaque's foot``."""
        return f"{round(self.flange_mm, 1):g} mm {FLANGES[self.use].place}{_SHAPES[self.kind]}"


_SHAPES = {
    TrimLineKind.OFFSET: "",
    TrimLineKind.CONVEX: ", straight across hollows",
    TrimLineKind.STRAIGHT: ", a rectangle",
    TrimLineKind.ROUNDED: ", a rectangle with round corners",
}


def trim_use(request: MoldRequest) -> TrimUse:
    """Return what a job's mold is, as far as the trim line goes, be it low."""
    if request.side is Side.FEMALE:
        return TrimUse.RIM
    bodies = request.body if isinstance(request, Job) else ()
    if bodies and all(isinstance(body.outline, JobText) for body in bodies):
        return TrimUse.LETTERS
    if bodies and all(body.raised for body in bodies):
        return TrimUse.PLAQUE
    return TrimUse.RELIEF


@lru_cache(maxsize=4)
def plan_trim(
    trim: JobTrim, use: TrimUse, plans: tuple[FeaturePlan, ...], *, sheet: Sheet
) -> TrimPlan:
    """Return the trim line of a mold's parts; of the last molds it is kept.

    Parameters
    ----------
    trim : JobTrim
        What the job says of it; the rules say the rest.
    use : TrimUse
        What the mold is, be it low.
    plans : tuple of FeaturePlan
        The mold, seen from above.
    sheet : Sheet
        What is cut.
    """
    use, parts, block = _parts_of(use, plans)
    rule = FLANGES[use]
    wanted = rule.flange_mm if trim.flange_mm is None else trim.flange_mm
    chosen = None if trim.shape is None else TrimLineKind(trim.shape.value)
    spec = LineSpec(
        kind=TrimLineKind.OFFSET, flange_mm=wanted, within=block, together=use is TrimUse.LETTERS
    )
    kind = chosen or line_kind(parts, spec, sheet.plastic, sheet.gauge_mm)
    spec = spec.of_kind(kind)
    lines = build_trim_lines(parts, spec)
    reasons = [
        "as asked" if trim.flange_mm is not None else rule.because,
        "" if chosen else KIND_REASONS.get(kind, ""),
    ]
    return TrimPlan(
        use=use, kind=kind, wanted_mm=wanted, asked=trim.flange_mm is not None,
        flange_mm=kept_mm(spec, parts, lines),
        because="; ".join(filter(None, reasons)), parts=parts, spec=spec,
        region=polygons_of(
            shapely.union_all([shapely.simplify(one.region, _SPARE_MM) for one in lines])
        ),
    )  # fmt: skip


def trim_plan_of(request: MoldRequest, mold: CutMold, sheet: Sheet) -> TrimPlan:
    """Return the trim line of a mold that was made."""
    return plan_trim(request.trim, trim_use(request), mold.plans, sheet=sheet)


def check_trim_plan(plan: TrimPlan) -> tuple[Finding, ...]:
    """Find whether the top of a block is too narrow for the rim of its tray."""
    return check_rim(plan.parts[0].name, plan.flange_mm, plan.wanted_mm, asked=plan.asked)


def _parts_of(
    use: TrimUse, plans: Sequence[FeaturePlan]
) -> tuple[TrimUse, tuple[TrimPart, ...], MultiPolygon | None]:
    """Return what the line goes round, and the flat it must stay on, if it must."""
    roots = roots_of(plans)
    if use is TrimUse.RIM:
        sunk = [plan for plan in plans if plan.parent and plan.direction is Direction.SUNK]
        parts = tuple(
            TrimPart(name=root.name, foot=mouth)
            for root in roots
            for mouth in _mouth([one for one in sunk if one.parent == root.name])
        )
        if parts:
            return use, parts, polygons_of(shapely.union_all([filled(r.flat) for r in roots]))
        use = TrimUse.TRAY
    tall = max(root.z_flat_mm - root.z_parent_mm for root in roots)
    highest = max([tall, *(plan.z_flat_mm for plan in plans)])
    if highest >= DEEP_MM and use is not TrimUse.LETTERS:
        use = TrimUse.TRAY
    pieces = [(root.name, piece) for root in roots for piece in filled(root.outer).geoms]
    return use, tuple(TrimPart(name=name, foot=foot) for name, foot in pieces), None


def _mouth(sunk: Sequence[FeaturePlan]) -> list[Polygon]:
    """Return what the rim of one block's tray goes round: its recess, or all of them together."""
    mouths = [piece for one in sunk for piece in filled(one.outer).geoms]
    if len(mouths) < 2:
        return mouths
    return [hull for hull in [shapely.convex_hull(MultiPolygon(mouths))] if not hull.is_empty]
