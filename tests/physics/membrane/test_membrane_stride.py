"""One step of the sheet's points, against the same in plain numpy."""

import numpy as np
import pytest
from numba import njit

from moldgen.physics.membrane import strides
from moldgen.physics.membrane.march_kernel import leave_out

N = 37
FACTORS = {"PRESSURE": 0.3, "KEEP": 0.8, "GAIN": 0.9, "DAMPING": 0.2, "FOLLOW": 0.05, "DROP": 0.07}


@njit
def stride_of(rows, masses, carried, start, stop, factors, totals):
    """Call what only compiled loops can call."""
    return strides.stride(
        rows[0], rows[1], rows[2], rows[3], rows[4], rows[5], rows[6], masses, carried,
        start, stop, factors, totals,
    )  # fmt: skip


@pytest.fixture
def stepped():
    """Return rows before and after a step of the points 5 to 30, totals and the longest way."""
    rng = np.random.default_rng(8)
    rows = rng.normal(size=(7, N, 4))
    rows[:, :, 3] = 0.0
    masses, carried = rng.uniform(1, 3, N), (rng.uniform(size=N) > 0.4).astype(float)
    rows[6, :, :3] = 1 / masses[:, None]
    factors = np.zeros(strides.N_FACTORS)
    for name, value in FACTORS.items():
        factors[getattr(strides, name)] = value
    before, totals = rows.copy(), np.full((strides.N_TOTALS, 4), 2.0)
    longest = stride_of(rows, masses, carried, 5, 30, factors, totals)
    return before[:, 5:30], rows, totals - 2.0, longest, masses[5:30], carried[5:30]


def plain_step(before, carried):
    """Return force, way, place and drift after a step."""
    pulls, areas, old, _, speeds, drifts, ease = before
    force = pulls + FACTORS["PRESSURE"] * areas
    push = ease * force + FACTORS["DAMPING"] * drifts
    way = FACTORS["KEEP"] * speeds + FACTORS["GAIN"] * push
    place = old + way
    place[:, 2] -= FACTORS["DROP"] * carried
    return force, way, place, drifts + FACTORS["FOLLOW"] * (way - drifts)


def test_points_go_on_as_in_plain_numpy(stepped):
    """Places, ways and drifts of the points asked for, and nothing else is written."""
    before, rows, _, longest, _, carried = stepped
    _, way, place, drift = plain_step(before, carried)

    for which, plain in ((3, place), (4, way), (5, drift)):
        np.testing.assert_allclose(rows[which, 5:30], plain, rtol=1e-12, atol=1e-12)
    gone = np.linalg.norm(place - before[2], axis=1).max()
    assert gone <= longest <= 3**0.5 * gone
    fresh = np.random.default_rng(8).normal(size=(7, N, 4))
    np.testing.assert_array_equal(rows[3:6, :5, :3], fresh[3:6, :5, :3])
    np.testing.assert_array_equal(rows[3:6, 30:, :3], fresh[3:6, 30:, :3])


def test_totals_are_those_of_plain_numpy(stepped):
    """What steers the next step: power before and after, pushes, and motion."""
    before, _, totals, _, masses, carried = stepped
    pulls, areas, _, _, speeds, _, ease = before
    force, way, _, _ = plain_step(before, carried)
    plain = {
        "BEFORE": speeds * force,
        "AFTER": way * force,
        "PUSHED": areas**2 * ease,
        "PUSHED_FORCE": areas * pulls * ease,
        "PUSHED_SPEED": areas * way,
        "KINETIC": masses[:, None] * way**2,
    }

    for name, parts in plain.items():
        found = totals[getattr(strides, name)].sum()
        assert found == pytest.approx(parts.sum(), rel=1e-11), name


def test_what_landed_is_left_out_of_the_totals(stepped):
    """Points 7, 11 and 12 land: the sums are those of the others, but for the power before."""
    before, rows, totals, _, masses, carried = stepped
    landed = np.array([7, 11, 12])
    factors = np.array([FACTORS["PRESSURE"]])
    all_masses = np.concatenate([np.ones(5), masses, np.ones(N - 30)])

    leave_out(rows[0], rows[1], rows[4], rows[6], all_masses, 2 * landed + 1, factors, totals)
    stay = np.setdiff1d(np.arange(5, 30), landed) - 5
    _, areas, _, _, _, _, ease = before[:, stay]
    force, way, _, _ = plain_step(before[:, stay], carried[stay])
    plain = {
        "AFTER": way * force,
        "PUSHED": areas**2 * ease,
        "PUSHED_FORCE": areas * before[0, stay] * ease,
        "PUSHED_SPEED": areas * way,
        "KINETIC": masses[stay, None] * way**2,
    }
    for name, parts in plain.items():
        found = totals[getattr(strides, name)].sum()
        assert found == pytest.approx(parts.sum(), rel=1e-11), name
