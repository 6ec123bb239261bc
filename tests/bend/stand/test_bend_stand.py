"""Stand: centers of mass and tip angles against rows worked out elsewhere, and how it is seen."""

from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.bend.stand.balance import (
    arc_middle,
    middle_of,
    middle_of_strip_mm,
    sector_middle_mm,
    tip_deg,
)
from moldgen.bend.stand.load import BOOK, PHONE, StripLoad, Thing, load_on_leg
from moldgen.bend.stand.stand import Eye, build_standing, check_standing, check_view, rested
from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend, StripSpec
from moldgen.bend.strip.shape import formed
from moldgen.errors import SpecError
from moldgen.finding import Severity

ROWS = published("bent_stand")
BENT = {row["id"]: row for row in published("bent_stand_bend")}
ACRYLIC = 1190.0


def l_strip(thickness_mm=3.0, radius_mm=6.0, base_mm=50.0, back_mm=90.0, **more):
    """Return an L with these straight parts, the base first."""
    corner = radius_mm + thickness_mm
    return strip([base_mm + corner, back_mm + corner], [90.0], radius_mm, thickness_mm, **more)


def strip(legs, angles, radius_mm=6.0, thickness_mm=3.0, **more):
    bends = tuple(
        Bend(
            angle_deg=abs(angle),
            turn=Turn.UP if angle > 0 else Turn.DOWN,
            inside_radius_mm=radius_mm,
        )
        for angle in angles
    )
    spec = StripSpec(
        **{
            "name": "logbook stand",
            "thickness_mm": thickness_mm,
            "width_mm": 60.0,
            "plastic": "PMMA cast",
            "legs_mm": tuple(legs),
            "bends": bends,
            **more,
        }
    )
    return formed(spec, build_layout(spec))


def thin_l(row):
    base, back, angle = (float(row[key]) for key in ("base_mm", "back_mm", "back_deg"))
    way = np.array([cos(radians(angle)), sin(radians(angle))])
    return middle_of(np.array([base, back]), np.array([(base / 2, 0.0), back / 2 * way]))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_thin_stands_have_the_tabled_center_and_tip_angles(row):
    """Center of mass and both tip angles of a thin L agree to every digit."""
    x, z = thin_l(row)

    assert x == pytest.approx(float(row["x_mm"]), abs=half_last_digit(row["x_mm"]), rel=0)
    assert z == pytest.approx(float(row["z_mm"]), abs=half_last_digit(row["z_mm"]), rel=0)
    assert tip_deg(x, z) == pytest.approx(float(row["heel_deg"]), abs=0.01, rel=0)
    toe = tip_deg(float(row["base_mm"]) - x, z)
    assert toe == pytest.approx(float(row["toe_deg"]), abs=0.01, rel=0)


@pytest.mark.parametrize("row", ROWS[1:2], ids=lambda row: row["id"])
def test_the_table_can_tell_the_angle_measured_from_upright(row):
    """A back angle taken from upright instead of from the base misses the row."""
    wrong = {**row, "back_deg": str(90 - float(row["back_deg"]))}

    assert abs(thin_l(wrong)[0] - float(row["x_mm"])) > 1.0


def test_a_thin_bent_strip_has_the_tabled_center():
    """Length and center of an L with a bend agree, as the strip gets thin."""
    shape = l_strip(thickness_mm=1e-4, radius_mm=7.5)
    row, corner = BENT["Y5"], 57.5
    x, z = middle_of_strip_mm(shape)

    assert shape.path.flat.length_mm == pytest.approx(float(row["length_mm"]), abs=1e-3, rel=0)
    assert corner - x == pytest.approx(float(row["x_mm"]), abs=1e-3, rel=0)
    assert z == pytest.approx(float(row["z_mm"]), abs=1e-3, rel=0)


def test_a_bent_strip_tips_over_its_tangent_point():
    """The L of the row tips over the place where its bend leaves the table."""
    stand = build_standing(l_strip(), density_kg_m3=ACRYLIC, lying=1)
    row = BENT["Y6"]

    assert stand.contact_mm == pytest.approx((0.0, 50.0), abs=1e-9)
    # A ring sector's center lies further out than a thin arc's: up to 0.02°.
    assert stand.tip_right_deg == pytest.approx(float(row["heel_deg"]), abs=0.02, rel=0)
    assert stand.tip_left_deg == pytest.approx(float(row["toe_deg"]), abs=0.02, rel=0)


