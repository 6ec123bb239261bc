"""Compiled: what still moves of the sheet, copied out for a few dozen steps.

The points of a `MovingPart` are dealt out to two bands, and each band has the triangles that touch
its points; those on the border are worked out twice. So a band writes to its own points only, and
sums each point's forces in the order of the triangles: the result does not depend on how many
processors there are.

Arrays are taken out of their tuples before a loop, never in it: to take one out counts who holds
it, in memory that two processors would fight for.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.physics.membrane.force_kernel import (
    AT_ONCE,
    FREE,
    HELD,
    LOOSE,
    SPARE_METRIC,
    SPARE_POINTS,
    SheetConstants,
    energy_mm2,
    lengths_of_parts,
    pull,
    weigh,
)  # fmt: skip
from moldgen.physics.membrane.steering import CLAMP, SWEPT_REST
from moldgen.physics.membrane.touch import Buckets
from moldgen.physics.membrane.touch_kernel import room_mm

Indices = NDArray[np.uint32]
N_POINTS, SPLIT, BORDER, BEYOND, END, N_ACTIVE = range(6)
"""What a part's extent tells: points, the second band's first; where the triangles on the border
and those beyond it begin and end; triangles of the sheet that still move."""


class State(NamedTuple):
    """What changes from step to step.

    Attributes
    ----------
    points : ndarray, shape (n, 3)
    speeds : ndarray, shape (n, 3)
        Way per step, seen from the clamp.
    drifts : ndarray, shape (n, 3)
        Speeds averaged over the steps just past; only what differs from them is damped, so that
        the sheet does not lag behind a mold that moves evenly.
    touches : ndarray of int8, shape (n,)
    arrival : ndarray, shape (n,)
    active : ndarray of uint32, shape (m,)
        Triangles that still move come first.
    """

    points: Floats
    speeds: Floats
    drifts: Floats
    touches: NDArray[np.int8]
    arrival: Floats
    active: Indices


class MovingPart(NamedTuple):
    """The points and triangles that still move, and the points those hang on.

    Attributes
    ----------
    points : ndarray, shape (2, n, 4)
        Positions before and after a step, in turn.
    momenta, drifts : ndarray, shape (n, 4)
        Masses times speeds.
    pulls, areas : ndarray, shape (2, n, 4)
        For each band the forces of the rubber, and swept volume per way of the point.
    ease, cross : ndarray, shape (n, 4)
        The inverse of the mass, diagonal and rest as in `weigh`; 0 for points that are not free.
    carried : ndarray, shape (n,)
        1 for a point that comes down with the clamp, else 0.
    rooms_mm : ndarray, shape (n,)
        Way that a point could go, as the part was copied out, before it could meet anything.
    traveled_mm : ndarray, shape (2, k)
        The longest way that any point of each batch of points of a band has gone since then.
    number : ndarray of uint32, shape (n,)
        Which point of the sheet it is.
    place : ndarray of int32, shape (n,)
        Which point of the part one of the sheet is, -1 for those left out.
    corners : ndarray of uint32, shape (m, 3)
    metric : ndarray, shape (m / b, 4, b)
        Both in batches of b.
    kinds : ndarray of uint8, shape (m,)
        Whether a triangle that still moves is before, on or beyond the border.
    waits : ndarray of int64, shape (2, m / b)
        For each band the first point that a batch, or any of the band behind it, touches.
    extent : ndarray of int64
    """

    points: Floats
    momenta: Floats
    drifts: Floats
    pulls: Floats
    areas: Floats
    ease: Floats
    cross: Floats
    carried: Floats
    rooms_mm: Floats
    traveled_mm: Floats
    number: Indices
    place: NDArray[np.int32]
    corners: Indices
    metric: Floats
    kinds: NDArray[np.uint8]
    waits: NDArray[np.int64]
    extent: NDArray[np.int64]


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
def _put_spare(part: MovingPart, m: int) -> None:
    """Put a triangle at a place of a batch that no triangle of the sheet takes."""
    for c in range(3):
        part.corners[m, c] = part.extent[N_POINTS] + c
    for d in range(4):
        part.metric[m // AT_ONCE, d, m % AT_ONCE] = SPARE_METRIC[d]


@njit(cache=True, nogil=True, error_model="numpy")
def _copy_triangles(sheet: SheetConstants, part: MovingPart, active: Indices) -> None:
    """Copy the triangles before, on and beyond the border, each section to a full batch."""
    corners, metric, waits, extent = part.corners, part.metric, part.waits, part.extent
    place, kinds, triangles, from_metric = part.place, part.kinds, sheet.triangles, sheet.metric
    split, n = extent[SPLIT], np.zeros(3, dtype=np.int64)
    for k in range(len(active)):
        beyond = 0
        for c in range(3):
            beyond += place[triangles[active[k], c]] >= split
        kinds[k] = (beyond > 0) + (beyond > 2)
        n[kinds[k]] += 1
    m = 0
    for section in range(3):
        m, n[section] = m + n[section], m
        while m % AT_ONCE:
            _put_spare(part, m)
            m += 1
        extent[BORDER + section] = m
    for batch in range(m // AT_ONCE):
        waits[0, batch] = waits[1, batch] = extent[N_POINTS]
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


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def edges_of(part: MovingPart, band: int) -> tuple[int, int]:
    """Return a band's first point and end."""
    extent = part.extent
    return (0, extent[SPLIT]) if band == 0 else (extent[SPLIT], extent[N_POINTS])


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def section_of(part: MovingPart, band: int) -> tuple[int, int]:
    """Return a band's first triangle and end."""
    extent = part.extent
    return (0, extent[BEYOND]) if band == 0 else (extent[BORDER], extent[END])


