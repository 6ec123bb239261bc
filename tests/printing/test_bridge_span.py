"""How far ceilings span: touches found by a tree, and places left when they cannot be widest."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.printing.bridge_span import _chords, _touches, spans_mm, widest_places

FEW = settings(max_examples=40, deadline=None)


def border_of(region):
    """Return the edges all round a region, shape (k, 2, 2)."""
    rings = [region.exterior, *region.interiors]
    return np.concatenate(
        [np.stack([xy[:-1], xy[1:]], axis=1) for xy in map(shapely.get_coordinates, rings)]
    )


@st.composite
def ceilings(draw):
    """Return an L, maybe with a pad in it, and which of its edges are held."""
    wide, deep = draw(st.floats(10, 40)), draw(st.floats(10, 40))
    cut_x, cut_y = draw(st.floats(2, 8)), draw(st.floats(2, 8))
    region = shapely.box(0, 0, wide, deep) - shapely.box(cut_x, cut_y, 50, 50)
    if draw(st.booleans()):
        region -= shapely.box(cut_x / 3, cut_y / 3, cut_x / 2, cut_y / 2)
    border = border_of(region)
    held = draw(st.lists(st.booleans(), min_size=len(border), max_size=len(border)))
    return region, border, np.array(held)


@FEW
@given(ceilings())
def test_the_widest_place_is_the_widest_of_each_alone(ceiling):
    """Places that cannot be the widest are left early; the widest and the loose ones stay exact."""
    region, border, held = ceiling
    places = widest_places(region, len(border))
    no_circles = np.full(len(places), np.inf)
    touches = _touches(places, border)
    together = _chords(places, border, held, touches=touches, circles=no_circles)
    alone = np.concatenate(
        [
            _chords(
                one[None],
                border,
                held,
                touches=_touches(one[None], border),
                circles=np.full(1, np.inf),
            )
            for one in places
        ]
    )
    bridged = np.isfinite(alone)

    assert (np.isfinite(together) == bridged).all()
    assert (together >= alone).all()
    assert together[bridged].max(initial=0) == pytest.approx(alone[bridged].max(initial=0))


@FEW
@given(ceilings())
def test_circles_touch_where_the_border_is_near(ceiling):
    """Every touch lies about as far as the border is, and no edge that near is left out."""
    region, border, _ = ceiling
    places = widest_places(region, len(border))
    touches = _touches(places, border)
    away = shapely.distance(shapely.points(places)[:, None], shapely.linestrings(border)[None, :])
    near = away <= 1.05 * away.min(axis=1)[:, None] + 0.125

    np.testing.assert_allclose(touches.reach_mm, away.min(axis=1), atol=1e-9)
    assert sorted(zip(touches.place, touches.edge, strict=True)) == sorted(
        zip(*near.nonzero(), strict=True)
    )
    for place in some(range(len(places))):
        own = touches.angle[touches.place == place]
        assert (np.diff(own) >= 0).all()


@pytest.mark.parametrize(("held", "spans"), [("1111", 6.0), ("0101", 20.0), ("1010", 6.0)])
def test_a_rectangle_spans_between_what_holds_it(held, spans):
    """6 by 20 mm: the short way, unless only its ends are held."""
    border = border_of(shapely.box(0, 0, 20, 6))
    order = {0: 20.0, 1: 6.0}
    flags = np.array([one == "1" for one in held])
    lengths = np.hypot(*(border[:, 1] - border[:, 0]).T)
    # The exterior of a box starts with an upright side.
    assert lengths[0] == pytest.approx(order[1])
    found = spans_mm(np.array([[10.0, 3.0]]), border, flags[[1, 0, 3, 2]])

    assert found[0] == pytest.approx(spans)


def test_nothing_is_bridged_that_one_side_holds():
    """A shelf on one long side has no line between two supports."""
    border = border_of(shapely.box(0, 0, 20, 6))
    held = np.array([False, True, False, False])
    assert np.isinf(spans_mm(np.array([[10.0, 3.0], [2.0, 1.0]]), border, held)).all()
