"""Preset: legs, angles and sizes of a ready-made strip, from what it must hold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

from moldgen.bend.preset.choices import StripKind
from moldgen.bend.preset.easel import EaselSpec, Frame, solve_easel
from moldgen.bend.preset.held import HeldThing
from moldgen.bend.stand.stand import LEAST_TIP_DEG

MARGIN_DEG = LEAST_TIP_DEG + 5.0
"""How far a ready-made strip leans before it falls, empty and full. [°]."""
STRESS_MPA = 5.0
"""What a bend bears for years; below usual figures for acrylic, from memory. [MPa]."""
_GRAVITY_m_s2 = 9.81
_HOOK_HOLE_MM = 4.5


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetSizes:
    """What of a ready-made strip a person chose; None where it is computed.

    Attributes
    ----------
    thickness_mm, width_mm : float or None
        Of the strip. [mm]
    lean_deg : float or None
        How far its back leans from upright. [°]
    """

    thickness_mm: float | None = None
    width_mm: float | None = None
    lean_deg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetStrip:
    """A ready-made strip in plain numbers.

    Attributes
    ----------
    frame : Frame
        Its legs and bends.
    thickness_mm, width_mm : float
        Of the strip. [mm]
    stands_on : str
        How it stands on the table, as `rest_text` tells it; empty if it hangs on a wall.
    leans_on : int or None
        Leg on whose face with the marks the thing leans.
    is_read : bool
        Whether that leg shows something to read.
    holes_mm : tuple of (along, across, diameter)
        Holes in the flat strip. [mm]
    """

    frame: Frame
    thickness_mm: float
    width_mm: float
    stands_on: str = ""
    leans_on: int | None = None
    is_read: bool = False
    holes_mm: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _EaselPlan:
    """How an easel is proportioned; common practice, no source."""

    back_share: float
    wide_share: float
    lean_deg: float
    beside_mm: float = 0.0
    front: bool = False
    is_read: bool = True


_EASELS = {
    StripKind.CARD_STAND: _EaselPlan(back_share=0.8, wide_share=0.75, lean_deg=20.0),
    StripKind.LEAFLET_HOLDER: _EaselPlan(
        back_share=0.8, wide_share=1.0, lean_deg=20.0, beside_mm=6.0, front=True
    ),
    StripKind.PHONE_STAND: _EaselPlan(back_share=0.7, wide_share=1.0, lean_deg=25.0, is_read=False),
    StripKind.BOOK_REST: _EaselPlan(back_share=0.85, wide_share=1.0, lean_deg=25.0),
}
LEANING = tuple(_EASELS)
"""Kinds whose back leans."""
_THICK_FROM_MM = 170.0
"""With a back this long the ledge can be heated from both faces, clear of the bed: 3 mm. [mm]."""


def preset_strip(kind: StripKind, held: HeldThing, sizes: PresetSizes) -> PresetStrip:
    """Return a ready-made strip that holds a thing.

    Raises
    ------
    SpecError
        If no legs hold it without falling.
    """
    build = _BUILD.get(kind, _easel)
    return build(kind, held, sizes)


def _easel(kind: StripKind, held: HeldThing, sizes: PresetSizes) -> PresetStrip:
    plan = _EASELS[kind]
    back_mm = max(_up(plan.back_share * held.tall_mm), 60.0)
    usual_mm = 3.0 if back_mm >= _THICK_FROM_MM and not plan.front else 2.0
    thickness_mm = sizes.thickness_mm or usual_mm
    spec = EaselSpec(
        thickness_mm=thickness_mm,
        back_mm=back_mm,
        ledge_mm=_ledge_mm(held, thickness_mm, plan.front),
        front_mm=max(35.0, _up(held.tall_mm / 4)) if plan.front else None,
        lean_deg=plan.lean_deg if sizes.lean_deg is None else sizes.lean_deg,
        fixed_lean=sizes.lean_deg is not None,
        margin_deg=MARGIN_DEG,
        held=held,
    )
    solved = solve_easel(spec)
    wide_mm = max(plan.wide_share * held.wide_mm + plan.beside_mm, solved.least_width_mm, 40.0)
    return PresetStrip(
        frame=solved.frame,
        thickness_mm=thickness_mm,
        width_mm=sizes.width_mm or _up(wide_mm),
        stands_on=solved.stands_on,
        leans_on=2,
        is_read=plan.is_read,
    )


def _ledge_mm(held: HeldThing, thickness_mm: float, has_front: bool) -> float:
    """Return how deep a ledge is, outside: the thing, the round, and what is left in front."""
    if has_front:
        return ceil(max(32.0, held.thick_mm + 4.0 + 2 * thickness_mm))
    return ceil(max(28.0, held.thick_mm + 2 * thickness_mm + 8.0))


def _book_end(kind: StripKind, held: HeldThing, sizes: PresetSizes) -> PresetStrip:
    """Return a foot as long as the row and an upright of three quarters of its height."""
    foot_mm = max(_up(held.thick_mm), _up(held.tall_mm / 2), 80.0)
    upright_mm = max(_up(0.75 * held.tall_mm), 80.0)
    wide_mm = max(2 / 3 * held.wide_mm, 0.6 * held.tall_mm, 60.0)
    return PresetStrip(
        frame=Frame(legs_mm=(foot_mm, upright_mm), angles_deg=(90.0,)),
        thickness_mm=sizes.thickness_mm or 3.0,
        width_mm=sizes.width_mm or _up(wide_mm),
        stands_on="leg 1, marks up",
        leans_on=2,
    )


def _wall_hook(kind: StripKind, held: HeldThing, sizes: PresetSizes) -> PresetStrip:
    """Return a plate, an arm and a lip, as wide as the moment in the upper bend needs."""
    thickness_mm = sizes.thickness_mm or 2.0
    arm_mm = max(34.0, ceil(held.thick_mm + 4.0 + 4 * thickness_mm))
    moment_Nmm = held.mass_kg * _GRAVITY_m_s2 * arm_mm
    wide_mm = max(6 * moment_Nmm / (STRESS_MPA * thickness_mm**2), held.wide_mm, 30.0)
    width_mm = sizes.width_mm or _up(wide_mm)
    plate_mm = 90.0
    holes = tuple((along, width_mm / 2, _HOOK_HOLE_MM) for along in (14.0, 50.0))
    return PresetStrip(
        frame=Frame(legs_mm=(plate_mm, arm_mm, 28.0), angles_deg=(90.0, 70.0)),
        thickness_mm=thickness_mm,
        width_mm=width_mm,
        holes_mm=holes,
    )


_BUILD: dict[StripKind, Callable[[StripKind, HeldThing, PresetSizes], PresetStrip]] = {
    StripKind.BOOK_END: _book_end,
    StripKind.WALL_HOOK: _wall_hook,
}


def _up(length_mm: float) -> float:
    """Return a length rounded up to 5 mm."""
    return 5.0 * ceil(length_mm / 5.0 - 1e-9)
