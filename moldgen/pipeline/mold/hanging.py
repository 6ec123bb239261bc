"""Hanging holes: where the marks of a mold ask for a hole in the formed part, and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from moldgen.finding import counted
from moldgen.job import Job
from moldgen.job.outline import JobHanging
from moldgen.job.spec import JobFeature, MoldRequest
from moldgen.pipeline.mold.mold import CutMold
from moldgen.stock import nearest_drill


@dataclass(frozen=True, slots=True, kw_only=True)
class HangingHole:
    """One hole to be drilled in the formed part.

    Attributes
    ----------
    x_mm, y_mm : float
        Its center, seen from above. [mm]
    diameter_mm : float
        How wide it is. [mm]
    """

    x_mm: float
    y_mm: float
    diameter_mm: float


def hanging_holes(request: MoldRequest, mold: CutMold) -> tuple[HangingHole, ...]:
    """Return the holes that a mold marks, left to right."""
    bodies = request.body if isinstance(request, Job) else ()
    asked = dict(_asked(bodies))
    holes = [
        HangingHole(x_mm=mark.centroid.x, y_mm=mark.centroid.y, diameter_mm=asked[plan.name])
        for plan in mold.plans
        if plan.name in asked
        for mark in plan.region.geoms
    ]
    return tuple(sorted(holes, key=lambda hole: (hole.x_mm, hole.y_mm)))


def _asked(features: Sequence[JobFeature]) -> Iterator[tuple[str, float]]:
    for feature in features:
        if isinstance(feature.outline, JobHanging):
            yield feature.name, feature.outline.hanging_mm
        yield from _asked((*feature.raised, *feature.sunk))


def hanging_text(holes: Sequence[HangingHole]) -> str:
    """Return how many there are and how wide, such as ``2 of 5 mm (13/64 in)``."""
    sizes = sorted({hole.diameter_mm for hole in holes})
    return " and ".join(
        f"{sum(hole.diameter_mm == size for hole in holes)} of {_drill_text(size)}"
        for size in sizes
    )


def _drill_text(diameter_mm: float) -> str:
    return f"{diameter_mm:g} mm ({nearest_drill(diameter_mm, 'inch', at_most=False).name})"


def hanging_step(holes: Sequence[HangingHole]) -> str:
    """Return what to do for them at the table, once the part is formed and trimmed."""
    marks = counted(len(holes), "cone")
    return (
        f"Drill the formed part, never the mold: {hanging_text(holes)}, from the back, where "
        f"{marks} left a dimple that guides the drill. Clamp the part flat on scrap wood; a sharp "
        "drill, slow, little pressure, or the sheet cracks. Wear glasses, no gloves, hair tied "
        "back; somebody who knows the drill stands by."
    )
