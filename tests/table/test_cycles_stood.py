"""Cycles that molds stood: the points of the distribution, censoring, how often it holds."""

import numpy as np
import pytest
from conftest import published

from moldgen.stock.experience import CyclesStood
from moldgen.table.cycles_stood import (
    MoldCycles,
    cycles_stood,
    far_molds,
    gamma_point,
    stood_with,
)

N_LOGS = 2000


@pytest.mark.parametrize("row", published("chi_squared"), ids=lambda row: row["freedom"])
def test_points_are_half_of_chi_squared(row):
    """The 5 % and 95 % points are half the printed ones of twice the shape's freedom."""
    shape = int(row["freedom"]) // 2

    assert 2 * gamma_point(shape, 0.05) == pytest.approx(float(row["lower_05"]), abs=0.0005)
    assert 2 * gamma_point(shape, 0.95) == pytest.approx(float(row["upper_05"]), abs=0.0005)


def test_a_shape_off_by_one_would_be_found_out():
    """The neighboring shape misses the printed points by far."""
    row = next(row for row in published("chi_squared") if row["freedom"] == "10")

    assert abs(2 * gamma_point(6, 0.95) - float(row["upper_05"])) > 2


def stood(*cycles):
    """Return molds that were given up after so many cycles."""
    return [MoldCycles(cycles=n, ended=True) for n in cycles]


def test_the_computed_life_counts_as_one_mold():
    """Without molds the computed life is told; with molds it is one of them."""
    assert cycles_stood([], expected=30).value == 30
    assert cycles_stood(stood(10), expected=30).value == pytest.approx(20)
    assert cycles_stood(stood(10, 12, 8), expected=30).value == pytest.approx(15)


def test_molds_that_still_stand_never_lower_the_life():
    """A mold that stands raises value and both ends by what it has behind it, never lowers them."""
    before = cycles_stood(stood(10, 12), expected=30)
    for cycles in (1, 5, 200):
        standing = MoldCycles(cycles=cycles, ended=False)
        after = cycles_stood([*stood(10, 12), standing], expected=30)
        assert after.value == pytest.approx(before.value + cycles / 3)
        assert after.low > before.low
        assert after.high > before.high
        assert after.n_notes == 3


def test_taking_standing_molds_for_ended_ones_would_be_found_out():
    """Molds that stand at 20 cycles tell of a longer life than molds given up there."""
    standing = [MoldCycles(cycles=20, ended=False)] * 5
    ended = [MoldCycles(cycles=20, ended=True)] * 5

    assert cycles_stood(standing, expected=30).low > 2 * cycles_stood(ended, expected=30).low


@pytest.mark.parametrize("n_molds", [2, 15])
def test_nine_of_ten_ranges_hold_the_life(n_molds):
    """Of simulated logs, half of their molds still standing, the range holds the mean life."""
    rng = np.random.default_rng(n_molds)
    held = 0
    for _ in range(N_LOGS):
        life = 30 / rng.exponential()
        lives, seen = rng.exponential(life, n_molds), rng.exponential(life, n_molds)
        molds = [
            MoldCycles(cycles=min(one, until), ended=bool(one < until))
            for one, until in zip(lives, seen, strict=True)
        ]
        told = cycles_stood(molds, expected=30)
        held += told.low <= life <= told.high

    assert held / N_LOGS == pytest.approx(0.90, abs=0.02)


def test_a_mold_of_its_own_goes_by_its_own_computed_life():
    """What is learned of a filament is held against what is computed for the mold in hand."""
    molds = stood(10, 12, 8)
    known = CyclesStood(
        filament="ABS", cycles=cycles_stood(molds, expected=30), n_ended=3, n_cycles=30
    )

    assert stood_with(known, expected=30) == known
    assert stood_with(known, expected=5).cycles == cycles_stood(molds, expected=5)


def test_only_many_times_the_life_of_the_others_contradicts():
    """Lives of one mean never do; a hundred times the others does, and short ones never."""
    rng = np.random.default_rng(3)
    logs = [stood(*(1 + rng.exponential(20.0, 12)).astype(int)) for _ in range(200)]

    assert sum(bool(far_molds(log, expected=20)) for log in logs) <= 2
    assert far_molds(stood(10, 12, 8, 11, 9, 1500), expected=20) == (5,)
    assert far_molds(stood(100, 120, 80, 1), expected=100) == ()
    assert far_molds(stood(5000), expected=30) == ()
