"""Draw ratios against published examples, brute force and swapped arguments."""

from math import cos, inf, nan, pi, radians, sin

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.draw_shapes import (
    box_areal_ratio,
    cap_areal_ratio,
    cone_areal_ratio,
    cylinder_areal_ratio,
    truncated_cone_areal_ratio,
)

from moldgen.errors import SpecError
from moldgen.physics.draw import (
    METHODS,
    areal_draw_ratio,
    height_to_width,
    linear_draw_ratio,
    male_areal_ratio,
    mean_thickness_mm,
    method_by_height_to_width,
    start_gauge_mm,
)

CYLINDER = published("draw_ratios")[0]
BOXES = published("box_mean_wall")
MISPRINTS = published("box_misprints")
lengths_mm = st.floats(1, 1000)
depths_mm = st.floats(0, 1000)


def wall_of_revolution(radius, height, *, n=20_000):
    """Area swept by a curve of points (radius, height), summed by narrow frusta."""
    r, z = radius(np.linspace(0, 1, n + 1)), height(np.linspace(0, 1, n + 1))
    return float(np.sum(pi * (r[1:] + r[:-1]) * np.hypot(np.diff(r), np.diff(z))))


def mean_wall_of_box(row):
    """Mean wall of a box whose plug, if any, keeps the sheet it touches at full gauge."""
    length, width, depth, gauge, plug_length, plug_width = (
        float(row[f"{name}_mm"])
        for name in ("length", "width", "depth", "gauge", "plug_length", "plug_width")
    )
    if not plug_length:
        return mean_thickness_mm(gauge, box_areal_ratio(length, width, depth))
    walls_mm2 = 2 * depth * (length + width)
    left_mm2 = length * width - plug_length * plug_width
    return mean_thickness_mm(gauge, areal_draw_ratio(walls_mm2, left_mm2))


def test_cylinder_has_the_published_ratios():
    """A cup as deep as wide draws 5 by area, 3 by length, 1 by height."""
    diameter, depth = float(CYLINDER["diameter"]), float(CYLINDER["depth"])

    assert cylinder_areal_ratio(diameter, depth) == float(CYLINDER["areal"])
    assert linear_draw_ratio(diameter + 2 * depth, diameter) == float(CYLINDER["linear"])
    assert height_to_width(depth, diameter) == float(CYLINDER["height_to_diameter"])


def test_cylinder_thins_as_published():
    """The published cup keeps a fifth of its sheet: 80 percent thinning."""
    left = mean_thickness_mm(1.0, float(CYLINDER["areal"]))

    assert left == float(CYLINDER["mean_over_gauge"])
    assert 100 * (1 - left) == pytest.approx(float(CYLINDER["thinning_percent"]))


def test_published_cylinder_can_tell_height_from_area():
    """The published areal ratio rejects the linear one: the check has teeth."""
    assert linear_draw_ratio(3, 1) != float(CYLINDER["areal"])


@pytest.mark.parametrize("row", BOXES, ids=("no plug", "plug"))
def test_box_has_the_published_mean_wall(row):
    """Both textbook boxes come out to the printed digits."""
    printed = row["mean_wall_mm"]

    wall_mm = mean_wall_of_box(row)

    assert wall_mm == pytest.approx(float(printed), abs=half_last_digit(printed), rel=0)


@pytest.mark.parametrize("row", BOXES, ids=("no plug", "plug"))
def test_published_box_can_tell_a_shallower_one(row):
    """The textbook boxes reject a depth that is 5 mm short."""
    shallower = row | {"depth_mm": str(float(row["depth_mm"]) - 5)}
    printed = row["mean_wall_mm"]

    assert abs(mean_wall_of_box(shallower) - float(printed)) > half_last_digit(printed)


@pytest.mark.parametrize("row", MISPRINTS, ids=("E1", "E2"))
def test_misprinted_boxes_are_not_reproduced(row):
    """Errata: 10 x 11 x 5 in is 2.909, not 2.73; 600 x 600 x 300 mm is 3.0, not 2.0."""
    sides = (float(row["length"]), float(row["width"]), float(row["depth"]))
    correct, misprint = row["correct"], row["printed"]

    ratio = box_areal_ratio(*sides)

    assert ratio == pytest.approx(float(correct), abs=half_last_digit(correct), rel=0)
    assert abs(ratio - float(misprint)) > half_last_digit(misprint)


