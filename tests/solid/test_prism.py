"""Outlines raised to prisms."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Polygon, box

from moldgen.solid.prism import prism, raised

REGION = MultiPolygon([box(0, 0, 10, 10).difference(box(2, 2, 4, 4)), box(20, 0, 21, 1)])


@pytest.mark.parametrize("make", [prism, raised])
def test_a_prism_has_the_region_as_its_section(make):
    """Holes stay holes, and it reaches from the lower height to the upper."""
    solid = make(REGION, -1.5, 2.0)

    assert solid.volume() == pytest.approx(REGION.area * 3.5, rel=1e-6)
    assert solid.bounding_box() == pytest.approx((0, 0, -1.5, 21, 10, 2.0), abs=1e-6)
    assert solid.genus() == 0  # two pieces, one of them with a hole: 1 - 1


def test_only_a_raised_outline_loses_corners_it_can_spare():
    """A corner a hair off a straight side is kept by one and spared by the other."""
    corners = np.array([(0, 0), (5, 2e-5), (10, 0), (10, 10), (0, 10)])

    assert prism(Polygon(corners), 0, 1).num_vert() == 10
    assert raised(Polygon(corners), 0, 1).num_vert() == 8


def test_lines_of_a_collection_are_no_walls():
    """What an intersection leaves besides areas is not raised."""
    mixed = shapely.GeometryCollection([box(0, 0, 2, 2), shapely.LineString([(5, 5), (6, 6)])])

    assert prism(mixed, 0, 1).volume() == pytest.approx(4.0)
