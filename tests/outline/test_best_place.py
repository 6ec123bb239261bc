"""The place with most room: what is told to fit does, symmetric rooms have symmetric places."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point
from support.outlines import as_multi, rectangle

from moldgen.outline.best_place import best_place, row_boxes
from moldgen.outline.library.shapes import outline_from_shape

BOX = (-20.0, -5.0, 20.0, 5.0)


def moved(box, by):
    """Return a box somewhere else, as a polygon."""
    return shapely.box(box[0] + by[0], box[1] + by[1], box[2] + by[0], box[3] + by[1])


def test_the_middle_of_a_rectangle_and_of_a_disc():
    """A box in a room that is symmetric both ways comes to lie in its middle."""
    wide = as_multi(shapely.box(10, 20, 110, 60))
    disc = as_multi(Point(7, -3).buffer(40, quad_segs=64))

    assert best_place([BOX], wide) == pytest.approx((60, 40))
    assert best_place([BOX], disc) == pytest.approx((7, -3), abs=1e-6)


def test_a_heart_bears_a_word_on_its_axis_above_its_middle():
    """Where it is widest: not at the middle of its box, and neither left nor right."""
    heart = outline_from_shape("heart", width_mm=100)
    x0, y0, x1, y1 = heart.bounds
    at = best_place([(-32.0, -9.0, 32.0, 9.0)], heart)

    assert at is not None
    assert at[0] == pytest.approx((x0 + x1) / 2, abs=1e-6)
    assert at[1] > (y0 + y1) / 2 + 3


@given(
    st.sampled_from(["fish", "whale", "star", "heart", "ring", "key"]),
    st.floats(5, 60), st.floats(3, 20), st.booleans(),
)  # fmt: skip
@settings(max_examples=25, deadline=None)
def test_what_is_told_to_fit_lies_inside(shape, width_mm, height_mm, two_lines):
    """Every box of the block, wholly."""
    room = outline_from_shape(shape, width_mm=120)
    boxes = [(-width_mm / 2, 0.0, width_mm / 2, height_mm)]
    if two_lines:
        boxes.append((-width_mm / 4, -1.6 * height_mm, width_mm / 4, -0.6 * height_mm))
    at = best_place(boxes, room)

    assert at is None or all(room.covers(moved(box, at)) for box in boxes)


def test_a_box_that_nearly_fills_its_room_is_found():
    """Half a millimeter to spare on either side is enough, and a box that is wider fits nowhere."""
    room = as_multi(shapely.box(0, 0, 100, 30))

    assert best_place([(0.0, 0.0, 99.0, 29.0)], room) is not None
    assert best_place([(0.0, 0.0, 100.5, 29.0)], room) is None
    assert best_place([(0.0, 0.0, 99.0, 30.5)], room) is None


def test_a_cut_finer_than_the_grid_is_not_overlooked():
    """A slit of a twentieth of a millimeter parts a room in two."""
    room = as_multi(shapely.box(0, 0, 100, 30).difference(shapely.box(40.03, -1, 40.08, 31)))

    assert best_place([(0.0, 0.0, 55.0, 20.0)], room) is not None
    assert best_place([(0.0, 0.0, 62.0, 20.0)], room) is None


def test_lines_of_different_length_use_a_room_that_narrows():
    """Two lines fit a triangle as they are that would not as one box."""
    room = as_multi(shapely.Polygon([(0, 0), (100, 0), (50, 70)]))
    lines = [(-14.0, 0.0, 14.0, 12.0), (-32.0, -18.0, 32.0, -6.0)]

    assert best_place(lines, room) is not None
    assert best_place([(-32.0, -18.0, 32.0, 12.0)], room) is None


def test_parts_whose_heights_overlap_are_one_row():
    """Letters of a line with its accents and descenders; the next line is another row."""
    parts = [
        rectangle(4, 10),
        as_multi(shapely.box(6, -8, 10, 3)),
        as_multi(shapely.box(0, -30, 9, -20)),
    ]

    assert row_boxes(parts) == ((-2.0, -8.0, 10.0, 5.0), (0.0, -30.0, 9.0, -20.0))
    assert best_place([], MultiPolygon(rectangle(4, 10))) is None
