"""Calibrate: what a bent test strip says about the neutral line and the spring back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import radians, sqrt, tan
from statistics import fmean, stdev
from typing import Annotated

from moldgen.bend.heat.dwell import ROOM_degC, coldest_degC, least_sides, target_degC
from moldgen.bend.heat.strip_heat import LineSetup, heated_strip
from moldgen.bend.strip.part import Bend, StripSpec
from moldgen.errors import SpecError
from moldgen.physics.bending import neutral_from_lengths
from moldgen.physics.bisection import narrowed
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.plastic import Plastic
from moldgen.stock.strip_heater import StripHeater
from moldgen.wording import gauge_text

PRACTICE = "common practice, no source; bend a test strip"


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredOverbend:
    """How much further than asked a bend is pressed, because it springs back.

    Attributes
    ----------
    deg, low_deg, high_deg : float
        The value to use and the band it is uncertain by. [°]
    basis : str
        A test strip, or common practice.
    """

    deg: float
    low_deg: float
    high_deg: float
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Neutral:
    """Where the neutral line is.

    Attributes
    ----------
    ratio : float
        Distance from the inside face over thickness; `StripSpec.neutral`. [-]
    within : float
        Half width of the band it is uncertain by. [-]
    n_strips : int
        Test strips it comes from.
    """

    ratio: float
    within: float
    n_strips: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BentTestStrip(Spec):
    """A test strip, measured before and after it was bent."""

    flat_mm: Annotated[float, Quantity("mm", "length before bending", above=0, at_most=3000)]
    legs_mm: Annotated[tuple[float, float], Meaning("both legs, to the corner of the outer faces")]
    angle_deg: Annotated[float, Quantity("°", "rotation from flat", at_least=30, at_most=150)] = 90
    inside_radius_mm: Annotated[
        float, Quantity("mm", "inside radius as it came out", at_least=0, at_most=500)
    ]
    thickness_mm: Annotated[float, Quantity("mm", "thickness", above=0, at_most=25)]

    @property
    def neutral(self) -> float:
        """Where its neutral line was, from the inside face over thickness."""
        return neutral_from_lengths(
            self.legs_mm, self.flat_mm, self.angle_deg, self.inside_radius_mm, self.thickness_mm
        )


def neutral_from_test_strip(*strips: BentTestStrip, reading_mm: float = 0.2) -> Neutral:
    """Return where the neutral line is, from one or more test strips.

    Parameters
    ----------
    strips : BentTestStrip
        Test strips of the plastic and gauge in hand.
    reading_mm : float, default 0.2
        How well each length was read. [mm]

    Returns
    -------
    Neutral
        The mean. The band comes from the readings (two legs, the length, the radius), or from
        the scatter of the strips if that is wider.

    Raises
    ------
    SpecError
        If there is no strip, or the mean lies outside the thickness.

    Examples
    --------
    >>> strip = BentTestStrip(
    ...     flat_mm=100, legs_mm=(53.11, 53.11), inside_radius_mm=6, thickness_mm=3
    ... )
    >>> round(neutral_from_test_strip(strip).ratio, 2)
    0.5
    """
    if not strips:
        raise SpecError("strips", "at least one", "none", "Bend a strip and measure it.")
    ratios = [strip.neutral for strip in strips]
    ratio = fmean(ratios)
    if not 0 < ratio <= 1:
        raise SpecError(
            "test strip",
            "measured so that the neutral line lies within the thickness, 0 to 1",
            f"{ratio:.2f}",
            "Measure both legs to the corner of the outer faces, and the radius inside.",
        )
    within = fmean(_reading_error(strip, reading_mm) for strip in strips) / sqrt(len(strips))
    scatter = stdev(ratios) / sqrt(len(ratios)) if len(ratios) > 1 else 0.0
    return Neutral(ratio=ratio, within=max(within, scatter), n_strips=len(strips))


def overbend_from_test_strip(
    *pressed_and_came_out_deg: tuple[float, float], reading_deg: float = 0.5
) -> MeasuredOverbend:
    """Return the overbend from bends measured after they had cooled.

    Parameters
    ----------
    pressed_and_came_out_deg : pairs of float
        Angle of the jig and angle of the cold bend, both as rotation from flat. [°]
    reading_deg : float, default 0.5
        How well an angle was read. [°]

    Raises
    ------
    SpecError
        If there is no pair, or a bend did not spring back but closed, or opened by more than
        30°.

    Examples
    --------
    >>> overbend_from_test_strip((90, 88.5)).deg
    1.5
    """
    if not pressed_and_came_out_deg:
        raise SpecError("test strip", "at least one", "none", "Bend a strip and measure it.")
    backs = [pressed - came_out for pressed, came_out in pressed_and_came_out_deg]
    for back in backs:
        if not -reading_deg <= back <= 30:
            raise SpecError(
                "test strip",
                "open by 0° to 30° after bending",
                f"{back:g}°",
                "Give the jig's angle first, both angles as rotation from flat.",
            )
    deg = max(0.0, fmean(backs))
    scatter = stdev(backs) if len(backs) > 1 else 0.0
    within = max(reading_deg, scatter)
    basis = f"{len(backs)} test strip{'s' * (len(backs) > 1)}"
    return MeasuredOverbend(
        deg=deg, low_deg=max(0.0, deg - within), high_deg=deg + within, basis=basis
    )


def heater_from_timed_strip(
    heater: StripHeater, strip: StripSpec, bend: Bend, plastic: Plastic, *, side_s: float
) -> StripHeater:
    """Return a strip heater as hot as it must be for a dwell that was found right.

    Parameters
    ----------
    heater, strip, bend, plastic
        As for `moldgen.bend.heat.dwell.dwell`.
    side_s : float
        How long a side took, with the usual number of turns. [s]

    Returns
    -------
    StripHeater
        The same with another ``element_degC``, which is an effective one.

    Raises
    ------
    SpecError
        If no temperature from 50 to 1200 °C gives that dwell.
    """
    Quantity("s", "time of a side", above=0, at_most=3600).check("side_s", side_s)
    wanted = target_degC(bend, plastic), coldest_degC(bend, plastic)
    n_sides = least_sides(strip.thickness_mm, bend, heater)

    def enough(element_degC: float) -> bool:
        bench = LineSetup(
            thickness_mm=strip.thickness_mm,
            heater=replace(heater, element_degC=element_degC),
            plastic=plastic,
            room_degC=ROOM_degC,
        )
        return heated_strip(bench, n_sides, side_s).short_K(*wanted) <= 0

    lowest_degC, highest_degC = 50.0, 1200.0
    if not enough(highest_degC):
        raise SpecError(
            "side_s",
            f"long enough for {gauge_text(strip.thickness_mm)} {plastic.name}",
            f"{side_s:g} s",
            "Time a side until the strip just bends by itself.",
        )
    _, found_degC = narrowed(enough, lowest_degC, highest_degC, within=0.5)
    return replace(heater, element_degC=round(found_degC))


def _reading_error(strip: BentTestStrip, reading_mm: float) -> float:
    """Error of K from lengths read so well: both legs, flat length and radius, in quadrature."""
    A, T = radians(strip.angle_deg), strip.thickness_mm
    by_radius = abs(2 * tan(A / 2) - A)
    return reading_mm * sqrt(3 + by_radius**2) / (A * T)
