"""Dwell: how long a bend line is heated, when it is turned over, how long it is held."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from moldgen.bend.heat.dwell_text import dwell_steps, one_face_steps
from moldgen.bend.heat.strip_heat import (
    LineSetup,
    LONGEST_SIDE_s,
    heated_strip,
    hold_s,
    shortest_side_s,
)
from moldgen.bend.strip.part import FOLD_DEG, Bend, StripSpec
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.physics.heat.heating import Matter
from moldgen.stock.entry import Structure
from moldgen.stock.line_bending import bending_window
from moldgen.stock.plastic import Plastic
from moldgen.stock.strip_heater import ElementKind, StripHeater
from moldgen.wording import gauge_text

ROOM_degC = 20.0
WOOD = Matter(conductivity_W_mK=0.14, density_kg_m3=750, heat_J_kgK=1700)
"""Facing of a jig: fiberboard; generic data, from memory."""
WITHIN = 0.3
"""Share by which a dwell may be wrong: specific heat 15 %, absorbed share 20 %, heater 15 %, in
quadrature; derived."""
WITHIN_TIMED = 0.15
"""Once a strip was timed on this heater: another angle and the reading stay; common practice."""
_MOST_SIDES = 8
_FIRST_GUESS_s_mm = 60.0
"""Where the search for a time begins, for each millimeter of thickness."""
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
    timed: bool = False,
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
    timed : bool
        Whether the heater is as hot as a timed strip found it.

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
    Heat moves through the thickness and sideways out of the line, over which the element shines
    most; light that goes deep into clear plastic is within the band. Try a test strip first.
    """
    bench = LineSetup(
        thickness_mm=strip.thickness_mm, heater=heater, plastic=plastic, room_degC=room_degC
    )
    n_sides, side_s = _chosen(bench, bend)
    heated = heated_strip(bench, n_sides, side_s)
    on_jig_s, in_air_s = hold_s(bench, heated.line_degC, jig)
    within = WITHIN_TIMED if timed else WITHIN
    band_s = (side_s * (1 - within), side_s / (1 - within))
    return Dwell(
        side_s=side_s,
        n_sides=n_sides,
        turns=n_sides - 1,
        band_s=band_s,
        hold_s=on_jig_s,
        hold_band_s=(on_jig_s * (1 - WITHIN), max(in_air_s, on_jig_s / (1 - WITHIN))),
        target_degC=target_degC(bend, plastic),
        mean_degC=float(heated.line_degC.mean()),
        coldest_degC=heated.coldest_degC,
        limit_degC=bending_window(plastic).upper_degC,
        hottest_degC=heated.hottest_degC,
        back_degC=heated.back_degC,
        steps=dwell_steps(
            bend, side_s=side_s, band_s=band_s, n_sides=n_sides, hold_s=on_jig_s,
            sides=heater.sides,
        ),
        findings=tuple(_doubts(heater, plastic, heated.hottest_degC)),
    )  # fmt: skip


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
            bend,
            total_s=one.total_s,
            band_s=(low_s * one.n_sides, high_s * one.n_sides),
            step_s=step_s,
            hold_s=one.hold_s,
            marks_up=marks_up,
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


def _chosen(bench: LineSetup, bend: Bend) -> tuple[int, float]:
    """Return how many sides to heat, and for how long each.

    The usual number, if the faces bear it; else the fewest that they bear, or bear best.
    """
    plastic, heater = bench.plastic, bench.heater
    usual = least_sides(bench.thickness_mm, bend, heater)
    most = 1 if heater.sides == 2 else _MOST_SIDES
    wanted = target_degC(bend, plastic), coldest_degC(bend, plastic)
    best = _best(bench, range(usual, max(usual, most) + 1), wanted)
    if best is None:
        short_K = heated_strip(bench, usual, LONGEST_SIDE_s).short_K(*wanted)
        raise _too_cool(bench, wanted[0], wanted[0] - short_K)
    return best[1:]


def _best(
    bench: LineSetup, numbers: range, wanted: tuple[float, float]
) -> tuple[float, int, float] | None:
    """Return hottest face, number and time of the first sides below the limit, or the least."""
    limit_degC = bending_window(bench.plastic).upper_degC
    best, all_s = None, _FIRST_GUESS_s_mm * bench.thickness_mm
    for n_sides in numbers:
        side_s = shortest_side_s(bench, n_sides, wanted, near_s=all_s / n_sides)
        if side_s is None or (best and side_s < _QUICKEST_TURN_s):
            break
        all_s = side_s * n_sides
        peak_degC = heated_strip(bench, n_sides, side_s).hottest_degC
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


def _too_cool(bench: LineSetup, wanted_degC: float, best_degC: float) -> SpecError:
    return SpecError(
        "strip_heater",
        f"able to bring {gauge_text(bench.thickness_mm)} {bench.plastic.name} "
        f"to {wanted_degC:.0f} °C",
        f"{bench.heater.name}, which brings it to {best_degC:.0f} °C at most",
        "Take a hotter strip heater, or bring the strip nearer to the element.",
    )
