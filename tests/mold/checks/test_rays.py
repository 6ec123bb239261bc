"""Looks through a mold end, however small or bad the mold is."""

from threading import Thread

import numpy as np
import pytest
from support.hostile import box_triangles

from moldgen.mold.checks.rays import targets


def hits_in_time(corners, places, ways, reach):
    """Return what the looks meet, or fail if they go on without end."""
    found = []
    work = Thread(
        target=lambda: found.append(targets(corners).hits(places, ways, reach)), daemon=True
    )
    work.start()
    work.join(60)
    assert found, "the looks go on without end"
    return found[0]


@pytest.mark.parametrize("width", [1e-20, 1e-12, 1e-6])
def test_a_step_below_what_a_number_resolves_ends_the_look(width):
    """A part that thin has buckets smaller than the last digit of a place."""
    corners = box_triangles(width, width, 30.0)
    places = np.array([[50.0, 50.0, 10.0], [0.0, 0.0, 40.0]])
    ways = np.array([[-0.6, -0.8, 0.0], [0.8, 0.6, 0.0]])

    distance, triangle = hits_in_time(corners, places, ways, 1000.0)

    assert distance.shape == triangle.shape == (2,)
    assert triangle[1] == -1


def test_a_look_from_far_away_still_meets_the_mold():
    """Steps are counted so that a look from outside the buckets gets there."""
    corners = box_triangles(60.0, 40.0, 30.0)
    places = np.array([[-900.0, 20.5, 10.2], [30.0, 20.5, 10.2], [30.3, 2000.0, 10.2]])
    ways = np.array([[1.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, -1.0, 0.0]])

    distance, triangle = hits_in_time(corners, places, ways, 5000.0)

    assert distance == pytest.approx([900.0, 30.0, 1960.0])
    assert (triangle >= 0).all()
