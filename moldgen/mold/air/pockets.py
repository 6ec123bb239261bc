"""Pockets of air: recesses and smaller places that the sheet seals before it fills them."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from moldgen.mold.air.passages import AirWays
from moldgen.mold.features import Direction, FeaturePlan
from moldgen.mold.vents.vent import Reason, Vent


@dataclass(frozen=True, slots=True, kw_only=True)
class AirPocket:
    """Air that can only leave through vents once the sheet lies on the rim around it.

    Attributes
    ----------
    name : str
        The recess, or the vent of a smaller pocket.
    body : str
        The body it is in.
    where_mm : tuple of three floats
        One of its vents, or its middle. [mm]
    air_mm3 : float
        What it holds. [mm³]
    vents : tuple of Vent
        Its way out.
    recess : bool
        Whether it is a whole recess, in which vents set closer together find more places. A
        smaller pocket has one last place, and so one vent, however close they stand.
    """

    name: str
    body: str
    where_mm: tuple[float, float, float]
    air_mm3: float
    vents: tuple[Vent, ...]
    recess: bool


def pockets_of_air(ways: AirWays) -> tuple[AirPocket, ...]:
    """Return every recess with all the air in it, then every smaller pocket with a vent.

    A recess holds what lies below its rim, recesses in it included and what stands in it left
    out; the air of a smaller pocket is what the rolling ball left under it.
    """
    recesses = [_recess(plan, ways) for plan in ways.plans if plan.direction is Direction.SUNK]
    served = {vent.name for pocket in recesses for vent in pocket.vents}
    smaller = [
        AirPocket(
            name=f"pocket at {vent.name}",
            body=ways.root_of[vent.feature],
            where_mm=(vent.x_mm, vent.y_mm, vent.z_mm),
            air_mm3=vent.low.air_mm3,
            vents=(vent,),
            recess=False,
        )
        for vent in ways.vents
        if vent.low.reason is Reason.POCKET and vent.low.air_mm3 > 0 and vent.name not in served
    ]
    return (*recesses, *smaller)


def recess_mm3(plan: FeaturePlan) -> float:
    """Return what fits between the mouth of a feature's wall and its flat, as a prismoid. [mm³]."""
    mouth, flat = plan.outer.area, plan.flat.area
    depth = abs(plan.z_parent_mm - plan.z_flat_mm)
    return float(depth / 3 * (mouth + flat + (mouth * flat) ** 0.5))


def _recess(plan: FeaturePlan, ways: AirWays) -> AirPocket:
    within = {plan.name}
    air_mm3 = recess_mm3(plan)
    for other in ways.plans:
        if other.parent in within:
            within.add(other.name)
            air_mm3 += recess_mm3(other) * (1 if other.direction is Direction.SUNK else -1)
    vents = tuple(vent for vent in ways.vents if vent.feature in within)
    middle = shapely.point_on_surface(plan.outer)
    here = (vents[0].x_mm, vents[0].y_mm) if vents else (middle.x, middle.y)
    return AirPocket(
        name=plan.name,
        body=ways.root_of[plan.name],
        where_mm=(*here, plan.z_flat_mm),
        air_mm3=max(air_mm3, 0.0),
        vents=vents,
        recess=True,
    )
