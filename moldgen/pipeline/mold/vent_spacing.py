"""Vents enough that every recess is empty before the sheet is stiff."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from moldgen.finding import Finding, Severity
from moldgen.job.spec import MoldRequest
from moldgen.mold.air.evacuation import Evacuation
from moldgen.mold.checks import Survey
from moldgen.pipeline.mold.checking import survey_mold
from moldgen.pipeline.mold.cutting import cut_mold
from moldgen.pipeline.mold.day import evacuation_of, stiff_where_thinnest_s
from moldgen.pipeline.mold.mold import CutMold
from moldgen.pipeline.mold.walls import Walls
from moldgen.pipeline.setting import Setting
from moldgen.stock import Shop

CLOSEST_MM = 5.0
"""Vents along a line are never set closer than this. [mm]."""

_CLOSER = 0.7
"""Part of the spacing that is left when vents are too few. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VentedMold:
    """A mold whose air gets out in time, as far as more vents can bring that about.

    Attributes
    ----------
    mold : CutMold
        Everything is cut into it.
    survey : Survey
        What is seen of it along its pull.
    air : Evacuation
        How its vacuum comes.
    findings : tuple of Finding
        That the vents stand closer than asked, if they do.
    """

    mold: CutMold
    survey: Survey
    air: Evacuation
    findings: tuple[Finding, ...]


def vent_in_time(
    request: MoldRequest,
    walls: Walls,
    *,
    setting: Setting,
    shop: Shop,
    progress: Callable[[str], None],
) -> VentedMold:
    """Cut a mold, with its vents closer together until the air gets out in time.

    Recesses that would not be empty in time however many vents they had are no reason for more;
    nor are smaller pockets, which closer vents give none, nor a request that wants no vents. What
    was changed is a finding.
    """
    wanted_mm = spacing_mm = request.vents.spacing_mm
    mold = first = cut_mold(request, walls, setting=setting, shop=shop)
    surveyed = survey_mold(first, request, setting=setting)
    # How thick the sheet comes out, and so how long it stays soft, is a matter of the walls.
    stiff_s = stiff_where_thinnest_s(first, surveyed.draws, setting)
    air = evacuation_of(mold, setting, stiff_s)
    while request.vents.place and spacing_mm > CLOSEST_MM and too_few(air):
        spacing_mm = max(CLOSEST_MM, _CLOSER * spacing_mm)
        progress(f"3/6 vents closer together, every {spacing_mm:.0f} mm: the air takes too long")
        closer = replace(request, vents=replace(request.vents, spacing_mm=spacing_mm))
        mold = cut_mold(closer, walls, setting=setting, shop=shop)
        air = evacuation_of(mold, setting, stiff_s)
    if mold is not first:
        surveyed = survey_mold(mold, request, setting=setting)
    findings = (_closer_finding(spacing_mm, wanted_mm),) if spacing_mm < wanted_mm else ()
    return VentedMold(mold=mold, survey=surveyed, air=air, findings=findings)


def too_few(air: Evacuation) -> bool:
    """Tell whether any recess would be empty in time if its vents stood closer together."""
    stiff_s = air.stiff_s
    if stiff_s is None:
        return False
    return any(
        one.pocket.recess
        and one.seconds > stiff_s
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
