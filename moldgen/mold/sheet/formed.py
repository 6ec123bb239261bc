"""What a formed sheet tells: how thick it is where, where it bridges, where it webs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from moldgen.arrays import Floats
from moldgen.mold.features import FeaturePlan
from moldgen.mold.sheet.clusters import Mask, Place, clusters_of, place_of
from moldgen.mold.sheet.places import middles_of, within
from moldgen.mold.sheet.reach import CornerRadius, SheetReach, measure_corners, reach_of
from moldgen.mold.sheet.thickness import (
    FeatureThickness,
    as_measured,
    smooth_thickness,
    thickness_of,
)
from moldgen.mold.sheet.webs import Web, webs_of
from moldgen.physics.membrane.run import FREE, FormingRun
from moldgen.solid.height.relief import Relief
from moldgen.stock import Sheet
from moldgen.stock.experience import NoteEstimate
from moldgen.table.hold import hold


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetBridge:
    """Sheet that touches nothing at the end, and farther off than it rounds a corner.

    Attributes
    ----------
    where_mm : tuple of three floats
        Where it is farthest from mold and table. [mm]
    gap_mm : float
        How far that is. [mm]
    limit_mm : float
        From how far it is told: the gap of a rounded corner, and half a gauge. [mm]
    area_mm2 : float
        How much of the sheet hangs free there. [mm²]
    """

    where_mm: Place
    gap_mm: float
    limit_mm: float
    area_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormedSheet:
    """A formed sheet and what was read off it.

    Attributes
    ----------
    run : FormingRun
        Where every point of the sheet ended.
    sheet : Sheet
        What was formed; thickness is its gauge times the run's ratio.
    part : ndarray of bool, shape (m,)
        The run's triangles that belong to the part: those within its trim line.
    thinned : tuple of FeatureThickness
        The whole part first, then every feature.
    reach : SheetReach
        Which of the run's points reach the mold, if only around a corner, and which bridge.
    bridges : tuple of SheetBridge
        Largest gap first.
    corners : CornerRadius or None
        How round the sheet comes out where the mold's inside corners are sharp; None if it lies in
        all of them when the full vacuum has come.
    webs : tuple of Web
        Longest first, ripples too.
    untouched_mm2 : float
        Area of the part that touches nothing. [mm²]
    measured : NoteEstimate or None
        Thickness of parts over what was computed, by the notes of the table; it corrects how thin
        the thinnest places are told to be, and nothing else. [-]
    """

    run: FormingRun
    sheet: Sheet
    part: Mask
    thinned: tuple[FeatureThickness, ...]
    reach: SheetReach
    bridges: tuple[SheetBridge, ...]
    corners: CornerRadius | None
    webs: tuple[Web, ...]
    untouched_mm2: float
    measured: NoteEstimate | None = None

    @property
    def whole(self) -> FeatureThickness:
        """Thickness of the whole part."""
        return self.thinned[0]

    @property
    def thickness_mm(self) -> Floats:
        """Thickness of every triangle, smoothed over its neighbors, shape (m,). [mm]."""
        return smooth_thickness(self.run) * self.sheet.gauge_mm

    @property
    def computed_thinnest(self) -> FeatureThickness:
        """The feature, or the whole part, with the thinnest places, as the run has it."""
        return min(self.thinned, key=lambda told: told.thin_mm)

    @property
    def thinnest(self) -> FeatureThickness:
        """The same as notes of the table correct it: what decides."""
        return as_measured(self.computed_thinnest, self.measured)

    @property
    def thin_share(self) -> float:
        """Thickness of the thin places over the gauge: what other gauges would keep too. [-]."""
        return self.thinnest.thin_mm / self.sheet.gauge_mm

    @property
    def computed_thin_share(self) -> float:
        """The same as the run has it, by which vents are placed. [-]."""
        return self.computed_thinnest.thin_mm / self.sheet.gauge_mm

    @property
    def folds(self) -> tuple[Web, ...]:
        """The webs of the part that are folds and not mere ripples, longest first."""
        gauge_mm = self.sheet.gauge_mm
        return tuple(web for web in self.webs if web.in_part and web.is_fold(gauge_mm))


def read_run(
    run: FormingRun,
    *,
    sheet: Sheet,
    relief: Relief,
    trim: shapely.MultiPolygon,
    plans: Sequence[FeaturePlan] = (),
    hasty: FormingRun | None = None,
    reach: SheetReach | None = None,
) -> FormedSheet:
    """Read thickness, bridges and webs off a forming run.

    Parameters
    ----------
    run : FormingRun
        A sheet that was formed. [mm]
    sheet : Sheet
        What it was made of.
    relief : Relief
        The mold seen from above, to tell how far a bridge hangs over it. [mm]
    trim : MultiPolygon
        What is cut out of the sheet, seen from above. [mm]
    plans : sequence of FeaturePlan
        The mold's features; each gets the points that lie in it and in none of its children.
    hasty : FormingRun, optional
        The same run at half its pace, by which the error of the pace is measured.
    reach : SheetReach, optional
        Where the sheet reaches the mold, if that is known already.
    """
    reach = reach or reach_of(run, relief=relief, gauge_mm=sheet.gauge_mm)
    middles = middles_of(run.points_mm, run.mesh.triangles)
    part = within(trim, middles)
    free = (run.touches == FREE)[run.mesh.triangles].all(axis=1)
    return FormedSheet(
        run=run,
        sheet=sheet,
        part=part,
        thinned=tuple(
            thickness_of(run, part, middles, plans, gauge_mm=sheet.gauge_mm, hasty=hasty)
        ),
        reach=reach,
        bridges=tuple(_bridges(reach, part & free)),
        corners=measure_corners(run, part, hold(sheet)),
        webs=tuple(webs_of(run, part)),
        untouched_mm2=float(run.areas_mm2[part & free].sum()),
    )


def _bridges(reach: SheetReach, free: Mask) -> Iterator[SheetBridge]:
    run, bridges = reach.run, []
    for own in clusters_of(run, free):
        points = np.unique(run.mesh.triangles[own])
        points = points[reach.bridged[points]]
        if points.size:
            worst = int(points[np.argmax(reach.gaps_mm[points])])
            bridges.append(
                SheetBridge(
                    where_mm=place_of(run.points_mm[worst]),
                    gap_mm=float(reach.gaps_mm[worst]),
                    limit_mm=float(reach.limits_mm[worst]),
                    area_mm2=float(run.areas_mm2[own].sum()),
                )
            )
    yield from sorted(bridges, key=lambda bridge: -bridge.gap_mm)
