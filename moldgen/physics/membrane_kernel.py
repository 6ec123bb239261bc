"""Compiled loops of the forming run: forces of the triangles, steps of the points.

The points are dealt out to two bands, and each band has the triangles that touch its points; those
on the border are worked out twice. So a band writes to its own points only, and sums each point's
forces in the order of the triangles: the result does not depend on how many processors there are.
Positions are kept twice, before and after a step, so that one band never reads what the other
is writing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.physics.touch import Buckets
from moldgen.physics.touch_kernel import first_hit, is_clear

Floats = NDArray[np.float64]
Indices = NDArray[np.uint32]
_AT_ONCE = 64
SHUT = 130.0
"""One over the squared cosine of 95°: sheet that hangs over that far bears no pressure."""

_SIXTH = 1.0 / 6.0
_FOLLOW = 0.125

FREE, ON_MOLD, ON_FLOOR, HELD = 0, 1, 2, 3

# What a band sums up in a step, by place in its row of sums.
KINETIC, POWER_BEFORE, POWER_AFTER, PUSHED, PUSHED_FORCE, PUSHED_SPEED, FACING, SWEPT = range(8)
PUSHED_DRIFT = 8
N_SUMS = 9


class Sheet(NamedTuple):
    """What does not change along a run.

    Attributes
    ----------
    triangles : ndarray of uint32, shape (m, 3)
    metric : ndarray, shape (m, 4)
        Flat area times the three entries of the inverse of the metric of two sides, and one
        over that area.
    law : ndarray, shape (3,)
        c1, c2 and the stretch the sheet was clamped with.
    """

    triangles: Indices
    metric: Floats
    law: Floats


class State(NamedTuple):
    """What changes from step to step.

    Attributes
    ----------
    points : ndarray, shape (2, n, 3)
        Positions before and after a step, in turn.
    speeds : ndarray, shape (n, 3)
        Way per step, seen from the clamp.
    drifts : ndarray, shape (n, 3)
        Speeds averaged over the steps just past; only what differs from them is damped, so that
        the sheet does not lag behind a mold that moves evenly.
    masses : ndarray, shape (n,)
    forces : ndarray, shape (n, 6)
        Force of the rubber, and swept volume per way of the point.
    touches : ndarray of int8, shape (n,)
    arrival : ndarray, shape (n,)
    """

    points: Floats
    speeds: Floats
    drifts: Floats
    masses: Floats
    forces: Floats
    touches: NDArray[np.int8]
    arrival: Floats


@njit(cache=True, nogil=True, error_model="numpy")
def add_forces(
    sheet: Sheet,
    points: Floats,
    forces: Floats,
    listed: Indices,
    band: tuple[int, int],
    clamp_mm: float,
) -> float:
    """Add up the forces of the listed triangles in the points of a band.

    Triangles are taken in batches, so that the arithmetic between fetching their corners and
    handing out their forces is done for several at once by the processor.

    Returns
    -------
    float
        Volume swept by those listed triangles whose first corner is one of these points. [mm³]
    """
    sides, pushes, swept = np.ones((10, _AT_ONCE)), np.empty((9, _AT_ONCE)), 0.0
    for start in range(0, len(listed), _AT_ONCE):
        batch = listed[start : start + _AT_ONCE]
        _fetch(sheet, points, batch, sides)
        _push(sides, sheet.law, pushes)
        swept += _hand_out(sheet.triangles, points, batch, pushes, forces, band, clamp_mm)
    return swept


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _fetch(sheet: Sheet, points: Floats, batch: Indices, sides: Floats) -> None:
    """Write two sides and the metric of every triangle of a batch into columns."""
    for k in range(len(batch)):
        e = batch[k]
        i, j, l = sheet.triangles[e, 0], sheet.triangles[e, 1], sheet.triangles[e, 2]  # noqa: E741
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        sides[0, k], sides[1, k], sides[2, k] = points[j, 0] - x, points[j, 1] - y, points[j, 2] - z
        sides[3, k], sides[4, k], sides[5, k] = points[l, 0] - x, points[l, 1] - y, points[l, 2] - z
        sides[6, k], sides[7, k] = sheet.metric[e, 0], sheet.metric[e, 1]
        sides[8, k], sides[9, k] = sheet.metric[e, 2], sheet.metric[e, 3]


@njit(cache=True, nogil=True, error_model="numpy")
def _push(sides: Floats, law: Floats, pushes: Floats) -> None:
    """Work out what pulls at two corners, and a third of the area, for a batch of triangles.

    With the sides u and v and the inverse H of their flat metric, trace and determinant of the
    Cauchy-Green tensor are those of H times the metric of u and v now; the pull at a corner is
    how the energy grows with its side.
    """
    c1, c2, taut2 = law[0], law[1], law[2] * law[2]
    for k in range(_AT_ONCE):
        ux, uy, uz = sides[0, k], sides[1, k], sides[2, k]
        vx, vy, vz = sides[3, k], sides[4, k], sides[5, k]
        h_uu, h_uv, h_vv, per = sides[6, k], sides[7, k], sides[8, k], sides[9, k]
        uu = ux * ux + uy * uy + uz * uz
        uv = ux * vx + uy * vy + uz * vz
        vv = vx * vx + vy * vy + vz * vz
        trace = (h_uu * uu + 2.0 * h_uv * uv + h_vv * vv) * per * taut2
        quarter = 0.25 * per * taut2 * taut2
        over = 1.0 / ((uu * vv - uv * uv) * quarter * per)
        by_trace = (c1 + c2 * over) * taut2
        by_det = (c2 - (c1 + c2 * trace) * over * over) * quarter
        s_uu = by_trace * h_uu + by_det * vv
        s_uv = by_trace * h_uv - by_det * uv
        s_vv = by_trace * h_vv + by_det * uu
        pushes[0, k], pushes[3, k] = s_uu * ux + s_uv * vx, s_uv * ux + s_vv * vx
        pushes[1, k], pushes[4, k] = s_uu * uy + s_uv * vy, s_uv * uy + s_vv * vy
        pushes[2, k], pushes[5, k] = s_uu * uz + s_uv * vz, s_uv * uz + s_vv * vz
        away, side, down = uz * vy - uy * vz, ux * vz - uz * vx, uy * vx - ux * vy
        # Air does not get into a fold, where the sheet lies on itself.
        over = SHUT * down * down / (away * away + side * side + down * down)
        share = _SIXTH if down <= 0.0 else _SIXTH * max(law[3], 1.0 - min(1.0, over))
        pushes[6, k] = away * share
        pushes[7, k] = side * share
        pushes[8, k] = down * share


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _hand_out(
    triangles: Indices,
    points: Floats,
    batch: Indices,
    pushes: Floats,
    forces: Floats,
    band: tuple[int, int],
    clamp_mm: float,
) -> float:
    """Add a batch's forces to its corners, one triangle after the other."""
    first, end = np.uint32(band[0]), np.uint32(band[1])
    swept = 0.0
    for k in range(len(batch)):
        e = batch[k]
        i, j, l = triangles[e, 0], triangles[e, 1], triangles[e, 2]  # noqa: E741
        ax, ay, az = pushes[6, k], pushes[7, k], pushes[8, k]
        if first <= i < end:
            forces[i, 0] += pushes[0, k] + pushes[3, k]
            forces[i, 1] += pushes[1, k] + pushes[4, k]
            forces[i, 2] += pushes[2, k] + pushes[5, k]
            forces[i, 3] += ax
            forces[i, 4] += ay
            forces[i, 5] += az
            swept += az * (points[i, 2] + points[j, 2] + points[l, 2] - 3.0 * clamp_mm)
        if first <= j < end:
            forces[j, 0] -= pushes[0, k]
            forces[j, 1] -= pushes[1, k]
            forces[j, 2] -= pushes[2, k]
            forces[j, 3] += ax
            forces[j, 4] += ay
            forces[j, 5] += az
        if first <= l < end:
            forces[l, 0] -= pushes[3, k]
            forces[l, 1] -= pushes[4, k]
            forces[l, 2] -= pushes[5, k]
            forces[l, 3] += ax
            forces[l, 4] += ay
            forces[l, 5] += az
    return swept


