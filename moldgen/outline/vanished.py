"""Parts of an outline that an offset or a radius leaves nothing of."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Polygon

from moldgen.finding import Finding, Severity
from moldgen.outline.region import place, size_mm


def parts_left_out(parts: Sequence[Polygon], *, subject: str, width_mm: float) -> list[Finding]:
    """Return the caution about parts too narrow to be made; nothing if there are none.

    Parameters
    ----------
    parts : sequence of Polygon
        What is left out. [mm]
    subject : str
        Feature they are of.
    width_mm : float
        Width that a part must have somewhere. [mm]
    """
    if not parts:
        return []
    largest = max(parts, key=lambda part: part.area)
    across, up = size_mm(largest)
    size = f"{across:.3g} x {up:.3g} mm"
    n = len(parts)
    says = (
        f"a part of {size} is left out, because it is nowhere wide enough"
        if n == 1
        else f"{n} parts are left out, because they are nowhere wide enough, the largest {size}"
    )
    return [
        Finding(
            code="part-left-out",
            severity=Severity.CAUTION,
            says=f"{says}; width asked",
            measured=width_mm,
            unit="mm",
            where_mm=place(largest),
            subject=subject,
            basis="derived: nothing of it is left by the radius or the offset",
            advice="Draw it larger, leave it out of the drawing, or ask for a smaller radius.",
        )
    ]
