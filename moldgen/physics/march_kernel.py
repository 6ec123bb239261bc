"""Compiled loops of the forming run: how the points go on from step to step.

What still moves is copied out into a `Part` for a few dozen steps, so that the loops run straight
through it. Its points are dealt out to two bands, and each band has the triangles that touch its
points; those on the border are worked out twice. So a band writes to its own points only, and sums
each point's forces in the order of the triangles: the result does not depend on how many processors
there are. Positions are kept twice, before and after a step, so that one band never reads what the
other is writing; both steer, each for itself, by the same sums.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.physics.membrane_kernel import (
    AT_ONCE,
    FREE,
    HELD,
    LOOSE,
    ON_FLOOR,
    ON_MOLD,
    SPARE_METRIC,
    SPARE_POINTS,
    Sheet,
    energy_mm2,
    lengths_of_parts,
    pull,
    weigh,
)  # fmt: skip
from moldgen.physics.rows import leave, seen
from moldgen.physics.steering import (
    CLAMP,
    DAMPING,
    DROP,
    FACING,
    KINETIC,
    POWER_AFTER,
    POWER_BEFORE,
    PRESSURE,
    PUSHED,
    PUSHED_FORCE,
    PUSHED_SPEED,
    SWEPT,
    SWEPT_REST,
    TIME,
    steer,
)  # fmt: skip
from moldgen.physics.touch import Buckets
from moldgen.physics.touch_kernel import land, room_mm

Floats = NDArray[np.float64]
Indices = NDArray[np.uint32]
_FOLLOW = 0.125
_CHUNK = 64
_ROOT_3 = 1.7320508075688774
_NO_SIGN = 0x7FFFFFFFFFFFFFFF
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


class Part(NamedTuple):
    """The points and triangles that still move, and the points those hang on.

    Attributes
    ----------
    points : ndarray, shape (2, n, 4)
        Positions before and after a step, in turn.
    speeds, drifts : ndarray, shape (n, 4)
    pulls, areas : ndarray, shape (2, n, 4)
        For each band the forces of the rubber, and swept volume per way of the point.
    ease : ndarray, shape (n, 4)
        One over the mass, 0 for points that are not free.
    masses : ndarray, shape (n,)
        Likewise 0 for those.
    carried : ndarray, shape (n,)
        1 for a point that comes down with the clamp, else 0.
    rooms_mm : ndarray, shape (n,)
        Way that a point could go, as the part was copied out, before it could meet anything.
    travelled_mm : ndarray, shape (2, k)
        The longest way that any point of each batch of points of a band has gone since then.
    number : ndarray of uint32, shape (n,)
        Which point of the sheet it is.
    place : ndarray of int32, shape (n,)
        Which point of the part one of the sheet is, -1 for those left out.
    corners : ndarray of uint32, shape (m, 3)
    metric : ndarray, shape (m / b, 4, b)
        Both in batches of b.
    extent : ndarray of int64
    """

    points: Floats
    speeds: Floats
    drifts: Floats
    pulls: Floats
    areas: Floats
    masses: Floats
    ease: Floats
    carried: Floats
    rooms_mm: Floats
    travelled_mm: Floats
    number: Indices
    place: NDArray[np.int32]
    corners: Indices
    metric: Floats
    extent: NDArray[np.int64]


@njit(cache=True, nogil=True, error_model="numpy")
def set_out(sheet: Sheet, state: State, part: Part, control: Floats) -> None:
    """Copy what still moves into the part, and count what the rest has swept."""
    control[SWEPT_REST] += _drop_resting(sheet, state, part.extent, control[CLAMP])
    active = state.active[: part.extent[N_ACTIVE]]
    _number_points(sheet, state, part, active)
    split, m = 0, 0
    if len(active):
        middle = sheet.triangles[active[len(active) // 2]]
        split = part.place[min(middle[0], middle[1], middle[2])]
    part.extent[SPLIT] = split
    for section in range(3):
        part.extent[BORDER + section - 1] = m if section else part.extent[SPLIT]
        m = _copy_section(sheet, part, active, section, m)
    part.extent[END] = m


@njit(cache=True, nogil=True, error_model="numpy")
def _drop_resting(sheet: Sheet, state: State, extent: NDArray[np.int64], clamp_mm: float) -> float:
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
def _number_points(sheet: Sheet, state: State, part: Part, active: Indices) -> None:
    """Copy the points of the active triangles, in their order."""
    place, number, carried, triangles, n = part.place, part.number, part.carried, sheet.triangles, 0
    points, speeds, drifts = part.points, part.speeds, part.drifts
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
            carried[n] = 1.0 if touches[i] == FREE or touches[i] == HELD else 0.0
            n += 1
    points[:, n : n + 3] = SPARE_POINTS
    part.extent[N_POINTS] = n


@njit(cache=True, nogil=True, error_model="numpy")
def _copy_section(sheet: Sheet, part: Part, active: Indices, section: int, m: int) -> int:
    """Copy the triangles before, on or beyond the border, to a full batch."""
    corners, metric, split = part.corners, part.metric, part.extent[SPLIT]
    place, triangles, from_metric = part.place, sheet.triangles, sheet.metric
    for e in active:
        beyond = 0
        for c in range(3):
            beyond += place[triangles[e, c]] >= split
        if (beyond > 0) + (beyond > 2) == section:
            for c in range(3):
                corners[m, c] = place[triangles[e, c]]
            for d in range(4):
                metric[m // AT_ONCE, d, m % AT_ONCE] = from_metric[e, d]
            m += 1
    while m % AT_ONCE:
        for c in range(3):
            corners[m, c] = part.extent[N_POINTS] + c
        for d in range(4):
            metric[m // AT_ONCE, d, m % AT_ONCE] = SPARE_METRIC[d]
        m += 1
    return m


@njit(cache=True, nogil=True, error_model="numpy")
def march(
    sheet: Sheet,
    state: State,
    part: Part,
    buckets: Buckets,
    bands: tuple[int, int],
    steps: tuple[int, int],
    patience: int,
    controls: Floats,
    sums: Floats,
    marks: NDArray[np.int64],
) -> int:
    """Take a part some steps on, and write it back at the end.

    Parameters
    ----------
    bands : tuple of int
        Which bands to see to: from the first to before the second.
    steps : tuple of int
        Steps done, and steps to be done.
    patience : int
        How often to look for the other band before giving up for now.
    controls : ndarray, shape (2, N_CONTROL)
        What steers each band.
    sums : ndarray, shape (2, 2, N_SUMS)
        Every second step's sums of either band.
    marks : ndarray of int64, shape (2, 8)
        How many steps each band has taken.

    Returns
    -------
    int
        Steps done: fewer than wanted if the other band is not so far; then call it again.
    """
    flat = marks.reshape(-1)
    mine, other = bands[0], 1 - bands[0]
    for done in range(steps[0], steps[1]):
        for band in range(bands[0], bands[1]):
            if seen(flat, 8 * band) <= done:
                step_band(
                    sheet, state, part, buckets, band, done, controls[mine], sums[done % 2, band]
                )
                leave(flat, 8 * band, done + 1)
        looks = 0
        while seen(flat, 8 * other) <= done:
            looks += 1
            if looks > patience:
                return done
        steer(controls[mine], sums[done % 2])
    for band in range(bands[0], bands[1]):
        _write_back(state, part, _edges(part, band), steps[1] % 2)
    return steps[1]


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _edges(part: Part, band: int) -> tuple[int, int]:
    """Return a band's first point and end."""
    extent = part.extent
    return (0, extent[SPLIT]) if band == 0 else (extent[SPLIT], extent[N_POINTS])


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _section(part: Part, band: int) -> tuple[int, int]:
    """Return a band's first triangle and end."""
    extent = part.extent
    return (0, extent[BEYOND]) if band == 0 else (extent[BORDER], extent[END])


