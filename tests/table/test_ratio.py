"""Ratios of notes: shrunk toward 1, how often their ranges hold, and which notes contradict."""

from math import exp, log

import numpy as np
import pytest

from moldgen.table.ratio import (
    CALIPER_WITHIN,
    COOLING_WITHIN,
    NOTED_WITHIN,
    PRINTING_WITHIN,
    THICKNESS_WITHIN,
    ratio_contradictions,
    ratio_estimate,
)

KINDS = {
    "cooling": (COOLING_WITHIN, NOTED_WITHIN),
    "thickness": (THICKNESS_WITHIN, CALIPER_WITHIN),
    "printing": (PRINTING_WITHIN, NOTED_WITHIN),
}
N_LOGS = 2000


@pytest.mark.parametrize("n", [1, 3, 10])
@pytest.mark.parametrize("kind", KINDS)
def test_a_ratio_is_shrunk_toward_one(kind, n):
    """With n equal notes the logarithm is n over n and the square of scatter over width of it."""
    within, scatter = KINDS[kind]
    told = ratio_estimate([1.4] * n, within=within, scatter=scatter)

    assert log(told.value) == pytest.approx(log(1.4) * n / (n + (scatter / within) ** 2))
    assert 1 < told.value < 1.4
    assert told.low < told.value < told.high


def test_without_notes_there_is_no_ratio():
    """Nobody noted, nothing told."""
    assert ratio_estimate([], within=0.3, scatter=0.2) is None
    assert ratio_contradictions([], scatter=0.2) == ()


def simulated(kind, n, seed):
    """Yield the true factor of each of many logs, and what n notes say of it."""
    within, scatter = KINDS[kind]
    rng = np.random.default_rng(seed)
    truths = rng.normal(0.0, within, N_LOGS)
    notes = np.exp(truths[:, None] + rng.normal(0.0, scatter, (N_LOGS, n + 1)))
    for truth, row in zip(truths, notes, strict=True):
        told = ratio_estimate(row[:n].tolist(), within=within, scatter=scatter)
        yield exp(truth), float(row[n]), told


@pytest.mark.parametrize("n", [1, 4, 25])
@pytest.mark.parametrize("kind", KINDS)
def test_nine_of_ten_ranges_hold(kind, n):
    """Of 2000 logs the range holds the factor, and that of the next note the next note."""
    logs = list(simulated(kind, n, seed=n))

    held = np.mean([told.low <= truth <= told.high for truth, _, told in logs])
    next_held = np.mean([told.next.low <= one <= told.next.high for _, one, told in logs])

    # Three standard deviations of a share of 2000 are 0.02; Student's range is a little wide.
    assert held == pytest.approx(0.905, abs=0.022)
    assert next_held == pytest.approx(0.905, abs=0.022)


def test_ranges_that_count_scatter_by_half_would_be_found_out():
    """If a note scattered half as much as it does, far fewer ranges would hold the factor."""
    rng = np.random.default_rng(2)
    truths = rng.normal(0.0, COOLING_WITHIN, 400)
    notes = np.exp(truths[:, None] + rng.normal(0.0, NOTED_WITHIN, (400, 4)))
    told = [
        ratio_estimate(row.tolist(), within=COOLING_WITHIN, scatter=NOTED_WITHIN / 2)
        for row in notes
    ]
    held = [one.low <= exp(truth) <= one.high for truth, one in zip(truths, told, strict=True)]

    assert np.mean(held) < 0.82


@pytest.mark.parametrize("kind", KINDS)
def test_right_notes_hardly_ever_contradict(kind):
    """Of 300 logs of ten notes that scatter as stated, at most two have one that is left out."""
    _, scatter = KINDS[kind]
    rng = np.random.default_rng(5)
    logs = np.exp(rng.normal(0.2, scatter, (300, 10))).tolist()

    assert sum(bool(ratio_contradictions(one, scatter=scatter)) for one in logs) <= 2


def test_a_far_note_is_found_and_the_rest_stay():
    """One of ten times the others is alone in contradicting; of two both are told."""
    assert ratio_contradictions([1.0, 1.1, 10.0, 0.95], scatter=0.2) == ((2,),)
    assert ratio_contradictions([1.0, 10.0], scatter=0.2) == ((0, 1),)
    assert ratio_contradictions([1.0, 1.5], scatter=0.2) == ()
    assert ratio_contradictions([10.0], scatter=0.2) == ()