@pytest.mark.parametrize(
    ("ratio", "exact"),
    [
        (box_areal_ratio(10, 12, 2), 208 / 120),
        (box_areal_ratio(10, 11, 5), 320 / 110),
        (box_areal_ratio(600, 600, 300), 3),
        (cylinder_areal_ratio(100, 25), 2),
        (cylinder_areal_ratio(100, 50), 3),
        (cylinder_areal_ratio(100, 100), 5),
        (cone_areal_ratio(100, 100), 5**0.5),
        (truncated_cone_areal_ratio(100, 60, 60), (80 * 4000**0.5 + 900) / 2500),
        (cap_areal_ratio(100, 50), 2),
        (cap_areal_ratio(100, 25), 1.25),
    ],
)
def test_closed_forms_have_their_exact_values(ratio, exact):
    """Each shape at round sizes, by arithmetic on paper."""
    assert ratio == pytest.approx(exact, rel=1e-12)


def test_start_gauge_is_ratio_times_wall():
    """A wall of 0.100 in at a ratio of 1.7 starts from 0.170 in."""
    assert start_gauge_mm(0.100 * 25.4, 1.7) == pytest.approx(0.170 * 25.4, rel=1e-12)


def test_truncated_cone_matches_brute_force():
    """The closed form equals the wall summed in narrow rings, and its floor."""
    wall = wall_of_revolution(lambda t: 50 - 20 * t, lambda t: 60 * t)

    ratio = areal_draw_ratio(wall + pi * 30**2, pi * 50**2)

    assert truncated_cone_areal_ratio(100, 60, 60) == pytest.approx(ratio, rel=1e-9)


def test_cap_matches_brute_force():
    """The closed form equals a 35 degree cap summed in narrow rings."""
    half = radians(35)
    area = wall_of_revolution(lambda t: 80 * np.sin(half * t), lambda t: 80 * np.cos(half * t))
    mouth_mm, depth_mm = 2 * 80 * sin(half), 80 * (1 - cos(half))

    ratio = areal_draw_ratio(area, pi * (mouth_mm / 2) ** 2)

    assert cap_areal_ratio(mouth_mm, depth_mm) == pytest.approx(ratio, rel=1e-7)


@settings(max_examples=25)
@given(lengths_mm, depths_mm)
def test_a_cone_with_a_full_floor_is_a_cylinder(diameter_mm, depth_mm):
    """The truncated cone closes to the cylinder at one end of its range."""
    cup = truncated_cone_areal_ratio(diameter_mm, diameter_mm, depth_mm)

    assert cup == pytest.approx(cylinder_areal_ratio(diameter_mm, depth_mm), rel=1e-12)


@settings(max_examples=25)
@given(lengths_mm, lengths_mm, depths_mm, st.floats(0.1, 10))
def test_ratios_do_not_depend_on_the_scale(length_mm, width_mm, depth_mm, scale):
    """A box and its model have one ratio, whichever way it is turned."""
    ratio = box_areal_ratio(length_mm, width_mm, depth_mm)

    assert box_areal_ratio(width_mm, length_mm, depth_mm) == pytest.approx(ratio, rel=1e-12)
    assert box_areal_ratio(scale * length_mm, scale * width_mm, scale * depth_mm) == pytest.approx(
        ratio, rel=1e-9
    )


@settings(max_examples=25)
@given(st.floats(0.2, 12), lengths_mm, depths_mm)
def test_start_gauge_undoes_mean_thickness(gauge_mm, diameter_mm, depth_mm):
    """Forming the start gauge leaves the wanted thickness."""
    ratio = cylinder_areal_ratio(diameter_mm, depth_mm)

    assert start_gauge_mm(mean_thickness_mm(gauge_mm, ratio), ratio) == pytest.approx(gauge_mm)


@settings(max_examples=25)
@given(st.floats(1, 5), st.floats(1.01, 4))
def test_a_larger_clamp_draws_a_male_part_less(areal, room):
    """The ground around a mold shares the draw in proportion to its area."""
    foot_mm2 = 10_000.0

    ratio = male_areal_ratio(areal * foot_mm2, foot_mm2, room * foot_mm2)

    assert ratio == pytest.approx(1 + (areal - 1) / room, rel=1e-12)


def test_a_mold_that_fills_its_clamp_draws_as_a_female_one():
    """With no ground around it, the male ratio is the plain areal ratio."""
    assert male_areal_ratio(45_000, 15_000, 15_000) == areal_draw_ratio(45_000, 15_000)