def test_the_tip_row_can_tell_the_outer_face_from_the_tangent_point():
    """Tipping over the outer face instead would give a stand more than ten degrees safer."""
    stand = build_standing(l_strip(), density_kg_m3=ACRYLIC, lying=1)
    outer = tip_deg(50.0 + 9.0 - stand.middle_mm[0], stand.middle_mm[1])

    assert abs(outer - float(BENT["Y6"]["heel_deg"])) > 5.0


def test_a_loaded_strip_has_the_tabled_center_and_tip_angle():
    """A phone's mass moves center and tip angle as in the row."""
    load = StripLoad(name="phone", mass_kg=0.2, x_mm=57.5 - 20.0, height_mm=75.0)
    stand = build_standing(l_strip(), density_kg_m3=ACRYLIC, loads=[load], lying=1)
    row = BENT["Y7"]

    assert stand.mass_kg == pytest.approx(0.0325, abs=5e-5, rel=0)
    assert 57.5 - stand.middle_mm[0] == pytest.approx(float(row["x_mm"]), abs=2e-3, rel=0)
    assert stand.middle_mm[1] == pytest.approx(float(row["z_mm"]), abs=2e-3, rel=0)
    assert stand.tip_right_deg == pytest.approx(float(row["heel_deg"]), abs=0.01, rel=0)


@pytest.mark.parametrize("row", published("bent_stand_arc"), ids=lambda row: row["angle_deg"])
def test_thin_arcs_have_the_tabled_center(row):
    """The center of a thin arc agrees to every digit; half the angle would not."""
    angle, printed = float(row["angle_deg"]), row["factor"]

    assert arc_middle(angle) == pytest.approx(float(printed), abs=half_last_digit(printed), rel=0)
    assert abs(arc_middle(angle / 2) - float(printed)) > 1e-3


def test_a_frame_of_rods_balances_as_in_the_examination():
    """Rectangle and semicircle have their common center where they balance at any point."""
    printed = published("rod_frame")[0]["r_over_h"]
    h, r = 1.0, float(printed)
    # Three sides of the rectangle, and the semicircle; heights above the semicircle's diameter.
    lengths = np.array([2 * r, 2 * h, 2 * h, pi * r])
    middles = np.array([(0, -2 * h), (-r, -h), (r, -h), (0, r * arc_middle(180.0))])

    assert middle_of(lengths, middles) == pytest.approx((0.0, 0.0), abs=1e-5)
    assert abs(1 + sqrt(3) - float(printed)) < half_last_digit(printed)


def test_a_thick_bend_has_its_center_further_out():
    """The ring sector of the row: 6.8424 against 6.7524 of a thin line."""
    assert sector_middle_mm(6.0, 9.0, 90.0) == pytest.approx(6.8424, abs=5e-5, rel=0)
    assert 7.5 * arc_middle(90.0) == pytest.approx(6.7524, abs=5e-5, rel=0)


@settings(max_examples=20, deadline=None)
@given(
    angles=st.lists(st.floats(-120, 120).filter(lambda a: abs(a) > 5), min_size=1, max_size=4),
    turn=st.floats(-3, 3),
)
def test_the_formula_for_the_center_agrees_with_the_solid(angles, turn):
    """Center of mass by exact sectors is that of the triangles, turned any way."""
    plain = strip([50.0] * (len(angles) + 1), angles).moved(turn, (3.0, -7.0))
    holed = strip([50.0] * (len(angles) + 1), angles, holes=((12.0, 30.0, 1e-3),))
    x, z = middle_of_strip_mm(plain)

    assert (x, z) == pytest.approx(middle_of_strip_mm(holed.moved(turn, (3.0, -7.0))), abs=0.05)


def test_a_hole_moves_the_center_away_from_it():
    """A hole in the back lowers the center of mass."""
    plain, holed = l_strip(), l_strip(holes=((130.0, 30.0, 30.0),))

    assert middle_of_strip_mm(holed)[1] < middle_of_strip_mm(plain)[1] - 1.0


