"""What it takes to pull the part and the mold apart, and what there is to pull by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, pi

import shapely

from moldgen.finding import Finding, Severity, amount
from moldgen.mold.features import Direction, FeaturePlan, bodies_of, roots_of
from moldgen.mold.release.hold import MoldHold, ReleaseSpec, held_by
from moldgen.mold.underside.marking import Marking
from moldgen.physics.shrink import grip_N, lets_go_after_mm, letting_go_draft_deg, release_force_N
from moldgen.stock import Filament, Insert, Sheet

_BASIS = (
    "hoop of the shrunk sheet on a tapered wall with friction (derived; without draft it is the "
    "ejection force of Glanvill and Denton, Injection-Mold Design Fundamentals, from memory)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """How one raised feature is held by the sheet that shrank onto it.

    Attributes
    ----------
    name, body : str
        The feature and the body it stands on.
    height_mm, draft_deg, thickness_mm : float
        Of its wall, and of the sheet there. [mm], [°], [mm]
    grip_N : float
        Pressure of the sheet on the wall, summed all round. [N]
    force_N : float
        Straight pull that starts it. [N]
    loose_mm : float
        How far it must be drawn until it is loose. [mm]
    """

    name: str
    body: str
    height_mm: float
    draft_deg: float
    thickness_mm: float
    grip_N: float
    force_N: float
    loose_mm: float


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
        Straight pull, all features at once. [N]
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
    thicknesses_mm: Mapping[str, float] | None = None,
    spec: ReleaseSpec | None = None,
) -> tuple[BodyRelease, ...]:
    """Return for every body what it takes to pull it out of the part.

    Each raised feature counts as closed bands around its pieces; a sunk one lets go by itself,
    for the sheet shrinks off its wall. Where an outline is concave the band bridges. The part is
    pulled straight; peeled off from one edge it takes less, with a vacuum left under it more.

    Parameters
    ----------
    plans : sequence of FeaturePlan
        Every feature as built, parents before children.
    markings : sequence of Marking
        One for each body, in the order of the plans.
    sheet, filament, insert
        What is formed over it, what it is printed from, and what it shall be pulled by.
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
    band = _Band(sheet.plastic.shrinkage_male * spec.shrunk, modulus_MPa, spec.friction)
    roots, owner = roots_of(plans), bodies_of(plans)
    grips: dict[str, list[Grip]] = {root.name: [] for root in roots}
    for plan in plans:
        if plan.direction is Direction.RAISED:
            body = owner[plan.name]
            grips[body].append(_grip(plan, body, known.get(plan.name, sheet.gauge_mm), band))
    return tuple(
        _body_release(root, grips[root.name], marking, filament=filament, insert=insert, spec=spec)
        for root, marking in zip(roots, markings, strict=True)
    )


def check_release(bodies: Sequence[BodyRelease], *, sheet: Sheet) -> tuple[Finding, ...]:
    """Ask whether every body can be pulled out by what it has."""
    if sheet.plastic.modulus_MPa is None:
        return (_unknown(sheet),)
    spec = ReleaseSpec()
    return tuple(_hard(one, spec) for one in bodies if one.force_N > one.holds_N)


@dataclass(frozen=True, slots=True)
class _Band:
    shrinkage: float
    modulus_MPa: float
    friction: float


def _grip(plan: FeaturePlan, body: str, thickness_mm: float, band: _Band) -> Grip:
    pieces = plan.outer.geoms
    height, draft = plan.wall.height_mm, plan.wall.draft_deg
    grip = grip_N(
        band.shrinkage,
        modulus_MPa=band.modulus_MPa,
        thickness_mm=thickness_mm,
        height_mm=height,
        turned_rad=2 * pi * len(pieces),
    )
    widest = max((float(shapely.minimum_bounding_radius(one)) for one in pieces), default=0.0)
    return Grip(
        name=plan.name,
        body=body,
        height_mm=height,
        draft_deg=draft,
        thickness_mm=thickness_mm,
        grip_N=grip,
        force_N=release_force_N(grip, draft_deg=draft, friction=band.friction),
        loose_mm=min(
            height,
            lets_go_after_mm(band.shrinkage, radius_mm=max(widest, 1e-6), draft_deg=draft),
        ),
    )


def _body_release(
    root: FeaturePlan,
    grips: Sequence[Grip],
    marking: Marking,
    *,
    filament: Filament,
    insert: Insert | None,
    spec: ReleaseSpec,
) -> BodyRelease:
    hold, holds_N = held_by(marking, filament, insert, spec)
    total_N = sum(one.grip_N for one in grips)
    middle = root.outer.centroid
    return BodyRelease(
        body=root.name,
        grips=tuple(grips),
        force_N=sum(one.force_N for one in grips),
        hold=hold,
        holds_N=holds_N,
        enough_deg=letting_go_draft_deg(total_N, friction=spec.friction, force_N=holds_N),
        where_mm=(middle.x, middle.y, 0.0),
    )


def _hard(one: BodyRelease, spec: ReleaseSpec) -> Finding:
    worst = max(one.grips, key=lambda grip: grip.force_N)
    far = one.force_N > 3 * one.holds_N
    return Finding(
        code="release-hard",
        severity=Severity.CAUTION if far or one.hold is not MoldHold.HAND else Severity.NOTE,
        says=f"the part shrinks onto it so hard that {one.hold} will not pull it straight off",
        measured=one.force_N,
        limit=one.holds_N,
        unit="N",
        where_mm=one.where_mm,
        subject=one.body,
        basis=f"{_BASIS}; friction {spec.friction:g}, {100 * spec.shrunk:g} % of the shrinkage",
        advice=" ".join(_cures(one, worst)),
    )


def _cures(one: BodyRelease, worst: Grip) -> Iterator[str]:
    yield f"Most of it is {worst.name} ({amount(worst.force_N, 'N')})."
    if worst.loose_mm < worst.height_mm:
        yield f"It is loose after {amount(worst.loose_mm, 'mm')}."
    yield "Take the part off warm, let air in under it first, and ease it off edge by edge;"
    if one.enough_deg <= 10.0:
        yield f"{ceil(2 * one.enough_deg) / 2:g}° of draft would let it go;"
    if one.hold is MoldHold.HAND:
        yield "sanded walls, a threaded insert or pry slots help."
    elif one.hold is MoldHold.PRY:
        yield "sanded walls help."
    else:
        yield "sanded walls, a larger insert or pry slots help."


def _unknown(sheet: Sheet) -> Finding:
    return Finding(
        code="release-unknown",
        severity=Severity.NOTE,
        says="how hard the part holds the mold is not told, for the stiffness of the cold "
        f"{sheet.plastic.name} is not known",
        basis="modulus_MPa of the plastic is not given",
        advice="Write it into your stock file.",
    )
