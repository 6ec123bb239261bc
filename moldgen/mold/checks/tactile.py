"""Whether characters can be read by touch: relief, height, strokes and spacing.

What is felt is the formed part. Over a male mold the sheet lies between finger and mold: it makes
strokes thicker and gaps narrower by its gauge on either side, and that is counted here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, radians, tan

import numpy as np
import shapely

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.widths import widths_across
from moldgen.mold.width_rule import EXTRA_MM, least_stroke_mm

LEAST_RELIEF_MM = 0.8
LEAST_CHARACTER_MM = 16.0
MOST_CHARACTER_MM = 51.0
MOST_STROKE = 0.15
"""Thickest stroke over the height of a character. [-]."""
LEAST_TOP_GAP_MM = 3.2
"""Between characters, at the top of their walls. [mm]."""
LEAST_FOOT_GAP_MM = 1.6
"""Between characters, at the foot of their walls. [mm]."""

_STANDARD = "2010 ADA Standards for Accessible Design, 703.2"
_ACCENT = 0.5
"""A piece smaller than this share of a character is a dot or an accent. [-]."""


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A character, and the feature it belongs to."""

    polygon: shapely.Polygon
    of: Outline

    @property
    def longest_mm(self) -> float:
        """Its longer side. [mm]."""
        x0, y0, x1, y1 = self.polygon.bounds
        return float(max(x1 - x0, y1 - y0))

    @property
    def lean_mm(self) -> float:
        """How far the foot of its wall is outside its top. [mm]."""
        return self.of.height_mm * tan(radians(self.of.draft_deg or 0.0))


def check_tactile(case: Case) -> tuple[Finding, ...]:
    """Ask, where wanted, what the standard asks of raised characters. Notes only."""
    if not case.tactile:
        return ()
    characters = _characters(case)
    if not characters:
        return (_nothing_raised(),)
    findings = []
    for outline in characters:
        findings += [*_size(outline), *_stroke(case, outline)]
    for parent in dict.fromkeys(outline.parent for outline in characters):
        findings += _spacing(case, [one for one in characters if one.parent == parent])
    return tuple(findings)


def _characters(case: Case) -> list[Outline]:
    """Return what stands out of the formed part: on a plaque, else straight on the table."""
    outlines = [one for one in case.outlines if not one.region.is_empty]
    raised = [one for one in outlines if one.raised == (case.side == "male")]
    carried = [one for one in raised if one.parent]
    carriers = {one.parent for one in outlines}
    return carried or [one for one in raised if one.name not in carriers]


def _sheet_mm(case: Case) -> float:
    """Return how much thicker the sheet makes what is felt: nothing on the side of the mold."""
    return 2 * case.sheet.gauge_mm if case.side == "male" else 0.0


def _height_mm(outline: Outline) -> float:
    """Return the height of a feature's usual character, as its lines are read. [mm].

    Dots and accents do not count, and a few letters with a tail or an accent grown on do not tell.
    """
    bounds = shapely.bounds(shapely.get_parts(outline.region))
    heights = bounds[:, 3] - bounds[:, 1]
    return float(np.median(heights[heights >= _ACCENT * heights.max()]))


def _size(outline: Outline) -> list[Finding]:
    relief, height = outline.height_mm, _height_mm(outline)
    asked = [
        ("tactile-relief", "the relief is too low to feel", relief,
         LEAST_RELIEF_MM, relief < LEAST_RELIEF_MM, "Raise it to 0.8 mm or more."),
        ("tactile-small", "characters are too low to read by touch", height,
         LEAST_CHARACTER_MM, height < LEAST_CHARACTER_MM, "Make characters 16 mm high."),
        ("tactile-large", "characters are too high to read by touch", height,
         MOST_CHARACTER_MM, height > MOST_CHARACTER_MM, "Keep characters within 51 mm."),
    ]  # fmt: skip
    return [
        _finding(
            code=code,
            says=says,
            measured=measured,
            limit=limit,
            subject=outline.name,
            advice=advice,
        )
        for code, says, measured, limit, breaks, advice in asked
        if breaks
    ]


def _stroke(case: Case, outline: Outline) -> list[Finding]:
    height = _height_mm(outline)
    usual = _usual_stroke_mm(outline, reach_mm=height)
    felt, most = usual + _sheet_mm(case), MOST_STROKE * height
    if not usual or felt <= most + 1e-9:
        return []
    return [
        _finding(
            code="tactile-stroke",
            says="strokes, with the sheet on either side, are too thick for touch",
            measured=felt, limit=most, subject=outline.name, advice=_lighter(case, outline, most),
        )
    ]  # fmt: skip


