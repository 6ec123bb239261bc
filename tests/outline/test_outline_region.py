"""The normal form of an outline."""

from math import cos, inf, nan, pi, radians, sin, sqrt, tan

import manifold3d
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box
from support.some import some

from moldgen.errors import OutlineError, SpecError
from moldgen.outline.region import (
    FillRule,
    as_region,
    centerd,
    filled,
    mirrored,
    moved,
    quarter_segments,
    region_from_points,
    region_from_rings,
    rounded_plan,
    rounding_findings,
    scaled_to,
    size_mm,
    turned,
)

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
ELL = [(0, 0), (60, 0), (60, 20), (20, 20), (20, 60), (0, 60)]
PENTAGRAM = [(50 * sin(4 * pi * k / 5), 50 * cos(4 * pi * k / 5)) for k in range(5)]

whole = st.integers(0, 8).map(float)
corners = st.lists(st.tuples(whole, whole), min_size=3, max_size=9)


def assert_normal(region: MultiPolygon) -> None:
    """Fail unless the region keeps every promise of the normal form."""
    assert region.is_valid
    assert not region.has_z
    for part in region.geoms:
        assert part.exterior.is_ccw
        assert not any(hole.is_ccw for hole in part.interiors)
        for ring in (part.exterior, *part.interiors):
            points = shapely.get_coordinates(ring)
            assert np.hypot(*np.diff(points, axis=0).T).min() > 0
            assert tuple(points[0]) == min(map(tuple, points))


def test_normal_form_does_not_depend_on_how_the_shape_was_given():
    """Start, direction, order of parts and of holes leave no trace."""
    hole, island = [(2, 2), (4, 2), (4, 4), (2, 4)], [(20, 0), (25, 0), (25, 5)]
    first = MultiPolygon([(SQUARE, [hole, [(6, 6), (8, 6), (8, 8)]]), (island, [])])
    turned_round = [*SQUARE[2:], *SQUARE[:2]][::-1]
    second = MultiPolygon(
        [(island[::-1], []), (turned_round, [[(6, 6), (8, 8), (8, 6)], hole[::-1]])]
    )
    assert as_region(first).wkb == as_region(second).wkb
    assert_normal(as_region(first))


def test_z_and_repeated_points_are_dropped():
    """A drawing with heights and stuttering points becomes the plain square."""
    points = [(x, y, 3.0) for x, y in SQUARE for _ in range(3)]
    region = as_region(Polygon(points))
    assert_normal(region)
    assert len(shapely.get_coordinates(region)) == 5


def test_overlapping_parts_are_united():
    """Two overlapping squares are one region with their common area counted once."""
    both = MultiPolygon([Polygon(SQUARE), box(5, 5, 15, 15)])
    assert as_region(both).area == pytest.approx(175, abs=1e-9)


def test_ring_that_touches_itself_is_split():
    """A figure of eight that only touches at a corner is two squares, not an error."""
    eight = [(0, 0), (10, 0), (10, 10), (20, 10), (20, 20), (10, 20), (10, 10), (0, 10)]
    region = region_from_points(eight)
    assert [part.area for part in region.geoms] == pytest.approx([100, 100])
    assert_normal(region)


@settings(max_examples=40, deadline=None)
@given(st.lists(corners, min_size=1, max_size=3), st.sampled_from(FillRule))
def test_fill_rules_equal_winding_numbers_counted_by_brute_force(rings, rule):
    """A random point lies inside exactly when its winding number, summed from angles, says so."""
    region = filled([np.array(ring) for ring in rings], rule=rule, what="it")
    spots = np.random.default_rng(7).uniform(0, 8, (60, 2))
    edge = shapely.union_all([LineString([*ring, ring[0]]) for ring in rings])
    clear = shapely.distance(shapely.points(spots), edge) > 1e-6
    turns = sum(_winding_by_angles(np.array(ring), spots) for ring in rings)
    inside = turns % 2 != 0 if rule is FillRule.EVEN_ODD else turns != 0
    assert (shapely.contains_xy(region, spots) == inside)[clear].all()


