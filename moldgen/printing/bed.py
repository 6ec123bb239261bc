"""Prism: plates and upright prisms for the printer: raised, lettered, split to the bed, measured.

Everything is built as it is printed: flat on z = 0, walls upright, so that nothing needs support.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from moldgen.finding import Finding, Severity
from moldgen.printing.bed_fit import check_beds, usable_bed_mm
from moldgen.printing.label import LABEL_MM
from moldgen.solid.mesh import Body, Mesh
from moldgen.stock import Printer

STEEPEST_DEG = 45.0
"""Walls that lean out further than this from upright need support; common practice. [°]."""


APART_MM = 8.0
"""Between bodies that are printed together. [mm]."""


def laid_out(bodies: Sequence[Body]) -> tuple[Body, ...]:
    """Return bodies side by side along x, none over another."""
    placed, at = [], None
    for one in bodies:
        low, high = one.mesh.bounds_mm
        shift = 0.0 if at is None else at - low[0]
        moved = Mesh(one.mesh.points_mm + np.array([shift, 0.0, 0.0]), one.mesh.triangles.copy())
        placed.append(Body(one.name, moved))
        at = high[0] + shift + APART_MM
    return tuple(placed)


def longest_mm(printer: Printer) -> float:
    """Return how long a piece may be that lies straight. [mm]."""
    return max(usable_bed_mm(printer)[:2])


def steepest_overhang_deg(mesh: Mesh) -> float:
    """Return how far the worst wall leans out from upright, the bed left out. [°].

    0 is an upright wall, 90 a ceiling. The ceilings of letters sunk into the bed's side are left
    out as well: a stroke is bridged.
    """
    areas = np.maximum(mesh.areas_mm2, 1e-12)
    down = -mesh.area_vectors_mm2[:, 2] / areas
    low = mesh.points_mm[:, 2].min()
    heights = mesh.corners_mm[:, :, 2] - low
    on_bed = heights.max(axis=1) < 1e-6
    on_bed |= np.abs(heights - LABEL_MM).max(axis=1) < 1e-6
    # Slivers of hardly any area have no direction worth the name.
    lean = np.where(on_bed | (mesh.areas_mm2 < 1e-4), 0.0, down)
    return float(np.degrees(np.arcsin(np.clip(lean.max(initial=0.0), 0.0, 1.0))))


def check_printable(bodies: Iterable[Body], printer: Printer) -> tuple[Finding, ...]:
    """Return what there is to say of bodies on the printer: how they fit, which need support."""
    findings: list[Finding] = []
    for one in bodies:
        findings += check_beds([one], printer)
        findings += check_overhang(one, code="jig-overhang", slack_deg=0.01)
    return tuple(findings)


def check_overhang(one: Body, *, code: str, slack_deg: float) -> tuple[Finding, ...]:
    """Return a caution if a wall of a body leans out too far, by more than the slack. [°]."""
    lean = steepest_overhang_deg(one.mesh)
    if lean <= STEEPEST_DEG + slack_deg:
        return ()
    return (
        Finding(
            code=code,
            severity=Severity.CAUTION,
            says="leans out too far to print without support",
            measured=lean,
            limit=STEEPEST_DEG,
            unit="°",
            subject=one.name,
            basis="common practice, no source",
            advice="Print it with support.",
        ),
    )


def as_used(one: Body) -> Body:
    """Return a body turned from how it is printed to how it is used: standing on its base."""
    x, y, z = one.mesh.points_mm.T
    return Body(one.name, Mesh(np.column_stack([x, -z, y]), one.mesh.triangles.copy()))
