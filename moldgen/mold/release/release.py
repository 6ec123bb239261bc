"""What it takes to pull the part and the mold apart, and what there is to pull by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, pi

import shapely

from moldgen.finding import Finding, Severity, amount
from moldgen.mold.features import Direction, FeaturePlan, bodies_of, roots_of
from moldgen.mold.release.hold import MoldHold, ReleaseSpec, held_by
from moldgen.mold.rules import draft_rule, groove_mm
from moldgen.mold.underside.marking import Marking
from moldgen.physics.bisection import narrowed
from moldgen.physics.shrink import grip_N, lets_go_after_mm, peel_share, release_force_N
from moldgen.stock import Filament, Insert, Sheet

_BASIS = (
    "hoop of the shrunk sheet on a tapered wall with friction (derived; without draft it is the "
    "ejection force of Glanvill and Denton, Injection-Mold Design Fundamentals, from memory), "
    "peeled off from one edge; good to a factor of two either way"
)
DOUBT = 2.0
"""Factor by which a release force may be wrong either way: friction on printed layers 0.3 to 0.8, a
quarter to all of the shrinkage done, and where the peeling begins; derived, no source. [-]."""
_LOW_MM = 15.0
"""Lower walls with the draft that their rule asks for come off by hand; common practice."""
_MOST_DEG = 45.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """How one raised feature is held by the sheet that shrank onto it.

    Attributes
    ----------
    name, body : str
        The feature and the body it stands on.
    height_mm, radius_mm, draft_deg, thickness_mm : float
        Of its wall; half of what its widest piece measures across; and of the sheet there. [mm],
        [mm], [°], [mm]
    grip_N : float
        Pressure of the sheet on the wall, summed all round. [N]
    force_N : float
        What peels it off from one edge, to an order of magnitude. [N]
    loose_mm : float
        How far it must be drawn until it is loose. [mm]
    easy : bool
        Whether it is so low, with the draft its rule asks for, that nobody need pull.
    """

    name: str
    body: str
    height_mm: float
    radius_mm: float
    draft_deg: float
    thickness_mm: float
    grip_N: float
    force_N: float
    loose_mm: float
    easy: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyRelease:
    """What one body takes to come out, and what it can be pulled by.

    Attributes
    ----------
    body : str
        Its name.
    grips : tuple of Grip
        Its raised features; empty if nothing holds.
    force_N : float
        What peels it off, all features at once, to an order of magnitude. [N]
    hold : MoldHold
        What it is pulled by.
    holds_N : float
        What that bears. [N]
    enough_deg : float
        Draft of all its walls with which that pull is enough. [°]
    where_mm : tuple of three floats
        Middle of its foot. [mm]
    """

    body: str
    grips: tuple[Grip, ...]
    force_N: float
    hold: MoldHold
    holds_N: float
    enough_deg: float
    where_mm: tuple[float, float, float]


def measure_release(
    plans: Sequence[FeaturePlan],
    markings: Sequence[Marking],
    *,
    sheet: Sheet,
    filament: Filament,
    insert: Insert | None,
    layer_mm: float = 0.2,
    thicknesses_mm: Mapping[str, float] | None = None,
    spec: ReleaseSpec | None = None,
) -> tuple[BodyRelease, ...]:
    """Return for every body what it takes to pull it out of the part.

    Each raised feature counts as closed bands around its pieces, and one more around all of them,
    for the sheet between pieces pulls too; a sunk one lets go by itself, for the sheet shrinks off
    its wall. Where an outline is concave the band bridges. The part is peeled off from one edge;
    pulled straight it takes about ten times as much, with a vacuum left under it more.

    Parameters
    ----------
    plans : sequence of FeaturePlan
        Every feature as built, parents before children.
    markings : sequence of Marking
        One for each body, in the order of the plans.
    sheet, filament, insert
        What is formed over it, what it is printed from, and what it shall be pulled by.
    layer_mm : float, default 0.2
        Layers it is printed in, into whose grooves the sheet sinks. [mm]
    thicknesses_mm : mapping, optional
        Mean thickness of the formed sheet by feature; the gauge where it is not given. [mm]
    spec : ReleaseSpec, optional
        What is taken for granted.

    Returns
    -------
    tuple of BodyRelease
        Empty if the stiffness of the plastic is not known.
    """
    spec = spec or ReleaseSpec()
    modulus_MPa = sheet.plastic.modulus_MPa
    if modulus_MPa is None:
        return ()
    known = thicknesses_mm or {}
    band = _Band(sheet, sheet.plastic.shrinkage_male * spec.shrunk, modulus_MPa, spec, layer_mm)
    roots, owner = roots_of(plans), bodies_of(plans)
    grips: dict[str, list[Grip]] = {root.name: [] for root in roots}
    for plan in plans:
        if plan.direction is Direction.RAISED:
            body = owner[plan.name]
            grips[body].append(_grip(plan, body, known.get(plan.name, sheet.gauge_mm), band))
    return tuple(
        _body_release(root, grips[root.name], held_by(marking, filament, insert, spec), band)
        for root, marking in zip(roots, markings, strict=True)
    )


def check_release(bodies: Sequence[BodyRelease], *, sheet: Sheet) -> tuple[Finding, ...]:
    """Ask whether every body can be pulled out by what it has."""
    if sheet.plastic.modulus_MPa is None:
        return (_unknown(sheet),)
    spec = ReleaseSpec()
    return tuple(
        _hard(one, spec)
        for one in bodies
        if one.force_N > one.holds_N and not all(grip.easy for grip in one.grips)
    )


def force_text(force_N: float) -> str:
    """Return a release force as it is known: ``about 20 N (10 to 40)``."""
    if force_N < _LEAST_N:
        return f"less than {DOUBT * _LEAST_N:g} N"
    middle = float(f"{force_N:.1g}")
    return f"about {middle:g} N ({middle / DOUBT:g} to {middle * DOUBT:g})"


_LEAST_N = 5.0


@dataclass(frozen=True, slots=True)
class _Band:
    """The sheet that shrank: what all features of a mold have in common."""

    sheet: Sheet
    shrinkage: float
    modulus_MPa: float
    spec: ReleaseSpec
    layer_mm: float

    def peeled(self, grip: float, radius_mm: float, height_mm: float, draft_deg: float) -> float:
        """Return what peels a wall of this grip off. [N]."""
        straight_N = release_force_N(grip, draft_deg=draft_deg, friction=self.spec.friction)
        loose_mm = min(height_mm, self.loose_mm(radius_mm, draft_deg))
        return straight_N * peel_share(loose_mm, height_mm)

    def loose_mm(self, radius_mm: float, draft_deg: float) -> float:
        """Return how far a part is drawn until it is loose. [mm]."""
        return lets_go_after_mm(
            self.shrinkage,
            radius_mm=max(radius_mm, 1e-6),
            draft_deg=draft_deg,
            groove_mm=groove_mm(self.layer_mm),
        )


def _grip(plan: FeaturePlan, body: str, thickness_mm: float, band: _Band) -> Grip:
    pieces = plan.outer.geoms
    height, draft = plan.wall.height_mm, plan.wall.draft_deg
    # The sheet between pieces ties them: one more band around all of them.
    bands = len(pieces) + (len(pieces) > 1)
    grip = grip_N(
        band.shrinkage,
        modulus_MPa=band.modulus_MPa,
        thickness_mm=thickness_mm,
        height_mm=height,
        turned_rad=2 * pi * bands,
    )
    widest = max((float(shapely.minimum_bounding_radius(one)) for one in pieces), default=0.0)
    rule = draft_rule(plan.direction, height, plastic=band.sheet.plastic, layer_mm=band.layer_mm)
    return Grip(
        name=plan.name,
        body=body,
        height_mm=height,
        radius_mm=widest,
        draft_deg=draft,
        thickness_mm=thickness_mm,
        grip_N=grip,
        force_N=band.peeled(grip, widest, height, draft),
        loose_mm=min(height, band.loose_mm(widest, draft)),
        easy=height < _LOW_MM and draft >= rule.value - 1e-9,
    )


def _body_release(
    root: FeaturePlan, grips: Sequence[Grip], held: tuple[MoldHold, float], band: _Band
) -> BodyRelease:
    hold, holds_N = held
    middle = root.outer.centroid
    return BodyRelease(
        body=root.name,
        grips=tuple(grips),
        force_N=sum(one.force_N for one in grips),
        hold=hold,
        holds_N=holds_N,
        enough_deg=_enough_deg(grips, holds_N, band),
        where_mm=(middle.x, middle.y, 0.0),
    )


def _enough_deg(grips: Sequence[Grip], holds_N: float, band: _Band) -> float:
    """Return the draft of all walls with which what holds is enough; 0 if it is in any case."""

    def enough(draft_deg: float) -> bool:
        forces = (band.peeled(g.grip_N, g.radius_mm, g.height_mm, draft_deg) for g in grips)
        return sum(forces) <= holds_N

    return 0.0 if enough(0.0) else narrowed(enough, 0.0, _MOST_DEG, within=1e-6)[1]


def _hard(one: BodyRelease, spec: ReleaseSpec) -> Finding:
    worst = max(one.grips, key=lambda grip: grip.force_N)
    far = one.force_N > DOUBT * one.holds_N
    return Finding(
        code="release-hard",
        severity=Severity.CAUTION if far or one.hold is not MoldHold.HAND else Severity.NOTE,
        says=f"the part shrinks onto it so hard that {one.hold} may not get it off: it takes "
        f"{force_text(one.force_N)}, and {amount(one.holds_N, 'N')} are there",
        where_mm=one.where_mm,
        subject=one.body,
        basis=f"{_BASIS}; friction {spec.friction:g}, {100 * spec.shrunk:g} % of the shrinkage",
        advice=" ".join(_cures(one, worst)),
    )


def _cures(one: BodyRelease, worst: Grip) -> Iterator[str]:
    yield f"Most of it is {worst.name}."
    if worst.loose_mm < worst.height_mm:
        yield f"It is loose after about {worst.loose_mm:.1g} mm."
    yield "Take the part off warm, let air in under it first, and ease it off edge by edge."
    if one.enough_deg <= 10.0:
        yield f"About {ceil(2 * one.enough_deg) / 2:g}° of draft would let it go."
    if one.hold is MoldHold.HAND:
        yield "Sanded walls, a threaded insert or pry slots help."
    elif one.hold is MoldHold.PRY:
        yield "Sanded walls help."
    else:
        yield "Sanded walls, a larger insert or pry slots help."


def _unknown(sheet: Sheet) -> Finding:
    return Finding(
        code="release-unknown",
        severity=Severity.NOTE,
        says="how hard the part holds the mold is not told, for the stiffness of the cold "
        f"{sheet.plastic.name} is not known",
        basis="modulus_MPa of the plastic is not given",
        advice="Write it into your stock file.",
    )
