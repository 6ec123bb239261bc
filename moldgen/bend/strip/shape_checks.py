"""Shape checks: whether a strip hits itself, and the gaps left in its closed folds."""

from __future__ import annotations

from moldgen.bend.strip.clash import TOUCH_MM
from moldgen.bend.strip.shape import StripShape
from moldgen.finding import Finding, Severity

_GEOMETRY = "geometry of the side view"


def check_clashes(shape: StripShape) -> tuple[Finding, ...]:
    """Return a finding for every two parts of a strip that would be in the same place."""
    return tuple(
        Finding(
            code="strip-hits-itself",
            severity=Severity.STOP,
            says=f"{clash.parts[0]} and {clash.parts[1]} would be in the same place, overlapping",
            measured=clash.depth_mm,
            limit=TOUCH_MM,
            unit="mm",
            where_mm=(clash.where_mm[0], 0.0, clash.where_mm[1]),
            subject=shape.strip.name,
            basis=_GEOMETRY,
            advice="Shorten one of the legs, or change an angle between them.",
        )
        for clash in shape.clashes()
    )


def check_gaps(shape: StripShape) -> tuple[Finding, ...]:
    """Return a finding for every closed fold, with the gap that is left in it."""
    findings = []
    for number, bend in enumerate(shape.strip.bends, 1):
        if bend.is_fold:
            wanted = 2 * bend.radius_mm(shape.strip.thickness_mm)
            measured = shape.gap_mm(number)
            wrong = measured < wanted - 0.01
            findings.append(
                Finding(
                    code="fold-gap",
                    severity=Severity.CAUTION if wrong else Severity.NOTE,
                    says="the gap left in the closed fold",
                    measured=measured,
                    limit=wanted,
                    unit="mm",
                    subject=f"bend {number}",
                    basis=_GEOMETRY,
                    advice="Lay an insert of this thickness into it while it stiffens.",
                )
            )
    return tuple(findings)
