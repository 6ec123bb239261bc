"""Flat: the strip laid flat, as layout makes it and everything after reads it."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.bend.strip.part import Bend, StripSpec
from moldgen.finding import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class BendLine:
    """Where a bend is on the flat strip; lengths from its left end.

    Attributes
    ----------
    number : int
        1 for the leftmost.
    bend : Bend
        As asked for.
    radius_mm : float
        Inside radius, computed if none was given. [mm]
    center_mm : float
        The line to mark and to heat: middle of the bend. [mm]
    from_previous_mm, to_next_mm : float
        From the middle of the bend before or the left end; to the next or the right end. [mm]
    start_mm, end_mm : float
        Tangent lines, between which the strip is curved. [mm]
    allowance_mm : float
        Length between the tangent lines, along the neutral line. [mm]
    setback_mm : float or None
        From a tangent line to the corner of the outer faces; none at a closed fold. [mm]
    deduction_mm : float
        By how much the two outside legs exceed the flat strip. At a closed fold they are
        measured to the crest. [mm]
    heated_width_mm : float
        How wide the strip must be soft. [mm]
    stretch : float
        Share by which the outside face gets longer. [-]
    """

    number: int
    bend: Bend
    radius_mm: float
    center_mm: float
    from_previous_mm: float
    to_next_mm: float
    start_mm: float
    end_mm: float
    allowance_mm: float
    setback_mm: float | None
    deduction_mm: float
    heated_width_mm: float
    stretch: float

    @property
    def name(self) -> str:
        """What findings call it."""
        return f"bend {self.number}"

    @property
    def hot_mm(self) -> tuple[float, float]:
        """Both edges of the soft strip, from the left end, in mm."""
        return self.center_mm - self.heated_width_mm / 2, self.center_mm + self.heated_width_mm / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A strip laid flat.

    Attributes
    ----------
    strip : StripSpec
        As asked for.
    developed_mm : float
        Length of the flat strip. [mm]
    lines : tuple of BendLine
        The bends, left to right.
    flats_mm : tuple of float
        Straight parts between tangent lines, one more than bends. [mm]
    findings : tuple of Finding
        What is doubtful without regard to a heater, gravest first.
    """

    strip: StripSpec
    developed_mm: float
    lines: tuple[BendLine, ...]
    flats_mm: tuple[float, ...]
    findings: tuple[Finding, ...] = ()
