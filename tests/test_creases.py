"""Where edges run out while a contour moves inward, against plane geometry."""

from math import pi, sqrt, tan

import numpy as np
import pytest

from moldgen.solid.creases import crease_points


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


def test_a_regular_polygon_runs_out_in_its_centre():
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


def test_a_triangle_has_no_edge_to_lose():
    """With three edges left all run out at once, and the wall's tip is the contour's own."""
    assert crease_points(np.array([[0.0, 0], [4, 0], [0, 3]]), 5.0).shape == (0, 3)
