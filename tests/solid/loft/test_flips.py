"""Edge flips against brute force, and new corners in a triangulation that stays sound."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.some import some
from support.steepness import steepness

from moldgen.solid.loft.flips import delaunay, smoothed, twice_areas
from moldgen.solid.loft.splits import with_points


def _fan(n: int) -> np.ndarray:
    """A convex polygon cut from its first corner."""
    return np.array([[0, k, k + 1] for k in range(1, n - 1)])


def _ring(n: int, seed: int) -> np.ndarray:
    turns = np.sort(np.random.default_rng(seed).uniform(0, 2 * np.pi, n))
    return 10 * np.column_stack([np.cos(turns), 0.6 * np.sin(turns)])


def _edges(faces):
    return np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])


def _sound(faces, plan, area):
    """Whether no directed edge is used twice, and the triangles cover just the area."""
    once = np.unique(_edges(faces), axis=0, return_counts=True)[1].max() == 1
    areas = twice_areas(faces, plan)
    return once and areas.min() > 0 and areas.sum() == pytest.approx(area, rel=1e-9)


def _in_no_circle(faces, plan) -> bool:
    """Plain twin of the Delaunay rule: no corner lies within any triangle's circumcircle."""
    for a, b, c in plan[faces]:
        system = 2 * np.array([b - a, c - a])
        center = np.linalg.solve(system, [b @ b - a @ a, c @ c - a @ a])
        radius = np.linalg.norm(a - center)
        if (np.linalg.norm(plan - center, axis=1) < radius * (1 - 1e-6)).any():
            return False
    return True


@given(st.integers(4, 14), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_delaunay_leaves_no_corner_in_a_circle(n, seed):
    """After the flips no circumcircle holds a corner, and the region is still covered once."""
    plan = _ring(n, seed)
    if twice_areas(_fan(n), plan).min() < 1e-3:
        return
    faces = delaunay(_fan(n), plan)
    assert _sound(faces, plan, twice_areas(_fan(n), plan).sum())
    assert _in_no_circle(faces, plan)


def test_the_twin_can_tell_a_fan_from_delaunay():
    """A fan over a long ring is not Delaunay: the check has teeth."""
    plan = _ring(12, 3)
    assert not _in_no_circle(_fan(12), plan)


def test_smoothed_takes_the_less_steep_diagonal():
    """Of a kinked square's two diagonals, the one that makes the lower slope stays."""
    plan = np.array([[0.0, 0], [4, 0], [4, 1], [0, 1]])
    for heights in ([0.0, 0, 1, 0], [0.0, 1, 0, 0], [0.0, 0, 0, 3], [2.0, 0, 0, 1]):
        z = np.array(heights)
        cuts = [np.array([[0, 1, 2], [0, 2, 3]]), np.array([[0, 1, 3], [1, 2, 3]])]
        best = min(steepness(cut, plan, z).max() for cut in cuts)
        for cut in some(cuts):
            assert steepness(smoothed(cut, plan, z), plan, z).max() == pytest.approx(best)


def test_slope_of_a_plane_is_its_gradient():
    """Every triangle of the plane z = 3x + 4y rises by 5."""
    plan = _ring(9, 1)
    np.testing.assert_allclose(steepness(_fan(9), plan, plan @ [3.0, 4.0]), 5.0)


@pytest.mark.parametrize("bulge_mm", [0.0, -(2.0**-14)])
def test_a_triangle_without_area_is_flipped_away(bulge_mm):
    """Three corners in line do not stay a triangle, nor one turned over by rounding."""
    plan = np.array([[0.0, 0], [4, 0], [2, -bulge_mm], [2, 3]])
    faces = delaunay(np.array([[0, 2, 1], [0, 1, 3]])[:, [0, 1, 2]], plan)
    assert twice_areas(faces, plan).min() > 1


@given(st.lists(st.tuples(st.integers(-40, 40), st.integers(-20, 20)), unique=True, max_size=30))
@example([(0, 0), (5, 3), (-5, -3), (10, 6), (10, 0), (-10, 0), (5, 0)])
@settings(max_examples=40, deadline=None)
def test_new_corners_keep_the_cut_sound(places):
    """Corners put in on a grid, many of them on edges, leave every triangle some area."""
    corners = 10 * np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
    new = np.array(places, float).reshape(-1, 2) / [5.0, 3.0]
    plan = np.concatenate([corners, new])
    faces = with_points(np.array([[0, 1, 2], [0, 2, 3]]), plan, new, 4)
    assert len(faces) == 2 + 2 * len(new)
    assert _sound(faces, plan, 800.0)
    assert _in_no_circle(smoothed(faces, plan, np.zeros(len(plan))), plan)


def test_a_corner_that_a_far_tip_cannot_see_leaves_the_edge_whole():
    """Splitting a blunt sliver across the edge would turn a triangle over: three it is, then."""
    plan = np.array([[0.0, 0], [4, 0], [2, 3], [-3, -3e-4], [0.5, 1e-4]])
    faces = with_points(np.array([[0, 1, 2], [1, 0, 3]]), plan, plan[4:], 4)
    assert twice_areas(faces, plan).min() > 0