@pytest.mark.parametrize(
    ("ratio", "name"),
    [
        (0, "plain vacuum"),
        (0.5, "plain vacuum"),
        (0.51, "plug recommended"),
        (1.0, "plug recommended"),
        (1.01, "plug required"),
        (1.5, "plug required"),
        (1.51, "redesign"),
        (2.0, "redesign"),
        (50, "redesign"),
    ],
)
def test_method_follows_the_bands(ratio, name):
    """Each band ends at the ratio the rule of thumb prints."""
    assert method_by_height_to_width(ratio).name == name


def test_methods_reach_every_depth_in_rising_order():
    """The bands rise strictly and the last has no end."""
    reach = [method.up_to for method in METHODS]

    assert reach == sorted(set(reach))
    assert reach[-1] == inf


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: areal_draw_ratio(0, 10), r"part_mm2 must be more than 0 mm² \(got 0 mm²\)"),
        (lambda: areal_draw_ratio(10, -1), r"sheet_mm2 must be more than 0 mm² \(got -1 mm²\)"),
        (lambda: areal_draw_ratio(10, 30), r"part_mm2 must be at least the area of its sheet, 30"),
        (lambda: areal_draw_ratio(nan, 1), r"part_mm2 must be more than 0 mm² \(got nan mm²\)"),
        (lambda: linear_draw_ratio(0, 1), r"part_line_mm must be more than 0 mm"),
        (lambda: linear_draw_ratio(1, 0), r"sheet_line_mm must be more than 0 mm"),
        (lambda: linear_draw_ratio(10, 30), r"part_line_mm must be at least the straight"),
        (lambda: height_to_width(-1, 1), r"height_mm must be at least 0 mm \(got -1 mm\)"),
        (lambda: height_to_width(1, 0), r"width_mm must be more than 0 mm"),
        (lambda: mean_thickness_mm(0, 2), r"gauge_mm must be more than 0 mm"),
        (lambda: mean_thickness_mm(2, 0.5), r"areal_ratio must be at least 0\.999 \(got 0\.5\)"),
        (lambda: start_gauge_mm(0, 2), r"wanted_mm must be more than 0 mm"),
        (lambda: start_gauge_mm(1, 0.5), r"areal_ratio must be at least 0\.999 \(got 0\.5\)"),
        (lambda: male_areal_ratio(5, 9, 20), r"part_mm2 must be at least the area of its sheet"),
        (lambda: male_areal_ratio(9, 5, 0), r"clamp_mm2 must be more than 0 mm²"),
        (lambda: male_areal_ratio(9, 5, 4), r"footprint_mm2 must be at most the opening of the"),
        (lambda: cylinder_areal_ratio(0, 1), r"diameter_mm must be more than 0 mm"),
        (lambda: cylinder_areal_ratio(1, -1), r"depth_mm must be at least 0 mm"),
        (lambda: box_areal_ratio(0, 1, 1), r"length_mm must be more than 0 mm"),
        (lambda: box_areal_ratio(1, 0, 1), r"width_mm must be more than 0 mm"),
        (lambda: box_areal_ratio(1, 1, -1), r"depth_mm must be at least 0 mm"),
        (lambda: cone_areal_ratio(0, 1), r"mouth_mm must be more than 0 mm"),
        (lambda: truncated_cone_areal_ratio(1, 2, 1), r"floor_mm must be at least 0 mm and at m"),
        (lambda: truncated_cone_areal_ratio(1, 1, inf), r"depth_mm must be at least 0 mm \(got i"),
        (lambda: cap_areal_ratio(0, 1), r"diameter_mm must be more than 0 mm"),
        (lambda: cap_areal_ratio(1, -1), r"depth_mm must be at least 0 mm"),
        (lambda: method_by_height_to_width(-0.1), r"ratio must be at least 0 \(got -0\.1\)"),
        (lambda: method_by_height_to_width(nan), r"ratio must be at least 0 \(got nan\)"),
    ],
)
def test_impossible_input_is_refused(call, sentence):
    """Every function names the input that cannot be, and its rule."""
    with pytest.raises(SpecError, match=f"^{sentence}"):
        call()


def test_triangulated_parts_may_fall_a_hair_short():
    """A flat part whose area was summed from triangles is not refused."""
    assert areal_draw_ratio(9_999, 10_000) == pytest.approx(1, rel=1e-3)
