"""Compiled: what still moves of a sheet is copied into a part, sorted for its two bands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit
from moldgen.physics.membrane.force_kernel import (
    AT_ONCE,
    FREE,
    HELD,
    SPARE_METRIC,
    SPARE_POINTS,
    SheetConstants,
)
from moldgen.physics.membrane.part_kernel import (
    BORDER,
    N_ACTIVE,
    N_POINTS,
    SPLIT,
    Indices,
    MovingPart,
    State,
    section_of,
)
from moldgen.physics.membrane.steering import CLAMP, SWEPT_REST


@njit(cache=True, nogil=True, error_model="numpy")
def set_out(sheet: SheetConstants, state: State, part: MovingPart, control: Floats) -> None:
    """Copy what still moves into the part, and count what the rest has swept."""
    control[SWEPT_REST] += _drop_resting(sheet, state, part.extent, control[CLAMP])
    active = state.active[: part.extent[N_ACTIVE]]
    _number_points(sheet, state, part, active)
    split = 0
    if len(active):
        middle = sheet.triangles[active[len(active) // 2]]
        split = part.place[min(middle[0], middle[1], middle[2])]
    extent = part.extent
    extent[SPLIT] = split
    _copy_triangles(sheet, part, active)
    for band in range(2):
        first, end = section_of(part, band)
        _let_wait(part.waits, band, first // AT_ONCE, end // AT_ONCE)


@njit(cache=True, nogil=True, error_model="numpy")
def _drop_resting(
    sheet: SheetConstants, state: State, extent: NDArray[np.int64], clamp_mm: float
) -> float:
    """Leave out the triangles wholly at rest, and return what they swept."""
    touches, points, active, n, swept = state.touches, state.points, state.active, 0, 0.0
    triangles = sheet.triangles
    for k in range(extent[N_ACTIVE]):
        e = active[k]
        i, j, l = triangles[e, 0], triangles[e, 1], triangles[e, 2]  # noqa: E741
        if touches[i] and touches[j] and touches[l]:
            twice = (points[j, 0] - points[i, 0]) * (points[l, 1] - points[i, 1]) - (
                points[j, 1] - points[i, 1]
            ) * (points[l, 0] - points[i, 0])
            up = points[i, 2] + points[j, 2] + points[l, 2] - 3.0 * clamp_mm
            swept -= twice * up / 6.0
        else:
            active[n] = e
            n += 1
    extent[N_ACTIVE] = n
    return swept


@njit(cache=True, nogil=True, error_model="numpy")
def _number_points(sheet: SheetConstants, state: State, part: MovingPart, active: Indices) -> None:
    """Copy the points of the active triangles, in their order."""
    place, number, carried, triangles, n = part.place, part.number, part.carried, sheet.triangles, 0
    points, speeds, drifts, ease, cross = (
        part.points,
        part.momenta,
        part.drifts,
        part.ease,
        part.cross,
    )
    from_points, from_speeds, from_drifts = state.points, state.speeds, state.drifts
    touches = state.touches
    place[:] = -1
    for e in active:
        for c in range(3):
            place[triangles[e, c]] = 0
    for i in range(len(place)):
        if place[i] == 0:
            place[i] = n
            number[n] = i
            for d in range(3):
                points[0, n, d] = points[1, n, d] = from_points[i, d]
                speeds[n, d], drifts[n, d] = from_speeds[i, d], from_drifts[i, d]
                ease[n, d], cross[n, d] = 1.0 if touches[i] == FREE else 0.0, 0.0
            carried[n] = 1.0 if touches[i] == FREE or touches[i] == HELD else 0.0
            n += 1
    for k in range(3):
        for d in range(4):
            points[0, n + k, d] = points[1, n + k, d] = SPARE_POINTS[k, d]
    part.pulls[:, : n + 3] = 0.0
    part.areas[:, : n + 3] = 0.0
    part.extent[N_POINTS] = n


@njit(cache=True, nogil=True, error_model="numpy")
def _sort_triangles(sheet: SheetConstants, part: MovingPart, active: Indices) -> NDArray[np.int64]:
    """Tell triangles before, on and beyond the border, and return how many each are."""
    place, kinds, triangles, split = part.place, part.kinds, sheet.triangles, part.extent[SPLIT]
    n = np.zeros(3, dtype=np.int64)
    for k in range(len(active)):
        beyond = 0
        for c in range(3):
            beyond += place[triangles[active[k], c]] >= split
        kinds[k] = (beyond > 0) + (beyond > 2)
        n[kinds[k]] += 1
    return n


@njit(cache=True, nogil=True, error_model="numpy")
def _lay_sections(part: MovingPart, n: NDArray[np.int64]) -> None:
    """Put where each section begins in place of its number, and fill its last batch up."""
    corners, metric, waits, extent = part.corners, part.metric, part.waits, part.extent
    m = 0
    for section in range(3):
        m, n[section] = m + n[section], m
        while m % AT_ONCE:
            for c in range(3):
                corners[m, c] = extent[N_POINTS] + c
            for d in range(4):
                metric[m // AT_ONCE, d, m % AT_ONCE] = SPARE_METRIC[d]
            m += 1
        extent[BORDER + section] = m
    for batch in range(m // AT_ONCE):
        waits[0, batch] = waits[1, batch] = extent[N_POINTS]


@njit(cache=True, nogil=True, error_model="numpy")
def _copy_triangles(sheet: SheetConstants, part: MovingPart, active: Indices) -> None:
    """Copy the triangles before, on and beyond the border, each section to a full batch."""
    corners, metric, waits, kinds = part.corners, part.metric, part.waits, part.kinds
    place, triangles, from_metric = part.place, sheet.triangles, sheet.metric
    n = _sort_triangles(sheet, part, active)
    _lay_sections(part, n)
    for k in range(len(active)):
        e, m = active[k], n[kinds[k]]
        n[kinds[k]] += 1
        batch, at = m // AT_ONCE, m % AT_ONCE
        for c in range(3):
            point = place[triangles[e, c]]
            corners[m, c] = point
            if point < waits[0, batch]:
                waits[0, batch] = waits[1, batch] = point
        for d in range(4):
            metric[batch, d, at] = from_metric[e, d]


@njit(cache=True, nogil=True, error_model="numpy")
def _let_wait(waits: NDArray[np.int64], band: int, first: int, end: int) -> None:
    """From the first point that each batch touches, work out those that it and all behind do."""
    for batch in range(end - 2, first - 1, -1):
        waits[band, batch] = min(waits[band, batch], waits[band, batch + 1])
