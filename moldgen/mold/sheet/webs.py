"""Webs of a formed sheet: where it has too much of itself and folds up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.sheet.clusters import Mask, Place, clusters_of, place_of
from moldgen.physics.membrane.run import FormingRun

SLACK = 0.05
"""A triangle is pressed together if it is narrower by this share than if merely pulled. [-]."""

LEAST_WEB_MM2 = 4.0
"""Sheet pressed together on less than this shows as a ripple, not as a web. [mm²]."""

HANGS = 0.1
"""Sine of the angle by which sheet must hang over to have folded and not just to stand. [-]."""

FOLD_SHARE = 1.2
"""Width of a fold over the gauge below which it is a ripple and not told. [-].

Sheet cannot fold into much less than its own thickness. Of 27 molds followed coarsely and finely,
those with webs have folds of 1.3 gauges or more in both runs, the others of 1.1 or less.
"""


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
    width_mm : float
        Mean width of the sheet that hangs over, which is about how far the fold stands off what it
        lies on; or half of what the sheet is too wide, where that is more. Unlike the height it is
        next to nothing for a ripple on a steep wall. [mm]
    spare : float
        How much wider it would be, on the mean, if nothing pressed it together. [-]
    in_part : bool
        Whether it reaches into what is cut out of the sheet; one in the waste does no harm.
    """

    where_mm: Place
    height_mm: float
    length_mm: float
    width_mm: float
    spare: float
    in_part: bool = True

    def is_fold(self, gauge_mm: float) -> bool:
        """Return whether this is a fold of the sheet and not a mere ripple in it."""
        return self.width_mm >= FOLD_SHARE * gauge_mm


def webs_of(run: FormingRun, part: Mask) -> Iterator[Web]:
    """Return the webs of a formed sheet, longest first, ripples too.

    Parameters
    ----------
    run : FormingRun
        A sheet that was formed. [mm]
    part : ndarray of bool, shape (m,)
        The triangles that are cut out of it.
    """
    greater, lesser = run.stretches.T
    # Pulled one way and free the other, an incompressible sheet narrows by the root of the pull.
    spare = greater**-0.5 / lesser - 1
    folded = _overturned(run)
    webs = []
    for own in clusters_of(run, (spare > SLACK) | folded):
        if run.mesh.areas_mm2[own].sum() < LEAST_WEB_MM2:
            continue
        web = _web(run, own, own[folded[own]], spare[own])
        webs.append(replace(web, in_part=bool(part[own].any())))
    yield from sorted(webs, key=lambda web: -web.length_mm)


def _web(run: FormingRun, own: NDArray[np.int64], folded: NDArray[np.int64], spare: Floats) -> Web:
    """Return what one group of triangles makes, of which some have folded."""
    points = run.points_mm[np.unique(run.mesh.triangles[own])]
    mean = float(np.average(np.maximum(spare, 0), weights=run.areas_mm2[own]))
    length_mm = _longest_mm(points)
    pressed_mm = 0.5 * mean * float(run.areas_mm2[own].sum()) / length_mm
    return Web(
        where_mm=place_of(points.mean(axis=0)),
        height_mm=max(pressed_mm, _standing_mm(run, folded)),
        length_mm=length_mm,
        width_mm=max(pressed_mm, _hanging_mm(run, folded)),
        spare=mean,
    )


def _overturned(run: FormingRun) -> Mask:
    """Return which triangles hang over: on a mold without undercuts only a fold does."""
    x_mm, y_mm = (np.ascontiguousarray(column) for column in run.points_mm.T[:2])
    (ax, bx, cx), (ay, by, cy) = (
        [values.take(corners) for corners in run.mesh.triangles.T] for values in (x_mm, y_mm)
    )
    up_mm2 = 0.5 * ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
    over: Mask = up_mm2 < -HANGS * run.areas_mm2
    return over


def _standing_mm(run: FormingRun, folded: NDArray[np.int64]) -> float:
    """Return from how low to how high folded triangles reach. [mm]."""
    heights = run.points_mm[run.mesh.triangles[folded], 2]
    return float(np.ptp(heights)) if heights.size else 0.0


def _hanging_mm(run: FormingRun, folded: NDArray[np.int64]) -> float:
    """Return the area of folded triangles over how far they reach. [mm]."""
    if not folded.size:
        return 0.0
    points = run.points_mm[np.unique(run.mesh.triangles[folded])]
    return float(run.areas_mm2[folded].sum()) / _longest_mm(points)


def _longest_mm(places_mm: Floats) -> float:
    """Return the extent of places in space along their main direction. [mm]."""
    away = places_mm - places_mm.mean(axis=0)
    _, axes = np.linalg.eigh(away.T @ away)
    return float(np.ptp(away @ axes[:, -1]))
