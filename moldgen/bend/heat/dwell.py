"""Dwell: how long a bend line is heated, when it is turned over, how long it is held."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from moldgen.bend.heat.dwell_text import dwell_steps, one_face_steps
from moldgen.bend.heat.strip_heat import HeatTable, heat_table, hold_table
from moldgen.bend.strip.part import FOLD_DEG, Bend, StripSpec
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.physics.heat.heating import Matter
from moldgen.stock.entry import Structure
from moldgen.stock.line_bending import bending_window
from moldgen.stock.plastic import Plastic
from moldgen.stock.strip_heater import ElementKind, StripHeater

ROOM_degC = 20.0
WOOD = Matter(conductivity_W_mK=0.14, density_kg_m3=750, heat_J_kgK=1700)
"""Facing of a jig: fiberboard; generic data, from memory."""
WITHIN = 0.3
"""Share by which a dwell may be wrong: specific heat 15 %, absorbed share 20 %, heater 15 %, in
quadrature; derived. A timed strip narrows it (`timed_heater`)."""
_MOST_SIDES = 8
_TURNED_mm = 2.5
"""From this thickness on a strip is turned over; common practice, no source."""
_LONGEST_STEP_s = 60.0
"""A strip that cannot be turned over is lifted off after each; common practice, no source."""
_QUICKEST_TURN_s = 30.0
"""Nobody turns a strip over more often; one trade page, brand withheld, 30 to 60 s."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dwell:
    """How a bend is heated and held.

    Attributes
    ----------
    side_s : float
        How long each side is heated before the strip is turned over. [s]
    n_sides, turns : int
        How many times a side is heated, and the strip turned over.
    band_s : pair of float
        The side time, uncertain as it is, lies between these. [s]
    hold_s, hold_band_s : float, pair of float
        Until it is stiff in the jig, and between what. [s]
    target_degC, mean_degC, coldest_degC : float
        What the thickness should reach on average and reaches; and its coldest part. [°C]
    limit_degC, hottest_degC, back_degC : float
        What no face may pass; the hottest that either face gets; and the hottest of the face
        turned away from the element. [°C]
    steps : tuple of str
        What to do, a sentence each.
    findings : tuple of Finding
        What is doubtful.
    step_s : float or None
        Heated from one face only, in steps this long; ``side_s`` is then the time in all, and the
        temperatures are those of the strip turned over, which the steps should come near. [s]
    """

    side_s: float
    n_sides: int
    turns: int
    band_s: tuple[float, float]
    hold_s: float
    hold_band_s: tuple[float, float]
    target_degC: float
    mean_degC: float
    coldest_degC: float
    limit_degC: float
    hottest_degC: float
    back_degC: float
    steps: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    step_s: float | None = None

    @property
    def total_s(self) -> float:
        """All sides together, in seconds."""
        return self.side_s * self.n_sides


def dwell(
    strip: StripSpec,
    bend: Bend,
    heater: StripHeater,
    plastic: Plastic,
    *,
    room_degC: float = ROOM_degC,
    jig: Matter = WOOD,
) -> Dwell:
    """Return how long to heat a bend, how often to turn the strip over, and how long to hold it.

    Parameters
    ----------
    strip, bend : StripSpec, Bend
        The strip and one of its bends.
    heater : StripHeater
        What it is heated on.
    plastic : Plastic
        What it is made of.
    room_degC : float
        Air and strip to begin with. [°C]
    jig : Matter
        What the inside of the bend lies on while it stiffens.

    Returns
    -------
    Dwell
        As few turns as keep both faces below the upper limit; the thickness reaches
        `target_degC` on average, and the lower limit everywhere.

    Raises
    ------
    SpecError
        If the heater cannot bring the strip there in any time.

    Notes
    -----
    Heat moves through the thickness only; what flows sideways out of the soft strip, and light
    that goes deep into clear plastic, are within the band. Try a test strip first.
    """
    few, n_sides, side_s = _chosen(strip, bend, heater, plastic, room_degC)
    table = heat_table(strip.thickness_mm, heater, plastic, room_degC, few)
    profile = table.at(table.ends, n_sides, side_s)
    hottest_degC = float(table.at(table.hottest, n_sides, side_s))
    holds = hold_table(
        strip.thickness_mm,
        heater,
        plastic,
        room_degC=room_degC,
        jig=jig,
        n_sides=n_sides,
        most_sides=few,
    )
    hold_s, slow_s = holds.at(side_s)
    return Dwell(
        side_s=side_s,
        n_sides=n_sides,
        turns=n_sides - 1,
        band_s=(side_s * (1 - WITHIN), side_s / (1 - WITHIN)),
        hold_s=hold_s,
        hold_band_s=(hold_s * (1 - WITHIN), max(slow_s, hold_s / (1 - WITHIN))),
        target_degC=target_degC(bend, plastic),
        mean_degC=float(profile.mean()),
        coldest_degC=float(profile.min()),
        limit_degC=bending_window(plastic).upper_degC,
        hottest_degC=hottest_degC,
        back_degC=float(table.at(table.backs, n_sides, side_s)),
        steps=dwell_steps(bend, side_s=side_s, n_sides=n_sides, hold_s=hold_s, sides=heater.sides),
        findings=tuple(_doubts(heater, plastic, hottest_degC)),
    )