def _winding_by_angles(ring, spots):
    to = ring[None] - spots[:, None]
    on = np.roll(to, -1, axis=1)
    cross = to[..., 0] * on[..., 1] - to[..., 1] * on[..., 0]
    return np.rint(np.arctan2(cross, (to * on).sum(-1)).sum(1) / (2 * pi)).astype(int)


@pytest.mark.parametrize(
    ("rule", "other"),
    [
        (FillRule.EVEN_ODD, manifold3d.FillRule.EvenOdd),
        (FillRule.NONZERO, manifold3d.FillRule.NonZero),
    ],
)
def test_fill_agrees_with_another_clipper(rule, other):
    """A crowd of crossing triangles has the area that an independent clipper finds."""
    rings = list(np.random.default_rng(3).uniform(0, 90, (25, 3, 2)))
    twin = manifold3d.CrossSection(rings, other).area()
    assert region_from_rings(rings, rule=rule).area == pytest.approx(twin, rel=1e-6)


def test_pentagram_is_hollow_only_under_even_odd():
    """The pentagon in the middle is wound twice: inside for one rule, outside for the other."""
    hollow = region_from_rings([PENTAGRAM], rule=FillRule.EVEN_ODD)
    full = region_from_rings([PENTAGRAM], rule=FillRule.NONZERO)
    pentagon_r = 50 * cos(2 * pi / 5) / cos(pi / 5)
    pentagon = 2.5 * pentagon_r**2 * sin(2 * pi / 5)
    assert full.area - hollow.area == pytest.approx(pentagon, rel=1e-9)
    assert len(hollow.geoms) == 5


def test_corner_level_with_a_shape_beside_it_is_counted_once():
    """A diamond whose corners lie on the middle line of a box changes nothing about the box."""
    diamond = [(20, 5), (25, 0), (30, 5), (25, 10)]
    for rule in some(FillRule):
        for way in (1, -1):
            region = region_from_rings([SQUARE, diamond[::way]], rule=rule)
            assert [part.area for part in region.geoms] == [50, 100]


def test_direction_makes_a_hole_under_nonzero_only():
    """An inner square drawn the same way round is no hole under nonzero."""
    inner = [(2, 2), (8, 2), (8, 8), (2, 8)]
    areas = {
        (rule, way): region_from_rings([SQUARE, inner[::way]], rule=rule).area
        for rule in FillRule
        for way in (1, -1)
    }
    assert areas[FillRule.NONZERO, 1] == 100
    assert areas[FillRule.NONZERO, -1] == areas[FillRule.EVEN_ODD, 1] == 64


def test_corners_keep_their_exact_coordinates():
    """Filling does not move what was drawn."""
    drawn = np.array([(0.1, 0.2), (10.3, 0.7), (3.3, 9.9)])
    region = region_from_rings([drawn], rule=FillRule.NONZERO)
    assert set(map(tuple, shapely.get_coordinates(region))) == set(map(tuple, drawn))


def test_rounded_plan_has_the_closed_form_area():
    """Each square corner loses or gains r^2 (1 - pi/4), to the chord error."""
    region = rounded_plan(region_from_points(ELL), 5)
    corner = 25 * (1 - pi / 4)
    expected = 2000 - 5 * corner + 1 * corner
    length_of_arcs = 6 * 5 * pi / 2
    assert abs(region.area - expected) < 0.005 * length_of_arcs
    assert_normal(region)


def test_rounded_corner_stays_within_the_chord_error_of_the_true_arc():
    """Every point of every chord at a convex corner is within 0.005 mm of the arc."""
    region = rounded_plan(region_from_points(SQUARE), 4)
    along = [region.boundary.interpolate(s) for s in np.linspace(0, 1, 4001) * region.length]
    corner = [p for p in along if p.x > 6 and p.y > 6]
    off = [abs(p.distance(Point(6, 6)) - 4) for p in corner]
    assert max(off) <= 0.005


def test_concave_corner_gets_the_radius_too():
    """The inner corner of an L is an arc about a center that far from both sides."""
    region = rounded_plan(region_from_points(ELL), 5)
    assert region.boundary.distance(Point(25, 25)) == pytest.approx(5, abs=0.005)