def test_a_thing_leans_against_its_leg():
    """A phone on an upright leg has its middle half its thickness before the face."""
    stand = build_standing(l_strip(), density_kg_m3=ACRYLIC, lying=1)
    load = load_on_leg(stand.shape, 2, PHONE)

    assert load.x_mm == pytest.approx(50.0 + 6.0 - 4.5)
    assert load.height_mm == pytest.approx(9.0 + 75.0)


def test_a_face_square_to_the_eye_is_seen_at_no_angle():
    """A back tilted so that its normal meets the eye is seen straight on."""
    stand = build_standing(l_strip(), density_kg_m3=ACRYLIC, lying=1)
    middle = stand.shape.legs[1].start_mm[1] + 45.0

    assert stand.view_deg(2, Eye(height_mm=middle, distance_mm=500)) == pytest.approx(0, abs=1e-5)
    assert stand.view_deg(2, Eye(height_mm=middle + 500, distance_mm=500)) == pytest.approx(45)
    assert stand.view_deg(1, Eye(height_mm=1.5, distance_mm=500)) == pytest.approx(90)


def test_stands_that_tip_are_told():
    """The L of the rows is a caution; a book makes it fall, which is a stop."""
    light = build_standing(l_strip(), density_kg_m3=ACRYLIC, lying=1)
    fallen = build_standing(
        l_strip(base_mm=20.0),
        density_kg_m3=ACRYLIC,
        lying=1,
        loads=[StripLoad(name="book", mass_kg=0.5, x_mm=40.0, height_mm=100.0)],
    )

    assert [f.severity for f in check_standing(light)] == [Severity.CAUTION]
    worst = check_standing(fallen)[0]
    assert worst.severity is Severity.STOP
    assert "with book" in worst.says


def test_a_poor_view_is_a_caution():
    """An upright seen from high above is hard to read."""
    stand = build_standing(l_strip(), density_kg_m3=ACRYLIC, lying=1)

    assert check_view(stand, 2)[0].severity is Severity.CAUTION
    assert check_view(stand, 2, Eye(height_mm=60))[0].severity is Severity.NOTE


@settings(max_examples=20, deadline=None)
@given(
    legs=st.lists(st.floats(35, 120), min_size=2, max_size=4),
    angle=st.floats(20, 100),
)
def test_a_strip_put_down_by_itself_stands(legs, angle):
    """Left to choose, it lies above the table, touches it and does not fall."""
    shape = strip(legs, [angle * (-1) ** k for k in range(len(legs) - 1)])
    stand = build_standing(shape, density_kg_m3=ACRYLIC)

    assert stand.shape.bounds_mm[0, 1] == pytest.approx(0.0, abs=0.03)
    assert min(stand.tip_left_deg, stand.tip_right_deg) > -0.1


def test_resting_does_not_depend_on_how_it_was_held():
    """Turned any way before, it is put down with the same center height."""
    shape = strip([60.0, 80.0, 40.0], [70.0, -50.0])
    heights = [
        middle_of_strip_mm(rested(shape.moved(turn, (0.0, 0.0))))[1] for turn in (0.0, 1.0, 4.0)
    ]

    assert heights == pytest.approx([heights[0]] * 3, abs=1e-3)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: tip_deg(1.0, 0.0), "height_mm must be more than 0 mm"),
        (lambda: build_standing(l_strip(), density_kg_m3=1.0), "density_kg_m3 must be at least"),
        (lambda: build_standing(l_strip(), density_kg_m3=1190, lying=3), "lying must be a leg"),
        (
            lambda: build_standing(strip([60, 60], [-90]), density_kg_m3=1190, lying=1),
            "lying must be a leg with nothing below",
        ),
        (lambda: load_on_leg(l_strip(), 0, BOOK), "leg must be a leg, 1 to 2"),
        (
            lambda: build_standing(l_strip(), density_kg_m3=1190, lying=1).view_deg(9, Eye()),
            "leg must be a leg, 1 to 2",
        ),
        (
            lambda: StripLoad(name="x", mass_kg=0.0, x_mm=0, height_mm=0),
            "mass_kg must be more than 0",
        ),
        (
            lambda: Thing(name="x", mass_kg=1.0, tall_mm=-1, thick_mm=1),
            "tall_mm must be more than 0 mm",
        ),
        (lambda: Eye(distance_mm=0.0), "distance_mm must be more than 0 mm"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(make, match):
    """What cannot be is refused with the field and what to do."""
    with pytest.raises(SpecError, match=match):
        make()
