"""Part: a bent strip as it is asked for: legs, bends, plastic, holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

from shapely import MultiPolygon

from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.errors import SpecError
from moldgen.physics.bending import allowance_mm
from moldgen.quantity import Meaning, Quantity, Spec

USUAL_RADIUS = 2.0
"""Inside radius over thickness where none is given; common practice, no source."""
FOLD_DEG = 180.0
"""The bend angle of a closed fold: the strip turns back on itself."""
_ANGLE = Quantity("°", "rotation from flat", above=0, at_most=FOLD_DEG)
_LEG = Quantity("mm", "a leg", above=0, at_most=3000)
_ALONG = Quantity("mm", "from the left end of the flat strip", at_least=0, at_most=10000)
_ACROSS = Quantity("mm", "from the near edge of the strip", at_least=0, at_most=2000)
_HOLE = Quantity("mm", "diameter of a hole", above=0, at_most=500)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend(Spec):
    """One bend.

    Raises
    ------
    SpecError
        If a number is out of range, a gap is given for anything but a closed fold, or gap and
        radius contradict each other.
    """

    angle_deg: Annotated[float, _ANGLE]
    turn: Annotated[Turn, Meaning("up, toward the marks, or down")] = Turn.UP
    inside_radius_mm: Annotated[
        float | None,
        Quantity("mm", "inside radius; 2 x thickness if none", at_least=0, at_most=1000),
    ] = None
    gap_mm: Annotated[
        float | None, Quantity("mm", "what a closed fold must hold", at_least=0, at_most=500)
    ] = None

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if self.gap_mm is None:
            return
        if not self.is_fold:
            raise SpecError(
                "gap_mm",
                "given for a closed fold only",
                f"{self.gap_mm:g} mm at a bend of {self.angle_deg:g}°",
                "Leave it out, or make the bend 180°.",
            )
        radius_mm = self.inside_radius_mm
        if radius_mm is not None and abs(2 * radius_mm - self.gap_mm) > 1e-6:
            raise SpecError(
                "gap_mm",
                f"twice the inside radius, {2 * radius_mm:g} mm",
                f"{self.gap_mm:g} mm",
                "Give one of the two.",
            )

    @property
    def is_fold(self) -> bool:
        """Whether the strip turns back on itself."""
        return self.angle_deg == FOLD_DEG

    def radius_mm(self, thickness_mm: float) -> float:
        """Return the inside radius: given, half the gap, or twice the thickness, in mm."""
        if self.inside_radius_mm is not None:
            return self.inside_radius_mm
        if self.gap_mm is not None:
            return self.gap_mm / 2
        return USUAL_RADIUS * thickness_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class StripSpec(Spec):
    """A bent strip as it is asked for.

    Attributes
    ----------
    legs_mm : tuple of float
        From left to right, one more than there are bends, measured as `legs_by` says. [mm]
    holes : tuple of (along_mm, across_mm, diameter_mm)
        Round holes on the flat strip: center from the left end, center from the near edge,
        diameter. [mm]
    outline : MultiPolygon or None
        A flat strip of its own shape, x along from the left end, y across from the near edge,
        holes in it included; None for a rectangle. [mm]
    overbend_deg : float or None
        How much further than asked each bend is pressed, because it springs back; None for what
        is usual for the plastic. [°]

    Raises
    ------
    SpecError
        If a number is out of range, there is not one leg more than bends, or a hole leaves the
        strip's width.
    """

    name: Annotated[str, Meaning("what findings and drawings call it")]
    thickness_mm: Annotated[float, Quantity("mm", "thickness of the sheet", above=0, at_most=25)]
    width_mm: Annotated[float, Quantity("mm", "width of the strip", above=0, at_most=2000)]
    plastic: Annotated[str, Meaning("the sheet plastic, a name from the stock")]
    legs_mm: Annotated[tuple[float, ...], Meaning("the legs, left to right")]
    legs_by: Annotated[LegsBy, Meaning("outside, inside or flat")] = LegsBy.OUTSIDE
    bends: Annotated[tuple[Bend, ...], Meaning("the bends, left to right")]
    neutral: Annotated[
        float,
        Quantity("", "neutral line from the inside face over thickness", above=0, at_most=1),
    ] = 0.5
    holes: Annotated[
        tuple[tuple[float, float, float], ...], Meaning("along, across and diameter of each hole")
    ] = ()
    outline: Annotated[MultiPolygon | None, Meaning("the flat strip if it is not a rectangle")] = (
        None
    )
    overbend_deg: Annotated[
        float | None,
        Quantity(
            "°", "pressed further than asked; usual for the plastic if none", at_least=0, at_most=30
        ),
    ] = None

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_legs(self)
        for number, (along_mm, across_mm, diameter_mm) in enumerate(self.holes, 1):
            _check_hole(self, number, along_mm, across_mm, diameter_mm)

    @property
    def radii_mm(self) -> tuple[float, ...]:
        """Inside radius of every bend, computed where none is given, in mm."""
        return tuple(bend.radius_mm(self.thickness_mm) for bend in self.bends)

    @property
    def allowances_mm(self) -> tuple[float, ...]:
        """Length of the neutral line in every bend, in mm."""
        return tuple(
            allowance_mm(bend.angle_deg, radius_mm, self.thickness_mm, neutral=self.neutral)
            for bend, radius_mm in zip(self.bends, self.radii_mm, strict=True)
        )


def strip_from_marks(
    marks_mm: Sequence[float], bends: Sequence[Bend], length_mm: float, **rest: object
) -> StripSpec:
    """Return the strip that has its bends at marks on the flat strip.

    Parameters
    ----------
    marks_mm : sequence of float
        Middle of each bend from the left end, rising. [mm]
    bends : sequence of Bend
        The bend at each mark.
    length_mm : float
        Length of the flat strip. [mm]
    rest
        The other fields of `StripSpec`.

    Raises
    ------
    SpecError
        If the marks do not rise from one end of the strip to the other, or are not as many as
        the bends.

    Examples
    --------
    >>> strip = strip_from_marks([80.0], [Bend(angle_deg=90)], 200.0, name="rest",
    ...     thickness_mm=3.0, width_mm=60.0, plastic="PMMA cast")
    >>> strip.legs_mm
    (80.0, 120.0)
    """
    if len(marks_mm) != len(bends):
        raise SpecError(
            "marks_mm", f"as many as the bends, {len(bends)}", f"{len(marks_mm)}", "Mark each bend."
        )
    places = (0.0, *marks_mm, length_mm)
    for before, after in pairwise(places):
        if not after > before:
            raise SpecError(
                "marks_mm",
                f"rising from 0 to the length of the strip, {length_mm:g} mm",
                f"{after:g} mm after {before:g} mm",
                "Measure every mark from the left end.",
            )
    legs_mm = tuple(after - before for before, after in pairwise(places))
    return StripSpec(legs_mm=legs_mm, legs_by=LegsBy.FLAT, bends=tuple(bends), **rest)  # type: ignore[arg-type]


def _check_legs(strip: StripSpec) -> None:
    if len(strip.legs_mm) != len(strip.bends) + 1:
        raise SpecError(
            "legs_mm",
            f"one more than the bends, {len(strip.bends) + 1}",
            f"{len(strip.legs_mm)}",
            "Give a leg on each side of every bend.",
        )
    for number, leg_mm in enumerate(strip.legs_mm, 1):
        _LEG.check(f"leg {number}", leg_mm)


def _check_hole(
    strip: StripSpec, number: int, along_mm: float, across_mm: float, diameter_mm: float
) -> None:
    where = f"hole {number}"
    _ALONG.check(f"{where} along_mm", along_mm)
    _ACROSS.check(f"{where} across_mm", across_mm)
    _HOLE.check(f"{where} diameter_mm", diameter_mm)
    room_mm = min(across_mm, strip.width_mm - across_mm)
    if diameter_mm / 2 >= room_mm:
        raise SpecError(
            f"{where} across_mm",
            f"within the strip, 0 to {strip.width_mm:g} mm, with its whole diameter",
            f"{across_mm:g} mm for a hole of {diameter_mm:g} mm",
            "Move the hole in from the edge, or make it smaller.",
        )
