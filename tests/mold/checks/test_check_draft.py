"""The lean of walls against the draw direction."""

from math import asin, atan, cos, degrees, pi

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.check_solids import (
    HIPS,
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
    turned,
)  # fmt: skip
from support.some import some

from moldgen.finding import Severity
from moldgen.mold.checks.draft import check_draft, measure_draft
from moldgen.mold.checks.sight import sight


def draft_of(solid, **more):
    """Draft of one mesh."""
    made = case(solid, **more)
    return measure_draft(made, sight(made))


def findings_of(solid, **more):
    """Draft findings of one mesh."""
    made = case(solid, **more)
    seen = sight(made)
    return check_draft(made, seen, measure_draft(made, seen))


@pytest.mark.parametrize(("foot", "top", "height"), [(30, 20, 40), (30, 29, 40), (30, 5, 8)])
def test_pyramid_has_the_draft_of_its_planes(foot, top, height):
    """The walls of a square frustum lean by the arctangent of inset over height."""
    exact = degrees(atan((foot - top) / 2 / height))

    assert draft_of(pyramid(foot, top, height)).least_deg == pytest.approx(exact, abs=1e-3)


@pytest.mark.parametrize(("side", "headline"), [(0.3, "wall"), (1.0, "step")])
def test_the_least_draft_is_that_of_walls_one_can_see(side, headline):
    """An upright step of 0.36 mm² does not make the headline; one of 4 mm² does."""
    whole = box(side, side, side, (0, 0, 40))
    step = mesh(whole.points_mm, whole.triangles[whole.area_vectors_mm2[:, 2] >= 0])
    exact = degrees(atan(5 / 40)) if headline == "wall" else 0.0
    draft = draft_of(joined(pyramid(30, 20, 40), step))

    assert draft.least_deg == pytest.approx(exact, abs=1e-2)
    assert draft.surely_deg[draft.triangle] == draft.least_deg


def test_cone_of_many_sides():
    """A cone of n sides leans by its inscribed radius."""
    exact = degrees(atan(5 * cos(pi / 48) / 30))
    draft = draft_of(frustum(25, 20, 30))

    assert draft.least_deg == pytest.approx(exact, abs=1e-3)


def test_histogram_holds_the_walls_and_not_the_flats():
    """All wall area is in the class of its lean; top and underside are left out."""
    solid = pyramid(30, 20, 40)  # 7.125 deg
    borders, areas = draft_of(solid).histogram()
    slant = (40**2 + 5**2) ** 0.5

    assert areas[np.searchsorted(borders, 7.0)] == pytest.approx(4 * 25 * slant)
    assert areas.sum() == pytest.approx(4 * 25 * slant)


def test_histogram_classes_may_be_finer():
    """Half-degree classes split the same area."""
    borders, areas = draft_of(pyramid(30, 20, 40)).histogram(step_deg=0.5)

    assert len(borders) == 361
    assert borders[np.flatnonzero(areas)] == pytest.approx([7.0])


def test_underside_is_left_out():
    """What rests on the table has no draft: its triangles are nan."""
    draft = draft_of(pyramid(30, 20, 40))

    assert np.isnan(draft.leans_deg[:2]).all()
    assert draft.leans_deg[2:4] == pytest.approx(90)


def test_upright_box_stops_and_leaning_one_does_not():
    """A box sticks on a male mold; 2.95 deg is within 0.1 deg of the 3 asked; 2.8 is not."""
    (finding,) = findings_of(box(40, 30, 20))
    asked = HIPS.draft_male_deg

    def leaning(deg):
        return pyramid(60, 60 - 2 * 20 * np.tan(np.radians(deg)), 20)

    assert (finding.code, finding.severity) == ("draft-low", Severity.STOP)
    assert finding.limit == asked
    assert "Draft Angles" in finding.basis
    assert "2800 mm²" in finding.says
    assert findings_of(leaning(asked - 0.05)) == ()
    (low,) = findings_of(leaning(asked - 0.2))
    assert low.severity is Severity.CAUTION
    assert low.measured == pytest.approx(asked - 0.2, abs=1e-3)


def test_low_upright_wall_does_not_stop():
    """A wall no higher than two gauges is a caution."""
    (finding,) = findings_of(box(40, 30, 1.5))

    assert finding.severity is Severity.CAUTION


@pytest.mark.parametrize("diameter", [0.6, 1.5])
def test_vent_bores_are_left_out(diameter):
    """The upright wall of a hole that the sheet spans is no wall; neither is a bore below it."""
    hole = cylinder(diameter / 2, -1, 30)
    bore = cylinder(2, -1, 18.5)
    solid = cut(drafted(60, 50, 20), hole, bore)

    assert draft_of(solid).least_deg == pytest.approx(degrees(atan(5 / 20)), abs=1e-3)
    assert findings_of(solid) == ()


def test_wide_hole_counts():
    """A hole that the sheet goes into has walls without draft."""
    solid = cut(drafted(60, 50, 20), cylinder(5, -1, 30))

    assert draft_of(solid).least_deg == pytest.approx(0, abs=1e-3)
    assert codes(findings_of(solid)) == ["draft-low"]


def test_pocket_and_channel_of_the_underside_are_left_out():
    """Upright walls under the mold, open to the side or not, have nothing to do with the part."""
    solid = cut(
        drafted(60, 50, 20),
        cylinder(6, -1, 12, 10, 10),
        block(80, 4, 1.2).translate((0, -10, 0)),
    )

    assert draft_of(solid).least_deg == pytest.approx(degrees(atan(5 / 20)), abs=1e-3)


