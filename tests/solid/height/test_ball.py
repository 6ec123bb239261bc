"""The rolling ball: closed forms at a wall and over a slot, a plain twin, and what a closing is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.solid.height.ball import gap_under_ball


def rolled(heights, ball_mm, cell_mm):
    """Return the same closing by plain loops over every cell and every cell under the ball."""
    reach = int(ball_mm / cell_mm)
    padded = np.pad(heights, 2 * reach, mode="edge")

    def touch(field, sign):
        out = np.empty_like(field)
        for i, j in np.ndindex(field.shape):
            best = -np.inf
            for r in range(-reach, reach + 1):
                for c in range(-reach, reach + 1):
                    square = ball_mm**2 - (r * r + c * c) * cell_mm**2
                    row, column = i + r, j + c
                    inside = 0 <= row < field.shape[0] and 0 <= column < field.shape[1]
                    if square > 1e-9 and inside:
                        best = max(best, sign * field[row, column] + square**0.5)
            out[i, j] = sign * best
        return out

    closed = touch(touch(padded, 1), -1)
    inner = closed[2 * reach : 2 * reach + heights.shape[0], 2 * reach :][:, : heights.shape[1]]
    return np.maximum(inner - heights, 0)


fields = st.integers(0, 2**32 - 1).map(
    lambda seed: np.round(np.random.default_rng(seed).uniform(0, 6, (9, 11)), 2)
)


def test_gap_in_the_corner_of_a_tall_wall():
    """Beside a wall taller than the ball the gap is R - sqrt(R² - (R - d)²), and 0 beyond R."""
    R, cell = 8.0, 0.5
    heights = np.zeros((5, 60))
    heights[:, :20] = 20.0
    gap = gap_under_ball(heights, ball_mm=R, cell_mm=cell)[2]

    d = cell * np.arange(1, 41)
    exact = np.where(d < R, R - np.sqrt(np.maximum(R**2 - (R - d) ** 2, 0)), 0)
    np.testing.assert_allclose(gap[20:], exact, atol=1e-12)
    np.testing.assert_allclose(gap[:20], 0, atol=1e-12)


@pytest.mark.parametrize("width_mm", [4.0, 6.0, 10.0])
def test_gap_over_a_slot_narrower_than_the_ball(width_mm):
    """A ball on the two edges of a slot dips R - sqrt(R² - w²/4) below them, no farther."""
    R, cell, depth = 8.0, 0.5, 9.0
    n = round(width_mm / cell)
    heights = np.full((5, 81), depth)
    heights[:, 41 - n // 2 : 40 + n // 2] = 0.0  # the nearest cells of the edges are w apart
    gap = gap_under_ball(heights, ball_mm=R, cell_mm=cell)[2]

    assert gap[40] == pytest.approx(depth - (R - np.sqrt(R**2 - width_mm**2 / 4)), abs=1e-12)


def test_gap_in_a_round_hole_is_that_of_the_sphere():
    """Over a round hole the ball dips as into a slot as wide, whichever way one looks."""
    R, cell, depth, radius = 8.0, 0.25, 9.0, 4.0
    y, x = np.mgrid[-60:61, -60:61] * cell
    heights = np.where(np.hypot(x, y) < radius, 0.0, depth)
    gap = gap_under_ball(heights, ball_mm=R, cell_mm=cell)

    assert gap[60, 60] == pytest.approx(depth - (R - np.sqrt(R**2 - radius**2)), abs=1e-9)


@given(fields, st.sampled_from([0.4, 1.0, 2.3]))
@settings(max_examples=15, deadline=None)
def test_twin_plain_loops(heights, ball):
    """The compiled kernel and plain loops agree."""
    np.testing.assert_allclose(
        gap_under_ball(heights, ball_mm=ball, cell_mm=0.5), rolled(heights, ball, 0.5), atol=1e-12
    )


@given(fields)
@settings(max_examples=25, deadline=None)
def test_closing_twice_changes_nothing(heights):
    """A field already closed by the ball has no gap left away from the border."""
    big = np.pad(heights, 12, mode="edge")
    once = big + gap_under_ball(big, ball_mm=1.4, cell_mm=0.5)

    np.testing.assert_allclose(gap_under_ball(once, ball_mm=1.4, cell_mm=0.5), 0, atol=1e-9)


@given(fields)
@settings(max_examples=25, deadline=None)
def test_turning_and_raising_change_nothing(heights):
    """A quarter turn turns the gap, raising the field keeps it, and a flat field has none."""
    gap = gap_under_ball(heights, ball_mm=1.5, cell_mm=0.5)

    turned = gap_under_ball(np.rot90(heights).copy(), ball_mm=1.5, cell_mm=0.5)
    raised = gap_under_ball(heights + 7, ball_mm=1.5, cell_mm=0.5)
    np.testing.assert_allclose(turned, np.rot90(gap), atol=1e-12)
    np.testing.assert_allclose(raised, gap, atol=1e-9)
    assert (gap >= 0).all()
    assert not gap_under_ball(np.full((4, 5), 3.0), ball_mm=1.5, cell_mm=0.5).any()


def test_gap_grows_with_the_ball():
    """A ball smaller than a cell reaches everything; a larger one keeps farther out of a pit."""
    heights = np.arange(12.0).reshape(3, 4) % 5

    assert not gap_under_ball(heights, ball_mm=0.3, cell_mm=0.5).any()
    pit = np.zeros((15, 15))
    pit[7, 7] = -5.0
    depths = [gap_under_ball(pit, ball_mm=ball, cell_mm=0.5)[7, 7] for ball in (0.6, 1.0, 2.0)]
    assert depths == sorted(depths)


@pytest.mark.parametrize(
    ("ball", "cell", "height", "says"),
    [
        (0.0, 0.5, 1.0, "ball_mm must be more than 0 mm"),
        (-2.0, 0.5, 1.0, "ball_mm must be more than 0 mm"),
        (float("nan"), 0.5, 1.0, "ball_mm must be more than 0 mm"),
        (2.0, 0.0, 1.0, "cell_mm must be more than 0 mm"),
        (2.0, 0.5, float("nan"), "heights_mm must be finite everywhere"),
    ],
)
def test_bad_input(ball, cell, height, says):
    """A ball or a cell without size, or a hole in the field, is refused in words."""
    with pytest.raises(SpecError, match=says):
        gap_under_ball(np.full((3, 3), height), ball_mm=ball, cell_mm=cell)


def test_a_large_field_is_as_its_parts():
    """A field shared out over threads has the gaps that each part of it has by itself."""
    R, cell = 3.0, 0.5
    heights = np.round(np.random.default_rng(3).uniform(0, 6, (120, 300)), 1)
    whole = gap_under_ball(heights, ball_mm=R, cell_mm=cell)
    for rows, columns in ((slice(20, 60), slice(0, 40)), (slice(80, 120), slice(200, 240))):
        part = gap_under_ball(heights[rows, columns], ball_mm=R, cell_mm=cell)
        inner = (slice(12, -12), slice(12, -12))
        np.testing.assert_array_equal(whole[rows, columns][inner], part[inner])
