"""Lines that stay open: left out with a caution, or a fault of the outline."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import Polygon

from moldgen.finding import Finding, Severity
from moldgen.outline.winding import Ring

_LARGE = 0.1
"""Share of the largest closed area from which on an open line was meant to be closed."""


def open_lines_left_out(lines: Sequence[Ring]) -> list[Finding]:
    """Return the caution about open lines, with the place and size of the largest, if any."""
    if not lines:
        return []
    largest = max(lines, key=lambda line: float(np.ptp(line, axis=0).max()))
    low, high = largest.min(axis=0), largest.max(axis=0)
    x, y = (low + high) / 2
    across, up = high - low
    return [
        Finding(
            code="drawing-open-lines",
            severity=Severity.CAUTION,
            says="open lines are left out, because they enclose nothing; the largest is "
            f"{across:.3g} x {up:.3g} mm; lines",
            measured=float(len(lines)),
            where_mm=(float(x), float(y), 0.0),
            advice="Close them if they are part of the outline.",
        )
    ]


def is_broken_outline(lines: Sequence[Ring], rings: Sequence[Ring]) -> bool:
    """Tell whether an open line goes round an area that matters beside those that are closed.

    Center marks, leaders and dimension lines go round next to nothing.
    """
    closed = max((_area_mm2(ring) for ring in rings), default=0.0)
    return any(_area_mm2(line) > _LARGE * closed for line in lines)


def _area_mm2(line: Ring) -> float:
    """Return the area within a line whose ends are joined. [mm²]."""
    return float(Polygon(line).convex_hull.area) if len(line) > 2 else 0.0
