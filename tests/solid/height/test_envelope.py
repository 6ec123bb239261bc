"""Envelopes and rolling balls against the full search over every pair of nodes."""

from __future__ import annotations

from math import radians, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from moldgen.errors import SpecError
from moldgen.solid.height import reach
from moldgen.solid.height.envelope import lower_envelope, upper_envelope
from moldgen.solid.height.reach import BALL, CONE, SKIRTED, highest
from moldgen.solid.height.rolling import filled_hollows, rounded_edges

FEW = settings(max_examples=40, deadline=None)


def full_search(heights, kind, size):
    """Return the highest cone or ball over every node, by trying every node."""
    ny, nx = heights.shape
    rows, columns = np.mgrid[:ny, :nx]
    out = np.empty_like(heights)
    for i in range(ny):
        for j in range(nx):
            square = (rows - i) ** 2.0 + (columns - j) ** 2.0
            if kind == CONE:
                stands = -size * np.sqrt(square)
            else:
                left = size * size - square
                stands = np.where(left >= 0, np.sqrt(np.abs(left)) - size, -np.inf)
            out[i, j] = (heights + stands).max()
    return out


@st.composite
def fields(draw):
    """Small grids of heights, some of them with bare places."""
    shape = draw(st.tuples(st.integers(1, 17), st.integers(1, 17)))
    heights = draw(arrays(np.float64, shape, elements=st.floats(-8, 8, width=16)))
    if draw(st.booleans()):
        bare = draw(arrays(np.bool_, shape, elements=st.booleans()))
        heights = np.where(bare, -np.inf, heights)
    return heights


def slopes(heights, cell_mm):
    """Return every rise over run between two nodes of a field."""
    places = np.argwhere(np.isfinite(heights)) * cell_mm
    z = heights[np.isfinite(heights)]
    run = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    return (np.abs(z[:, None] - z[None]) / np.where(run > 0, run, np.inf)).max(initial=0.0)


@FEW
@given(fields(), st.sampled_from([0.05, 0.6, 1.0, 3.7, 12.0]), st.sampled_from([CONE, BALL]))
def test_pruned_search_finds_what_the_full_search_finds(heights, size, kind):
    """Leaving blocks out never loses the winner, for cones and balls of any size."""
    found, sought = highest(heights, kind, size), full_search(heights, kind, size)
    bare = np.isinf(sought)
    assert (bare == np.isinf(found)).all()
    assert found[~bare] == pytest.approx(sought[~bare], abs=1e-12)


@FEW
@given(fields(), st.sampled_from([(BALL, 1.0), (BALL, 3.7), (SKIRTED, 2.5), (SKIRTED, 9.0)]))
def test_sweeping_and_looking_for_winners_find_the_same(heights, ball):
    """A ball swept over all nodes under it gives, to the last bit, what the pruned search gives."""
    kind, size = ball
    swept = highest(heights, kind, size, fall=4.0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reach, "MOST_SWEPT", 0)
        sought = highest(heights, kind, size, fall=4.0)
    assert np.array_equal(swept, sought)


def test_large_grid_in_bands_finds_what_the_full_search_finds():
    """Bands worked on side by side join without a seam, at peaks far apart too."""
    rng = np.random.default_rng(7)
    heights = rng.normal(size=(120, 90)) + 40 * (rng.random((120, 90)) < 0.002)
    for kind, size in ((CONE, 0.7), (BALL, 6.3)):
        assert highest(heights, kind, size) == pytest.approx(
            full_search(heights, kind, size), abs=1e-12
        )


@FEW
@given(fields(), st.sampled_from([2.0, 5.0, 30.0, 60.0]))
def test_upper_envelope_is_the_least_field_above_that_leans(heights, draft_deg):
    """It is above, leans, and does not change when taken again; nothing less does."""
    if not np.isfinite(heights).any():
        return
    above = upper_envelope(heights, cell_mm=0.5, draft_deg=draft_deg)
    limit = 1 / tan(radians(draft_deg))
    assert (above >= heights).all()
    assert slopes(above, 0.5) <= limit * (1 + 1e-9)
    again = upper_envelope(above, cell_mm=0.5, draft_deg=draft_deg)
    assert again == pytest.approx(above, abs=1e-9)
    lowered = above.copy()
    row, column = np.argwhere(above > heights)[0] if (above > heights).any() else (0, 0)
    if above[row, column] > heights[row, column]:
        lowered[row, column] -= 1e-3
        assert slopes(lowered, 0.5) > limit * (1 + 1e-12)


