"""What a mold is pulled by, and what that bears."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Annotated

from moldgen.mold.underside.marking import SLOT_MM, Marking
from moldgen.physics.shrink import pull_out_N
from moldgen.quantity import Quantity, Spec
from moldgen.stock import Filament, Insert, InsertKind

SHEAR_SHARE = 1 / sqrt(3)
"""Shear strength over tensile strength (von Mises). [-]."""

SAFETY = 3.0
"""Strength over allowed stress for short pulls, cold: common practice, no source. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseSpec(Spec):
    """What is taken for granted about pulling a part off."""

    friction: Annotated[
        float, Quantity("", "friction of the sheet on the print, at rest", above=0, at_most=2)
    ] = 0.4
    """Middle of 0.3 to 0.5 for styrenics on metal cores, from memory of the literature on
    ejection; printed layers that are not sanded hold harder."""
    shrunk: Annotated[
        float,
        Quantity("", "share of the shrinkage done when the part is taken off", above=0, at_most=1),
    ] = 0.5
    """Common practice, no source: the part comes off when it is stiff, still warm."""
    hand_N: Annotated[float, Quantity("N", "force of two hands", above=0)] = 200.0
    """Common practice, no source: both hands on a screw with a handle, or under the rim."""
    glue_MPa: Annotated[
        float, Quantity("MPa", "shear that glue around a nut is given", above=0, at_most=20)
    ] = 2.0
    """Common practice, no source: a nut in an open pocket is held by its glue alone."""


class MoldHold(StrEnum):
    """What a mold is pulled by."""

    HEAT_SET = "the threaded insert"
    NUT = "the glued-in nut"
    PRY = "the pry slots"
    HAND = "bare hands"


def held_by(
    marking: Marking, filament: Filament, insert: Insert | None, spec: ReleaseSpec
) -> tuple[MoldHold, float]:
    """Return the strongest thing a body can be pulled by; every piece has its own insert."""
    ways = [(MoldHold.HAND, spec.hand_N)]
    n_pockets = len(marking.pocket.geoms)
    if insert is not None and n_pockets:
        nut = insert.kind is InsertKind.NUT
        each = insert_holds_N(insert, filament, spec)
        ways.append((MoldHold.NUT if nut else MoldHold.HEAT_SET, n_pockets * each))
    if not marking.slots.is_empty:
        ways.append((MoldHold.PRY, slots_hold_N(len(marking.slots.geoms), filament)))
    return max(ways, key=lambda way: way[1])


def insert_holds_N(insert: Insert, filament: Filament, spec: ReleaseSpec) -> float:
    """Return the straight pull an insert bears. [N].

    A heat-set insert shears the print around its hole, a glued nut the glue on its six sides.
    """
    depth_mm = insert.thickness_mm or 0.0
    if insert.kind is InsertKind.NUT and insert.across_flats_mm is not None:
        # Six sides, each as wide as the width across flats over the root of three.
        return 6 * insert.across_flats_mm / sqrt(3) * depth_mm * spec.glue_MPa
    shear_MPa = filament.strength_across_layers_MPa * SHEAR_SHARE / SAFETY
    return pull_out_N(insert.hole_mm or 0.0, depth_mm, shear_MPa=shear_MPa)


def slots_hold_N(n_slots: int, filament: Filament) -> float:
    """Return what a blade in each pry slot may press on its roof. [N]."""
    width, depth = SLOT_MM
    return n_slots * width * depth * filament.strength_across_layers_MPa / SAFETY
