"""Low places: where the sheet arrives last, pocket by pocket and along low lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from moldgen.mold.vents.even import evened, mirrored, mirrors_of
from moldgen.mold.vents.vent import LowPlace, Reason, VentSpec
from moldgen.solid.height.join_tree import cover_cells, pockets_of, region_sums
from moldgen.solid.height.relief import Relief

LEVEL_MM = 0.05
"""Places whose gaps differ by less than this are reached together. [mm]."""

SHARED_MM = 6.0
"""Places nearer than this with open ground between them share a hole: bores would meet. [mm]."""

NEAR_MM = 10.0
"""Places nearer than this, with no wall between them, are one. [mm]."""

WALL_MM = 0.5
"""Ground higher than both of two places by more than this is a wall between them. [mm]."""

BESIDE_MM = 3.0
"""A vent that is there already serves the lowest spot within this. [mm]."""

STILL_SERVED = 1.3
"""Where there are vents already, further ones are wanted only beyond so many spacings: a vent may
have been moved along its line to find room. [-]."""

_MOST_ROUNDS = 3
"""Rounds in which places of a mold that is its own mirror image are completed."""


def low_places(
    gap: NDArray[np.float64], relief: Relief, spec: VentSpec, found: Sequence[LowPlace] = ()
) -> tuple[LowPlace, ...]:
    """Return the last places of all pockets, then places along low lines at the spacing.

    On a mold that is its own mirror image they are too. What is found already has its vent.
    """
    cell_area = relief.cell_mm**2
    pockets = [
        place_at(
            relief, gap, middle_of_top(gap, pocket.cell),
            air_mm3=pocket.held * cell_area, reason=Reason.POCKET,
        )
        for pocket in pockets_of(gap, floor=spec.least_gap_mm)
        if pocket.held * cell_area >= spec.least_air_mm3
        and pocket.peak - pocket.saddle >= 0.15 * pocket.peak
    ]  # fmt: skip
    places = [
        place
        for place in mirrored(pockets, mirrors_of(relief), gap, relief)
        if not _served(place, found, relief)
    ]
    served = [_at_lowest(one, gap, relief) for one in found]
    wide = replace(spec, spacing_mm=STILL_SERVED * spec.spacing_mm) if found else spec
    lines = cover_low_lines(gap, relief, (*served, *places), wide)
    return (*places, *(one for one in lines if not _served(one, found, relief)))


def cover_low_lines(
    gap: NDArray[np.float64], relief: Relief, found: Sequence[LowPlace], spec: VentSpec
) -> tuple[LowPlace, ...]:
    """Return further places, so that every low cell has one within the spacing.

    They are found lowest first, and then set evenly between those beside them.

    Parameters
    ----------
    gap : ndarray, shape (ny, nx)
        Gap under ball or sheet. [mm]
    relief : Relief
        The mold seen from above. [mm]
    found : sequence of LowPlace
        Places that there are already.
    spec : VentSpec
        Least gap, least air, spacing.
    """
    # Specks that just come over the least gap hold no air worth a hole.
    air = region_sums(gap, floor=spec.least_gap_mm) * relief.cell_mm**2
    low = np.where(air >= spec.least_air_mm3, gap, 0.0)
    mirrors = mirrors_of(relief)
    lines = _completed(low, relief, found, (), spec)
    if not lines:
        return ()
    even = mirrored(evened(low, relief, found, lines, spec), mirrors, low, relief)
    return _completed(low, relief, found, even, spec)


def _completed(
    low: NDArray[np.float64],
    relief: Relief,
    found: Sequence[LowPlace],
    lines: Sequence[LowPlace],
    spec: VentSpec,
) -> tuple[LowPlace, ...]:
    """Return places along lines with those that are missing, and their mirror images."""
    mirrors = mirrors_of(relief)
    told = list(lines)
    for _ in range(_MOST_ROUNDS if mirrors else 1):
        cells = relief.cells(np.array([(p.x_mm, p.y_mm) for p in (*found, *told)]).reshape(-1, 2))
        more = cover_cells(
            low, floor=spec.least_gap_mm, taken=cells, reach=spec.spacing_mm / relief.cell_mm
        )
        if not len(more):
            break
        places = [
            place_at(relief, low, (int(row), int(column)), air_mm3=0.0, reason=Reason.LINE)
            for row, column in more
        ]
        told += mirrored(places, mirrors, low, relief)
    return tuple(told)


def _at_lowest(place: LowPlace, gap: NDArray[np.float64], relief: Relief) -> LowPlace:
    """Return a place moved to the lowest spot beside it: a vent stands a little off its line."""
    row, column = relief.cells(np.array([[place.x_mm, place.y_mm]]))[0]
    n = int(np.ceil(BESIDE_MM / relief.cell_mm))
    top, left = max(0, row - n), max(0, column - n)
    part = gap[top : row + n + 1, left : column + n + 1]
    low_row, low_column = np.unravel_index(int(part.argmax()), part.shape)
    x, y = relief.places_mm(np.array([[top + low_row, left + low_column]]))[0]
    return replace(place, x_mm=float(x), y_mm=float(y))


def _served(place: LowPlace, found: Sequence[LowPlace], relief: Relief) -> bool:
    return any(same_hollow(place, one, relief) for one in found)


def same_hollow(place: LowPlace, other: LowPlace, relief: Relief) -> bool:
    """Tell whether two places are near each other with no wall between them."""
    away = float(np.hypot(place.x_mm - other.x_mm, place.y_mm - other.y_mm))
    if away > NEAR_MM:
        return False
    share = np.linspace(0.0, 1.0, 2 + int(away / relief.cell_mm))[:, None]
    ends = np.array([(place.x_mm, place.y_mm), (other.x_mm, other.y_mm)])
    rows, columns = relief.cells(ends[0] + share * (ends[1] - ends[0])).T
    between = relief.on_table_mm[rows, columns]
    return bool(between.max() <= max(place.z_mm, other.z_mm) + WALL_MM)


def middle_of_top(gap: NDArray[np.float64], peak: tuple[int, int]) -> tuple[int, int]:
    """Return the cell nearest the middle of the level top around a pocket's peak.

    Along a straight edge many cells are reached last together; the first of them by chance is
    no better than the one in the middle.
    """
    level = gap[peak] - LEVEL_MM
    top, border = {peak}, [peak]
    while border:
        row, column = border.pop()
        for i in range(max(0, row - 1), min(gap.shape[0], row + 2)):
            for j in range(max(0, column - 1), min(gap.shape[1], column + 2)):
                if (i, j) not in top and gap[i, j] >= level:
                    top.add((i, j))
                    border.append((i, j))
    cells = np.array(sorted(top))
    away = np.hypot(*(cells - cells.mean(axis=0)).T)
    row, column = cells[int(np.argmin(np.round(away, 6)))]
    return int(row), int(column)


def place_at(
    relief: Relief,
    gap: NDArray[np.float64],
    cell: tuple[int, int],
    *,
    air_mm3: float,
    reason: Reason,
) -> LowPlace:
    """Return a cell of a relief as a low place."""
    x, y = relief.places_mm(np.array([cell]))[0]
    return LowPlace(
        x_mm=float(x),
        y_mm=float(y),
        z_mm=float(relief.on_table_mm[cell]),
        gap_mm=float(gap[cell]),
        air_mm3=air_mm3,
        reason=reason,
    )
