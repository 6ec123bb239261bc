"""Cells of outlines, and places where two of them meet, against plain geometry and plain loops."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.lesson.layout.bitmap import bitmap_of, meeting_places, touched_cells

CELL_MM = 0.7
corners = st.tuples(st.floats(0, 20), st.floats(0, 20))


@st.composite
def hulls(draw):
    """Draw a convex outline that begins at (0, 0), not thinner than a cell."""
    points = [*draw(st.lists(corners, min_size=3, max_size=8)), (0.0, 0.0), (3.0, 1.0), (1.0, 4.0)]
    hull = shapely.convex_hull(shapely.multipoints(points))
    ring = np.array(hull.exterior.coords)
    return ring - ring.min(axis=0)


def stars():
    """Return outlines with hollows and upright edges on and off the lines of the cells."""
    return [
        np.array([(0, 0), (9, 0), (9, 9), (4.55, 2.1), (0, 9), (0, 0)], float),
        np.array([(0, 0), (7, 0), (7, 0.7), (1.4, 0.7), (1.4, 7), (0, 7), (0, 0)], float),
        np.array([(0.35, 0), (0.36, 10), (5, 10), (2, 5), (5, 0), (0.35, 0)], float),
    ]


def check(ring):
    """Compare the cells of an outline with the areas that it covers of each."""
    cells = touched_cells(ring, cell_mm=CELL_MM)
    x, y = np.meshgrid(*(np.arange(n) * CELL_MM for n in cells.shape), indexing="ij")
    boxes = shapely.box(x, y, x + CELL_MM, y + CELL_MM)
    outline = shapely.make_valid(shapely.Polygon(ring))
    covered = shapely.area(shapely.intersection(outline, boxes))

    assert cells[covered > 1e-4].all()
    assert shapely.distance(outline, boxes)[cells].max() < 1e-4
    assert covered.sum() == pytest.approx(outline.area, rel=1e-9)


@settings(max_examples=25)
@given(hulls())
def test_a_cell_that_is_covered_is_touched(ring):
    """No part of an outline lies outside of its cells, and no cell lies away from it."""
    check(ring)


@pytest.mark.parametrize("ring", stars())
def test_hollows_are_left_out_and_upright_edges_are_not(ring):
    """The same holds where an edge is upright, on the line of two cells or beside it."""
    check(ring)


def test_a_rectangle_on_the_cells_has_just_its_own():
    """Twenty by twelve cells, and none more for touching their edges."""
    ring = np.array([(0, 0), (20, 0), (20, 12), (0, 12), (0, 0)], float)

    cells = touched_cells(ring, cell_mm=1.0)

    assert cells.shape == (20, 12)
    assert cells.all()


cells = st.lists(st.lists(st.booleans(), min_size=3, max_size=3), min_size=1, max_size=4)


@settings(max_examples=40)
@given(cells, cells)
def test_meeting_places_are_those_of_a_plain_loop(fixed, moved):
    """Every offset at which two sets of cells share one, and no other."""
    fixed, moved = (np.array(one, bool) | (np.arange(3) == 1) for one in (fixed, moved))
    stride = 16
    places = meeting_places(
        bitmap_of(fixed, stride=stride), bitmap_of(moved, stride=stride), stride=stride
    )

    columns, rows = moved.shape
    expected = {
        (a - c + columns - 1) * stride + b - d + rows - 1
        for a, b in np.argwhere(fixed)
        for c, d in np.argwhere(moved)
    }
    assert {k for k in range(places.bit_length()) if places >> k & 1} == expected
