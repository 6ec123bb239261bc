"""Every question asked of a mold of ours, and what of the answers a person should know."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from typing import TYPE_CHECKING

from moldgen.finding import Finding, Severity, ranked
from moldgen.job.spec import Side
from moldgen.mold.air.way_out import check_airways
from moldgen.mold.checks import Case, CheckResults, grouped
from moldgen.mold.features import Direction, FeaturePlan, Wall
from moldgen.mold.sheet.findings import check_depth, check_formed
from moldgen.mold.underside.marking import LABEL_DEPTH_MM
from moldgen.pipeline.mold.mold import CutMold, Mold
from moldgen.solid.mesh import Body
from moldgen.stock import FormingMachine, Printer, Sheet

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet


def mold_case(
    bodies: tuple[Body, ...],
    plans: tuple[FeaturePlan, ...],
    *,
    sheet: Sheet,
    machine: FormingMachine,
    printer: Printer,
    side: Side,
    tactile: bool,
    widest_vent_mm: float = 0.0,
) -> Case:
    """Return what every check looks at, for a mold of ours."""
    return Case(
        bodies=bodies, sheet=sheet, machine=machine, printer=printer, plan=plans,
        side=side.value, tactile=tactile, widest_vent_mm=widest_vent_mm,
    )  # fmt: skip


def check_mold(
    mold: CutMold,
    checked: CheckResults,
    foreseen: FormedSheet | None,
    *,
    machine: FormingMachine,
    printer: Printer,
    least_mm: float | None,
    vents_placed: bool,
    told: Sequence[Finding],
    edges_open: frozenset[str],
) -> Mold:
    """Ask every check of a mold.

    Parameters
    ----------
    checked : CheckResults
        The answers of the checks that look along the pull.
    foreseen : FormedSheet or None
        What a quick run tells of a deep mold.
    least_mm : float or None
        Least thickness of the formed part that is asked for. [mm]
    vents_placed : bool
        Whether vents were asked for.
    told : sequence of Finding
        What else there is to know about it.
    edges_open : frozenset of str
        Features whose radii nobody asked for: they are as round as their strokes allow.
    """
    airways = check_airways(
        mold.vents, mold.undersides, mold.plans,
        relief=mold.relief, machine=machine, printer=printer, bore=mold.bore,
    )  # fmt: skip
    findings = (
        *mold.findings,
        *airways,
        *unforetold(checked.findings, mold.plans, edges_open),
        *_formed_findings(mold, foreseen, least_mm),
        *(() if vents_placed else (_no_vents(),)),
        *told,
    )
    cut = {field.name: getattr(mold, field.name) for field in fields(mold)}
    return Mold(
        **cut | {"checked": checked, "foreseen": foreseen, "findings": ranked(grouped(findings))}
    )


def _formed_findings(
    mold: CutMold, foreseen: FormedSheet | None, least_mm: float | None
) -> tuple[Finding, ...]:
    """Return what a run tells: all of one that was asked for, else what depth does."""
    # Only in a recess does a lower wall surely leave the corners thicker.
    heights_mm = {
        plan.name: plan.wall.height_mm for plan in mold.plans if plan.direction is Direction.SUNK
    }
    if mold.formed is not None:
        return check_formed(mold.formed, wanted_mm=least_mm, heights_mm=heights_mm)
    if foreseen is not None:
        return check_depth(foreseen, wanted_mm=least_mm, heights_mm=heights_mm)
    return ()


def unforetold(
    findings: Sequence[Finding], plans: Sequence[FeaturePlan], edges_open: frozenset[str]
) -> Iterator[Finding]:
    """Leave out what is as it was made: radii chosen, or told of by a rule; the label's strokes."""
    walls = {plan.name: plan.wall for plan in plans}
    for finding in findings:
        chosen = finding.subject in edges_open and finding.code in EDGES
        if not (chosen or _made_so(finding, walls) or _in_label(finding)):
            yield finding


EDGES = frozenset({"edge-convex", "edge-concave"})
"""What is said of edges: nothing to act on where they are as round as strokes allow."""


def _made_so(finding: Finding, walls: Mapping[str, Wall]) -> bool:
    wall = walls.get(finding.subject)
    if wall is None or finding.measured is None:
        return False
    made = {"edge-convex": wall.top_radius_mm, "edge-concave": wall.base_radius_mm}.get(
        finding.code, 0.0
    )
    # In a plan corner the wall's lean takes from the radius: about half of it is left at the foot.
    return made > 0 and finding.measured >= 0.45 * made


def _in_label(finding: Finding) -> bool:
    return (
        finding.code == "wall-thin"
        and finding.where_mm is not None
        and finding.where_mm[2] < LABEL_DEPTH_MM + 0.05
    )


def _no_vents() -> Finding:
    return Finding(
        code="no-vents",
        severity=Severity.CAUTION,
        says="no vents were placed, as asked",
        basis="the job says vents: place = false",
        advice="Air trapped in low spots keeps the sheet off the mold; drill where it bulges.",
    )