@njit(cache=True, nogil=True, error_model="numpy")
def _write_back(state: State, part: Part, edges: tuple[int, int], turn: int) -> None:
    number, points, speeds, drifts = part.number, part.points, part.speeds, part.drifts
    to_points, to_speeds, to_drifts = state.points, state.speeds, state.drifts
    for k in range(edges[0], edges[1]):
        i = number[k]
        for d in range(3):
            to_points[i, d] = points[turn, k, d]
            to_speeds[i, d], to_drifts[i, d] = speeds[k, d], drifts[k, d]


@njit(cache=True, nogil=True, error_model="numpy")
def _weigh_band(sheet: Sheet, state: State, part: Part, buckets: Buckets, band: int) -> None:
    """Give a band's points their masses and rooms."""
    first, end = _section(part, band)
    whole = part.extent[N_POINTS] + 3
    pulls, areas = part.pulls[band], part.areas[band]
    pulls[:whole], areas[:whole] = 0.0, 0.0
    weigh(
        part.corners[first:end], part.metric[first // AT_ONCE : end // AT_ONCE], sheet.law,
        part.points[0], pulls,
    )  # fmt: skip
    first, end = _edges(part, band)
    touches, number, points = state.touches, part.number, part.points
    masses, ease, rooms = part.masses, part.ease, part.rooms_mm
    tops, frame = buckets.rooms_mm, buckets.frame
    for k in range(first, end):
        free = touches[number[k]] == FREE
        mass = pulls[k, 3] if free else 0.0
        masses[k] = mass
        for d in range(3):
            ease[k, d] = 1.0 / mass if free else 0.0
        x, y, z = points[0, k, 0], points[0, k, 1], points[0, k, 2]
        rooms[k] = room_mm(x, y, z, tops, frame) if free else np.inf
    pulls[:whole] = 0.0
    part.travelled_mm[band] = 0.0


@njit(cache=True, nogil=True, error_model="numpy")
def step_band(
    sheet: Sheet,
    state: State,
    part: Part,
    buckets: Buckets,
    band: int,
    done: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Take one band one step on, and tell its sums."""
    if done == 0:
        _weigh_band(sheet, state, part, buckets, band)
    turn = done % 2
    old, new, pulls, areas = (
        part.points[turn], part.points[1 - turn], part.pulls[band], part.areas[band],
    )  # fmt: skip
    first, end = _section(part, band)
    pull(
        part.corners[first:end], part.metric[first // AT_ONCE : end // AT_ONCE], sheet.law,
        old, pulls, areas,
    )  # fmt: skip
    sums[:] = 0.0
    first, end = _edges(part, band)
    _go_on(
        state, part, buckets, (band, first, end), control, sums,
        (pulls.reshape(-1), areas.reshape(-1), old.reshape(-1), new.reshape(-1)),
        (part.speeds.reshape(-1), part.drifts.reshape(-1), part.ease.reshape(-1)),
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def _go_on(
    state: State,
    part: Part,
    buckets: Buckets,
    band: tuple[int, int, int],
    control: Floats,
    sums: Floats,
    rows: tuple[Floats, Floats, Floats, Floats],
    ways: tuple[Floats, Floats, Floats],
) -> None:
    """Take the points of a band on, a few at a time, so that they stay at hand."""
    pulls, areas, old, new = rows
    speeds, drifts, ease = ways
    masses, carried, rooms, number = part.masses, part.carried, part.rooms_mm, part.number
    travelled, moved, gone = part.travelled_mm, np.empty(4 * _CHUNK), np.empty(4 * _CHUNK)
    bits, landed = gone.view(np.int64), np.empty(_CHUNK, dtype=np.int64)
    touches, arrival = state.touches, state.arrival
    planes, starts, members, tops, _, frame = buckets
    which, first, end = band
    for start in range(first, end, _CHUNK):
        stop = min(start + _CHUNK, end)
        at, n = np.uint64(4 * start), np.uint64(4 * (stop - start))
        _speed_up(pulls, areas, speeds, drifts, ease, moved, at, n, control, sums)
        _go(old, new, speeds, drifts, carried, moved, at, n, control)
        chunk = (start - first) // _CHUNK
        travelled[which, chunk] += _longest(old, new, gone, bits, at, n)
        travelled_mm = travelled[which, chunk]
        for h in range(
            land(
                old,
                new,
                start,
                stop,
                rooms,
                travelled_mm,
                planes,
                starts,
                members,
                tops,
                frame,
                landed,
            )  # fmt: skip
        ):
            k, on_floor = landed[h] // 2, landed[h] % 2
            touches[number[k]] = ON_FLOOR if on_floor else ON_MOLD
            arrival[number[k]] = control[TIME]
            rooms[k] = np.inf
            masses[k] = carried[k] = 0.0
            for d in range(4 * k, 4 * k + 3):
                speeds[d] = drifts[d] = ease[d] = moved[d - 4 * start] = 0.0
        _sum_up(pulls, areas, ease, moved, at, n, control, sums)
        _face(old, areas, masses, moved, np.uint64(start), np.uint64(stop - start), control, sums)
        for d in range(4 * start, 4 * stop):
            pulls[d] = 0.0
        for d in range(4 * start, 4 * stop):
            areas[d] = 0.0


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _speed_up(
    pulls: Floats,
    areas: Floats,
    speeds: Floats,
    drifts: Floats,
    ease: Floats,
    moved: Floats,
    at: int,
    n: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Work out the points' ways in this step."""
    pressure, half = control[PRESSURE], 0.5 * control[DAMPING]
    keep, gain, damping = (1.0 - half) / (1.0 + half), 1.0 / (1.0 + half), control[DAMPING]
    before = 0.0
    for d in range(n):
        force = pulls[at + d] + pressure * areas[at + d]
        before += speeds[at + d] * force
        way = gain * (ease[at + d] * force + damping * drifts[at + d])
        moved[d] = keep * speeds[at + d] + way
    sums[POWER_BEFORE] += before


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _go(
    old: Floats,
    new: Floats,
    speeds: Floats,
    drifts: Floats,
    carried: Floats,
    moved: Floats,
    at: int,
    n: int,
    control: Floats,
) -> None:
    """Move points by their ways and with the clamp."""
    follow, drop = _FOLLOW * control[DAMPING], control[DROP]
    for d in range(n):
        drifts[at + d] += follow * (moved[d] - drifts[at + d])
    for d in range(n):
        new[at + d] = old[at + d] + moved[d]
    for d in range(n):
        speeds[at + d] = moved[d]
    if drop != 0.0:
        first = at // np.uint64(4)
        for k in range(n // np.uint64(4)):
            new[at + np.uint64(4) * k + np.uint64(2)] -= drop * carried[first + k]


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _longest(
    old: Floats, new: Floats, gone: Floats, bits: NDArray[np.int64], at: int, n: int
) -> float:
    """Return a bound of how far any point went: lengths have the order of their bits."""
    longest = 0
    for d in range(n):
        gone[d] = new[at + d] - old[at + d]
    for d in range(n):
        longest = max(longest, bits[d] & _NO_SIGN)
    bits[0] = longest
    return _ROOT_3 * gone[0]


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _sum_up(
    pulls: Floats,
    areas: Floats,
    ease: Floats,
    moved: Floats,
    at: int,
    n: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Sum up what steering asks for."""
    pressure = control[PRESSURE]
    after = pushed = pushed_force = pushed_speed = 0.0
    for d in range(n):
        way, area, force = moved[d], areas[at + d], pulls[at + d]
        after += way * (force + pressure * area)
        pushed += area * area * ease[at + d]
        pushed_force += area * force * ease[at + d]
        pushed_speed += area * way
    sums[POWER_AFTER] += after
    sums[PUSHED] += pushed
    sums[PUSHED_FORCE] += pushed_force
    sums[PUSHED_SPEED] += pushed_speed


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _face(
    old: Floats,
    areas: Floats,
    masses: Floats,
    moved: Floats,
    first: int,
    n: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Sum up motion and areas of the free points, and the volume swept by all."""
    one, two, four = np.uint64(1), np.uint64(2), np.uint64(4)
    facing = swept = kinetic = 0.0
    clamp_mm = control[CLAMP]
    for k in range(n):
        at, by = four * (first + k), four * k
        ax, ay, az = areas[at], areas[at + one], areas[at + two]
        vx, vy, vz = moved[by], moved[by + one], moved[by + two]
        area = np.sqrt(ax * ax + ay * ay + az * az)
        facing += area if masses[first + k] > 0.0 else 0.0
        swept += az * (old[at + two] - clamp_mm)
        kinetic += masses[first + k] * (vx * vx + vy * vy + vz * vz)
    sums[FACING] += facing
    sums[SWEPT] += swept
    sums[KINETIC] += kinetic


@njit(cache=True, nogil=True, error_model="numpy")
def weigh_up(
    sheet: Sheet, state: State, part: Part, turn: int, pressure: float, clamp_mm: float
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
