"""Compiled: pressure, damping and clamp of the next step from what the points did in the last."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Floats
from moldgen.compiling import njit

# What a band sums up in a step, by place in its row of sums.
KINETIC, POWER_BEFORE, POWER_AFTER, PUSHED, PUSHED_FORCE, PUSHED_SPEED, FACING, SWEPT = range(8)
N_SUMS = 8

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
    total = np.empty(N_SUMS)
    for k in range(N_SUMS):
        total[k] = sums[0, k] + sums[1, k]
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
