"""Whether it fits: through the clear opening, under the sheet, onto the printer's bed."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from moldgen.arrays import Floats
from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.checks.case import Case
from moldgen.outline.rectangle_fit import fit_deg, lack_of
from moldgen.printing.bed_fit import bed_fit, check_bed_fit


def check_size(case: Case) -> tuple[Finding, ...]:
    """Ask whether the mold fits the forming table and each body the printer."""
    return (*_on_machine(case), *_on_printer(case))


def _on_machine(case: Case) -> list[Finding]:
    machine = case.machine
    findings = []
    whole = Polygon(_box(case))
    if fit_deg(whole, machine.opening_width_mm, machine.opening_depth_mm) is None:
        one_by_one = ", or form the pieces one by one" if len(case.bodies) > 1 else ""
        lack = lack_of(whole, machine.opening_width_mm, machine.opening_depth_mm)
        findings.append(
            _finding(
                code="opening-small", subject="",
                says=f"the mold does not go through the clear opening in any turn; its {lack.side}",
                size=lack.size_mm, room=lack.room_mm,
                basis="clear opening of the forming machine",
                advice=f"{lack.mending}{one_by_one}.",
                cures=(
                    Cure(field=Remedy.SIZE, way=Way.LOWER, least=lack.scale),
                    Cure(field=Remedy.MACHINE, way=Way.OTHER),
                ),
            )
        )  # fmt: skip
    if case.height_mm > machine.tallest_mm + 1e-6:
        findings.append(
            _finding(
                code="too-tall", subject="",
                says="the mold is taller than the forming table takes; height",
                size=case.height_mm, room=machine.tallest_mm,
                basis="tallest mold of the forming machine",
                advice=f"Make it {case.height_mm - machine.tallest_mm:.1f} mm lower.",
                cures=(
                    Cure(field=Remedy.HEIGHT, way=Way.LOWER, least=machine.tallest_mm),
                    Cure(field=Remedy.MACHINE, way=Way.OTHER),
                ),
            )
        )  # fmt: skip
    return findings


def _on_printer(case: Case) -> list[Finding]:
    printer = case.printer
    findings: list[Finding] = []
    for body, part, footprint in zip(case.bodies, case.parts, case.footprints, strict=True):
        height = float(np.ptp(part.bounds_mm[:, 2]))
        findings += check_bed_fit(body.name, bed_fit(footprint, height, printer), printer)
    return findings


def _box(case: Case) -> Floats:
    (x0, y0), (x1, y1) = case.box_mm[:, :2]
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _finding(
    *, code: str, subject: str, says: str, size: float, room: float, basis: str, advice: str,
    cures: tuple[Cure, ...],
) -> Finding:  # fmt: skip
    return Finding(
        code=code,
        severity=Severity.STOP,
        says=says,
        measured=size,
        limit=room,
        unit="mm",
        subject=subject,
        basis=basis,
        advice=advice,
        cures=cures,
    )
