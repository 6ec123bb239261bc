"""Sizes, spacing, standing and printed walls."""

import re
from dataclasses import replace
from math import atan, atan2, degrees, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity
from shapely import box as rectangle
from support.check_solids import (
    SHOP,
    block,
    box,
    case,
    codes,
    cut,
    cylinder,
    drafted,
    frustum,
    joined,
    lathe,
    mesh,
    moved,
    pyramid,
)

from moldgen.finding import Severity
from moldgen.mold.checks.hull import hull_of
from moldgen.mold.checks.size import check_size
from moldgen.mold.checks.spacing import check_spacing, measure_room, tallest_mm
from moldgen.mold.checks.standing import center_of_mass_mm, check_standing, measure_standing
from moldgen.mold.checks.wall import check_wall, measure_walls
from moldgen.mold.trim_rule import flange_mm
from moldgen.outline.rectangle_fit import fit_deg
from moldgen.printing.bed_fit import usable_bed_mm

MACHINE = SHOP.machine("bench-250x250")
WIDE = replace(
    MACHINE,
    opening_width_mm=600.0,
    opening_depth_mm=400.0,
    table_width_mm=600.0,
    table_depth_mm=400.0,
    sheet_width_mm=640.0,
    sheet_depth_mm=440.0,
)
PRINTER = SHOP.printer("bed-220")


def spacing_of(*solids, **more):
    """Return the spacing findings of meshes."""
    made = case(*solids, **more)
    return check_spacing(made, measure_room(made))


def test_square_fits_straight_and_a_bar_only_slanting():
    """A bar longer than the bed fits across its corners if it is narrow enough."""
    bar = rectangle(0, 0, 240, 10)

    assert fit_deg(rectangle(5, 5, 225, 225), 220, 220) == 0
    assert 0 < fit_deg(bar, 220, 220) < 45
    assert fit_deg(rectangle(0, 0, 240, 110), 220, 220) is None
    assert fit_deg(rectangle(0, 0, 100, 200), 210, 110) == 90


def test_fit_across_the_corners_is_the_known_one():
    """A line fits a square up to its diagonal."""
    assert fit_deg(Polygon([(0, 0), (141, 0), (141, 0.1), (0, 0.1)]), 100, 100) == 45
    assert fit_deg(Polygon([(0, 0), (142, 0), (142, 0.1), (0, 0.1)]), 100, 100) is None


def test_mold_that_fits_gives_nothing():
    """A mold within opening, height and bed is in order."""
    assert check_size(case(box(200, 200, 100))) == ()


def test_each_limit_of_size_stops():
    """Opening, table, bed and printer's height are told apart, each with size and room."""
    found = check_size(case(box(260, 230, 240)))
    by_code = {finding.code: finding for finding in found}

    assert codes(found) == ["opening-small", "too-tall", "print-beyond-bed"]
    assert (by_code["opening-small"].measured, by_code["opening-small"].limit) == (260, 250)
    assert (by_code["too-tall"].measured, by_code["too-tall"].limit) == (240, 120)
    assert by_code["print-beyond-bed"].subject == "A"
    assert {finding.severity for finding in found} == {Severity.STOP}
    assert codes(check_size(case(box(50, 50, 251)))) == ["too-tall", "print-beyond-bed"]


def test_what_does_not_fit_is_told_by_the_side_that_lacks_room():
    """The size told is the mold's own width or depth, and both ways to mend it are true."""
    wide, deep = case(box(928.6, 108.6, 29)), case(box(108.6, 928.6, 29))
    for made, side in ((wide, "width"), (deep, "depth")):
        opening, bed = check_size(made)
        assert opening.says.endswith(f"in any turn; its {side}")
        assert bed.says.endswith(f"in any turn; its {side}")
        assert (opening.measured, opening.limit) == (pytest.approx(928.6), 250)
        assert f"Take 678.6 mm off its {side}, or scale it to" in opening.advice
        assert "one by one" not in opening.advice
        percent, turn = (
            float(word)
            for word in re.findall(r"to (\d+) % and turn it by ([\d.]+)°", bed.advice)[0]
        )
        assert turn == 45
        assert fits(made, percent)
        assert not fits(made, percent + 1)


def fits(made, percent):
    """Tell whether a case of one body fits its printer's bed, scaled."""
    smaller = affinity.scale(made.footprints[0], percent / 100, percent / 100)
    return fit_deg(smaller, *usable_bed_mm(made.printer)[:2]) is not None