def _usual_stroke_mm(outline: Outline, *, reach_mm: float) -> float:
    """Return the stroke that half of all border is narrower than; 0 if there are none. [mm]."""
    widths = widths_across(outline.region, reach_mm=reach_mm, inward=True)
    if not len(widths.widths_mm):
        return 0.0
    order = np.argsort(widths.widths_mm)
    length = np.cumsum(widths.shares_mm[order])
    return float(widths.widths_mm[order][np.searchsorted(length, length[-1] / 2)])


def _lighter(case: Case, outline: Outline, most_mm: float) -> str:
    """Return how strokes get fine enough and still form."""
    sheet, gauge = _sheet_mm(case), case.sheet.gauge_mm
    largest = MOST_STROKE * MOST_CHARACTER_MM
    forms = least_stroke_mm(gauge, outline.height_mm)
    if most_mm - sheet >= forms:
        return f"Take a lighter font, with strokes of at most {_down(most_mm - sheet)} mm."
    if forms + sheet <= largest:
        height = ceil((forms + sheet) / MOST_STROKE)
        return f"Take letters of {height} mm, in a font with strokes of {forms:.1f} mm."
    if least_stroke_mm(gauge, 0.0) + sheet <= largest:
        return (
            f"Make the relief {_down(largest - sheet)} mm or lower, then take larger, lighter ones."
        )
    gauges = 4 if sheet else 2
    return (
        f"Take a sheet of at most {_down((largest - EXTRA_MM) / gauges)} mm and larger, lighter "
        "letters: in this one no stroke that forms is fine enough."
    )


def _down(value_mm: float) -> str:
    """Return a length to a tenth, never more than it is. [mm]."""
    return f"{floor(10 * value_mm + 1e-6) / 10:.1f}"


def _spacing(case: Case, characters: list[Outline]) -> list[Finding]:
    """Ask for the gap between the two characters of a message that are nearest each other."""
    pieces = [_Piece(part, one) for one in characters for part in shapely.get_parts(one.region)]
    least = _ACCENT * max(_height_mm(one) for one in characters)
    pieces = [one for one in pieces if one.longest_mm >= least]
    if len(pieces) < 2:
        return []
    polygons = [one.polygon for one in pieces]
    pairs, gaps = shapely.STRtree(polygons).query_nearest(
        polygons, exclusive=True, return_distance=True
    )
    nearest = int(np.argmin(gaps))
    one, other = (pieces[int(k)] for k in pairs[:, nearest])
    top = float(gaps[nearest]) - _sheet_mm(case)
    foot = top - one.lean_mm - other.lean_mm
    lacks = [(LEAST_TOP_GAP_MM - top, top, "tops"), (LEAST_FOOT_GAP_MM - foot, foot, "feet")]
    lack, gap, where = max(lacks)
    if lack <= 1e-9:
        return []
    middle = shapely.get_coordinates(shapely.shortest_line(one.polygon, other.polygon)).mean(axis=0)
    return [
        _finding(
            code="tactile-spacing",
            says=f"characters are too close for touch, with the sheet; their {where}",
            measured=max(gap, 0.0), limit=gap + lack, subject=one.of.name,
            advice=f"Set letters {ceil(10 * lack - 1e-6) / 10:.1f} mm farther apart.",
            where_mm=case.place(np.array([*middle, one.of.z_mm + one.of.height_mm])),
        )
    ]  # fmt: skip


def _nothing_raised() -> Finding:
    return Finding(
        code="tactile-none",
        severity=Severity.NOTE,
        says="nothing stands out of the part to be read by touch",
        basis=_STANDARD,
        advice="Raise the letters: what is sunk is not read.",
    )


def _finding(
    *,
    code: str,
    says: str,
    measured: float,
    limit: float,
    subject: str,
    advice: str,
    where_mm: tuple[float, float, float] | None = None,
) -> Finding:
    return Finding(
        code=code,
        severity=Severity.NOTE,
        says=says,
        measured=measured,
        limit=limit,
        unit="mm",
        where_mm=where_mm,
        subject=subject,
        basis=_STANDARD,
        advice=advice,
    )
