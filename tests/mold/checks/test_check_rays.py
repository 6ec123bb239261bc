"""Looks through triangles against a plain loop."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.check_solids import box, lathe

from moldgen.mold.checks.rays import targets


def plain_distance(origin, direction, corner):
    """Distance by solving for the three weights, or infinity."""
    a, b, c = corner
    matrix = np.column_stack([b - a, c - a, -direction])
    if abs(np.linalg.det(matrix)) < 1e-14:
        return np.inf
    u, v, t = np.linalg.solve(matrix, origin - a)
    return t if min(u, v, 1 - u - v) >= 0 and t > 0 else np.inf


def directions(rng, n):
    """Return unit vectors all round."""
    made = rng.normal(size=(n, 3))
    return made / np.linalg.norm(made, axis=1)[:, None]


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.1, 20))
def test_looks_agree_with_a_plain_loop(seed, reach):
    """Sorting into buckets loses no triangle and finds the nearest."""
    rng = np.random.default_rng(seed)
    corners = rng.random((40, 1, 3)) * 10 + rng.normal(size=(40, 3, 3))
    origins, looks = rng.random((30, 3)) * 10, directions(rng, 30)
    distance, hit = targets(corners).hits(origins, looks, reach)
    for k in range(30):
        every = [plain_distance(origins[k], looks[k], corner) for corner in corners]
        nearest = min(every)
        if nearest > reach:
            assert (distance[k], hit[k]) == (np.inf, -1)
        else:
            assert distance[k] == pytest.approx(nearest, rel=1e-9)
            assert hit[k] == int(np.argmin(every))


def test_looks_straight_up_and_from_outside():
    """Upright looks stay in their bucket; a look from far outside still arrives."""
    corners = box(4, 4, 2, (0, 0, 3)).corners_mm
    origins = np.array([[1.0, 2, 0], [1, 2, 4], [1, 2, 9], [-50, 2, 4]])
    looks = np.array([[0.0, 0, 1], [0, 0, 1], [0, 0, 1], [1, 0, 0]])
    distance, hit = targets(corners).hits(origins, looks, 100.0)

    assert list(distance) == [3, 1, np.inf, 50]
    assert hit[2] == -1


def test_inside_of_a_drum_is_seen_all_round():
    """From the axis of a drum every level look goes as far as its wall."""
    drum = lathe([(0, 0), (20, 0), (20, 9), (0, 9)], 360)
    turn = np.linspace(0, 2 * np.pi, 77)
    looks = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(77)])
    distance, _ = targets(drum.corners_mm).hits(np.tile([0, 0, 4.3], (77, 1)), looks, 50.0)

    np.testing.assert_allclose(distance, 20, atol=1e-3)


def test_nothing_to_see():
    """Without triangles, or without looks, there is nothing."""
    none = targets(np.empty((0, 3, 3)))
    distance, hit = none.hits(np.zeros((2, 3)), np.ones((2, 3)), 5.0)

    assert list(distance) == [np.inf, np.inf]
    assert list(hit) == [-1, -1]
    nowhere = np.empty((0, 3))
    assert not len(targets(box(1, 1, 1).corners_mm).hits(nowhere, nowhere, 1.0)[0])


def test_many_looks_are_as_each_alone():
    """Looks shared out over threads find what each finds by itself, in their order."""
    rng = np.random.default_rng(5)
    thing = targets(rng.random((400, 1, 3)) * 10 + rng.normal(size=(400, 3, 3)))
    origins, looks = rng.random((2501, 3)) * 10, directions(rng, 2501)
    distance, hit = thing.hits(origins, looks, 4.0)
    for k in range(0, 2501, 50):
        alone = thing.hits(origins[k : k + 1], looks[k : k + 1], 4.0)
        assert (distance[k], hit[k]) == (alone[0][0], alone[1][0])
    assert 100 < np.isfinite(distance).sum() < 2400
