"""The ways the air takes out from under the sheet, as passages with their open areas."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import pi
from typing import Annotated

from shapely import MultiPolygon

from moldgen.mold.choices import UndersideKind
from moldgen.mold.features import FeaturePlan, bodies_of, foot_of, roots_of
from moldgen.mold.underside.cut import BoreSpec, Opening
from moldgen.mold.underside.table_holes import free_holes_mm2
from moldgen.mold.underside.underside import EDGE_PASSAGE_MM, MOUTH_MM, Underside
from moldgen.mold.vents.vent import Vent, VentPlan
from moldgen.physics.air.passage import (
    SHUT,
    Passage,
    duct,
    flat_channel,
    hole,
    in_parallel,
    in_series,
    round_hole,
    stepped_bore,
)
from moldgen.quantity import Quantity, Spec
from moldgen.solid.slit import LAND_MM
from moldgen.stock import FormingMachine

SMOOTH_FRICTION = 0.025
"""Friction factor (Darcy) of a smooth hose at high speed: the flat end of the pipe chart for
Reynolds numbers around 20 000, from memory. [-]."""

WIDE_mm2 = 1e5
"""Holes so many that they hold nothing up. [mm²]."""

LEAST_STEP_MM = 0.4
"""A bore shorter than this is left out: the hole goes all the way. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AirSpec(Spec):
    """What is taken for granted about the air's ways."""

    roughness_mm: Annotated[
        float, Quantity("mm", "depth of the grooves in printed walls", above=0, at_most=1)
    ] = 0.03
    """15 % of a layer of 0.2 mm (common practice, no source)."""
    box_mm: Annotated[
        float, Quantity("mm", "depth of the box under the table", above=0, at_most=500)
    ] = 10.0
    """Common practice, no source: measure your own."""
    pipe_mm: Annotated[
        float, Quantity("mm", "bore of pipe and valve to the table", above=0, at_most=200)
    ] = 12.0
    """Common practice, no source: measure your own."""
    pipe_length_mm: Annotated[
        float, Quantity("mm", "length of that pipe", above=0, at_most=20000)
    ] = 1000.0
    """Common practice, no source: measure your own."""
    share: Annotated[
        float, Quantity("", "share of the vacuum that forms the details", above=0, below=1)
    ] = 0.9


