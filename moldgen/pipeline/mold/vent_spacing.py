"""Vents enough that every recess is empty before the sheet is stiff."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from shapely import MultiPolygon

from moldgen.execution import checkpoint
from moldgen.finding import Finding, Severity
from moldgen.job.spec import JobVents
from moldgen.mold.air.evacuation import Evacuation, measure_evacuation
from moldgen.mold.air.passages import air_ways
from moldgen.mold.build import RawMold
from moldgen.mold.rules import Rule
from moldgen.mold.vents.vent import VentPlan, VentSpec
from moldgen.mold.vents.waste import with_waste
from moldgen.pipeline.mold.cutting import (
    UndersideRequest,
    VentLayout,
    lay_out,
    slit_width_mm,
    vent_spec,
)
from moldgen.pipeline.stage import Progress, Stage
from moldgen.solid.height.relief import Relief
from moldgen.stock import FormingMachine

CLOSEST_MM = 5.0
"""Vents along a line are never set closer than this. [mm]."""

_CLOSER = 0.7
"""Part of the spacing that is left when vents are too few. [-]."""

VentPlacer = Callable[[Relief, VentSpec], VentPlan]
"""Finds places for vents on walls that are seen from above."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VentedWalls:
    """Walls whose air gets out in time, as far as more vents can bring that about.

    Attributes
    ----------
    layout : VentLayout
        The vents, and what is cut from below for them.
    air : Evacuation
        How their vacuum comes.
    findings : tuple of Finding
        That the vents stand closer than asked, if they do.
    """

    layout: VentLayout
    air: Evacuation
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VentSearch:
    """Everything that the places of vents depend on, but their spacing.

    Attributes
    ----------
    raw, relief : RawMold, Relief
        The walls, and how they look from above.
    trim : MultiPolygon
        What is cut out of the formed sheet, seen from above. [mm]
    place : callable
        Finds places on them.
    wanted, rule : JobVents, Rule
        What is asked of the vents, and how wide they may be.
    asked : UndersideRequest
        What is asked of the underside.
    machine : FormingMachine
        Draws the air.
    swept_L : float
        Air that the sheet pushes out. [L]
    stiff_s : float or None
        How long the sheet stays soft, a matter of the walls; None for ever. [s]
    """

    raw: RawMold
    relief: Relief
    trim: MultiPolygon
    place: VentPlacer
    wanted: JobVents
    rule: Rule
    asked: UndersideRequest
    machine: FormingMachine
    swept_L: float
    stiff_s: float | None

    def at(self, spacing_mm: float) -> tuple[VentLayout, Evacuation]:
        """Place vents at a spacing, and follow the air out through them."""
        wanted = replace(self.wanted, spacing_mm=spacing_mm)
        spec = vent_spec(wanted, self.rule, self.asked.bore)
        placed = self.place(self.relief, spec)
        if not self.wanted.place:
            placed = replace(placed, vents=())
        placed = with_waste(placed, self.trim)
        checkpoint()
        slit_mm = slit_width_mm(wanted, self.rule, self.asked.bore)
        layout = lay_out(
            placed, self.raw, self.relief, self.asked,
            slit_mm=slit_mm, prints_waste=slit_mm is not None,
        )  # fmt: skip
        checkpoint()
        ways = air_ways(
            layout.vents, layout.undersides, self.raw.plans,
            machine=self.machine, bore=self.asked.bore,
        )  # fmt: skip
        air = measure_evacuation(ways, swept_L=self.swept_L, time_to_stiff_s=self.stiff_s)
        return layout, air


def vent_in_time(search: VentSearch, progress: Progress) -> VentedWalls:
    """Place vents, closer together until the air gets out in time.

    Recesses that would not be empty in time however many vents they had are no reason for more;
    nor are smaller pockets, which closer vents give none, nor a request that wants no vents. What
    was changed is a finding.
    """
    wanted = search.wanted
    spacing_mm = wanted.spacing_mm
    layout, air = search.at(spacing_mm)
    while wanted.place and spacing_mm > CLOSEST_MM and too_few(air):
        spacing_mm = max(CLOSEST_MM, _CLOSER * spacing_mm)
        closer = f"vents closer together, every {spacing_mm:.0f} mm: the air takes too long"
        progress(Stage(3, 6, closer, 0.95))
        layout, air = search.at(spacing_mm)
    moved = spacing_mm < wanted.spacing_mm
    findings = (_closer_finding(spacing_mm, wanted.spacing_mm),) if moved else ()
    return VentedWalls(layout=layout, air=air, findings=findings)


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
