"""Letters along a curve: on the arc, turned to it, and no nearer to each other than in a line."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString
from support.outlines import as_multi, rectangle

from moldgen.outline.lettering.along import inner_circle, set_along, upper_edge
from moldgen.outline.lettering.text import TextSpec, outline_from_text


def bars(*places_mm):
    """Return upright bars 2 mm wide and 10 mm tall on the baseline."""
    return [as_multi(shapely.box(x - 1, 0, x + 1, 10)) for x in places_mm]


def arc(radius_mm, *, hollow=False):
    """Return half a circle, left to right, over the top or hanging down."""
    turns = np.radians(np.linspace(180, 360 if hollow else 0, 721))
    return LineString(radius_mm * np.column_stack([np.cos(turns), np.sin(turns)]))


def gaps(letters):
    """Return how far each letter is from the next."""
    return [float(a.distance(b)) for a, b in pairwise(letters)]


def test_on_a_straight_curve_letters_stand_as_in_a_line():
    """Nothing is moved but the whole word, to the middle asked for."""
    letters = bars(0, 7, 12)
    placed = set_along(letters, LineString([(0, 5), (100, 5)]), 50.0)

    assert placed is not None
    wanted = [(43, 5, 45, 15), (50, 5, 52, 15), (55, 5, 57, 15)]
    assert np.array([one.bounds for one in placed]) == pytest.approx(np.array(wanted), abs=0.02)


def test_on_an_arc_letters_are_turned_by_their_share_of_it():
    """Bars 20 mm apart along an arc of 50 mm radius lean by 20/50 radians, on one circle.

    Their feet would come nearer by a tenth of a millimeter than in a line, and do not.
    """
    placed = set_along(bars(-20, 0, 20), arc(50), np.pi * 25)

    assert placed is not None
    middles = np.array([[one.centroid.x, one.centroid.y] for one in placed])
    assert np.hypot(*middles.T) == pytest.approx([55, 55, 55], abs=0.02)
    turns = np.arctan2(middles[:, 0], middles[:, 1])
    assert turns == pytest.approx([-0.402, 0, 0.402], abs=1e-3)


def test_tops_spread_on_a_round_curve_and_do_not_meet_in_a_hollow_one():
    """Neighbors keep at least the gap they have in a line, whichever way the curve bends."""
    lettering = outline_from_text(TextSpec(text="HARBOR", height_mm=14))
    letters = [letter.region for letter in lettering.letters]
    straight = gaps(letters)
    for hollow in (False, True):
        curve = arc(60, hollow=hollow)
        placed = set_along(letters, curve, curve.length / 2)

        assert placed is not None
        kept = gaps(placed)
        assert len(kept) == 5
        assert all(a >= b - 0.02 for a, b in zip(kept, straight, strict=True))


def test_in_a_hollow_curve_the_word_grows_longer():
    """Its letters are pushed apart there, since their tops would meet."""
    letters = bars(0, 6, 12, 18)
    curve = arc(25, hollow=True)
    placed = set_along(letters, curve, curve.length / 2)

    assert placed is not None
    assert gaps(placed) == pytest.approx([4, 4, 4], abs=0.03)
    feet = [
        curve.project(shapely.Point(shapely.get_coordinates(one)[:, :].min(axis=0)))
        for one in placed
    ]
    assert feet[-1] - feet[0] > 18


def test_a_curve_that_is_too_short_takes_no_word():
    """None, not a word that hangs over its end."""
    assert set_along(bars(0, 30), LineString([(0, 0), (25, 0)]), 12.5) is None
    assert set_along(bars(0, 20), LineString([(0, 0), (25, 0)]), 12.5) is not None


def test_letters_that_touch_are_turned_as_one():
    """A joined script is not torn apart on a curve."""
    joined = [as_multi(shapely.box(0, 0, 10, 4)), as_multi(shapely.box(9, 0, 20, 4))]
    placed = set_along(joined, arc(30), np.pi * 15)

    assert placed is not None
    whole = shapely.union_all(placed)
    assert whole.geom_type == "Polygon"
    assert whole.area == pytest.approx(80)


def test_the_upper_edge_of_a_rectangle():
    """From its left side over the top to its right side, as far inside as asked."""
    curve = upper_edge(rectangle(100, 40), 6.0, smooth_mm=3.0)

    assert curve is not None
    x, y = shapely.get_coordinates(curve).T
    assert (x[0], x[-1]) == pytest.approx((-44, 44), abs=0.01)
    assert y.max() == pytest.approx(14, abs=0.01)
    assert upper_edge(rectangle(100, 40), 20.0, smooth_mm=3.0) is None


def test_the_circle_in_a_rectangle():
    """Its radius is half the smaller side less the inset; it runs from left to right."""
    curve = inner_circle(rectangle(100, 40), 5.0)

    assert curve is not None
    points = shapely.get_coordinates(curve)
    assert np.ptp(points[:, 1]) == pytest.approx(15 * 1.5, abs=0.1)
    assert points[0, 0] < points[-1, 0]
    assert inner_circle(rectangle(100, 40), 20.5) is None