def test_both_sides_that_lack_room_are_told_with_the_turn():
    """A part too wide and too deep for an oblong opening is laid along it first."""
    long = replace(
        WIDE, opening_width_mm=400.0, opening_depth_mm=600.0, table_depth_mm=600.0,
        sheet_width_mm=440.0, sheet_depth_mm=640.0,
    )  # fmt: skip
    opening, *_ = check_size(case(box(650, 405, 10), machine=long))

    assert (opening.measured, opening.limit) == (650, 600)
    assert opening.advice == (
        "Take 50.0 mm off its width and 5.0 mm off its depth and turn it by 90°, "
        "or scale it to 92 % and turn it by 90°."
    )


def test_bodies_are_printed_one_by_one_but_formed_together():
    """Two bodies that fit the bed each may together not fit the opening."""
    found = check_size(case(box(150, 50, 10), box(150, 50, 10, (160, 0, 0))))

    assert codes(found) == ["opening-small"]


def test_hull_of_many_points_is_the_hull():
    """Leaving points out changes nothing of the hull, even for points on a line."""
    rng = np.random.default_rng(1)
    points = rng.normal(size=(3000, 3))
    import shapely

    plain = shapely.convex_hull(shapely.multipoints(points[:, :2]))

    assert hull_of(points).equals(plain)
    assert hull_of(np.array([[0.0, 0], [1, 1], [2, 2]])).length == pytest.approx(sqrt(8))


def test_bodies_nearer_than_the_rule_web():
    """Two blocks 20 mm high are told below 35 mm apart, once, and not above."""
    blocks = [box(40, 40, 20, (x, 0, 0)) for x in (0, 70, 140)]
    (finding,) = spacing_of(*blocks, machine=WIDE)

    assert (finding.code, finding.severity) == ("bodies-near", Severity.CAUTION)
    assert (finding.measured, finding.limit) == (30, 35)
    assert "2 pairs" in finding.says
    assert finding.where_mm[:2] == pytest.approx((55, finding.where_mm[1]))
    assert spacing_of(*(box(40, 40, 20, (x, 0, 0)) for x in (0, 75.1)), machine=WIDE) == ()


def ring(height):
    """An upright ring of 40 and 38 mm, as two shells and its two faces."""
    return lathe([(38, 0), (40, 0), (40, height), (38, height)])


def test_what_stands_in_a_ring_is_as_far_from_it_as_it_seems():
    """A block in the middle of a ring is 24 mm from it, though their hulls overlap."""
    (finding,) = spacing_of(ring(20), box(20, 20, 20, (-10, -10, 0)), machine=WIDE)

    assert finding.measured == pytest.approx(38 - 10 * sqrt(2), abs=0.2)
    assert "35 mm apart, or make them at most 15 mm high" in finding.advice
    assert spacing_of(ring(12), box(20, 20, 12, (-10, -10, 0)), machine=WIDE) == ()


def test_what_lies_over_another_is_at_no_distance():
    """A block that floats over the middle of a plate has no room beside it."""
    (finding,) = spacing_of(box(60, 60, 5), box(10, 10, 5, (25, 25, 10)), machine=WIDE)

    assert (finding.code, finding.measured) == ("bodies-near", 0)
    assert finding.where_mm[0] == pytest.approx(30, abs=5)


@pytest.mark.parametrize("gap", [4.0, 12.0, 20.0, 40.0])
def test_as_tall_as_the_cure_says_is_not_too_near(gap):
    """At the height that the cure gives two molds are apart enough, and a tenth taller not."""

    def codes_at(height):
        made = case(box(30, 30, height), box(30, 30, height, (30 + gap, 0, 0)))
        return {one.code for one in check_spacing(made, measure_room(made))} & {"bodies-near"}

    assert codes_at(tallest_mm(gap) * (1 - 1e-6)) == set()
    assert codes_at(1.1 * tallest_mm(gap)) == ({"bodies-near"} if tallest_mm(gap) < 22 else set())


def test_the_taller_of_two_decides():
    """A low block beside a tall one needs the tall one's distance."""
    (finding,) = spacing_of(box(40, 40, 20), box(40, 40, 5, (60, 0, 0)), machine=WIDE)

    assert finding.limit == 35


def test_two_deep_trays_share_no_flange():
    """Trays 30 mm deep want 50 mm of flange each; 60 mm between them is too little."""
    (finding,) = spacing_of(box(80, 80, 30), box(80, 80, 30, (140, 0, 0)), machine=WIDE)

    assert finding.code == "flange-shared"
    assert (finding.measured, finding.limit) == (60, 100)
    assert "one to a sheet" in finding.advice
    assert spacing_of(box(80, 80, 30), box(80, 80, 30, (181, 0, 0)), machine=WIDE) == ()