@dataclass(frozen=True, eq=False, kw_only=True)
class AirWays:
    """Vents, channels and table of one mold, seen as passages.

    Attributes
    ----------
    plans : tuple of FeaturePlan
        Every feature as built, parents before children.
    vents : tuple of Vent
        Vents as bored.
    undersides : tuple of Underside
        One for each body, in the order of the plans; none if they are not built yet, and then
        nothing below the vents holds the air up.
    machine : FormingMachine
        Gives the table's holes.
    bore : BoreSpec
        How vents are bored.
    spec : AirSpec
        What is taken for granted.
    """

    plans: tuple[FeaturePlan, ...]
    vents: tuple[Vent, ...]
    undersides: tuple[Underside, ...]
    machine: FormingMachine
    bore: BoreSpec
    spec: AirSpec

    @cached_property
    def foot(self) -> MultiPolygon:
        """Where the mold stands on the table. [mm]."""
        return foot_of(self.plans)

    @cached_property
    def root_of(self) -> dict[str, str]:
        """The body of every feature."""
        return bodies_of(self.plans)

    @cached_property
    def holes_below_mm2(self) -> dict[str, float | None]:
        """Least area of table holes free under each body's channels; None if it lies flat."""
        roots = [plan.name for plan in roots_of(self.plans)]
        if not self.undersides:
            return dict.fromkeys(roots, WIDE_mm2)
        return {
            root: None
            if underside.spec.kind is UndersideKind.FLAT
            else float(
                free_holes_mm2(
                    underside.airways,
                    pitch_mm=self.machine.hole_pitch_mm,
                    hole_mm=self.machine.hole_diameter_mm,
                ).min()
            )
            for root, underside in zip(roots, self.undersides, strict=True)
        }

    @cached_property
    def holes_beside_mm2(self) -> float:
        """Area of the table's holes beside the mold, within the clamp. [mm²]."""
        s = self.machine
        open_ground = max(0.0, s.opening_width_mm * s.opening_depth_mm - self.foot.area)
        return float(open_ground / s.hole_pitch_mm**2 * pi / 4 * s.hole_diameter_mm**2)

    @cached_property
    def left_L(self) -> float:
        """Room in channels, bores and the box under the table, where air stays. [L]."""
        s = self.machine
        box = s.opening_width_mm * s.opening_depth_mm * self.spec.box_mm
        channels = sum(under.channels.area * under.spec.depth_mm for under in self.undersides)
        bores = sum(_bore_mm2(vent, self.bore) * max(vent.z_mm, 0.0) for vent in self.vents)
        return float((box + channels + bores) * 1e-6)

    def through(self, vent: Vent) -> Passage:
        """Return a vent with its bore and its way along a channel to the next table hole."""
        if vent.slit is not None:
            return _through_slit(
                (vent.slit.width_mm - self.bore.slit_loss_mm, vent.slit.length_mm),
                pocket_mm=vent.bore_mm or vent.slit.width_mm,
                depth_mm=max(vent.z_mm, 0.0),
                channel_mm=self._channel_mm(vent),
                pitch_mm=self.machine.hole_pitch_mm,
                roughness_mm=self.spec.roughness_mm,
            )
        land_mm, length_mm, bore_mm = self._steps(vent)
        return _through(
            (vent.diameter_mm, land_mm, bore_mm, length_mm),
            depth_mm=self._channel_mm(vent),
            pitch_mm=self.machine.hole_pitch_mm,
            roughness_mm=self.spec.roughness_mm,
        )

    def below(self, root: str, share: float = 1.0) -> Passage:
        """Return the table's holes under a body at the worst placing, or a share of them."""
        area_mm2 = (self.holes_below_mm2[root] or 0.0) * share
        return hole(area_mm2) if area_mm2 > 0 else SHUT

    def out_of(self, vents: Sequence[Vent], root: str) -> Passage:
        """Return some of a body's vents, with their share of the table's holes under it."""
        own = [vent for vent in self.vents if self.root_of[vent.feature] == root]
        all_mm2 = sum(vent.area_mm2 for vent in own)
        some_mm2 = sum(vent.area_mm2 for vent in vents)
        if not vents or not all_mm2 > 0:
            return SHUT
        together = in_parallel(*[self.through(vent) for vent in vents])
        return in_series(together, self.below(root, min(1.0, some_mm2 / all_mm2)))

    @cached_property
    def pipe(self) -> Passage:
        """From the box under the table to tank or pump."""
        d, length = self.spec.pipe_mm, self.spec.pipe_length_mm
        heads = SMOOTH_FRICTION * length / d
        return in_series(round_hole(d), duct(pi / 4 * d**2, heads))

    @cached_property
    def holes(self) -> Passage:
        """The table's holes beside the mold, and every body's vents."""
        beside = [hole(self.holes_beside_mm2)] if self.holes_beside_mm2 > 0 else []
        bodies = [
            self.out_of([vent for vent in self.vents if self.root_of[vent.feature] == root], root)
            for root, free in self.holes_below_mm2.items()
            if free
        ]
        return in_parallel(*beside, *bodies)

    def _steps(self, vent: Vent) -> tuple[float, float, float]:
        """Return length of the hole, length of the bore and its diameter. [mm]."""
        printed = self.bore.opening(vent) is Opening.PRINTED
        land = self.bore.land_mm if printed else self.bore.skin_mm
        bore = vent.bore_mm or self.bore.bore_mm
        if vent.z_mm - land <= LEAST_STEP_MM or bore <= vent.diameter_mm:
            return max(vent.z_mm, 0.0), 0.0, bore
        return land, vent.z_mm - land, bore

    def _channel_mm(self, vent: Vent) -> float | None:
        """Return the depth of the channels that a vent opens into; None if there is none. [mm]."""
        if not self.undersides:
            return None
        root = self.root_of[vent.feature]
        spec = self.undersides[list(self.holes_below_mm2).index(root)].spec
        return None if spec.kind is UndersideKind.FLAT else spec.depth_mm


