"""How fast the vacuum comes: the whole sheet, every pocket, and what holds it up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite, pi

import numpy as np

from moldgen.mold.air.passages import AirSpec, AirWays, WIDE_mm2
from moldgen.mold.air.pockets import AirPocket, pockets_of_air
from moldgen.physics.air.airflow import ATMOSPHERE_kPa, equalized_kPa
from moldgen.physics.air.passage import Passage, hole, in_parallel, in_series
from moldgen.physics.air.pumping import Receiver, VacuumHistory, evacuate, pushed_out_s
from moldgen.physics.bisection import first_beyond
from moldgen.stock import FormingMachine

MOST_VENTS = 200
"""No pocket is given more vents than this."""


class Bottleneck(StrEnum):
    """What holds the air up most."""

    HOLES = "the number of open holes"
    PIPE = "the pipe under the table"
    TANK = "the tank"
    PUMP = "the pump"


@dataclass(frozen=True, slots=True, kw_only=True)
class PocketTime:
    """When a pocket is empty.

    Attributes
    ----------
    pocket : AirPocket
        The recess or pocket.
    seconds : float
        From when the sheet seals it until it lies on its ground; infinite if nothing goes out.
    vents_needed : int or None
        Vents that empty it in the time there is; None if none do, or no time was given.
    """

    pocket: AirPocket
    seconds: float
    vents_needed: int | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evacuation:
    """How the vacuum builds under the sheet of one mold.

    Attributes
    ----------
    vacuum_kPa, share : float
        Vacuum of the machine, and the share of it that is waited for. [kPa], [-]
    swept_L, left_L : float
        Volume under the sheet that is pushed out, and what is left in channels
        and box. [L]
    receiver : Receiver
        Tank and pump as counted with.
    course : VacuumHistory
        How volume and pressures went.
    best_s : float
        Until the same share with holes and a pipe that hold nothing up. [s]
    bottleneck : Bottleneck
        What would have to be larger.
    pockets : tuple of PocketTime
        Every recess and pocket.
    stiff_s : float or None
        Time the sheet has, as given. [s]
    """

    vacuum_kPa: float
    share: float
    swept_L: float
    left_L: float
    receiver: Receiver
    course: VacuumHistory
    best_s: float
    bottleneck: Bottleneck
    pockets: tuple[PocketTime, ...]
    stiff_s: float | None

    @property
    def down_s(self) -> float:
        """Until the sheet is down. [s]."""
        return self.course.down_s

    @property
    def reached_s(self) -> float:
        """Until the wanted share of the vacuum is under it. [s]."""
        return self.course.reached_s

    def vacuum_at_kPa(self, time_s: float) -> float:
        """Return the vacuum under the sheet at a time. [kPa]."""
        pressure = np.interp(time_s, self.course.times_s, self.course.cavity_kPa)
        return float(ATMOSPHERE_kPa - pressure)

    def vacuum_s(self, share: float) -> float:
        """Return when a share of the machine's vacuum is under the sheet; infinite if never. [s].

        Parameters
        ----------
        share : float
            Up to the one that was waited for. [-]
        """
        return self.course.when_s(ATMOSPHERE_kPa - share * self.vacuum_kPa)

    @property
    def slowest(self) -> PocketTime | None:
        """The pocket that takes longest."""
        return max(self.pockets, key=lambda one: one.seconds, default=None)


def measure_evacuation(
    ways: AirWays, *, swept_L: float, time_to_stiff_s: float | None = None
) -> Evacuation:
    """Follow the air out from under the sheet, and out of every pocket.

    Parameters
    ----------
    ways : AirWays
        Vents, channels and table.
    swept_L : float
        Volume the sheet pushes out: `swept_most_L`, or that of a forming run. [L]
    time_to_stiff_s : float, optional
        How long the sheet stays soft enough to form once it touches the mold. [s]
    """
    machine, share = ways.machine, ways.spec.share
    receiver = receiver_of(machine, ways.spec)
    target_kPa = ATMOSPHERE_kPa - share * machine.vacuum_kPa

    def run(holes: Passage, pipe: Passage) -> VacuumHistory:
        return evacuate(
            in_series(holes, pipe),
            receiver,
            swept_L=swept_L,
            left_L=ways.left_L,
            target_kPa=target_kPa,
        )

    wide = hole(WIDE_mm2)
    course = run(ways.holes, ways.pipe)
    without = {
        Bottleneck.HOLES: run(wide, ways.pipe).reached_s,
        Bottleneck.PIPE: run(ways.holes, wide).reached_s,
    }
    best_s = run(wide, wide).reached_s
    behind = sealed(course, receiver, ways)
    return Evacuation(
        vacuum_kPa=machine.vacuum_kPa,
        share=share,
        swept_L=swept_L,
        left_L=ways.left_L,
        receiver=receiver,
        course=course,
        best_s=best_s,
        bottleneck=_bottleneck(machine, course.reached_s, best_s, without),
        pockets=tuple(
            _pocket_time(pocket, ways, behind, time_to_stiff_s)
            for pocket in pockets_of_air(ways)
            if ways.holes_below_mm2[pocket.body]
        ),
        stiff_s=time_to_stiff_s,
    )


def receiver_of(machine: FormingMachine, spec: AirSpec) -> Receiver:
    """Return tank and pump of a machine, or the pump's pipe alone, just as the valve is opened.

    The tank is as empty as the pump makes it. The pump moves its free air at the atmosphere,
    falling on a straight line to none at the machine's vacuum.
    """
    lowest_kPa = ATMOSPHERE_kPa - machine.vacuum_kPa
    pipe_L = pi / 4 * spec.pipe_mm**2 * spec.pipe_length_mm * 1e-6
    return Receiver(
        volume_L=machine.tank_L or pipe_L,
        start_kPa=lowest_kPa if machine.tank_L else ATMOSPHERE_kPa,
        pump_L_s=machine.pump_L_min / 60 * ATMOSPHERE_kPa / machine.vacuum_kPa,
        lowest_kPa=lowest_kPa,
    )


def _bottleneck(
    machine: FormingMachine, reached_s: float, best_s: float, without: dict[Bottleneck, float]
) -> Bottleneck:
    """Return what holds up most: holes or pipe, if without both it went in half the time."""
    if best_s < 0.5 * reached_s:
        return min(without, key=lambda one: without[one])
    return Bottleneck.TANK if machine.tank_L else Bottleneck.PUMP


def sealed(course: VacuumHistory, receiver: Receiver, ways: AirWays) -> Receiver:
    """Return what pockets empty into once the sheet is down elsewhere: receiver and box as one."""
    n = int(np.searchsorted(course.times_s, course.down_s)) if isfinite(course.down_s) else -1
    return with_box(replace(receiver, start_kPa=float(course.receiver_kPa[n])), ways)


def with_box(receiver: Receiver, ways: AirWays) -> Receiver:
    """Return a receiver with the air that is left in box and channels mixed in."""
    box = (ways.left_L, ATMOSPHERE_kPa)
    behind_kPa = equalized_kPa((receiver.volume_L, receiver.start_kPa), box)
    return replace(receiver, volume_L=receiver.volume_L + ways.left_L, start_kPa=behind_kPa)


def _pocket_time(
    pocket: AirPocket, ways: AirWays, behind: Receiver, stiff_s: float | None
) -> PocketTime:
    """Return when a pocket is empty."""
    seconds = emptied_s(pocket, ways.out_of(pocket.vents, pocket.body), behind)
    needed = None if stiff_s is None else vents_needed(pocket, ways, behind, stiff_s)
    return PocketTime(pocket=pocket, seconds=seconds, vents_needed=needed)


def emptied_s(pocket: AirPocket, passage: Passage, receiver: Receiver) -> float:
    """Return how long a pocket's air takes through a passage; infinite if it is shut. [s]."""
    air_L = pocket.air_mm3 * 1e-6
    return pushed_out_s(
        passage, receiver, swept_L=air_L, left_L=max(1e-6, 1e-2 * air_L), longest_s=60.0
    )


def vents_needed(
    pocket: AirPocket, ways: AirWays, receiver: Receiver, within_s: float
) -> int | None:
    """Return how many vents like its first empty a pocket in a time; None if no number does.

    The table's holes under the body are shared with its other vents by their areas.
    """
    if not pocket.vents:
        return None
    like = pocket.vents[0]
    one = ways.through(like)
    others = [
        vent
        for vent in ways.vents
        if ways.root_of[vent.feature] == pocket.body and vent not in pocket.vents
    ]
    others_mm2 = sum(vent.area_mm2 for vent in others)

    def seconds(n: int) -> float:
        own_mm2 = n * like.area_mm2
        below = ways.below(pocket.body, own_mm2 / (own_mm2 + others_mm2))
        return emptied_s(pocket, in_series(in_parallel(*[one] * n), below), receiver)

    most = 1
    while seconds(most) > within_s:
        most *= 2
        if most > MOST_VENTS:
            return None
    return first_beyond(lambda n: seconds(n) <= within_s, most // 2, most)