@njit(cache=True, nogil=True, error_model="numpy")
def step_band(
    sheet: Sheet,
    state: State,
    buckets: Buckets,
    triangles: Indices,
    members: Indices,
    band: tuple[int, int],
    turn: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Take one band one step on, and tell its sums.

    Parameters
    ----------
    triangles, members : ndarray of uint32
        The band's triangles and points that still take part.
    band : tuple of int
        The band's points are those from the first to before the second.
    turn : int
        Which of the two sets of positions is the one before the step.
    control : ndarray
        Pressure, damping, way of the clamp in this step (downward), height of the clamp before
        the step, time after it.
    sums : ndarray, shape (N_SUMS,)
        Filled.
    """
    old, new = state.points[turn], state.points[1 - turn]
    forces, speeds, masses = state.forces, state.speeds, state.masses
    drifts, follow = state.drifts, _FOLLOW * control[DAMPING]
    touches, arrival = state.touches, state.arrival
    pressure, damping, drop, clamp_mm, time = (
        control[0], control[1], control[2], control[3], control[4],
    )  # fmt: skip
    for k in range(len(members)):
        i = members[k]
        for d in range(6):
            forces[i, d] = 0.0
    sums[:] = 0.0
    sums[SWEPT] = add_forces(sheet, old, forces, triangles, band, clamp_mm)
    keep, gain = (1.0 - 0.5 * damping) / (1.0 + 0.5 * damping), 1.0 / (1.0 + 0.5 * damping)
    for k in range(len(members)):
        i = members[k]
        x, y, z = old[i, 0], old[i, 1], old[i, 2]
        if touches[i] != FREE:
            new[i, 0], new[i, 1] = x, y
            new[i, 2] = z - drop if touches[i] == HELD else z
            continue
        ax, ay, az = forces[i, 3], forces[i, 4], forces[i, 5]
        rx, ry, rz = forces[i, 0], forces[i, 1], forces[i, 2]
        fx, fy, fz = rx + pressure * ax, ry + pressure * ay, rz + pressure * az
        vx, vy, vz = speeds[i, 0], speeds[i, 1], speeds[i, 2]
        ease = 1.0 / masses[i]
        sums[POWER_BEFORE] += vx * fx + vy * fy + vz * fz
        wx, wy, wz = drifts[i, 0], drifts[i, 1], drifts[i, 2]
        vx = keep * vx + gain * (ease * fx + damping * wx)
        vy = keep * vy + gain * (ease * fy + damping * wy)
        vz = keep * vz + gain * (ease * fz + damping * wz)
        drifts[i, 0] = wx + follow * (vx - wx)
        drifts[i, 1] = wy + follow * (vy - wy)
        drifts[i, 2] = wz + follow * (vz - wz)
        qx, qy, qz = x + vx, y + vy, z + vz - drop
        if not is_clear(x, y, z, qx, qy, qz, buckets):
            share, on_floor = first_hit(x, y, z, qx, qy, qz, buckets)
            if share <= 1.0:
                new[i, 0] = x + share * vx
                new[i, 1] = y + share * vy
                new[i, 2] = z + share * (vz - drop)
                speeds[i, 0] = speeds[i, 1] = speeds[i, 2] = 0.0
                touches[i] = ON_FLOOR if on_floor else ON_MOLD
                arrival[i] = time
                continue
        new[i, 0], new[i, 1], new[i, 2] = qx, qy, qz
        speeds[i, 0], speeds[i, 1], speeds[i, 2] = vx, vy, vz
        sums[KINETIC] += masses[i] * (vx * vx + vy * vy + vz * vz)
        sums[POWER_AFTER] += vx * fx + vy * fy + vz * fz
        sums[PUSHED] += (ax * ax + ay * ay + az * az) * ease
        sums[PUSHED_FORCE] += (ax * rx + ay * ry + az * rz) * ease
        sums[PUSHED_DRIFT] += ax * wx + ay * wy + az * wz
        sums[PUSHED_SPEED] += ax * vx + ay * vy + az * vz
        sums[FACING] += np.sqrt(ax * ax + ay * ay + az * az)


@njit(cache=True, nogil=True, error_model="numpy")
def weigh_band(
    sheet: Sheet,
    state: State,
    triangles: Indices,
    band: tuple[int, int],
    turn: int,
) -> None:
    """Give a band's points masses with which a step of 1 is stable for the sheet as it lies.

    A quarter of the sum of a row of the stiffness matrix, entries taken without sign, is enough
    (Gershgorin); a triangle's entries are at most its area times the lengths of two gradients
    times the greatest stiffness of the law at its stretches.
    """
    points, masses = state.points[turn], state.masses
    first, end = np.uint32(band[0]), np.uint32(band[1])
    for k in range(len(triangles)):
        for corner in sheet.triangles[triangles[k]]:
            if first <= corner < end:
                masses[corner] = 0.0
    for k in range(len(triangles)):
        e = triangles[k]
        i, j, l = sheet.triangles[e, 0], sheet.triangles[e, 1], sheet.triangles[e, 2]  # noqa: E741
        h_uu, h_uv, h_vv = sheet.metric[e, 0], sheet.metric[e, 1], sheet.metric[e, 2]
        stiffness = 0.25 * _stiffness(sheet, points, e)
        gi = np.sqrt(max(h_uu + 2.0 * h_uv + h_vv, 0.0))
        gj, gl = np.sqrt(h_uu), np.sqrt(h_vv)
        whole = stiffness * (gi + gj + gl)
        if first <= i < end:
            masses[i] += whole * gi
        if first <= j < end:
            masses[j] += whole * gj
        if first <= l < end:
            masses[l] += whole * gl


@njit(cache=True, nogil=True, error_model="numpy")
def _stiffness(sheet: Sheet, points: Floats, e: int) -> float:
    """Return a bound of the second derivatives of the energy at a triangle's stretches."""
    trace, det = _invariants(sheet, points, e)
    taut2 = sheet.law[2] * sheet.law[2]
    i, j = trace * taut2, det * taut2 * taut2
    greater = 0.5 * i + np.sqrt(max(0.25 * i * i - j, 0.0))
    lesser = j / greater
    first = 1.0 + 5.0 / (j * lesser)
    second = greater + 5.0 / (lesser * lesser)
    return float(taut2 * (sheet.law[0] * first + sheet.law[1] * second))


@njit(cache=True, nogil=True, error_model="numpy")
def _invariants(sheet: Sheet, points: Floats, e: int) -> tuple[float, float]:
    """Return trace and determinant of a triangle's Cauchy-Green tensor."""
    i, j, l = sheet.triangles[e, 0], sheet.triangles[e, 1], sheet.triangles[e, 2]  # noqa: E741
    uu = uv = vv = 0.0
    for d in range(3):
        u, v = points[j, d] - points[i, d], points[l, d] - points[i, d]
        uu += u * u
        uv += u * v
        vv += v * v
    per = sheet.metric[e, 3]
    trace = sheet.metric[e, 0] * uu + 2.0 * sheet.metric[e, 1] * uv + sheet.metric[e, 2] * vv
    return trace * per, (uu * vv - uv * uv) * 0.25 * per * per


@njit(cache=True, nogil=True, error_model="numpy")
def energy_mm2(sheet: Sheet, points: Floats) -> float:
    """Return the energy stored in the sheet, over modulus and gauge. [mm²]."""
    c1, c2, taut2 = sheet.law[0], sheet.law[1], sheet.law[2] ** 2
    stored = 0.0
    for e in range(len(sheet.triangles)):
        trace, det = _invariants(sheet, points, e)
        i, j = trace * taut2, det * taut2 * taut2
        density = 0.5 * (c1 * (i + 1 / j - 3.0) + c2 * (i / j + j - 3.0))
        stored += density / sheet.metric[e, 3]
    return stored


@njit(cache=True, nogil=True, error_model="numpy")
def out_of_balance(
    sheet: Sheet, state: State, listed: Indices, turn: int, pressure: float
) -> float:
    """Return the free points' net forces over the forces that make them up, sums of lengths."""
    points, touches = state.points[turn], state.touches
    n = len(touches)
    forces = np.zeros((n, 6))
    add_forces(sheet, points, forces, listed, (0, n), 0.0)
    net, parts = 0.0, 0.0
    for i in range(n):
        if touches[i] == FREE:
            squared = 0.0
            for d in range(3):
                squared += (forces[i, d] + pressure * forces[i, d + 3]) ** 2
            net += np.sqrt(squared)
    sides, pushes = np.ones((10, _AT_ONCE)), np.empty((9, _AT_ONCE))
    for start in range(0, len(listed), _AT_ONCE):
        batch = listed[start : start + _AT_ONCE]
        _fetch(sheet, points, batch, sides)
        _push(sides, sheet.law, pushes)
        for k in range(len(batch)):
            parts += _pulls(pushes, k, pressure)
    return net / parts if parts > 0.0 else 0.0


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _pulls(pushes: Floats, k: int, pressure: float) -> float:
    """Return the lengths of a triangle's forces at its corners, pressure's too, together."""
    jj = ll = both = aa = 0.0
    for d in range(3):
        jj += pushes[d, k] ** 2
        ll += pushes[3 + d, k] ** 2
        both += (pushes[d, k] + pushes[3 + d, k]) ** 2
        aa += pushes[6 + d, k] ** 2
    return float(np.sqrt(jj) + np.sqrt(ll) + np.sqrt(both) + 3.0 * pressure * np.sqrt(aa))


@njit(cache=True, nogil=True, error_model="numpy")
def still_moving(
    sheet: Sheet,
    state: State,
    triangles: Indices,
    members: Indices,
    band: tuple[int, int],
    turn: int,
    clamp_moves: bool,
    clamp_mm: float,
) -> tuple[Indices, Indices, float]:
    """Return the triangles and points of a band that still take part, and what the rest swept."""
    touches, points = state.touches, state.points
    first, end = np.uint32(band[0]), np.uint32(band[1])
    n_triangles, n_members, swept = 0, 0, 0.0
    left = np.empty_like(triangles)
    for k in range(len(triangles)):
        e = triangles[k]
        i, j, l = sheet.triangles[e, 0], sheet.triangles[e, 1], sheet.triangles[e, 2]  # noqa: E741
        if touches[i] and touches[j] and touches[l]:
            if first <= i < end:
                swept += _swept(points[turn], i, j, l, clamp_mm)
        else:
            left[n_triangles] = e
            n_triangles += 1
    still = np.empty_like(members)
    for k in range(len(members)):
        i = members[k]
        if touches[i] == FREE or (clamp_moves and touches[i] == HELD):
            still[n_members] = i
            n_members += 1
        else:
            points[1 - turn, i] = points[turn, i]
    return left[:n_triangles].copy(), still[:n_members].copy(), swept


@njit(cache=True, nogil=True, error_model="numpy")
def _swept(points: Floats, i: int, j: int, l: int, clamp_mm: float) -> float:  # noqa: E741
    twice = (points[j, 0] - points[i, 0]) * (points[l, 1] - points[i, 1]) - (
        points[j, 1] - points[i, 1]
    ) * (points[l, 0] - points[i, 0])
    return float(twice * (3.0 * clamp_mm - points[i, 2] - points[j, 2] - points[l, 2]) / 6.0)


# What steers the run, by place in its row of numbers.
PRESSURE, DAMPING, DROP, CLAMP, TIME, LEAST, GREATEST, ADVANCE, TARGET, ENOUGH = range(10)
SWEPT_REST, SWEPT_NOW, KINETIC_LAST, POWER_LAST, CLAMP_END, RISE, FULL, STARTED = range(10, 18)
N_CONTROL = 18
_VOLUME_GAIN = 0.2
_LEAST_ROOM_MM3 = 1e-9
_LEAST_DAMPING, _MOST_DAMPING = 0.002, 1.0


@njit(cache=True, nogil=True, error_model="numpy")
def steer(control: Floats, sums: Floats) -> None:
    """Set damping, pressure, clamp and time of the next step from what the bands summed up."""
    total = sums[0] + sums[1]
    _set_damping(control, total)
    control[SWEPT_NOW] = control[SWEPT_REST] + total[SWEPT]
    control[CLAMP] -= control[DROP]
    if control[RISE] > 0.0:
        control[DROP] = min(control[DROP], control[CLAMP] - control[CLAMP_END])
        control[TIME] = 1.0 - (control[CLAMP] - control[CLAMP_END]) / control[RISE]
        return
    _set_pressure(control, total)


@njit(cache=True, nogil=True, error_model="numpy")
def _set_damping(control: Floats, total: Floats) -> None:
    """Damp as is critical for the motion just made: twice the root of its Rayleigh quotient."""
    bent = control[POWER_LAST] - total[POWER_BEFORE]
    if control[KINETIC_LAST] > 0.0 and bent > 0.0:
        now = 1.54 * np.sqrt(bent / control[KINETIC_LAST])
        now = min(max(now, _LEAST_DAMPING), _MOST_DAMPING)
        control[DAMPING] += 0.1 * (now - control[DAMPING])
    control[KINETIC_LAST], control[POWER_LAST] = total[KINETIC], total[POWER_AFTER]


@njit(cache=True, nogil=True, error_model="numpy")
def _set_pressure(control: Floats, total: Floats) -> None:
    """Set the pressure with which the next step sweeps as much as is wanted, within its limits."""
    ahead = control[SWEPT_NOW] + total[PUSHED_SPEED]
    wanted = control[ADVANCE] * total[FACING]
    left = control[ENOUGH] - control[TARGET]
    wanted = min(wanted, left) if control[ADVANCE] > 0.0 else max(wanted, left)
    keep = 1.0 - 0.5 * control[DAMPING]
    pressure = control[GREATEST]
    if total[PUSHED] > 0.0:
        grow = wanted + _VOLUME_GAIN * (control[TARGET] - ahead)
        pressure = (
            (1.0 + 0.5 * control[DAMPING]) * grow - keep * total[PUSHED_SPEED] - total[PUSHED_FORCE]
        ) / total[PUSHED]
    if control[LEAST] <= pressure <= control[GREATEST]:
        control[TARGET] += wanted
    else:
        control[TARGET] = ahead
    control[PRESSURE] = min(max(pressure, control[LEAST]), control[GREATEST])
    if control[TIME] >= 1.0:
        control[TIME] = max(control[TIME], 1.0 + min(_share_drawn(control), 1.0))


@njit(cache=True, nogil=True, error_model="numpy")
def _share_drawn(control: Floats) -> float:
    """Return the share of the air that is drawn, or of the pressure if there is no end of it."""
    if control[FULL] == np.inf:
        return float(control[PRESSURE] / control[GREATEST])
    swept = control[SWEPT_NOW] - control[STARTED]
    return float(swept / max(control[FULL] - control[STARTED], _LEAST_ROOM_MM3))


@njit(cache=True, nogil=True, error_model="numpy")
def march(
    sheet: Sheet,
    state: State,
    buckets: Buckets,
    triangles: tuple[Indices, Indices],
    members: tuple[Indices, Indices],
    split: int,
    turn: int,
    n_steps: int,
    control: Floats,
    sums: Floats,
) -> None:
    """Take several steps, one band after the other."""
    n = len(state.touches)
    for _ in range(n_steps):
        step_band(
            sheet, state, buckets, triangles[0], members[0], (0, split), turn, control, sums[0]
        )
        step_band(
            sheet, state, buckets, triangles[1], members[1], (split, n), turn, control, sums[1]
        )
        turn = 1 - turn
        steer(control, sums)
