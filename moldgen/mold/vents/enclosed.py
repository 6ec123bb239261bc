"""A place in every recess and every counter: what the sheet closes all round traps air."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.mold.features import Direction, FeaturePlan
from moldgen.mold.vents.low_places import place_at
from moldgen.mold.vents.vent import LowPlace, Reason
from moldgen.solid.height.relief import Relief

LEAST_AIR_MM3 = 3.0
"""A closed place that holds less air than this needs no vent: a cube of 1.4 mm. [mm³]."""


def enclosed_places(
    gap: NDArray[np.float64],
    relief: Relief,
    plans: Sequence[FeaturePlan],
    found: Sequence[LowPlace],
) -> tuple[LowPlace, ...]:
    """Return the lowest place of every recess and counter in which none was found.

    Parameters
    ----------
    gap : ndarray, shape (ny, nx)
        Gap under the rolling ball. [mm]
    relief : Relief
        The mold seen from above. [mm]
    plans : sequence of FeaturePlan
        Every feature as built.
    found : sequence of LowPlace
        Places that there are already.
    """
    at = np.array([(place.x_mm, place.y_mm) for place in found]).reshape(-1, 2)
    points = shapely.points(at)
    more = []
    for region in _closed(plans):
        if not shapely.contains(region, points).any():
            place = _lowest(region, gap, relief)
            if place is not None:
                more.append(place)
    return tuple(more)


def _closed(plans: Sequence[FeaturePlan]) -> Iterator[shapely.Polygon]:
    """Yield recesses, and counters of what stands on a feature: those on the table are open."""
    for plan in plans:
        if plan.direction is Direction.SUNK:
            yield from plan.outer.geoms
        elif plan.parent:
            rings = (ring for part in plan.outer.geoms for ring in part.interiors)
            yield from (shapely.Polygon(ring) for ring in rings)


def _lowest(region: shapely.Polygon, gap: NDArray[np.float64], relief: Relief) -> LowPlace | None:
    x0, y0, x1, y1 = region.bounds
    (top, left), (bottom, right) = relief.cells(np.array([[x0, y0], [x1, y1]]))
    rows, columns = np.mgrid[top : bottom + 1, left : right + 1]
    cells = np.column_stack([rows.ravel(), columns.ravel()])
    x, y = relief.places_mm(cells).T
    cells = cells[shapely.contains_xy(region, x, y)]
    gaps = gap[cells[:, 0], cells[:, 1]]
    air_mm3 = float(gaps.sum()) * relief.cell_mm**2
    if air_mm3 < LEAST_AIR_MM3:
        return None
    row, column = cells[int(gaps.argmax())]
    cell = (int(row), int(column))
    return place_at(relief, gap, cell, air_mm3=air_mm3, reason=Reason.POCKET)
