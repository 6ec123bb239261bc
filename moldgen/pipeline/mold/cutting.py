"""Vents, bores, underside, label and insert: laid out on the walls, then cut into them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from moldgen.execution import checkpoint
from moldgen.finding import Finding, Severity
from moldgen.job.spec import JobUnderside, JobVents
from moldgen.mold.air.bores import settle_bores
from moldgen.mold.build import RawMold
from moldgen.mold.choices import VentKind
from moldgen.mold.features import FeaturePlan, bodies_of, roots_of
from moldgen.mold.rules import Rule, hole_rule, slit_rule
from moldgen.mold.underside.cut import BoreSpec, FinishedBody, finish_body
from moldgen.mold.underside.marking import Marking, build_marking
from moldgen.mold.underside.underside import Underside, UndersideSpec, build_underside
from moldgen.mold.vents.vent import Vent, VentPlan, VentSpec
from moldgen.solid.height.relief import Relief
from moldgen.solid.mesh import Body
from moldgen.stock import Insert, Printer, Sheet

SLANTING = 1.4
"""A line over a crossing of channels is up to so many times as long as the circle there is wide."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class UndersideRequest:
    """What is asked of the side that stands on the table.

    Attributes
    ----------
    wanted : JobUnderside
        Its kind, label and helps.
    insert : Insert or None
        What the mold is lifted by.
    spec : UndersideSpec
        How it is relieved, fitted to the sheet and the printer.
    bore : BoreSpec
        How vents are bored.
    title, date : str
        First and last line of the label.
    sheet : Sheet
        What its second line says.
    """

    wanted: JobUnderside
    insert: Insert | None
    spec: UndersideSpec
    bore: BoreSpec
    title: str
    date: str
    sheet: Sheet

    def label_lines(self, draft_deg: float) -> tuple[str, ...]:
        """Return the lines of a label: title, sheet and draft, date."""
        if not self.wanted.label:
            return ()
        sheet = f"{self.sheet.words}, {draft_deg:g}°"
        return tuple(line for line in (self.title, sheet, self.date) if line.strip())


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class VentLayout:
    """Where the air goes, and what is cut from below for it: not cut yet.

    Attributes
    ----------
    vents : VentPlan
        The vents, each with a bore that keeps its wall.
    undersides : tuple of Underside
        What is cut under each body.
    markings : tuple of Marking
        What is sunk under each body.
    findings : tuple of Finding
        Vents that were moved or left out, and what found no room.
    """

    vents: VentPlan
    undersides: tuple[Underside, ...]
    markings: tuple[Marking, ...]
    findings: tuple[Finding, ...]


def lay_out(
    placed: VentPlan,
    raw: RawMold,
    relief: Relief,
    asked: UndersideRequest,
    *,
    slit_mm: float | None = None,
    prints_waste: bool = False,
) -> VentLayout:
    """Give vents their bores, and lay out everything under each body for them.

    Parameters
    ----------
    placed : VentPlan
        Where vents are wanted.
    raw : RawMold
        The walls.
    relief : Relief
        The walls seen from above. [mm]
    asked : UndersideRequest
        What is asked of the underside.
    slit_mm : float, optional
        Width of the slits that go before holes; none if left out. [mm]
    prints_waste : bool
        Whether holes outside the trim line are printed, however wide their marks are.
    """
    vents, unbored = settle_bores(
        placed, raw.plans, relief, asked.bore, slit_mm=slit_mm, prints_waste=prints_waste
    )
    undersides, markings = [], []
    for root, own in _with_own_vents(raw.plans, vents.vents):
        checkpoint()
        marking = _marking(root, relief, own, asked)
        markings.append(marking)
        checkpoint()
        undersides.append(build_underside(root.outer, own, asked.spec, reserved=marking.reserved))
    no_room = (finding for marking in markings for finding in marking.findings)
    return VentLayout(
        vents=vents,
        undersides=tuple(undersides),
        markings=tuple(markings),
        findings=(*unbored, *no_room),
    )


def cut_bodies(
    raw: RawMold, layout: VentLayout, bore: BoreSpec
) -> tuple[tuple[Body, ...], tuple[Finding, ...]]:
    """Cut what is laid out into the walls, and find what came out otherwise than foretold.

    Raises
    ------
    GeometryError
        If the modeler fails or nothing is left of a body.
    """
    finished = []
    each = zip(
        _with_own_vents(raw.plans, layout.vents.vents),
        raw.meshes, layout.undersides, layout.markings, strict=True,
    )  # fmt: skip
    for (root, own), mesh, underside, marking in each:
        checkpoint()
        finished.append(finish_body(root, mesh, underside, vents=own, bore=bore, marking=marking))
    bodies = tuple(body for whole in finished for body in whole.bodies)
    return bodies, tuple(_unforeseen_findings(finished))


def uncut_bodies(raw: RawMold) -> tuple[Body, ...]:
    """Return the walls as bodies, with nothing cut into them. [mm]."""
    roots = roots_of(raw.plans)
    return tuple(Body(root.name, mesh) for root, mesh in zip(roots, raw.meshes, strict=True))


def slit_width_mm(wanted: JobVents, rule: Rule, bore: BoreSpec) -> float | None:
    """Return how wide slits are; None for holes, asked for or because a slit would mark. [mm]."""
    if wanted.kind is not VentKind.SLITS or wanted.diameter_mm is not None:
        return None
    slits = slit_rule(rule, bore.slit_mm)
    return None if slits is None else slits.value


def vent_spec(wanted: JobVents, rule: Rule, bore: BoreSpec) -> VentSpec:
    """Return how vents are placed: as asked, and as wide as rule and printer say otherwise."""
    usual_mm = hole_rule(rule).value
    if wanted.kind is VentKind.PRINTED:
        usual_mm = max(usual_mm, bore.least_hole_mm)
    return VentSpec(
        diameter_mm=wanted.diameter_mm or usual_mm,
        spacing_mm=wanted.spacing_mm,
        ball_mm=wanted.ball_mm,
        least_air_mm3=wanted.least_air_mm3,
    )


def underside_spec(wanted: JobUnderside, sheet: Sheet, printer: Printer) -> UndersideSpec:
    """Return how the underside is relieved, fitted to the sheet and the printer."""
    return UndersideSpec(
        kind=wanted.kind,
        depth_mm=wanted.depth_mm,
        bridge_mm=max(4.0, printer.clean_bridge_mm / SLANTING),
        air_notch_mm=min(0.6, 0.5 * sheet.gauge_mm),
    )


def _with_own_vents(
    plans: Sequence[FeaturePlan], vents: Sequence[Vent]
) -> list[tuple[FeaturePlan, list[Vent]]]:
    """Return every body's root with the vents on it."""
    owner = bodies_of(plans)
    return [
        (root, [vent for vent in vents if owner[vent.feature] == root.name])
        for root in roots_of(plans)
    ]


def _marking(
    root: FeaturePlan, relief: Relief, vents: Sequence[Vent], asked: UndersideRequest
) -> Marking:
    return build_marking(
        root.name,
        root.outer,
        relief,
        vents,
        lines=asked.label_lines(root.wall.draft_deg),
        arrow=asked.wanted.arrow,
        insert=asked.insert,
        insert_asked=bool(asked.wanted.insert),
        rim_mm=asked.spec.rim_mm,
        pry_slots=asked.wanted.pry,
    )


def _unforeseen_findings(finished: Sequence[FinishedBody]) -> Iterator[Finding]:
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
