"""Whether a part that locks onto the sheet would come off the other way up."""

from __future__ import annotations

from dataclasses import replace

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.sight import Sight, sight
from moldgen.mold.checks.undercut import LEAST_DEPTH_MM, Undercut

CLEARLY_LESS = 0.5
"""Share of the surface gripped from below up to which the other way up is worth telling."""

_OTHER_WAY = {
    (0.0, 0.0, 1.0): "-z", (0.0, 0.0, -1.0): "z", (1.0, 0.0, 0.0): "-x", (-1.0, 0.0, 0.0): "x",
    (0.0, 1.0, 0.0): "-y", (0.0, -1.0, 0.0): "y",
}  # fmt: skip
"""What the option calls the opposite of a draw direction."""


def check_upside(case: Case, seen: Sight, undercuts: tuple[Undercut, ...]) -> tuple[Finding, ...]:
    """Ask of a part that somebody brings whether it lies upside down.

    Only a part that locks is turned over and looked at a second time.
    """
    other = _OTHER_WAY.get(case.draw_direction)
    locks = any(undercut.depth_mm > LEAST_DEPTH_MM for undercut in undercuts)
    if case.plan or other is None or not locks:
        return ()
    x, y, z = case.draw_direction
    over = replace(case, draw_direction=(-x, -y, -z))
    now_mm2, turned_mm2 = gripped_mm2(case, seen), gripped_mm2(over, sight(over))
    if turned_mm2 >= CLEARLY_LESS * now_mm2:
        return ()
    return (
        Finding(
            code="upside-down",
            severity=Severity.NOTE,
            says="the part may lie upside down: turned over, the sheet gets under "
            f"{turned_mm2:.0f} mm² of it instead of {now_mm2:.0f} mm²",
            basis="derived: surface facing away from the draw direction that the sheet reaches",
            advice=f"Turn it over with moldgen refit FILE --up {other}, and check it again.",
        ),
    )


def gripped_mm2(case: Case, seen: Sight) -> float:
    """Return the area that faces away from the draw direction and meets the sheet. [mm²]."""
    return float(case.mesh.areas_mm2[seen.grips].sum())
