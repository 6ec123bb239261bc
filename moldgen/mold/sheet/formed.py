"""What a formed sheet tells: how thick it is where, where it bridges, where it webs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moldgen.arrays import Floats
from moldgen.mold.features import FeaturePlan
from moldgen.mold.sheet.reach import (
    CornerRadius,
    SheetReach,
    clusters,
    measure_corners,
    reach_of,
)
from moldgen.physics.membrane.run import FREE, FormingRun
from moldgen.solid.height.relief import Relief
from moldgen.stock import Sheet
from moldgen.table.hold import hold

Mask = NDArray[np.bool_]
Place = tuple[float, float, float]

SLACK = 0.05
"""A triangle is pressed together if it is narrower by this share than if merely pulled. [-]."""

LEAST_WEB_MM2 = 4.0
"""Sheet pressed together on less than this shows as a ripple, not as a web. [mm²]."""

HANGS = 0.1
"""Sine of the angle by which sheet must hang over to have folded and not just to stand. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureThickness:
    """How thick the sheet is on one feature.

    Attributes
    ----------
    name : str
        The feature; empty for the whole part.
    least_mm, mean_mm : float
        Least thickness, and formed volume over formed area. [mm]
    where_mm : tuple of three floats
        Where it is thinnest. [mm]
    area_mm2 : float
        Formed area. [mm²]
    """

    name: str
    least_mm: float
    mean_mm: float
    where_mm: Place
    area_mm2: float


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Web:
    """Sheet that is pressed together along its surface, or has folded up already.

    Attributes
    ----------
    where_mm : tuple of three floats
        Its middle. [mm]
    height_mm, length_mm : float
        How tall it stands, if it has folded, else half of what it is too wide; its longest
        extent. [mm]
    spare : float
        How much wider it would be, on the mean, if nothing pressed it together. [-]
    """

    where_mm: Place
    height_mm: float
    length_mm: float
    spare: float


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
        Longest first.
    untouched_mm2 : float
        Area of the part that touches nothing. [mm²]
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

    @property
    def whole(self) -> FeatureThickness:
        """Thickness of the whole part."""
        return self.thinned[0]

    @property
    def thickness_mm(self) -> Floats:
        """Thickness of every triangle, smoothed over its neighbors, shape (m,). [mm]."""
        return smooth_thickness(self.run) * self.sheet.gauge_mm

    @property
    def least_share(self) -> float:
        """Least thickness over the gauge: what every other gauge would keep as well. [-]."""
        return self.whole.least_mm / self.sheet.gauge_mm