def test_acute_corner_keeps_its_flanks():
    """Rounding a 60 degree corner moves the tip by r (1/sin 30° - 1) and nothing else."""
    side = 100.0
    region = region_from_points([(0, 0), (side, 0), (side / 2, side * sqrt(3) / 2)])
    rounded = rounded_plan(region, 6)
    assert rounded.bounds[3] == pytest.approx(side * sqrt(3) / 2 - 6, abs=0.005)
    assert rounded.distance(Point(50, 0)) == pytest.approx(0, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.02, 300), st.floats(0.0005, 0.01))
def test_segments_hold_the_chord_error_and_are_no_more_than_needed(radius, chord):
    """The sagitta of a chord is within the bound; one chord less would break it."""
    n = quarter_segments(radius, chord_mm=chord)
    assert radius * (1 - cos(pi / 4 / n)) <= chord * (1 + 1e-9)
    assert n == 2 or radius * (1 - cos(pi / 4 / (n - 1))) > chord * (1 - 1e-9)


def test_radius_zero_changes_nothing():
    """Asking for sharp corners gives back the same region."""
    region = region_from_points(SQUARE)
    assert rounded_plan(region, 0) is region


def test_rounding_tells_what_it_lost_and_filled():
    """A thin handle is lost and a thin slot filled, each with its place; corners are not told."""
    handle, slot = box(40, 18, 80, 21), box(10, 15, 12, 40)
    drawn = shapely.union(box(0, 0, 40, 40), handle).difference(slot)
    region = as_region(drawn)
    found = rounding_findings(region, rounded_plan(region, 3), 3)
    places = {finding.code: finding.where_mm for finding in found}
    assert set(places) == {"stroke-lost-to-radius", "gap-filled-by-radius"}
    assert places["stroke-lost-to-radius"][0] > 40
    assert 10 <= places["gap-filled-by-radius"][0] <= 12
    widths = {finding.code: finding.measured for finding in found}
    assert widths["stroke-lost-to-radius"] == pytest.approx(3, rel=0.02)
    assert widths["gap-filled-by-radius"] == pytest.approx(2, rel=0.02)
    assert {(finding.limit, finding.unit) for finding in found} == {(6, "mm")}
    plain = region_from_points(SQUARE)
    assert rounding_findings(plain, rounded_plan(plain, 3), 3) == ()


def test_scaled_to_each_way():
    """One length keeps the proportions, two do not; the lower left corner stays."""
    region = as_region(box(3, 4, 13, 9))
    assert scaled_to(region, width_mm=40).bounds == pytest.approx((3, 4, 43, 24))
    assert scaled_to(region, height_mm=40).bounds == pytest.approx((3, 4, 83, 44))
    assert scaled_to(region, width_mm=7, height_mm=2).bounds == pytest.approx((3, 4, 10, 6))


@settings(max_examples=25, deadline=None)
@given(st.floats(-720, 720), st.floats(-500, 500), st.floats(-500, 500))
def test_moving_turning_and_mirroring_keep_area_and_form(angle, x, y):
    """Rigid motions keep area and edge length, and what they give is in normal form."""
    region = region_from_points(ELL)
    for image in (turned(region, angle), moved(region, (x, y)), mirrored(region)):
        assert_normal(image)
        assert image.area == pytest.approx(region.area, rel=1e-9)
        assert image.length == pytest.approx(region.length, rel=1e-9)


def test_turned_goes_counter_clockwise_and_quarters_are_exact():
    """A point on +x goes to +y; a quarter turn has no rounding."""
    region = as_region(box(1, 0, 3, 1))
    assert turned(region, 90).bounds == (-1, 1, 0, 3)
    assert turned(region, -90).bounds == (0, -3, 1, -1)
    assert turned(region, 30).bounds[1] == pytest.approx(1 * sin(radians(30)))
    assert turned(region, 30).bounds[0] == pytest.approx(cos(radians(30)) - sin(radians(30)))


