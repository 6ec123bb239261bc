"""How far the sheet is drawn, measured on meshes."""

from dataclasses import replace
from math import hypot, pi, sin

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from shapely import box as rectangle
from support.check_solids import (
    HIPS,
    SHOP,
    block,
    box,
    case,
    codes,
    cut,
    cylinder,
    frustum,
    lathe,
    mesh,
    moved,
    pyramid,
)  # fmt: skip

from moldgen.finding import Severity
from moldgen.mold.build import build_raw_mold
from moldgen.mold.checks.draw import _gained_mm, _near, check_draw, measure_draws
from moldgen.mold.checks.sight import sight
from moldgen.mold.features import Direction, Feature, Wall

MACHINE = SHOP.machine("bench-250x250")
N = 96
DISC = N / 2 * sin(2 * pi / N)
RIM = 2 * N * sin(pi / N)


def draws_of(*solids, **more):
    """Draws of meshes: the whole, then each."""
    made = case(*solids, **more)
    return measure_draws(made, sight(made))


def cup(diameter, depth):
    """Return a block with an upright round cavity of N sides."""
    size = 1.6 * diameter
    return cut(block(size, size, depth + 5), cylinder(diameter / 2, 5, depth + 9, n=N))


@pytest.mark.parametrize("row", published("draw_ratios"), ids=lambda row: f"D={row['diameter']}")
def test_cup_has_the_published_ratios(row):
    """A cup as deep as wide, measured on its mesh, has the printed ratios but for its 96 sides."""
    diameter = 50 * float(row["diameter"])
    depth = 50 * float(row["depth"])
    _, draw = draws_of(cup(diameter, depth), side="female", gauge_mm=2.0)

    assert draw.areal == pytest.approx(float(row["areal"]), rel=1e-3)
    assert draw.linear == pytest.approx(float(row["linear"]), rel=1e-3)
    assert draw.height_to_width == pytest.approx(float(row["height_to_diameter"]), rel=1e-3)
    assert draw.mean_thickness_mm / 2 == pytest.approx(float(row["mean_over_gauge"]), rel=1e-3)


def test_published_ratios_can_tell_another_cup():
    """A cup a twentieth shallower misses all four."""
    (row,) = published("draw_ratios")
    _, draw = draws_of(cup(50, 47.5), side="female")

    assert draw.areal != pytest.approx(float(row["areal"]), rel=1e-2)
    assert draw.linear != pytest.approx(float(row["linear"]), rel=1e-2)
    assert draw.height_to_width != pytest.approx(float(row["height_to_diameter"]), rel=1e-2)


def test_box_has_the_published_mean_wall():
    """The box of the textbook, cut out of a block, has the printed mean wall."""
    (row,) = [row for row in published("box_mean_wall") if row["plug_length_mm"] == "0"]
    values = {key: float(value) for key, value in row.items()}
    length, width, depth = (values[key] for key in ("length_mm", "width_mm", "depth_mm"))
    tool = block(length, width, depth + 5).translate((0, 0, 8))
    solid = cut(block(length + 40, width + 40, depth + 8), tool)
    _, draw = draws_of(solid, side="female", gauge_mm=values["gauge_mm"])

    printed = row["mean_wall_mm"]
    assert draw.mean_thickness_mm == pytest.approx(float(printed), abs=0.005)


def test_male_mold_draws_on_the_whole_opening():
    """Over a male mold the ratio is (opening - footprint + skin) / opening."""
    solid = pyramid(100, 80, 40)
    slant = hypot(40, 10)
    skin = 80**2 + 4 * 90 * slant
    opening = MACHINE.opening_width_mm * MACHINE.opening_depth_mm
    whole, _ = draws_of(solid)

    assert whole.areal == pytest.approx((opening - 100**2 + skin) / opening, rel=1e-9)
    assert whole.linear == pytest.approx(1 + 2 * (slant - 10) / 250, rel=1e-6)
    assert whole.height_to_width == pytest.approx(0.4, rel=1e-3)


def test_raised_feature_draws_on_ground_as_wide_as_it_is_high():
    """Its ground is the foot and a band of its height around it."""
    solid = pyramid(100, 80, 40)
    slant = hypot(40, 10)
    gained = 4 * (90 * slant) - (100**2 - 80**2)
    draw = draws_of(solid)[1]
    foot = 100 - 2 * 10 * 1e-3  # the foot is read a thousandth of the height up
    ground = foot**2 + 4 * foot * 40 + pi * 40**2

    assert draw.areal == pytest.approx(1 + gained / ground, rel=2e-3)
    assert draw.linear == pytest.approx(1 + 2 * (slant - 10) / 180, rel=1e-3)


