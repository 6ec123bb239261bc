"""One step of the sheet's points, against the same in plain numpy."""

import numpy as np
import pytest
from numba import njit
from support.some import some

from moldgen.physics.membrane import strides
from moldgen.physics.membrane.march_kernel import leave_out

N = 37
FACTORS = {"PRESSURE": 0.3, "KEEP": 0.8, "GAIN": 0.9, "DAMPING": 0.2, "FOLLOW": 0.05, "DROP": 0.07}


@njit
def stride_of(rows, carried, start, stop, factors, totals):
    """Call what only compiled loops can call."""
    return strides.stride(
        rows[0], rows[1], rows[2], rows[3], rows[4], rows[5], rows[6], rows[7], carried,
        start, stop, factors, totals,
    )  # fmt: skip


@pytest.fixture
def stepped():
    """Return rows before and after a step of the points 5 to 30, totals and the longest way."""
    rng = np.random.default_rng(8)
    rows = rng.normal(size=(8, N, 4))
    rows[:, :, 3] = 0.0
    root = rng.normal(size=(N, 3, 3))
    eases = np.eye(3) + root @ np.swapaxes(root, 1, 2)
    rows[6, :, :3] = np.diagonal(eases, axis1=1, axis2=2)
    rows[7, :, :3] = eases[:, [0, 1, 2], [1, 2, 0]]
    carried = (rng.uniform(size=N) > 0.4).astype(float)
    factors = np.zeros(strides.N_FACTORS)
    for name, value in FACTORS.items():
        factors[getattr(strides, name)] = value
    before, totals = rows.copy(), np.full((strides.N_TOTALS, 4), 2.0)
    longest = stride_of(rows, carried, 5, 30, factors, totals)
    return before, rows, totals - 2.0, longest, eases[5:30], carried[5:30]


def times(matrices, rows):
    """Return every matrix times its row."""
    return np.einsum("kij,kj->ki", matrices, rows[:, :3])


def plain_step(before, eases, carried):
    """Return force, momentum, way, place and drift after a step."""
    pulls, areas, old, _, momenta, drifts, _, _ = before[:, :, :3]
    force = pulls + FACTORS["PRESSURE"] * areas
    push = force + FACTORS["DAMPING"] * drifts
    moved = FACTORS["KEEP"] * momenta + FACTORS["GAIN"] * push
    way = times(eases, moved)
    place = old + way
    place[:, 2] -= FACTORS["DROP"] * carried
    return force, moved, way, place, drifts + FACTORS["FOLLOW"] * (moved - drifts)


def plain_totals(before, eases, carried):
    """Return what steers the next step: power before and after, pushes, motion and volume."""
    pulls, areas, old, _, momenta, _, _, _ = before[:, :, :3]
    force, moved, way, _, _ = plain_step(before, eases, carried)
    return {
        "BEFORE": times(eases, momenta) * force,
        "AFTER": way * force,
        "PUSHED": areas * times(eases, areas),
        "PUSHED_FORCE": pulls * times(eases, areas),
        "PUSHED_SPEED": areas * way,
        "KINETIC": moved * way,
        "UNDER": areas * old,
        "OPEN": areas,
    }


def test_points_go_on_as_in_plain_numpy(stepped):
    """Places, momenta and drifts of the points asked for, and nothing else is written."""
    before, rows, _, longest, eases, carried = stepped
    _, moved, _, place, drift = plain_step(before[:, 5:30], eases, carried)

    for which, plain in ((3, place), (4, moved), (5, drift)):
        np.testing.assert_allclose(rows[which, 5:30, :3], plain, rtol=1e-12, atol=1e-12)
    gone = np.linalg.norm(place - before[2, 5:30, :3], axis=1).max()
    assert gone <= longest <= 3**0.5 * gone
    np.testing.assert_array_equal(rows[3:6, :5, :3], before[3:6, :5, :3])
    np.testing.assert_array_equal(rows[3:6, 30:, :3], before[3:6, 30:, :3])


def test_totals_are_those_of_plain_numpy(stepped):
    """What steers the next step, in every direction."""
    before, _, totals, _, eases, carried = stepped

    for name, parts in some(plain_totals(before[:, 5:30], eases, carried).items()):
        found = totals[getattr(strides, name)].sum()
        assert found == pytest.approx(parts.sum(), rel=1e-11), name


def test_what_landed_is_left_out_of_the_totals(stepped):
    """Points 7, 11 and 12 land: the sums are those of the others, but for the power before."""
    before, rows, totals, _, eases, carried = stepped
    landed = np.array([7, 11, 12])
    factors = np.array([FACTORS["PRESSURE"]])

    leave_out(rows[0], rows[1], rows[4], rows[6], rows[7], 2 * landed + 1, factors, totals)
    stay = np.setdiff1d(np.arange(5, 30), landed)
    plain = plain_totals(before[:, stay], eases[stay - 5], carried[stay - 5])
    for name in ("AFTER", "PUSHED", "PUSHED_FORCE", "PUSHED_SPEED", "KINETIC"):
        found = totals[getattr(strides, name)].sum()
        assert found == pytest.approx(plain[name].sum(), rel=1e-11), name