def test_mirrored_swaps_left_and_right_and_centerd_centers():
    """Left is right; the middle of the box is the origin."""
    region = as_region(box(1, 2, 4, 8))
    assert mirrored(region).bounds == (-4, 2, -1, 8)
    assert centerd(region).bounds == (-1.5, -3, 1.5, 3)
    assert size_mm(region) == (3, 6)


BAD = [
    (lambda: region_from_points([(0, 0), (1, 1)]), "fewer than three different points"),
    (lambda: region_from_points([(0, 0), (5, 5), (0, 0), (5, 5)]), "fewer than three different"),
    (lambda: region_from_points([(0, 0), (5, 5), (9, 9)]), "encloses no area; draw a closed"),
    (lambda: region_from_points([(0, 0), (nan, 5), (9, 0)]), "not a finite number"),
    (lambda: region_from_points([(0, 0), (inf, 5), (9, 0)]), "not a finite number"),
    (lambda: region_from_points([1, 2, 3]), "an x and a y in mm"),
    (lambda: region_from_points([(1, 2, 3), (4, 5, 6), (7, 8, 10)]), "an x and a y in mm"),
    (lambda: region_from_points("sign"), "an x and a y in mm"),
    (lambda: region_from_points([]), "an x and a y in mm"),
    (lambda: region_from_points(PENTAGRAM), r"crosses itself near x -?\d+.*repair"),
    (lambda: as_region(LineString([(0, 0), (5, 5)])), "encloses no area"),
    (lambda: as_region(MultiPolygon()), "encloses no area"),
    (lambda: as_region(box(0, 0, 6000, 10)), "6000 x 10 mm, more than 5000 mm; check the unit"),
    (lambda: as_region(box(0, 0, 0.05, 10)), "less than 0.1 mm; check the unit"),
    (lambda: as_region(box(5e6, 0, 5e6 + 9, 9)), "5 km from the origin"),
    (lambda: region_from_rings([], rule=FillRule.NONZERO), "encloses no area"),
    (lambda: region_from_rings([[(0, 0), (1, nan), (2, 2)]], rule=FillRule.NONZERO), "finite"),
    (lambda: rounded_plan(as_region(box(0, 0, 50, 5)), 3), "nowhere 6 mm wide"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "words"), BAD)
def test_bad_outlines_are_refused_in_a_sentence(make, words):
    """Whatever cannot be an outline is refused with what to do, and nothing else escapes."""
    with pytest.raises(OutlineError, match=words) as refusal:
        make()
    assert str(refusal.value).endswith(".")


@pytest.mark.parametrize("radius", [-1, nan, inf])
def test_bad_radius_is_refused(radius):
    """A corner radius is a number from 0 up."""
    with pytest.raises(SpecError, match="radius_mm must be at least 0 mm"):
        rounded_plan(as_region(box(0, 0, 9, 9)), radius)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ({}, "width_mm must be given when height_mm is not"),
        ({"width_mm": 0}, "width_mm must be more than 0 mm"),
        ({"height_mm": nan}, "height_mm must be more than 0 mm"),
        ({"width_mm": -tan(1)}, "width_mm must be more than 0 mm"),
    ],
)
def test_bad_sizes_are_refused(sizes, words):
    """A size is a positive number, and there is at least one."""
    with pytest.raises(SpecError, match=words):
        scaled_to(as_region(box(0, 0, 9, 9)), **sizes)


def test_the_refusal_names_what_was_refused():
    """The sentence begins with the name that the caller gave the drawing."""
    with pytest.raises(OutlineError, match=r"^layer TIDE encloses no area"):
        as_region(MultiPolygon(), what="layer TIDE")


def test_a_crossing_that_costs_little_area_is_a_crossing():
    """A loop of a ten-thousandth of the outline is told, not dropped."""
    ring = [(0, 0), (100, 0), (100, 100), (51, 100), (49, 101), (51, 101), (49, 100), (0, 100)]

    with pytest.raises(OutlineError, match=r"crosses itself near x 50, y 100\.5 mm"):
        region_from_points(ring)