@lru_cache(maxsize=256)
def _through(
    steps_mm: tuple[float, float, float, float],
    *,
    depth_mm: float | None,
    pitch_mm: float,
    roughness_mm: float,
) -> Passage:
    """Return a bore, its mouth and the narrowest channel, as long as a pitch of the table. [mm].

    Most vents of a mold are as long and as wide as others.
    """
    _, _, bore_mm, _ = steps_mm
    bored = stepped_bore(*steps_mm, roughness_mm=roughness_mm)
    if depth_mm is None:
        return bored
    around_mm = pi * (bore_mm + 2 * MOUTH_MM)
    return in_series(bored, *_to_hole(around_mm, depth_mm, pitch_mm, roughness_mm))


@lru_cache(maxsize=256)
def _through_slit(
    mouth_mm: tuple[float, float],
    *,
    pocket_mm: float,
    depth_mm: float,
    channel_mm: float | None,
    pitch_mm: float,
    roughness_mm: float,
) -> Passage:
    """Return a slit as wide as it comes out, its pocket, and the channel behind. [mm]."""
    width_mm, length_mm = mouth_mm
    land_mm = min(LAND_MM, depth_mm)
    slit = flat_channel(length_mm, width_mm, land_mm, roughness_mm=roughness_mm)
    pocket = flat_channel(length_mm, pocket_mm, depth_mm - land_mm, roughness_mm=roughness_mm)
    opened = in_series(slit, pocket)
    if channel_mm is None:
        return opened
    around_mm = 2 * (length_mm + pocket_mm + 4 * MOUTH_MM)
    return in_series(opened, *_to_hole(around_mm, channel_mm, pitch_mm, roughness_mm))


def _to_hole(
    around_mm: float, depth_mm: float, pitch_mm: float, roughness_mm: float
) -> tuple[Passage, Passage]:
    """Return the mouth of a bore, by its girth, and the narrowest channel to the next hole."""
    return (
        hole(around_mm * depth_mm),
        flat_channel(EDGE_PASSAGE_MM, depth_mm, pitch_mm, roughness_mm=roughness_mm),
    )


def _bore_mm2(vent: Vent, spec: BoreSpec) -> float:
    """Return the section of the bore or the pocket under a vent. [mm²]."""
    wide_mm = vent.bore_mm or spec.bore_mm
    return pi / 4 * wide_mm**2 if vent.slit is None else wide_mm * vent.slit.length_mm


def air_ways(
    vents: VentPlan | Sequence[Vent],
    undersides: Sequence[Underside],
    plans: Sequence[FeaturePlan],
    *,
    machine: FormingMachine,
    bore: BoreSpec,
    spec: AirSpec | None = None,
) -> AirWays:
    """Return the ways of a mold's air.

    Parameters
    ----------
    vents : VentPlan or sequence of Vent
        Vents as bored.
    undersides : sequence of Underside
        One for each body, in the order of the plans; empty if they are not built yet.
    plans : sequence of FeaturePlan
        Every feature as built, parents before children.
    machine, bore, spec
        The table, how vents are bored, and what is taken for granted.
    """
    return AirWays(
        plans=tuple(plans),
        vents=tuple(vents.vents if isinstance(vents, VentPlan) else vents),
        undersides=tuple(undersides),
        machine=machine,
        bore=bore,
        spec=spec or AirSpec(),
    )
