"""As many vents as the air of every pocket takes in the time there is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from moldgen.mold.air_ways import AirSpec, WIDE_mm2, air_ways
from moldgen.mold.evacuation import emptied_s, receiver_of, with_box
from moldgen.mold.features import FeaturePlan
from moldgen.mold.finish import BoreSpec
from moldgen.mold.pockets import pockets_of_air
from moldgen.mold.vents import VentPlan, VentSpec, place_vents
from moldgen.physics.passage import hole
from moldgen.solid.relief import Relief
from moldgen.stock import Station

CLOSEST_VENTS_MM = 5.0
"""Vents along a line are never asked for closer than this. [mm]."""


def place_enough_vents(
    relief: Relief,
    plans: Sequence[FeaturePlan],
    spec: VentSpec,
    *,
    enough: Callable[[VentPlan], bool],
) -> tuple[VentPlan, VentSpec]:
    """Place vents, and place them ever closer along low lines until the air gets out in time.

    Parameters
    ----------
    relief, plans, spec
        As for `place_vents`.
    enough : callable
        Whether a plan's vents empty every pocket in time.

    Returns
    -------
    VentPlan, VentSpec
        The vents and the spacing they got; with the closest spacing if even that is not enough.
    """
    plan = place_vents(relief, plans, spec)
    while not enough(plan) and spec.spacing_mm > CLOSEST_VENTS_MM:
        spec = replace(spec, spacing_mm=max(CLOSEST_VENTS_MM, 0.7 * spec.spacing_mm))
        plan = place_vents(relief, plans, spec)
    return plan, spec


def vents_enough(
    plans: Sequence[FeaturePlan],
    *,
    station: Station,
    bore: BoreSpec,
    within_s: float,
    spec: AirSpec | None = None,
) -> Callable[[VentPlan], bool]:
    """Return the question whether a plan's vents empty every pocket in a time.

    Asked before channels are laid: only the vents themselves are in the way. A pocket that would
    not be empty however many vents it had is no reason for more of them, nor is one without any.

    Parameters
    ----------
    plans : sequence of FeaturePlan
        Every feature as built, parents before children.
    station, bore, spec
        Tank and pump, how vents are bored, and what is taken for granted.
    within_s : float
        The time there is. [s]
    """

    def enough(plan: VentPlan) -> bool:
        ways = air_ways(plan, (), plans, station=station, bore=bore, spec=spec)
        behind = with_box(receiver_of(station, ways.spec), ways)
        for pocket in pockets_of_air(ways):
            if pocket.vents and emptied_s(pocket, hole(WIDE_mm2), behind) <= within_s:
                through = ways.out_of(pocket.vents, pocket.body)
                if emptied_s(pocket, through, behind) > within_s:
                    return False
        return True

    return enough