def test_clamp_wants_height_flange_or_25_mm():
    """A low sign needs 25 mm to the clamp, a tray 50 mm, a tall block its height."""

    def free(height, gap):
        side = 250 - 2 * gap
        return spacing_of(box(side, side, height))

    assert free(5, 25) == ()
    assert free(30, 50) == ()
    assert free(80, 80) == ()
    assert free(80, 77) == ()  # a shortfall under a twentieth of a rule of thumb
    (sign,), (tray,), (tall,) = free(5, 24), free(30, 49), free(80, 75)
    assert [f.code for f in (sign, tray, tall)] == ["clamp-near", "flange-clamped", "clamp-near"]
    assert [f.limit for f in (sign, tray, tall)] == [25, 50, 80]
    assert [f.measured for f in (sign, tray, tall)] == pytest.approx([24, 49, 75])


def test_a_tray_drawn_into_its_mold_needs_no_flange_on_the_table():
    """It is cut on its block: only the web asks for room, to the clamp and between blocks."""
    pair = (box(80, 80, 30), box(80, 80, 30, (140, 0, 0)))

    assert spacing_of(box(190, 190, 30), side="female") == ()
    assert [f.code for f in spacing_of(box(190, 190, 30))] == ["flange-clamped"]
    assert spacing_of(*pair, machine=WIDE, side="female") == ()
    assert [f.code for f in spacing_of(*pair, machine=WIDE)] == ["flange-shared"]


def test_mold_is_laid_the_better_way_round():
    """A long mold lies along the long side of the opening, whichever way it was drawn."""
    long = box(500, 100, 20)
    across = box(100, 500, 20)

    assert spacing_of(long, machine=WIDE) == spacing_of(across, machine=WIDE) == ()
    (finding,) = spacing_of(box(100, 560, 20), machine=WIDE)
    assert finding.measured == 20
    assert finding.where_mm[:2] == (50, 560)


def test_the_flange_is_wider_round_a_deep_part():
    """A part 25 mm high and more keeps 50 mm, a lower one 25 mm."""
    assert (flange_mm(24.9), flange_mm(25)) == (25, 50)


def test_center_of_mass_of_known_solids():
    """A box has it in the middle, a pyramid at a quarter, a cut cone in between."""
    assert center_of_mass_mm(box(2, 4, 6, (1, 1, 1))) == pytest.approx((2, 3, 4))
    assert center_of_mass_mm(pyramid(8, 1e-9, 12))[2] == pytest.approx(3)
    r, t, h = 5, 2, 7
    exact = h / 4 * (r * r + 2 * r * t + 3 * t * t) / (r * r + r * t + t * t)
    assert center_of_mass_mm(frustum(r, t, h, 64))[2] == pytest.approx(exact)


@pytest.mark.parametrize(("width", "height"), [(40, 30), (10, 50), (5, 12)])
def test_box_tips_over_its_near_edge(width, height):
    """A box tips at the arctangent of half its width over half its height."""
    (standing,) = measure_standing(case(box(width, 80, height)))

    assert standing.tip_deg == pytest.approx(degrees(atan(width / height)))
    assert standing.height_to_base == pytest.approx(height / width)
    assert standing.lift_mm == 0


def test_slender_leaning_and_hanging_bodies():
    """A slender body is a caution, one past its foot stops, one in the air is told."""
    slender = box(5, 80, 30)
    leaning = box(10, 10, 10)
    sheared = moved(leaning, by=(50, 0, 0))
    points = sheared.points_mm + np.outer(leaning.points_mm[:, 2], [1.5, 0, 0])
    hanging = box(10, 10, 10, (100, 0, 2))
    made = case(slender, mesh(points, sheared.triangles), hanging)
    tips, falls, hangs = check_standing(made, measure_standing(made))

    assert (tips.code, tips.severity, tips.subject) == ("standing-tips", Severity.CAUTION, "A")
    assert tips.measured == pytest.approx(degrees(atan2(2.5, 15)))
    assert (falls.code, falls.severity, falls.subject) == ("standing-tips", Severity.STOP, "B")
    assert falls.measured == pytest.approx(-degrees(atan2(2.5, 5)))
    assert (hangs.code, hangs.measured, hangs.subject) == ("standing-lifted", 2, "C")


def test_feet_are_what_touches_the_table():
    """A table top on one leg tips over the leg's edge, not its own."""
    top_heavy = lathe([(0, 0), (6, 0), (6, 10), (20, 10), (20, 20), (0, 20)], 64)
    (standing,) = measure_standing(case(top_heavy))

    assert standing.tip_deg < degrees(atan2(6, 10))
    assert standing.height_to_base == pytest.approx(20 / 12, rel=1e-2)


