"""Polygons and rings out of whatever an operation on regions returns."""

import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box

from moldgen.solid.polygons import polygons_of, rings_of, touching_mm

RING = box(0, 0, 10, 10).difference(box(2, 2, 4, 4))


def test_lines_points_and_empty_parts_are_left_out():
    """Only areas count, in the order in which they came."""
    mixed = GeometryCollection(
        [Point(0, 0), Polygon(), RING, LineString([(0, 0), (1, 1)]), box(20, 0, 21, 1)]
    )

    assert list(polygons_of(mixed).geoms) == [RING, box(20, 0, 21, 1)]
    assert polygons_of(Polygon()).is_empty
    assert len(polygons_of(Polygon()).geoms) == 0


@pytest.mark.parametrize("whole", [RING, MultiPolygon([RING])], ids=["one", "several"])
def test_a_region_stays_what_it_is(whole):
    """One polygon becomes a region of one; a region is returned as it was."""
    assert polygons_of(whole).equals_exact(MultiPolygon([RING]), 0)


def test_specks_are_left_out_if_asked():
    """A polygon of just the area of a speck goes, a larger one stays."""
    two = MultiPolygon([box(0, 0, 1, 1), box(5, 0, 6.5, 1)])

    assert len(polygons_of(two).geoms) == 2
    assert [part.area for part in polygons_of(two, speck_mm2=1.0).geoms] == [1.5]


def test_rings_come_outer_one_first():
    """Each polygon's outer ring is followed by its own holes."""
    rings = rings_of(MultiPolygon([RING, box(20, 0, 21, 1)]))

    assert [shapely.Polygon(ring).area for ring in rings] == [100, 4, 1]
    assert rings_of(Point(0, 0)) == []


def test_a_corner_that_rings_pass_twice_is_found():
    """Two squares that meet in a corner, a hole that meets the edge; not squares well apart."""
    two = MultiPolygon([box(0, 0, 1, 1), box(1, 1, 2, 2)])
    hole = Polygon(box(0, 0, 4, 4).exterior.coords, [[(0, 0), (2, 1), (1, 2)]])

    assert touching_mm(two).tolist() == [[1, 1]]
    assert touching_mm(hole).tolist() == [[0, 0]]
    assert touching_mm(MultiPolygon([RING, box(20, 0, 21, 1)])).shape == (0, 2)
    assert touching_mm(Polygon()).shape == (0, 2)
