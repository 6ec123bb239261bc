"""Easel: a back that leans, a ledge in front and a prop behind, solved so that it stands.

From left to right the strip is prop, back, ledge and, for a stack, a front. It stands on the end
of the prop and on the bend between back and ledge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import ceil, cos, radians, tan

import numpy as np

from moldgen.bend.preset.held import HeldThing
from moldgen.bend.stand.balance import tip_deg
from moldgen.bend.stand.load import Thing, load_on_leg
from moldgen.bend.stand.rest import faces_up, rest_text
from moldgen.bend.stand.stand import StripBalance, build_standing
from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend, StripSpec
from moldgen.bend.strip.shape import StripShape, formed
from moldgen.errors import SpecError

STANDS_ON = "the end of leg 1 and bend 2"
_SHARPEST_DEG = 130.0
"""Between prop and back: sharper bends in 3 mm sheet are wider than a usual heater softens. [°]."""
_FARTHEST_LEAN_DEG = 50.0
_FARTHEST_PROP_DEG = 50.0
_ANY_KG_M3 = 1000.0
"""Nothing that is asked of a balance here depends on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Legs and bends of a strip, left to right.

    Attributes
    ----------
    legs_mm : tuple of float
        Measured outside. [mm]
    angles_deg : tuple of float
        From flat, up positive, down negative. [°]
    """

    legs_mm: tuple[float, ...]
    angles_deg: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class EaselSpec:
    """What an easel is to be.

    Attributes
    ----------
    thickness_mm : float
        Of the strip. [mm]
    back_mm, ledge_mm : float
        Outside. [mm]
    front_mm : float or None
        Front that keeps a stack, if there is one. [mm]
    lean_deg : float
        How far the back leans from upright. [°]
    fixed_lean : bool
        Whether it must lean just so; else it leans further if it would tip forward.
    margin_deg : float
        How far it must lean before it falls, empty and full. [°]
    held : HeldThing
        What leans on the back.
    """

    thickness_mm: float
    back_mm: float
    ledge_mm: float
    front_mm: float | None
    lean_deg: float
    fixed_lean: bool
    margin_deg: float
    held: HeldThing


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedEasel:
    """An easel that stands.

    Attributes
    ----------
    frame : Frame
        Its legs and bends.
    stands_on : str
        As `rest_text` tells it.
    least_width_mm : float
        Width from which it stands sideways as well. [mm]
    """

    frame: Frame
    stands_on: str
    least_width_mm: float


def solve_easel(spec: EaselSpec) -> SolvedEasel:
    """Return the easel with the shortest prop that does not fall, empty or full.

    The strip alone and the thing alone must each keep the margin. What they weigh together then
    keeps it too, whatever each weighs, since it lies on the line between them.

    Raises
    ------
    SpecError
        If there is none.
    """
    for lean_deg in _leans_deg(spec):
        for prop_deg in _props_deg(lean_deg):
            one = _stood(spec, lean_deg, prop_deg)
            if one is None or one.back_tip_deg < spec.margin_deg:
                continue
            if spec.fixed_lean or one.front_tip_deg >= spec.margin_deg:
                return SolvedEasel(
                    frame=one.frame, stands_on=STANDS_ON, least_width_mm=one.least_width_mm(spec)
                )
            break
    rule = f"able to stand with {spec.held.name} in it, {spec.margin_deg:g}° before it falls"
    raise SpecError("holds", rule, "none that does", "Hold something lower, or let it lean more.")


def _leans_deg(spec: EaselSpec) -> Iterator[float]:
    yield spec.lean_deg
    if not spec.fixed_lean:
        yield from np.arange(spec.lean_deg + 1, _FARTHEST_LEAN_DEG + 1).tolist()


def _props_deg(lean_deg: float) -> Iterator[float]:
    """Yield angles of the prop from upright, from the steepest."""
    steepest = max(20.0, 180.0 - _SHARPEST_DEG - lean_deg)
    yield from np.arange(ceil(steepest), _FARTHEST_PROP_DEG + 1).tolist()


@dataclass(frozen=True, kw_only=True)
class _Stood:
    """One easel as it stands."""

    frame: Frame
    balance: StripBalance
    thing_mm: tuple[float, float]

    @property
    def lean_deg(self) -> float:
        """How far its back leans from upright. [°]."""
        return abs(90.0 - abs(self.balance.shape.legs[1].heading_deg) % 180.0)

    @cached_property
    def tips_deg(self) -> tuple[float, float]:
        """The least angle to the left, and to the right, of the strip and of the thing. [°]."""
        low, high = self.balance.contact_mm
        places = (self.balance.strip_middle_mm, self.thing_mm)
        return (
            min(tip_deg(x - low, z) for x, z in places),
            min(tip_deg(high - x, z) for x, z in places),
        )

    @property
    def _front_is_right(self) -> bool:
        legs = self.balance.shape.legs
        return legs[2].end_mm[0] > legs[0].start_mm[0]

    @property
    def front_tip_deg(self) -> float:
        """How far it leans to the front before it falls. [°]."""
        return self.tips_deg[self._front_is_right]

    @property
    def back_tip_deg(self) -> float:
        """How far it leans to the back before it falls. [°]."""
        return self.tips_deg[not self._front_is_right]

    def least_width_mm(self, spec: EaselSpec) -> float:
        """Return the width from which it keeps the margin sideways. [mm]."""
        highest = max(self.balance.strip_middle_mm[1], self.thing_mm[1])
        return 2 * highest * tan(radians(spec.margin_deg))


def _stood(spec: EaselSpec, lean_deg: float, prop_deg: float) -> _Stood | None:
    """Return an easel whose back leans so; its prop is found in whole millimeters."""
    apex_deg = round(180.0 - lean_deg - prop_deg)
    middle_mm = spec.back_mm * cos(radians(lean_deg)) / cos(radians(prop_deg))
    low, high = int(0.8 * middle_mm) - 5, int(1.25 * middle_mm) + 10
    while high - low > 1:  # the longer the prop, the more upright the back
        half = (low + high) // 2
        one = _put(spec, half, apex_deg)
        if one is None or one.lean_deg < lean_deg:
            high = half
        else:
            low = half
    return _put(spec, low, apex_deg)


def _put(spec: EaselSpec, prop_mm: float, apex_deg: float) -> _Stood | None:
    front = () if spec.front_mm is None else (spec.front_mm,)
    frame = Frame(
        legs_mm=(float(prop_mm), spec.back_mm, spec.ledge_mm, *front),
        angles_deg=(-float(apex_deg), 90.0, *(90.0 for _ in front)),
    )
    try:
        balance = build_standing(
            _shape(spec, frame), density_kg_m3=_ANY_KG_M3,
            suits=lambda put: rest_text(put) == STANDS_ON and faces_up(put, [(2, True)]),
        )  # fmt: skip
    except SpecError:
        return None
    held = spec.held
    thing = Thing(
        name=held.name, mass_kg=held.mass_kg, tall_mm=held.tall_mm, thick_mm=held.thick_mm
    )
    load = load_on_leg(balance.shape, 2, thing)
    return _Stood(frame=frame, balance=balance, thing_mm=(load.x_mm, load.height_mm))


def _shape(spec: EaselSpec, frame: Frame) -> StripShape:
    strip = StripSpec(
        name=spec.held.name,
        thickness_mm=spec.thickness_mm,
        width_mm=100.0,
        plastic="",
        legs_mm=frame.legs_mm,
        bends=tuple(
            Bend(angle_deg=abs(angle), turn=Turn.UP if angle > 0 else Turn.DOWN)
            for angle in frame.angles_deg
        ),
    )
    return formed(strip, build_layout(strip))