def test_planned_recess_in_a_planned_block():
    """With a plan each feature is measured by itself: the recess from its own mouth."""
    wall = Wall(height_mm=20, draft_deg=5, top_radius_mm=0, base_radius_mm=0)
    recess = Feature(
        name="tray", region=MultiPolygon([rectangle(-20, -15, 20, 15)]),
        direction=Direction.SUNK, wall=wall,
    )  # fmt: skip
    outside = Feature(
        name="block", region=MultiPolygon([rectangle(-40, -35, 40, 35)]),
        wall=replace(wall, height_mm=30), children=(recess,),
    )  # fmt: skip
    raw = build_raw_mold([outside])
    whole, blocky, tray = draws_of(*raw.meshes, plan=raw.plans)
    inset = 20 * 0.0874886635
    mouth, floor = (40, 30), (40 - 2 * inset, 30 - 2 * inset)
    slant = hypot(20, inset)
    skin = floor[0] * floor[1] + slant * (sum(mouth) + sum(floor))

    assert (tray.name, tray.sunk) == ("tray", True)
    assert tray.areal == pytest.approx(skin / (mouth[0] * mouth[1]), rel=2e-3)
    assert tray.height_to_width == pytest.approx(20 / 30, rel=1e-2)
    assert tray.linear == pytest.approx(1 + 2 * (slant - inset) / 30, rel=1e-2)
    # The block's own wall and the recess in it, on its foot and 30 mm around.
    spread = 2 * 30 * 0.0874886635
    foot = (80 + spread, 70 + spread)
    walls = hypot(30, spread / 2) * (sum(foot) + 150) - (foot[0] * foot[1] - 80 * 70)
    ground = foot[0] * foot[1] + 2 * 30 * sum(foot) + pi * 30**2
    gained = walls + skin - mouth[0] * mouth[1]
    assert blocky.areal == pytest.approx(1 + gained / ground, rel=2e-3)
    assert (blocky.sunk, whole.name) == (False, "")


def test_bores_and_undersides_do_not_count():
    """Vents and what is cut into the underside add no area."""
    plain = draws_of(cut(block(80, 60, 20)))[0]
    bored = draws_of(cut(block(80, 60, 20), cylinder(0.5, -1, 30), cylinder(9, -1, 12, 20, 0)))[0]
    lost = 32 / 2 * sin(2 * pi / 32) * 0.5**2

    assert bored.areal == pytest.approx(plain.areal, abs=2 * lost / 250**2)


def test_findings_follow_the_limits_of_the_plastic():
    """One finding per feature, the gravest rule first, with the source of the limit."""
    deep = cup(50, 50)
    weak = replace(HIPS, areal_draw_limit=3.0)
    strict = replace(HIPS, areal_draw_limit=4.9)
    long = replace(HIPS, areal_draw_limit=9.0, height_to_width_limit=3.0, linear_draw_limit=2.5)
    found = {
        name: check_draw(case(deep, side="female", plastic=plastic), draws_of(deep, side="female"))
        for name, plastic in (("weak", weak), ("strict", strict), ("long", long))
    }

    assert [codes(f) for f in found.values()] == [["draw-areal"], ["draw-areal"], ["draw-linear"]]
    assert found["weak"][0].severity is Severity.STOP
    assert found["strict"][0].severity is Severity.CAUTION
    assert found["weak"][0].basis == HIPS.sources["areal_draw_limit"]
    assert "50 % shallower" in found["weak"][0].advice


def test_depth_limit_is_for_recesses_only():
    """A cup of three quarters its width and more is told; a tower of any height is not."""
    shallow, deep = cup(50, 37), cup(50, 38.5)
    tower = pyramid(20, 16, 60)

    assert check_draw(case(shallow), draws_of(shallow, side="female")) == ()
    assert codes(check_draw(case(deep), draws_of(deep, side="female"))) == ["draw-depth"]
    assert "draw-depth" not in codes(check_draw(case(tower), draws_of(tower)))


def test_mold_larger_than_the_opening_is_measured_all_the_same():
    """A mold that does not fit is told elsewhere; here it draws on its own ground."""
    whole = draws_of(box(300, 300, 30))[0]

    assert whole.areal == pytest.approx(1 + 4 * 300 * 30 / 300**2)


def test_ring_and_flat_plate():
    """A thin plate draws nothing; a lathe ring draws by its walls."""
    plate = draws_of(mesh([(0, 0, 0), (90, 0, 0), (0, 90, 0)], [(0, 1, 2)]))
    ring = draws_of(lathe([(20, 0), (40, 0), (40, 10), (20, 10)], N))[0]

    assert plate[0].areal == 1
    assert ring.areal == pytest.approx(1 + RIM * (20 + 40) * 10 / 250**2, rel=1e-4)


@settings(max_examples=15, deadline=None)
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(0.3, 3))
def test_turning_moving_and_scaling_keep_a_features_ratios(turn_deg, by, scale):
    """Ratios are pure numbers: a feature keeps them wherever it lies and however large it is."""
    solid = frustum(20, 15, 18)
    before = draws_of(solid)[1]
    after = draws_of(moved(solid, turn_deg=turn_deg, by=(by, -by, 0), scale=scale))[1]

    assert after.areal == pytest.approx(before.areal, rel=1e-6)
    assert after.height_to_width == pytest.approx(before.height_to_width, rel=1e-2)
    assert after.linear == pytest.approx(before.linear, rel=2e-3)


@settings(max_examples=25, deadline=None)
@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(0, 2 * pi))
def test_triangles_near_a_cut_are_all_that_count(x, y, angle):
    """The line across is as long by them as by all triangles, also along edges of the mesh."""
    made = case(cup(30, 20)).mesh
    for middle, along in (
        (np.array([x, y]), np.array([np.cos(angle), np.sin(angle)])),
        (np.zeros(2), np.array([1.0, 0.0])),
    ):
        span = (-np.inf, np.inf)
        near = _near(made, middle, along)
        gained_mm = _gained_mm(made.corners_mm[near], middle, along, span)
        assert gained_mm == _gained_mm(made.corners_mm, middle, along, span)
        assert 0 < near.sum() < len(near)