def test_undercut_is_negative():
    """A wall that leans the wrong way counts with its sign."""
    assert draft_of(pyramid(20, 30, 40)).least_deg == pytest.approx(
        -degrees(atan(5 / 40)), abs=2e-3
    )


def test_female_mold_asks_less():
    """A cavity is asked for the female draft; 2.5 deg do for styrene, but not for a male mold."""
    cavity = drafted(20, 20 + 2 * 15 * np.tan(np.radians(2.5)), 15)
    solid = cut(drafted(60, 50, 20), cavity.translate((0, 0, 5.0)))

    assert findings_of(solid, side="female") == ()
    (finding,) = findings_of(solid)
    assert finding.measured == pytest.approx(2.5, abs=2e-3)


def test_another_pull_changes_what_is_wall():
    """A frustum lying on its side, pulled along its axis, has the draft it has standing."""
    lying = turned(pyramid(30, 20, 40), 0)
    axis = (0.0, 1.0, 0.0)

    assert draft_of(lying, draw_direction=axis).least_deg == pytest.approx(
        degrees(atan(5 / 40)), abs=1e-3
    )


def test_a_needle_proves_nothing():
    """A needle that rounding may turn does not make a wall steeper than it is."""
    solid = pyramid(30, 20, 40)
    tip = np.array([30.0, 0, 20])
    needle = tip + np.array([[0, 0, 0], [0, 0, -10.0], [2e-6, 1e-6, -5.0]])
    both_ways = mesh(np.vstack([needle, needle + 1]), [(0, 1, 2), (3, 5, 4)])

    draft = draft_of(joined(solid, both_ways))
    assert draft.least_deg == pytest.approx(degrees(atan(5 / 40)), abs=1e-2)
    assert np.nanmin(draft.leans_deg) == pytest.approx(0, abs=1e-6)


def test_undercut_walls_are_left_to_the_check_of_undercuts():
    """What is undercut is told as such, not once more as lacking draft."""
    assert findings_of(pyramid(20, 30, 40)) == ()


def test_flat_plate_has_no_walls():
    """Without walls there is no least draft."""
    draft = draft_of(mesh([(0, 0, 0), (9, 0, 0), (0, 9, 0)], [(0, 1, 2)]))

    assert np.isnan(draft.least_deg)
    assert draft.triangle == -1


def test_torus_leans_as_its_circle():
    """On a ring of round section every face seen leans by its angle round the section."""
    n = 60
    angles = 2 * pi * (np.arange(n) + 0.5) / n
    ring = lathe([(20 + 5 * np.cos(a), 5 + 5 * np.sin(a)) for a in angles], 200)
    lean = draft_of(ring).leans_deg
    up = np.nan_to_num(lean) > 0
    middles = ring.corners_mm.mean(axis=1)[up]
    exact = [degrees(asin(min(1, (z - 5) / 5))) for z in middles[:, 2]]

    np.testing.assert_allclose(lean[up], exact, atol=4)


@pytest.mark.parametrize(
    "row", published("draft_rules"), ids=lambda r: f"{r['side']} {r['structure']}"
)
def test_drafts_in_stock_lie_within_the_published_rule(row):
    """Every plastic is asked for a draft within the printed range of its kind."""
    for name in some(SHOP.names("plastic")):
        plastic = SHOP.plastic(name)
        if plastic.structure == row["structure"] or row["side"] == "female":
            asked = plastic.draft_male_deg if row["side"] == "male" else plastic.draft_female_deg
            assert asked >= float(row["low_deg"])


def test_published_rule_can_tell_the_sides_apart():
    """The female value of styrene breaks the rule for crystalline male molds."""
    (row,) = [r for r in published("draft_rules") if r["structure"] == "crystalline"]

    assert HIPS.draft_female_deg < float(row["low_deg"])


def test_crystalline_mold_at_the_amorphous_draft_is_told():
    """A male wall of 4 deg does for styrene but not for polypropylene, as published."""
    solid = pyramid(60, 60 - 2 * 20 * np.tan(np.radians(4)), 20)

    assert findings_of(solid) == ()
    (finding,) = findings_of(solid, plastic=SHOP.plastic("PP"))
    assert finding.limit >= 5


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(0.2, 5))
def test_turning_moving_and_scaling_keep_the_draft(turn_deg, by, scale):
    """Draft is an angle to the draw direction: nothing in the plane changes it."""
    solid = moved(pyramid(30, 20, 40), turn_deg=turn_deg, by=(by, -by, 3), scale=scale)

    assert draft_of(solid).least_deg == pytest.approx(degrees(atan(5 / 40)), abs=5e-3)


@pytest.mark.parametrize("first", [0, 1, 2])
def test_doubt_of_a_triangle_goes_by_its_least_altitude(first):
    """Twice a single-precision step over the altitude on the longest side, whichever it is."""
    order = np.roll([0, 1, 2], first)
    made = case(mesh([(0, 0, 0), (4, 0, 0), (0, 3, 0)], [order]))

    step_mm, altitude_mm = 4 * 2.0**-23, 3 * 4 / 5
    exact = degrees(2 * step_mm / altitude_mm)
    np.testing.assert_allclose(made.uncertainty_deg, [exact], rtol=1e-12)