def read_run(
    run: FormingRun,
    *,
    sheet: Sheet,
    relief: Relief,
    trim: shapely.MultiPolygon,
    plans: Sequence[FeaturePlan] = (),
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
    reach : SheetReach, optional
        Where the sheet reaches the mold, if that is known already.
    """
    reach = reach or reach_of(run, relief=relief, gauge_mm=sheet.gauge_mm)
    middles = run.points_mm[run.mesh.triangles].mean(axis=1)
    part = _within(trim, middles)
    free = (run.touches == FREE)[run.mesh.triangles].all(axis=1)
    return FormedSheet(
        run=run,
        sheet=sheet,
        part=part,
        thinned=tuple(_thinned(run, sheet, part, middles, plans)),
        reach=reach,
        bridges=tuple(_bridges(reach, part & free)),
        corners=measure_corners(run, part, hold(sheet)),
        webs=tuple(_webs(run)),
        untouched_mm2=float(run.areas_mm2[part & free].sum()),
    )


def smooth_thickness(run: FormingRun) -> Floats:
    """Return every triangle's thickness over the gauge, as the mean at its three points. [-].

    Triangles of constant stretch scatter about the truth from one to the next; what is conserved
    round a point does not.
    """
    smooth: Floats = run.thickness_at_points[run.mesh.triangles].mean(axis=1)
    return smooth


def owner_of(places_mm: Floats, plans: Sequence[FeaturePlan]) -> NDArray[np.int64]:
    """Return for each place the number of the innermost feature it lies in, -1 for none."""
    owner = np.full(len(places_mm), -1)
    # Parents come before their children, so the innermost is the last to claim a place.
    for number, plan in enumerate(plans):
        owner[_within(plan.outer, places_mm)] = number
    return owner


def _within(region: BaseGeometry, places_mm: Floats) -> Mask:
    """Return which places lie in a region of the plan, shape (k,)."""
    shapely.prepare(region)
    x, y = (np.ascontiguousarray(column) for column in places_mm.T[:2])
    x0, y0, x1, y1 = region.bounds
    inside: Mask = (x >= x0) & (x <= x1) & (y >= y0) & (y <= y1)
    inside[inside] = shapely.contains_xy(region, x[inside], y[inside])
    return inside


def _thinned(
    run: FormingRun, sheet: Sheet, part: Mask, middles: Floats, plans: Sequence[FeaturePlan]
) -> Iterator[FeatureThickness]:
    owner = owner_of(middles, plans)
    groups = [("", part), *((plan.name, part & (owner == n)) for n, plan in enumerate(plans))]
    thickness, areas = smooth_thickness(run) * sheet.gauge_mm, run.areas_mm2
    flat = run.mesh.areas_mm2
    for name, own in groups:
        if not own.any():
            continue
        thinnest = int(np.argmin(np.where(own, thickness, np.inf)))
        yield FeatureThickness(
            name=name,
            least_mm=float(thickness[thinnest]),
            mean_mm=float(sheet.gauge_mm * flat[own].sum() / areas[own].sum()),
            where_mm=_place(middles[thinnest]),
            area_mm2=float(areas[own].sum()),
        )


def _bridges(reach: SheetReach, free: Mask) -> Iterator[SheetBridge]:
    run, bridges = reach.run, []
    for own in clusters(run, free):
        points = np.unique(run.mesh.triangles[own])
        points = points[reach.bridged[points]]
        if points.size:
            worst = int(points[np.argmax(reach.gaps_mm[points])])
            bridges.append(
                SheetBridge(
                    where_mm=_place(run.points_mm[worst]),
                    gap_mm=float(reach.gaps_mm[worst]),
                    limit_mm=float(reach.limits_mm[worst]),
                    area_mm2=float(run.areas_mm2[own].sum()),
                )
            )
    yield from sorted(bridges, key=lambda bridge: -bridge.gap_mm)


def _webs(run: FormingRun) -> Iterator[Web]:
    greater, lesser = run.stretches.T
    # Pulled one way and free the other, an incompressible sheet narrows by the root of the pull.
    spare = greater**-0.5 / lesser - 1
    folded = _overturned(run)
    webs = []
    for own in clusters(run, (spare > SLACK) | folded):
        if run.mesh.areas_mm2[own].sum() < LEAST_WEB_MM2:
            continue
        points = run.points_mm[np.unique(run.mesh.triangles[own])]
        mean = float(np.average(np.maximum(spare[own], 0), weights=run.areas_mm2[own]))
        length_mm = _longest_mm(points)
        width_mm = float(run.areas_mm2[own].sum()) / length_mm
        webs.append(
            Web(
                where_mm=_place(points.mean(axis=0)),
                height_mm=max(0.5 * mean * width_mm, _standing_mm(run, own[folded[own]])),
                length_mm=length_mm,
                spare=mean,
            )
        )
    yield from sorted(webs, key=lambda web: -web.length_mm)


def _overturned(run: FormingRun) -> Mask:
    """Return which triangles hang over: on a mold without undercuts only a fold does."""
    a, b, c = (run.points_mm[run.mesh.triangles[:, i], :2] for i in range(3))
    u, v = b - a, c - a
    up_mm2 = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    over: Mask = up_mm2 < -HANGS * run.areas_mm2
    return over


def _standing_mm(run: FormingRun, folded: NDArray[np.int64]) -> float:
    """Return from how low to how high folded triangles reach. [mm]."""
    heights = run.points_mm[run.mesh.triangles[folded], 2]
    return float(np.ptp(heights)) if heights.size else 0.0


def _longest_mm(places_mm: Floats) -> float:
    """Return the extent of places in space along their main direction. [mm]."""
    away = places_mm - places_mm.mean(axis=0)
    _, _, axes = np.linalg.svd(away, full_matrices=False)
    return float(np.ptp(away @ axes[0]))


def _place(point: Floats) -> Place:
    return float(point[0]), float(point[1]), float(point[2])
