"""Whether raised characters can be read by touch."""

from __future__ import annotations

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.outlines import Outline

LEAST_RELIEF_MM = 0.8
LEAST_CHARACTER_MM = 16.0
MOST_CHARACTER_MM = 51.0

_BASIS = "2010 ADA Standards for Accessible Design, 703.2"


def check_tactile(case: Case) -> tuple[Finding, ...]:
    """Ask, where wanted, for the relief and the height of raised characters. Notes only."""
    if not case.tactile:
        return ()
    findings = []
    for outline in case.outlines:
        if outline.raised and outline.parent and not outline.region.is_empty:
            findings += _character(outline)
    return tuple(findings)


def _character(outline: Outline) -> list[Finding]:
    low, high = outline.region.bounds[1], outline.region.bounds[3]
    asked = [
        ("tactile-relief", "the relief is too low to feel", outline.height_mm,
         LEAST_RELIEF_MM, outline.height_mm < LEAST_RELIEF_MM, "Raise it to 0.8 mm or more."),
        ("tactile-small", "characters are too low to read by touch", high - low,
         LEAST_CHARACTER_MM, high - low < LEAST_CHARACTER_MM, "Make characters 16 mm high."),
        ("tactile-large", "characters are too high to read by touch", high - low,
         MOST_CHARACTER_MM, high - low > MOST_CHARACTER_MM, "Keep characters within 51 mm."),
    ]  # fmt: skip
    return [
        Finding(
            code=code,
            severity=Severity.NOTE,
            says=says,
            measured=measured,
            limit=limit,
            unit="mm",
            subject=outline.name,
            basis=_BASIS,
            advice=advice,
        )
        for code, says, measured, limit, breaks, advice in asked
        if breaks
    ]
