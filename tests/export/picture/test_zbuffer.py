"""The view from above against a plain loop, and against planes whose height is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from moldgen.solid.zbuffer import in_bands, zbuffer


def plain_zbuffer(corners, n_rows, n_columns):
    """Look straight down on every triangle at once, one cell after the other."""
    heights = np.full((n_rows, n_columns), -np.inf)
    seen = np.full((n_rows, n_columns), -1)
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (corners[:, i].T for i in range(3))
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    for i, j in np.ndindex(n_rows, n_columns):
        x, y = j + 0.5, i + 0.5
        with np.errstate(all="ignore"):
            u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / area
            v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / area
            w = 1 - u - v
            z = u * az + v * bz + w * cz
            over = (area != 0) & (u >= -1e-12) & (v >= -1e-12) & (w >= -1e-12)
        if over.any():
            z = np.where(over, z, -np.inf)
            seen[i, j] = z.argmax()
            heights[i, j] = z.max()
    return heights, seen


# Halves land on cell centers and on one another, where the rule about borders matters.
coarse = st.integers(-6, 40).map(lambda number: number / 2)
fine = st.integers(-3000, 20000).map(lambda number: number / 1000)


@settings(max_examples=40, deadline=None)
@given(
    st.one_of(
        st.integers(1, 12).flatmap(lambda n: arrays(float, (n, 3, 3), elements=coarse)),
        st.integers(1, 12).flatmap(lambda n: arrays(float, (n, 3, 3), elements=fine)),
    )
)
def test_agrees_with_a_plain_loop(corners):
    """Compiled and plain loop give the same heights, and a triangle of that height."""
    heights, seen = zbuffer(corners, 13, 17)
    plain_heights, plain_seen = plain_zbuffer(corners, 13, 17)

    np.testing.assert_array_equal(seen >= 0, plain_seen >= 0)
    np.testing.assert_allclose(heights, plain_heights, rtol=0, atol=1e-9)
    differs = seen != plain_seen
    # Another triangle may be named only where both are equally high.
    for i, j in np.argwhere(differs):
        alone, _ = plain_zbuffer(corners[seen[i, j]][None], 13, 17)
        assert alone[i, j] == pytest.approx(plain_heights[i, j], abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(arrays(float, (30, 3, 3), elements=st.floats(0, 200)))
def test_bands_change_nothing(corners):
    """Cut in bands for several threads, a large picture is the same as in one piece."""
    heights, seen = zbuffer(corners, 160, 200)
    again, seen_again = zbuffer(corners[:, :, [1, 0, 2]], 200, 160)

    plain = zbuffer(corners, 40, 200)
    np.testing.assert_array_equal(heights[:40], plain[0])
    np.testing.assert_array_equal(seen[:40], plain[1])
    np.testing.assert_allclose(heights, again.T, atol=1e-7)
    np.testing.assert_array_equal(seen >= 0, (seen_again >= 0).T)


def test_a_slanted_plane_has_its_exact_height_at_every_center():
    """Two triangles that tile the picture give z = 2 + 0.25 x - 0.5 y at cell centers."""

    def corner(x, y):
        return (x, y, 2 + 0.25 * x - 0.5 * y)

    a, b, c, d = corner(0, 0), corner(9, 0), corner(9, 7), corner(0, 7)

    heights, seen = zbuffer(np.array([[a, b, c], [a, c, d]], dtype=float), 7, 9)

    x, y = np.meshgrid(np.arange(9) + 0.5, np.arange(7) + 0.5)
    np.testing.assert_allclose(heights, 2 + 0.25 * x - 0.5 * y, atol=1e-12)
    assert set(np.unique(seen)) == {0, 1}


def test_the_higher_of_two_is_seen_and_the_first_of_equals():
    """Height decides, whichever way round the triangle is; among equals the first is named."""
    low = [[0, 0, 1], [10, 0, 1], [0, 10, 1]]
    high = [[0, 0, 3], [0, 10, 3], [10, 0, 3]]

    heights, seen = zbuffer(np.array([low, high, low, high], dtype=float), 4, 4)

    np.testing.assert_allclose(heights, 3, rtol=1e-12)
    assert (seen == 1).all()


def test_nothing_is_told_as_nothing():
    """No triangle, one without area and one outside leave the picture empty."""
    empty = np.zeros((0, 3, 3))
    line = np.array([[[0, 0, 0], [4, 4, 1], [8, 8, 2]]], dtype=float)
    outside = np.array([[[20, 20, 0], [30, 20, 0], [20, 30, 0]]], dtype=float)

    for corners in (empty, line, outside, -outside):
        heights, seen = zbuffer(corners, 5, 6)
        assert heights.shape == (5, 6)
        assert np.isneginf(heights).all()
        assert (seen == -1).all()


def test_a_triangle_larger_than_the_picture_covers_all_of_it():
    """Corners far outside do not keep the middle from being seen."""
    corners = np.array([[[-1e4, -1e4, 5], [3e4, -1e4, 5], [-1e4, 3e4, 5]]], dtype=float)

    np.testing.assert_allclose(zbuffer(corners, 50, 60)[0], 5, atol=1e-9)


def test_narrow_triangles_leave_no_gap():
    """A fan of needles that tiles a square covers every cell of it."""
    rim = np.linspace(0, 64, 4001)
    needles = np.zeros((4000, 3, 3))
    needles[:, 0] = (32, -50, 0)
    needles[:, 1, 0], needles[:, 2, 0] = rim[:-1] * 40 - 1200, rim[1:] * 40 - 1200
    needles[:, 1:, 1] = 70

    assert (zbuffer(needles, 64, 64)[1] >= 0).all()


def test_a_failure_in_one_band_is_not_lost():
    """What goes wrong in a thread is raised where the picture was asked for."""

    def work(first, end):
        if first > 0:
            raise ZeroDivisionError(f"rows {first} to {end}")

    with pytest.raises(ZeroDivisionError, match="rows 25 to 50"):
        in_bands(work, 100)
