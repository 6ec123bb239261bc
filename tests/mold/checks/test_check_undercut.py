"""What the sheet gets under, and what it does not."""

from math import cos, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.check_solids import (
    block,
    box,
    case,
    cut,
    cylinder,
    drafted,
    frustum,
    joined,
    lathe,
    mesh,
    moved,
    pyramid,
    turned,
)  # fmt: skip

from moldgen.finding import Severity
from moldgen.mold.checks.sight import sight
from moldgen.mold.checks.turned_over import check_upside, gripped_mm2
from moldgen.mold.checks.undercut import check_undercut, measure_undercuts, sample_places

N = 48
DISC = N / 2 * sin(2 * pi / N)  # area of the unit circle's polygon
MUSHROOM = lathe(
    [(0, 0), (20, 0), (20, 4), (6, 4), (6, 15), (14, 15), (14, 22), (0, 22)], N
)  # a base, a stem and a cap that stands over by 8


def undercuts_of(*solids, **more):
    """Undercuts of meshes."""
    made = case(*solids, **more)
    return measure_undercuts(made, sight(made))


def test_mushroom_has_the_area_and_depth_of_its_cap():
    """Under the cap is the ring between stem and rim; as deep as the ring is wide."""
    (found,) = undercuts_of(MUSHROOM)

    assert found.area_mm2 == pytest.approx(DISC * (14**2 - 6**2), rel=1e-9)
    assert found.depth_mm == pytest.approx(14 * cos(pi / N) - 6, abs=0.03)
    assert found.where_mm[2] == 15
    assert sqrt(found.where_mm[0] ** 2 + found.where_mm[1] ** 2) == pytest.approx(6)


def test_mushroom_hides_its_stem_and_the_base_below():
    """Hidden are the underside, the stem, and the base in the shadow of the cap."""
    (found,) = undercuts_of(MUSHROOM)
    stem = 2 * N * 6 * sin(pi / N) * 11
    ring = DISC * (14**2 - 6**2)

    assert found.hidden_mm2 == pytest.approx(2 * ring + stem, rel=0.02)


def test_ball_on_the_table_is_undercut_below_its_equator():
    """Half the surface of a ball looks down; the deepest place is where it rests."""
    angles = np.linspace(-pi / 2, pi / 2, 41)
    ball = lathe([(0 if abs(a) > 1.57 else 10 * cos(a), 10 + 10 * sin(a)) for a in angles], 96)
    (found,) = undercuts_of(ball)

    assert found.area_mm2 == pytest.approx(2 * pi * 10**2, rel=0.03)
    assert found.depth_mm == pytest.approx(10, rel=0.01)


def test_wall_leaning_outward_is_undercut_by_its_overhang():
    """A frustum on its head overhangs by height times the tangent of its lean."""
    (found,) = undercuts_of(pyramid(20, 30, 40))

    assert found.depth_mm == pytest.approx(5)
    assert found.area_mm2 == pytest.approx(4 * 25 * sqrt(40**2 + 5**2))


@pytest.mark.parametrize(
    "solid",
    [
        box(30, 20, 10),
        frustum(20, 15, 30),
        lathe([(4, 0), (12, 0), (10, 9), (6, 9)]),
        cut(drafted(60, 50, 20), cylinder(0.75, -1, 30)),
        cut(drafted(60, 50, 20), cylinder(0.75, -1, 30), cylinder(2, -1, 18.5)),
        cut(drafted(60, 50, 20), cylinder(1.5, -1, 30, top=0.5)),
        cut(drafted(60, 50, 20), cylinder(8, -1, 12), cylinder(3, -1, 17, 18, 0)),
        cut(drafted(60, 50, 20), block(80, 4, 3), block(6, 80, 1.2)),
        cut(drafted(60, 50, 20), *(block(50, 12, 2).translate((0, y, 0)) for y in (-20, 0, 20))),
        cut(drafted(60, 50, 20), cylinder(12, -1, 16, top=4)),
    ],
    ids=["box", "cone", "ring", "vent", "stepped vent", "flared vent", "pockets", "channels",
         "feet", "leaning pocket"],
)  # fmt: skip
def test_molds_without_undercut(solid):
    """Undersides, what is hollowed into them, and vents are no undercuts."""
    assert undercuts_of(solid) == ()