@FEW
@given(fields(), st.sampled_from([5.0, 45.0]))
def test_lower_envelope_is_the_upper_one_upside_down(heights, draft_deg):
    """Cutting recesses back mirrors building walls up, and leaves bare places bare."""
    below = lower_envelope(heights, cell_mm=0.5, draft_deg=draft_deg)
    there = np.isfinite(heights)
    assert (np.isinf(below) == ~there).all()
    assert (below[there] <= heights[there]).all()
    if there.all():
        mirrored = -upper_envelope(-heights, cell_mm=0.5, draft_deg=draft_deg)
        assert below == pytest.approx(mirrored, abs=1e-12)


@FEW
@given(fields(), st.sampled_from([0.3, 0.5, 1.2, 3.0]), st.sampled_from([3.0, 30.0]))
def test_radii_keep_the_draft(heights, ball_mm, draft_deg):
    """A ball rolled over a field that leans leaves a field that leans."""
    if not np.isfinite(heights).any():
        return
    leaning = upper_envelope(heights, cell_mm=0.5, draft_deg=draft_deg)
    filled = filled_hollows(leaning, ball_mm=ball_mm, cell_mm=0.5)
    rounded = rounded_edges(filled, ball_mm=ball_mm, cell_mm=0.5)
    limit = 1 / tan(radians(draft_deg))
    assert (filled >= leaning).all()
    assert (rounded <= filled).all()
    assert slopes(filled, 0.5) <= limit * (1 + 1e-6)
    assert slopes(rounded, 0.5) <= limit * (1 + 1e-6)


@FEW
@given(fields(), st.sampled_from([0.6, 1.2, 3.0]))
def test_rolling_the_same_ball_twice_changes_nothing_more(heights, ball_mm):
    """Closing and opening are idempotent."""
    if not np.isfinite(heights).all():
        return
    for roll in (filled_hollows, rounded_edges):
        once = roll(heights, ball_mm=ball_mm, cell_mm=0.5)
        assert roll(once, ball_mm=ball_mm, cell_mm=0.5) == pytest.approx(once, abs=1e-9)


def test_ball_fills_a_right_angled_groove_to_its_own_circle():
    """Between a floor and a slope of 45° the ball leaves its arc, whose middle is known."""
    cell, ball = 0.02, 2.0
    x = np.arange(-6, 6 + cell / 2, cell)
    groove = np.abs(x)[None].repeat(3, axis=0)
    # One row only: a cylinder is what a long groove sees of a ball.
    filled = filled_hollows(groove[:1], ball_mm=ball, cell_mm=cell)
    middle = ball * (np.sqrt(2) - 1)
    assert filled[0, len(x) // 2] == pytest.approx(middle, abs=cell * 0.05)
    far = np.abs(x) > ball
    assert (filled[0, far] == pytest.approx(groove[0, far], abs=1e-9)) or not far.any()


def test_single_spike_becomes_a_cone_and_is_rounded_away():
    """A spike gets the cone of its draft; a ball that does not fit into the cone takes its tip."""
    heights = np.full((41, 41), -np.inf)
    heights[20, 20] = 10.0
    cone = upper_envelope(heights, cell_mm=0.5, draft_deg=45.0)
    assert cone[20, 30] == pytest.approx(5.0)
    assert cone[23, 24] == pytest.approx(10 - 2.5)
    rounded = rounded_edges(cone, ball_mm=2.0, cell_mm=0.5)
    assert rounded[20, 20] == pytest.approx(10 - 2 * (np.sqrt(2) - 1), abs=0.05)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: upper_envelope(np.zeros((2, 2)), cell_mm=0.0, draft_deg=5), "cell_mm must be"),
        (lambda: upper_envelope(np.zeros((2, 2)), cell_mm=1, draft_deg=0), "draft_deg must be"),
        (lambda: lower_envelope(np.full((2, 2), np.nan), cell_mm=1, draft_deg=5), "heights_mm"),
        (lambda: filled_hollows(np.zeros((2, 2)), ball_mm=0, cell_mm=1), "ball_mm must be"),
        (lambda: rounded_edges(np.full((2, 2), np.inf), ball_mm=1, cell_mm=1), "finite"),
    ],
)
def test_bad_numbers_are_refused(call, words):
    """Every wrong number is named."""
    with pytest.raises(SpecError, match=words):
        call()