@njit(cache=True, nogil=True, error_model="numpy")
def write_back(state: State, part: MovingPart, edges: tuple[int, int], turn: int) -> None:
    """Give the points of a band back to the sheet."""
    number, points, momenta, drifts = part.number, part.points, part.momenta, part.drifts
    ease, cross = part.ease, part.cross
    to_points, to_speeds, to_drifts = state.points, state.speeds, state.drifts
    for k in range(edges[0], edges[1]):
        i = number[k]
        for d in range(3):
            to_points[i, d] = points[turn, k, d]
            to_speeds[i, d] = times(ease, cross, momenta, k, d)
            to_drifts[i, d] = times(ease, cross, drifts, k, d)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def times(along: Floats, cross: Floats, rows: Floats, k: int, d: int) -> float:
    """Return one number of a row times its symmetric matrix."""
    after, before = (d + 1) % 3, (d + 2) % 3
    return (
        along[k, d] * rows[k, d] + cross[k, d] * rows[k, after] + cross[k, before] * rows[k, before]
    )


@njit(cache=True, nogil=True, error_model="numpy")
def weigh_band(
    sheet: SheetConstants, state: State, part: MovingPart, buckets: Buckets, band: int, turn: int
) -> None:
    """Give a band's points their masses and rooms."""
    first, end = section_of(part, band)
    pulls, areas = part.pulls[band], part.areas[band]
    weigh(
        part.corners[first:end], part.metric[first // AT_ONCE : end // AT_ONCE], sheet.law,
        part.points[turn], pulls, areas,
    )  # fmt: skip
    first, end = edges_of(part, band)
    _turn_masses(pulls, areas, part.ease, part.cross, part.momenta, part.drifts, first, end)
    _make_room(state.touches, part.number, part.points[turn], part.rooms_mm, buckets, first, end)
    part.traveled_mm[band] = 0.0


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _turn_masses(
    along: Floats,
    cross: Floats,
    ease: Floats,
    rest: Floats,
    momenta: Floats,
    drifts: Floats,
    first: int,
    end: int,
) -> None:
    """Put new masses in place of the old, speeds as they were; leave the sums of masses at 0.

    Points that are not free have no ease, and keep none.
    """
    for k in range(first, end):
        xx, yy, zz = along[k, 0], along[k, 1], along[k, 2]
        xy, yz, zx = cross[k, 0], cross[k, 1], cross[k, 2]
        for d in range(4):
            along[k, d] = cross[k, d] = 0.0
        if ease[k, 0] == 0.0:
            continue
        a, b, c = ease[k, 0], ease[k, 1], ease[k, 2]
        f, g, h = rest[k, 0], rest[k, 1], rest[k, 2]
        px, py, pz = momenta[k, 0], momenta[k, 1], momenta[k, 2]
        vx, vy, vz = a * px + f * py + h * pz, f * px + b * py + g * pz, h * px + g * py + c * pz
        momenta[k, 0] = xx * vx + xy * vy + zx * vz
        momenta[k, 1] = xy * vx + yy * vy + yz * vz
        momenta[k, 2] = zx * vx + yz * vy + zz * vz
        px, py, pz = drifts[k, 0], drifts[k, 1], drifts[k, 2]
        vx, vy, vz = a * px + f * py + h * pz, f * px + b * py + g * pz, h * px + g * py + c * pz
        drifts[k, 0] = xx * vx + xy * vy + zx * vz
        drifts[k, 1] = xy * vx + yy * vy + yz * vz
        drifts[k, 2] = zx * vx + yz * vy + zz * vz
        a, f, h = yy * zz - yz * yz, yz * zx - xy * zz, xy * yz - yy * zx
        per = 1.0 / (xx * a + xy * f + zx * h)
        ease[k, 0], ease[k, 1] = a * per, (xx * zz - zx * zx) * per
        ease[k, 2] = (xx * yy - xy * xy) * per
        rest[k, 0], rest[k, 1], rest[k, 2] = f * per, (xy * zx - xx * yz) * per, h * per


@njit(cache=True, nogil=True, error_model="numpy")
def _make_room(
    touches: NDArray[np.int8],
    number: Indices,
    points: Floats,
    rooms: Floats,
    buckets: Buckets,
    first: int,
    end: int,
) -> None:
    """Work out how far each point of a band could go before it could meet anything."""
    tops, frame = buckets.rooms_mm, buckets.frame
    for k in range(first, end):
        if touches[number[k]] == FREE:
            rooms[k] = room_mm(points[k, 0], points[k, 1], points[k, 2], tops, frame)
        else:
            rooms[k] = np.inf


@njit(cache=True, nogil=True, error_model="numpy")
def weigh_up(
    sheet: SheetConstants,
    state: State,
    part: MovingPart,
    turn: int,
    pressure: float,
    clamp_mm: float,
) -> tuple[float, float, float]:
    """Return how far the sheet is from balance, its energy, and what the part has swept.

    The first is the free points' net forces over the forces that make them up, sums of lengths.
    """
    n, m = part.extent[N_POINTS], part.extent[END]
    corners, metric, points = part.corners[:m], part.metric[: m // AT_ONCE], part.points[turn]
    pulls, areas = np.zeros((n + 3, 4)), np.zeros((n + 3, 4))
    pull(corners, metric, sheet.law, points, pulls, areas)
    touches, number, net, swept = state.touches, part.number, 0.0, 0.0
    for k in range(n):
        swept += areas[k, 2] * (points[k, 2] - clamp_mm)
        if touches[number[k]] == FREE:
            squared = 0.0
            for d in range(3):
                squared += (pulls[k, d] + pressure * areas[k, d]) ** 2
            net += np.sqrt(squared)
    parts = lengths_of_parts(corners, metric, sheet.law, points, pressure, n)
    return net / parts if parts > 0.0 else 0.0, energy_mm2(sheet, state.points), swept