def test_hole_wider_than_the_sheet_spans_is_undercut_where_it_widens():
    """The sheet goes down a 6 mm hole and spreads in the bore below."""
    solid = cut(drafted(60, 50, 20), cylinder(3, -1, 30), cylinder(9, -1, 14))
    (found,) = undercuts_of(solid)

    assert found.depth_mm == pytest.approx(6, abs=0.2)
    assert undercuts_of(solid, gauge_mm=3.5) == ()


def test_window_in_the_side_is_undercut():
    """The sheet is drawn into a window; how deep it goes is told."""
    solid = cut(drafted(60, 60, 40), block(20, 12, 10).translate((0, -30, 15)))
    (found,) = undercuts_of(solid)

    assert found.area_mm2 == pytest.approx(20 * 6)
    assert found.depth_mm == pytest.approx(6)


def test_closed_hollow_is_no_undercut():
    """The sheet does not get into a hollow."""
    assert undercuts_of(cut(block(40, 40, 40), block(10, 10, 10).translate((0, 0, 15)))) == ()


def test_pull_along_the_side_finds_what_the_other_pull_does_not():
    """A mushroom lying down is free of undercut if pulled square to its axis from half way up."""
    lying = turned(MUSHROOM, 0)
    axis = (0.0, 1.0, 0.0)
    (found,) = undercuts_of(lying, draw_direction=axis)

    assert found.depth_mm == pytest.approx(14 * cos(pi / N) - 6, abs=0.03)
    assert found.where_mm[1] == pytest.approx(15)


def test_two_bodies_are_told_apart_and_ranked():
    """Each body has its own; the deepest comes first; depth decides the severity."""
    shallow = moved(pyramid(20, 20.8, 10), by=(80, 0, 0))
    made = case(shallow, MUSHROOM)
    found = measure_undercuts(made, sight(made))
    mild, grave = check_undercut(made, tuple(reversed(found)))

    assert [u.body for u in found] == ["B", "A"]
    assert (grave.subject, grave.severity) == ("B", Severity.STOP)
    assert (mild.subject, mild.severity) == ("A", Severity.CAUTION)
    assert mild.measured == pytest.approx(0.4)


def test_several_patches_of_a_body_are_one_finding():
    """Two windows are one finding with the deeper one's depth."""
    made = case(
        cut(
            drafted(60, 60, 40),
            block(20, 12, 10).translate((0, -30, 15)),
            block(20, 16, 10).translate((0, 30, 15)),
        )
    )
    (finding,) = check_undercut(made, measure_undercuts(made, sight(made)))

    assert "in 2 places" in finding.says
    assert "280 mm²" in finding.says
    assert finding.measured == pytest.approx(8)


def test_rounding_is_no_undercut():
    """An upright wall moved by the step of a mesh file, or by 0.02 mm, is not told."""
    made = case(pyramid(20, 20.04, 40), moved(pyramid(20, 20 + 1e-6, 40), by=(60, 0, 0)))

    assert check_undercut(made, measure_undercuts(made, sight(made))) == ()


def test_separate_lid_hides_but_is_found():
    """A lid floating over a block is one undercut, hiding the block's top and one of its sides."""
    (found,) = undercuts_of(joined(box(20, 20, 10), box(30, 20, 5, (0, 0, 20))))

    # Block and lid share a corner: three sides of the block are flush with the lid's own.
    assert found.area_mm2 == pytest.approx(30 * 20)
    assert found.hidden_mm2 == pytest.approx(30 * 20 + 20 * 20 + 20 * 10)


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(1.0, 4))
def test_turning_and_moving_keep_undercuts_and_scaling_scales(turn_deg, by, scale):
    """Depth goes with the scale and area with its square, wherever the mold lies."""
    solid = moved(MUSHROOM, turn_deg=turn_deg, by=(by, -by, 0), scale=scale)
    (found,) = undercuts_of(solid)

    assert found.area_mm2 == pytest.approx(scale**2 * DISC * (14**2 - 6**2), rel=1e-6)
    assert found.depth_mm == pytest.approx(scale * (14 * cos(pi / N) - 6), abs=0.03 * scale)


def test_vent_wider_than_the_sheet_spans_is_one_if_known_to_be():
    """In thin sheet a wide vent is no undercut once the case says how wide vents are."""
    solid = cut(drafted(60, 50, 20), cylinder(1.3, -1, 30), cylinder(3, -1, 18))

    assert len(undercuts_of(solid, gauge_mm=0.5)) == 1
    assert undercuts_of(solid, gauge_mm=0.5, widest_vent_mm=2.6) == ()
    assert undercuts_of(solid, gauge_mm=1.3) == ()


