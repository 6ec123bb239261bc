"""A neo-Hookean sheet blown into a cone or a cylinder, in one dimension, for the tests.

What is still free is a flat sheet of radius R whose rim has been stretched by k and meets the wall
at its angle. Counted in pressure over modulus and gauge it depends on the stretch of its pole
alone, so the equations of Adkins and Rivlin are solved outward from the pole until the sheet is as
steep as the wall; that gives k and the stretch l along the wall. The rim then creeps down the wall
as it sticks: d(k R) = l cos(angle) dR, and a way l dR of wall is covered. The mold has no floor.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from support.membrane_ode import slopes, tensions

STEPS = 1200


@dataclass(frozen=True)
class Wall:
    """What a wall is covered with, from the lip on; lengths over the radius of the lip.

    Attributes
    ----------
    along : ndarray
        Way from the lip, down the wall, to where the free sheet begins.
    thickness : ndarray
        Thickness there.
    depth : ndarray
        How far the free sheet's pole is then below the lip.
    pole : ndarray
        Thickness of the pole then.
    left : ndarray
        Flat radius of what is then still free.
    """

    along: np.ndarray
    thickness: np.ndarray
    depth: np.ndarray
    pole: np.ndarray
    left: np.ndarray


def free_sheets(pole_stretches, angle):
    """Return the stretch around every rim and down the wall there, and the height over R."""
    pole = pole_stretches
    step = 3.0 * np.minimum(1.0, 20 * (pole - 1) ** 1.5) / STEPS
    radius, r = 1e-3 * step, 1e-3 * step * pole
    state = np.array([pole, r, 0 * r, 0.5 * r / tensions(pole, pole, 1.0, 0.0)[0], 0 * r])
    found = np.full((3, len(pole)), np.nan)
    for _ in range(STEPS):
        ahead = runge_kutta(radius, state, step)
        now = (ahead[3] >= angle) & np.isnan(found[0])
        share = ((angle - state[3]) / (ahead[3] - state[3]))[now]
        l1, r, z, _, _ = state[:, now] + share * (ahead - state)[:, now]
        rim = (radius + step * np.ones(len(pole)))[now] - (1 - share) * step[now]
        found[:, now] = r / rim, l1, -z / rim
        done = ~np.isnan(found[0])
        if done.all():
            break
        radius, state = np.where(done, radius, radius + step), np.where(done, state, ahead)
    return found


def runge_kutta(radius, state, step):
    """Take one step of the classical fourth order, for many sheets at once."""

    def rate(at, state):
        return np.array(slopes(at, state, 1.0, 0.0, (np.cos, np.sin)))

    k1 = rate(radius, state)
    k2 = rate(radius + step / 2, state + step / 2 * k1)
    k3 = rate(radius + step / 2, state + step / 2 * k2)
    k4 = rate(radius + step, state + step * k3)
    return state + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)


@cache
def covered_wall(angle, *, most=12.0, n=400):
    """Return how a wall at an angle from the level is covered, until the pole is so stretched."""
    pole = 1.01 + (most - 1.01) * np.linspace(0, 1, n) ** 2
    k, along, height = free_sheets(pole, angle)
    # Nothing sticks before the free sheet is as steep as the wall while its rim is still the lip.
    rising = np.argmax(np.diff(k) > 0)
    first = np.interp(1.0, k[rising:], pole[rising:])
    fine = np.linspace(first, most, 4 * n)
    k, along, height = (np.interp(fine, pole, each) for each in (k, along, height))
    # d(k R) = l cos(angle) dR, as d(ln R) over dk, summed by the trapezoidal rule.
    per = 1 / (along * np.cos(angle) - k)
    lost = np.concatenate([[0.0], np.cumsum(np.diff(k) * 0.5 * (per[1:] + per[:-1]))])
    radius = np.exp(lost)
    way = np.concatenate([[0.0], np.cumsum(-np.diff(radius) * 0.5 * (along[1:] + along[:-1]))])
    return Wall(
        along=way,
        thickness=1 / (along * k),
        depth=way * np.sin(angle) + height * radius,
        pole=fine**-2,
        left=radius,
    )
