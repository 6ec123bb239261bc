"""Vents enough that every recess is empty before the sheet is stiff."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from moldgen.finding import Finding, Severity, ranked
from moldgen.job import Job
from moldgen.pipeline.features import Resolved
from moldgen.pipeline.mold import Mold, Setting, build_walls, mold_of_walls
from moldgen.pipeline.working import Working, told_too, working_of
from moldgen.stock import Shop

CLOSEST_MM = 5.0
"""Vents along a line are never set closer than this. [mm]."""

_CLOSER = 0.7
"""Part of the spacing that is left when vents are too few. [-]."""


def build_in_time(
    job: Job, resolved: Resolved, setting: Setting, shop: Shop, progress: Callable[[str], None]
) -> tuple[Mold, Working]:
    """Build a mold, with its vents closer together until the air gets out in time.

    Pockets that would not be empty in time however many vents they had are no reason for more;
    nor is a job that wants no vents. What was changed is a finding.
    """
    wanted_mm = job.vents.spacing_mm
    # Closer vents change neither the walls nor how a sheet forms over them.
    walls = build_walls(job, resolved, setting, progress)
    while True:
        mold = mold_of_walls(job, resolved, walls, setting, shop, progress)
        working = working_of(job, mold, setting, shop)
        if not job.vents.place or job.vents.spacing_mm <= CLOSEST_MM or not too_few(working):
            break
        spacing_mm = max(CLOSEST_MM, _CLOSER * job.vents.spacing_mm)
        progress(f"3/6 vents closer together, every {spacing_mm:.0f} mm: the air takes too long")
        job = replace(job, vents=replace(job.vents, spacing_mm=spacing_mm))
    if job.vents.spacing_mm < wanted_mm:
        told = _closer_finding(job.vents.spacing_mm, wanted_mm)
        mold = replace(mold, findings=ranked([*mold.findings, told]))
    return told_too(mold, working), working


def too_few(working: Working) -> bool:
    """Tell whether any pocket would be empty in time if it had more vents."""
    air = working.evacuation
    if air.stiff_s is None:
        return False
    return any(
        one.seconds > air.stiff_s
        and one.vents_needed is not None
        and one.vents_needed > len(one.pocket.vents) > 0
        for one in air.pockets
    )


def _closer_finding(spacing_mm: float, wanted_mm: float) -> Finding:
    return Finding(
        code="vents-closer",
        severity=Severity.NOTE,
        says="vents stand closer together than asked, so that the air gets out before the sheet is "
        "stiff; spacing",
        measured=spacing_mm,
        limit=wanted_mm,
        unit="mm",
        basis="flow through the vents against cooling on the mold, computed",
        advice="Nothing to do; fewer vents would do on a larger diameter.",
    )