def test_smallest_printed_vent_is_spanned_by_any_sheet():
    """A vent as small as the printer makes it, widened for what it loses, is no undercut."""
    solid = cut(drafted(60, 50, 20), cylinder(0.85, -1, 30), cylinder(3, -1, 18))

    assert undercuts_of(solid, gauge_mm=0.3) == ()


def test_low_lip_at_the_foot_is_no_undercut():
    """The sheet does not turn in under a lip 2 mm over the table, but does under one of 6 mm."""

    def lipped(lip):
        return lathe([(0, 0), (20 - lip, 0), (20, lip), (17, 20), (0, 20)])

    assert undercuts_of(lipped(2.0)) == ()
    (found,) = undercuts_of(lipped(6.0))
    assert found.depth_mm == pytest.approx(6, abs=0.1)
    assert undercuts_of(lipped(6.0), gauge_mm=3.1) == ()


@pytest.mark.parametrize(
    ("overhang", "severity"), [(0.45, Severity.CAUTION), (0.55, Severity.STOP)]
)
def test_half_a_gauge_locks(overhang, severity):
    """Half a gauge of undercut is more than a part gives way."""
    made = case(pyramid(20, 20 + 2 * overhang, 10), gauge_mm=1.0)
    (finding,) = check_undercut(made, measure_undercuts(made, sight(made)))

    assert finding.severity is severity


@pytest.mark.parametrize("splits", [1, 2, 5, 24])
def test_sample_places_weigh_a_triangle_evenly(splits):
    """The mean of the sample places is the middle, and their spread that of a full triangle."""
    made = case(mesh([(0, 0, 0), (12, 0, 0), (0, 6, 0)], [(0, 1, 2)]))
    places = sample_places(made, np.array([0]), splits)

    assert len(places) == splits**2
    assert places[:, :2].mean(axis=0) == pytest.approx((4, 2))
    # The variance of x over a right triangle is a^2/18, less that within each small one.
    assert places[:, 0].var() == pytest.approx(12**2 / 18 * (1 - 1 / splits**2))


# --- upside down --------------------------------------------------------------------------------

CONE = lathe([(0, 0), (20, 0), (14, 20), (0, 20)], N)
"""Stands well on its wide end."""


def upside(*solids, **more):
    """Return what is told of lying upside down."""
    made = case(*solids, **more)
    seen = sight(made)
    return check_upside(made, seen, measure_undercuts(made, seen))


def upside_down(solid):
    """Return a mesh turned over, its foot on the table again."""
    top = float(solid.points_mm[:, 2].max())
    return mesh(solid.points_mm * (1, -1, -1) + (0, 0, top), solid.triangles)


def test_a_cone_on_its_tip_is_told_with_the_way_to_turn_it():
    """All of its wall grips one way up and none the other; the note names the option."""
    (found,) = upside(upside_down(CONE))
    wall = N * sin(pi / N) * (20 + 14) * sqrt((6 * cos(pi / N)) ** 2 + 20**2)

    assert found.severity is Severity.NOTE
    assert f"under 0 mm² of it instead of {wall:.0f} mm²" in found.says
    assert "moldgen refit FILE --up -z" in found.advice
    assert upside(CONE) == ()


def test_the_way_to_turn_is_against_the_pull():
    """A part checked along -z is turned so that z points up; along a slanting one none is told."""
    (found,) = upside(CONE, draw_direction=(0.0, 0.0, -1.0))

    assert "--up z," in found.advice
    assert upside(upside_down(CONE), draw_direction=(0.0, 1e-3, 1.0)) == ()


def test_a_part_that_locks_either_way_is_not_told_to_turn():
    """Neither a bobbin nor a mushroom with a base wider than its cap is better turned over."""
    bobbin = lathe([(0, 0), (20, 0), (20, 6), (8, 6), (8, 20), (20, 20), (20, 26), (0, 26)], N)
    made = case(bobbin)

    assert gripped_mm2(made, sight(made)) == pytest.approx(DISC * (20**2 - 8**2))
    assert upside(bobbin) == ()
    assert upside(MUSHROOM) == ()
