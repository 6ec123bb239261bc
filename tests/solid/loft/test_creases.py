"""Where edges run out while a contour moves inward, against plane geometry."""

from math import pi, sqrt, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.solid.loft.creases import crease_points


def test_ends_of_a_rectangle_run_out_on_its_middle_line():
    """The short sides of 10 x 4 run out where the corner bisectors meet, 2 mm in."""
    ring = np.array([[0.0, 0], [10, 0], [10, 4], [0, 4]])
    found = crease_points(ring, 3.0)
    first = found[np.argsort(found[:, 0])]
    assert {tuple(p) for p in np.round(first, 9)} <= {(2, 2, 2), (8, 2, 2)}
    assert len(found) >= 1
    assert not len(crease_points(ring, 1.9))


@pytest.mark.parametrize("chamfer_mm", [0.1, 0.5])
def test_a_chamfer_runs_out_behind_its_corner(chamfer_mm):
    """A 45 degree chamfer between two long sides is gone after c / (2 - sqrt 2)."""
    c = chamfer_mm
    ring = np.array([[0.0, c], [c, 0], [10, 0], [10, 10], [0, 10]])
    (x, y, gone), *others = crease_points(ring, 2.5)
    # Meeting of x = h, y = h and the chamfer x + y = c + h sqrt 2.
    exact = c / (2 - sqrt(2))
    assert (x, y, gone) == pytest.approx((exact, exact, exact))
    assert not others


def test_the_end_of_the_narrow_arm_of_an_l_runs_out_first():
    """The 2 mm end of an L's arm runs out 1 mm in, on the middle line of the arm."""
    ring = np.array([[0.0, 0], [8, 0], [8, 2], [3, 2], [3, 9], [0, 9]])
    assert crease_points(ring, 1.0 + 1e-6)[0] == pytest.approx((7.0, 1.0, 1.0))
    assert not len(crease_points(ring, 1.0 - 1e-6))


def test_a_regular_polygon_runs_out_in_its_center():
    """All creases of a regular polygon meet at its inradius."""
    n, side = 7, 3.0
    inradius = side / (2 * tan(pi / n))
    turns = 2 * pi * np.arange(n) / n
    radius = np.hypot(inradius, side / 2)
    found = crease_points(radius * np.column_stack([np.cos(turns), np.sin(turns)]), 2 * inradius)
    np.testing.assert_allclose(found[:, 2], inradius)
    np.testing.assert_allclose(found[:, :2], 0, atol=1e-9)


def test_events_come_in_the_order_of_their_distance():
    """Two chamfers of different size run out one after the other, each once."""
    ring = np.array([[0.0, 0.2], [0.2, 0], [9.5, 0], [10, 0.5], [10, 10], [0, 10]])
    gone = crease_points(ring, 3.0)[:, 2]
    np.testing.assert_allclose(gone, np.array([0.2, 0.5]) / (2 - sqrt(2)))


@given(st.integers(5, 16), st.integers(0, 10_000), st.floats(0.05, 0.8))
@settings(max_examples=40, deadline=None)
def test_a_convex_contour_loses_an_edge_at_every_event(n, seed, share):
    """As many edges have run out as a plain clipping by half planes leaves without length."""
    turns = np.sort(np.random.default_rng(seed).uniform(0, 2 * pi, n))
    ring = 10 * np.column_stack([np.cos(turns), np.sin(turns)])
    circle = shapely.maximum_inscribed_circle(shapely.Polygon(ring), tolerance=1e-4)
    moved = share * float(shapely.length(circle))
    events = crease_points(ring, moved)[:, 2]
    left = [_left_of(side, ring, moved) for side in range(n)]
    if any(0 < length < 1e-6 for length in left):
        return
    assert len(events) == sum(length == 0 for length in left)


def _left_of(side, ring, moved) -> float:
    """Length of an edge after the move: its line clipped by all other edges' half planes."""
    along = np.roll(ring, -1, axis=0) - ring
    along /= np.linalg.norm(along, axis=1)[:, None]
    normals = np.column_stack([-along[:, 1], along[:, 0]])
    levels = (normals * ring).sum(axis=1) + moved
    start, step = ring[side] + moved * normals[side], along[side]
    low, high = -np.inf, np.inf
    for k in range(len(ring)):
        rate, room = normals[k] @ step, levels[k] - normals[k] @ start
        if k != side and rate > 1e-12:
            low = max(low, room / rate)
        elif k != side and rate < -1e-12:
            high = min(high, room / rate)
    return max(0.0, high - low)


def test_a_triangle_has_no_edge_to_lose():
    """With three edges left all run out at once, and the wall's tip is the contour's own."""
    assert crease_points(np.array([[0.0, 0], [4, 0], [0, 3]]), 5.0).shape == (0, 3)