def test_open_surface_has_no_mass():
    """What is not closed is not asked how it stands."""
    solid = box(1, 1, 9)
    opened = mesh(solid.points_mm, solid.triangles[2:])

    assert measure_standing(case(opened)) == ()


@pytest.mark.parametrize("thickness", [0.5, 0.79])
def test_thin_wall_is_measured(thickness):
    """A wall thinner than the printer's least is measured, with its area and place."""
    solid = cut(drafted(60, 50, 20), block(20, 30, 30).translate((0, 0, 5)),
                block(20, 30, 30).translate((20 + thickness, 0, 5)))  # fmt: skip
    made = case(solid)
    (finding,) = check_wall(made, measure_walls(made))

    assert (finding.code, finding.measured) == ("wall-thin", pytest.approx(thickness, abs=1e-6))
    assert finding.limit == PRINTER.least_wall_mm == 0.8
    assert finding.where_mm[0] == pytest.approx(10 + thickness / 2, abs=thickness)
    assert finding.severity is Severity.CAUTION


def test_walls_as_thick_as_the_least_are_in_order():
    """At the least wall, and at the foot and rim of solid walls, nothing is told."""
    solid = cut(drafted(60, 50, 20), block(20, 30, 30).translate((0, 0, 5)),
                block(20, 30, 30).translate((20.8, 0, 5)))  # fmt: skip
    made = case(solid, box(30, 30, 9), frustum(10, 0.2, 30))

    assert check_wall(made, measure_walls(made)) == ()


def test_wall_between_a_bore_and_the_outside_is_a_wall():
    """A bore half a millimeter from an upright side leaves a thin wall."""
    solid = cut(block(40, 40, 20), cylinder(2, -1, 15, 17.5, 0, n=64))
    made = case(solid)
    walls = measure_walls(made)

    assert np.nanmin(walls.thickness_mm) == pytest.approx(0.5, abs=0.02)
    assert codes(check_wall(made, walls)) == ["wall-thin"]


def test_sliver_under_the_mold_is_no_matter():
    """A thin wall no higher than the channels of the underside is left out by the printer.

    Nobody can act on that; a high one is a caution.
    """

    def wall_of(height):
        slots = [block(6, 30, height).translate((x, 0, -0.5)) for x in (-3.2, 3.2)]
        made = case(cut(drafted(60, 50, 20), *slots))
        return [
            (finding.severity, finding.measured)
            for finding in check_wall(made, measure_walls(made))
        ]

    assert wall_of(3.0) == []
    assert wall_of(12.0) == [(Severity.CAUTION, pytest.approx(0.4))]


def test_thickness_is_measured_as_far_as_asked():
    """With a longer reach a block is as thick as it is wide; floors have no thickness."""
    made = case(box(12, 30, 9))
    thickness = measure_walls(made, reach_mm=50.0).thickness_mm

    assert sorted(set(np.round(thickness[~np.isnan(thickness)], 6))) == [12, 30]
    assert np.isnan(thickness[:4]).all()


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(0.5, 2))
def test_turning_and_moving_change_neither_standing_nor_walls(turn_deg, by, scale):
    """Tipping angle and thickness belong to the body alone; thickness scales."""
    solid = moved(joined(box(3, 30, 8)), turn_deg=turn_deg, by=(by, -by, 1), scale=scale)
    made = case(solid)
    (standing,) = measure_standing(made)
    thickness = measure_walls(made, reach_mm=100.0).thickness_mm

    assert standing.tip_deg == pytest.approx(degrees(atan(3 / 8)), abs=1e-6)
    assert np.nanmin(thickness) == pytest.approx(3 * scale, rel=1e-6)


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 90), st.floats(-60, 60))
def test_fit_does_not_depend_on_how_it_was_drawn(turn_deg, by):
    """What fits straight fits after any turn, by turning it back."""
    footprint = hull_of(moved(box(200, 150, 1), turn_deg=turn_deg, by=(by, by, 0)).points_mm)

    assert fit_deg(footprint, 202, 152) is not None
    assert fit_deg(footprint, 199, 149) is None


@pytest.mark.parametrize(("width_mm", "told"), [(249.9, []), (250.5, ["opening-small"])])
def test_half_a_millimeter_over_the_opening_is_told(width_mm, told):
    """The clear opening of the smallest table is 250 mm, in any turn."""
    found = check_size(case(box(width_mm, 250, 20), printer=SHOP.printer("extra-large")))

    assert [one.code for one in found if one.code == "opening-small"] == told