def from_one_face(one: Dwell, bend: Bend, *, marks_up: bool) -> Dwell:
    """Return the dwell of a bend that cannot be turned over: as long in all, in steps.

    Parameters
    ----------
    one : Dwell
        As it would be, turned over.
    bend : Bend
        What is bent.
    marks_up : bool
        Whether its line lies over the element with the marks up.
    """
    if one.n_sides == 1:
        return one
    step_s = min(one.side_s, _LONGEST_STEP_s)
    low_s, high_s = one.band_s
    return replace(
        one,
        side_s=one.total_s,
        n_sides=1,
        turns=0,
        band_s=(low_s * one.n_sides, high_s * one.n_sides),
        step_s=step_s,
        steps=one_face_steps(
            bend, total_s=one.total_s, step_s=step_s, hold_s=one.hold_s, marks_up=marks_up
        ),
    )


def target_degC(bend: Bend, plastic: Plastic) -> float:
    """Return how hot the thickness must be on average.

    The best temperature of the plastic's `bending_window` for a right angle; less for an open
    bend, down to the lower limit, and as much more for a closed fold. Common practice, no source.
    """
    window = bending_window(plastic)
    share = bend.angle_deg / 90.0
    return window.lower_degC + share * (window.best_degC - window.lower_degC)


def coldest_degC(bend: Bend, plastic: Plastic) -> float:
    """Return how hot every part of the thickness must be.

    Amorphous plastics bend from 10 K above their glass transition and well from 40 K above it
    (common practice, no source): the sharper the bend, the more; the lower limit is enough for
    any plastic.
    """
    lower_degC = bending_window(plastic).lower_degC
    if plastic.structure is Structure.CRYSTALLINE:
        return lower_degC
    return min(lower_degC, plastic.glass_degC + 10 + 30 * bend.angle_deg / FOLD_DEG)


def least_sides(thickness_mm: float, bend: Bend, heater: StripHeater) -> int:
    """Return how often a side is heated at least.

    Thin sheet once; from 2.5 mm a bend twice and a closed fold three times, its outside last.
    Common practice, no source; trade guides turn acrylic above 3 mm only.
    """
    if heater.sides == 2 or thickness_mm < _TURNED_mm:
        return 1
    return 3 if bend.is_fold else 2


def _chosen(
    strip: StripSpec, bend: Bend, heater: StripHeater, plastic: Plastic, room_degC: float
) -> tuple[int, int, float]:
    """Return how many sides were followed, how many to heat, and for how long each.

    The usual number, if the faces bear it; else the fewest that they bear, or bear best.
    """
    usual = least_sides(strip.thickness_mm, bend, heater)
    most = 1 if heater.sides == 2 else _MOST_SIDES
    wanted = target_degC(bend, plastic), coldest_degC(bend, plastic)
    limit_degC = bending_window(plastic).upper_degC
    best = None
    for few in dict.fromkeys((usual, most)):
        table = heat_table(strip.thickness_mm, heater, plastic, room_degC, few)
        best = _best(table, range(usual, few + 1), wanted, limit_degC)
        if best and best[0] <= limit_degC:
            break
    if best is None:
        short_K = float(table.short_K(*wanted).min())
        raise _too_cool(strip, heater, plastic, wanted[0], wanted[0] - short_K)
    return few, *best[1:]


def _best(
    table: HeatTable, numbers: range, wanted: tuple[float, float], limit_degC: float
) -> tuple[float, int, float] | None:
    """Return hottest face, number and time of the first sides below the limit, or the least."""
    best = None
    for n_sides in numbers:
        side_s = table.side_s(n_sides, *wanted)
        if side_s is None or (best and side_s < _QUICKEST_TURN_s):
            continue
        peak_degC = float(table.at(table.hottest, n_sides, side_s))
        if best is None or peak_degC < best[0] - 0.5:
            best = (peak_degC, n_sides, side_s)
        if peak_degC <= limit_degC:
            break
    return best


def _doubts(heater: StripHeater, plastic: Plastic, hottest_degC: float) -> Iterator[Finding]:
    limit_degC = bending_window(plastic).upper_degC
    if hottest_degC > limit_degC:
        yield Finding(
            code="face-too-hot",
            severity=Severity.CAUTION,
            says="a face gets hotter than the plastic bears before the middle is soft",
            measured=hottest_degC,
            limit=limit_degC,
            unit="°C",
            subject=heater.name,
            basis="line bending temperatures, common practice",
            advice="Raise the strip above the element, or turn the heat down; time a test strip.",
        )
    if "PVC" in plastic.name and heater.element is ElementKind.WIRE:
        yield Finding(
            code="pvc-at-bare-wire",
            severity=Severity.STOP,
            says="PVC that touches a glowing wire gives off hydrogen chloride",
            subject=plastic.name,
            basis="common practice, no source",
            advice="Bend it over a covered element or a contact bar, in moving air.",
        )


def _too_cool(
    strip: StripSpec, heater: StripHeater, plastic: Plastic, wanted_degC: float, best_degC: float
) -> SpecError:
    return SpecError(
        "strip_heater",
        f"able to bring {strip.thickness_mm:g} mm {plastic.name} to {wanted_degC:.0f} °C",
        f"{heater.name}, which brings it to {best_degC:.0f} °C at most",
        "Take a hotter strip heater, or bring the strip nearer to the element.",
    )
