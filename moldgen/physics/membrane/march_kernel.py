"""Compiled loops of the forming run: how the points go on from step to step.

Positions are kept twice, before and after a step, so that one band never reads what the other is
writing; both steer, each for itself, by the same sums.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit
from moldgen.physics.membrane import strides
from moldgen.physics.membrane.force_kernel import (
    AT_ONCE,
    LOOSE,
    ON_FLOOR,
    ON_MOLD,
    SheetConstants,
    pull,
)
from moldgen.physics.membrane.mass_kernel import weigh_band
from moldgen.physics.membrane.part_kernel import (
    MovingPart,
    State,
    edges_of,
    section_of,
    times,
    write_back,
)
from moldgen.physics.membrane.rows import leave, seen
from moldgen.physics.membrane.steering import (
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
    RISE,
    SWEPT,
    TIME,
    steer,
)  # fmt: skip
from moldgen.physics.membrane.touch import Buckets
from moldgen.physics.membrane.touch_kernel import land

_FOLLOW = 0.125
_CHUNK = 64
_BATCHES = 16
"""Batches of triangles that pull between two looks which points all have pulled at."""
_WEIGH_EVERY = 8
"""Steps for which masses and rooms hold: longer, and what turns beside the mold runs away."""
_TOLD = (POWER_BEFORE, POWER_AFTER, PUSHED, PUSHED_FORCE, PUSHED_SPEED, KINETIC)
"""Where the totals of strides go in what a band sums up."""


@njit(cache=True, nogil=True, error_model="numpy")
def march(
    sheet: SheetConstants,
    state: State,
    part: MovingPart,
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
    sums : ndarray, shape (2, 2, k)
        Every second step's sums of either band, a cache line each.
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
        write_back(state, part, edges_of(part, band), steps[1] % 2)
    return steps[1]


@njit(cache=True, nogil=True, error_model="numpy")
def step_band(
    sheet: SheetConstants,
    state: State,
    part: MovingPart,
    buckets: Buckets,
    band: int,
    done: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Take one band one step on, and tell its sums."""
    turn = done % 2
    if done % _WEIGH_EVERY == 0:
        weigh_band(sheet, state, part, buckets, band, turn)
    old, new, pulls, areas = (
        part.points[turn], part.points[1 - turn], part.pulls[band], part.areas[band],
    )  # fmt: skip
    sums[FACING] = 0.0
    _go_on(sheet, state, part, buckets, band, (pulls, areas, old, new), control, sums)


@njit(cache=True, nogil=True, error_model="numpy")
def _go_on(
    sheet: SheetConstants,
    state: State,
    part: MovingPart,
    buckets: Buckets,
    band: int,
    rows: tuple[Floats, Floats, Floats, Floats],
    control: Floats,
    sums: Floats,
) -> None:
    """Pull at the points of a band and take them on, some at a time, so that they stay at hand."""
    pulls, areas, old, new = rows
    flat_old, flat_new = old.reshape(-1), new.reshape(-1)
    momenta, drifts, ease, cross = part.momenta, part.drifts, part.ease, part.cross
    carried, rooms, traveled = part.carried, part.rooms_mm, part.traveled_mm
    planes, starts, members, tops, _, frame = buckets
    landed, totals = np.empty(_CHUNK, dtype=np.int64), np.zeros((strides.N_TOTALS, 4))
    factors, drawn = _factors(control), control[RISE] == 0.0
    corners, metric, waits, law = part.corners, part.metric, part.waits[band], sheet.law
    batch, last = section_of(part, band)
    batch, last = batch // AT_ONCE, last // AT_ONCE
    first, end = edges_of(part, band)
    for start in range(first, end, _CHUNK):
        stop = min(start + _CHUNK, end)
        while batch < last and waits[batch] < stop:
            to = min(batch + _BATCHES, last)
            pull(corners[batch * AT_ONCE : to * AT_ONCE], metric[batch:to], law, old, pulls, areas)
            batch = to
        chunk = (start - first) // _CHUNK
        traveled[band, chunk] += strides.stride(
            pulls, areas, old, new, momenta, drifts, ease, cross, carried, start, stop,
            factors, totals,
        )  # fmt: skip
        n_landed = land(
            flat_old, flat_new, start, stop, rooms, traveled[band, chunk],
            planes, starts, members, tops, frame, landed,
        )  # fmt: skip
        if n_landed:
            leave_out(pulls, areas, momenta, ease, cross, landed[:n_landed], factors, totals)
            _rest(state, part, landed[:n_landed], control[TIME])
        if drawn:
            sums[FACING] += _facing(areas, ease, start, stop)
        pulls[start:stop] = 0.0
        areas[start:stop] = 0.0
    for which, place in enumerate(_TOLD):
        sums[place] = totals[which].sum()
    sums[SWEPT] = totals[strides.UNDER, 2] - control[CLAMP] * totals[strides.OPEN, 2]


@njit(cache=True, nogil=True, error_model="numpy")
def _factors(control: Floats) -> Floats:
    """Return what a stride is worked out with."""
    half = 0.5 * control[DAMPING]
    factors = np.empty(strides.N_FACTORS)
    factors[strides.PRESSURE] = control[PRESSURE]
    factors[strides.KEEP], factors[strides.GAIN] = (1.0 - half) / (1.0 + half), 1.0 / (1.0 + half)
    factors[strides.DAMPING], factors[strides.FOLLOW] = control[DAMPING], _FOLLOW * control[DAMPING]
    factors[strides.DROP] = control[DROP]
    return factors


@njit(cache=True, nogil=True, error_model="numpy")
def leave_out(
    pulls: Floats,
    areas: Floats,
    momenta: Floats,
    ease: Floats,
    cross: Floats,
    landed: NDArray[np.int64],
    factors: Floats,
    totals: Floats,
) -> None:
    """Take points that have landed out of the sums that the next step is steered by."""
    pressure = factors[strides.PRESSURE]
    for h in landed:
        k = h // 2
        for d in range(3):
            area, force = areas[k, d], pulls[k, d]
            way = times(ease, cross, momenta, k, d)
            light = times(ease, cross, areas, k, d)
            totals[strides.AFTER, d] -= way * (force + pressure * area)
            totals[strides.PUSHED, d] -= area * light
            totals[strides.PUSHED_FORCE, d] -= force * light
            totals[strides.PUSHED_SPEED, d] -= area * way
            totals[strides.KINETIC, d] -= momenta[k, d] * way


@njit(cache=True, nogil=True, error_model="numpy")
def _rest(state: State, part: MovingPart, landed: NDArray[np.int64], time: float) -> None:
    """Let points rest where they have landed."""
    touches, arrival, number, rooms = state.touches, state.arrival, part.number, part.rooms_mm
    carried, momenta, drifts = part.carried, part.momenta, part.drifts
    ease, cross = part.ease, part.cross
    for h in landed:
        k = h // 2
        touches[number[k]] = ON_FLOOR if h % 2 else ON_MOLD
        arrival[number[k]] = time
        rooms[k] = np.inf
        carried[k] = 0.0
        for d in range(3):
            momenta[k, d] = drifts[k, d] = ease[k, d] = cross[k, d] = 0.0


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _facing(areas: Floats, ease: Floats, start: int, stop: int) -> float:
    """Sum up the areas of the free points."""
    facing = 0.0
    for k in range(start, stop):
        ax, ay, az = areas[k, 0], areas[k, 1], areas[k, 2]
        area = np.sqrt(ax * ax + ay * ay + az * az)
        facing += area if ease[k, 0] > 0.0 else 0.0
    return facing
