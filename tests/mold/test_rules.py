"""Draft, radii and vent sizes by rule, held against what guides print."""

import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, box
from support.molds import PRINTER, SHOP
from support.some import some

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.mold.build import profile_of
from moldgen.mold.features import Direction, Feature, Wall
from moldgen.mold.plan_radius import stroke_radius_mm
from moldgen.mold.rules import (
    WantedWall,
    check_wall,
    draft_rule,
    radius_rule,
    settle_wall,
    vent_rule,
    wall_rules,
)
from moldgen.mold.shrinkage import shrinkage_growth
from moldgen.mold.underside.cut import BoreSpec
from moldgen.solid.loft.profile import fillet_room_mm
from moldgen.stock import Sheet

MALE, FEMALE = Direction.RAISED, Direction.SUNK
SIDE = {"male": MALE, "female": FEMALE}
PLASTICS = [SHOP.plastic(name) for name in SHOP.names("plastic")]
SMOOTH = 1e-6  # layers so fine that they add no texture


def smooth_deg(direction, plastic):
    """Return the draft of a low wall of a smooth mold."""
    return draft_rule(direction, 20, plastic=plastic, layer_mm=SMOOTH).value


def rules(direction=MALE, height=20.0, gauge=1.5, name="HIPS"):
    sheet = Sheet(plastic=SHOP.plastic(name), gauge_mm=gauge)
    return wall_rules(direction, height, sheet=sheet, printer=PRINTER)


@pytest.mark.parametrize("row", published("draft_rules"))
def test_published_least_drafts(row):
    """Every plastic's draft on a smooth mold is at least the one that the guide prints."""
    of_kind = [p for p in PLASTICS if p.structure == row["structure"]]

    assert of_kind
    for plastic in of_kind:
        found = smooth_deg(SIDE[row["side"]], plastic)
        # Half a degree is the step the rule rounds up to.
        assert found >= float(row["low_deg"])
        if not row["high_deg"]:
            assert found > float(row["low_deg"])


@pytest.mark.parametrize("row", [r for r in published("draft_rules") if r["side"] == "male"])
def test_published_drafts_would_catch_sides_mixed_up(row):
    """With the sides taken for each other the male drafts would fall under the printed ones."""
    of_kind = [p for p in PLASTICS if p.structure == row["structure"]]

    low = float(row["low_deg"])
    assert any(smooth_deg(FEMALE, p) < low or smooth_deg(FEMALE, p) < low + 1 for p in of_kind)
    assert all(smooth_deg(MALE, p) > smooth_deg(FEMALE, p) for p in of_kind)


@pytest.mark.parametrize("row", published("trade_drafts"))
def test_trade_ranges(row):
    """Smooth drafts lie at or above the low end of a trade table, at most a degree over its top."""
    found = smooth_deg(SIDE[row["side"]], SHOP.plastic(row["plastic"]))

    assert found >= float(row["low_deg"])
    if row["high_deg"]:
        assert found <= float(row["high_deg"]) + 1


@pytest.mark.parametrize("row", published("vent_sizes"))
def test_published_vent_sizes(row):
    """On a thick part the vent is in the printed range for its kind of plastic."""
    for plastic in some(PLASTICS):
        if plastic.structure == row["structure"]:
            found = vent_rule(plastic, 3.0).value
            assert float(row["low_mm"]) <= found <= float(row["high_mm"])


def test_vent_sizes_would_catch_kinds_mixed_up():
    """The vent of one kind of plastic lies outside the range of the other."""
    low = {row["structure"]: float(row["low_mm"]) for row in published("vent_sizes")}

    assert vent_rule(SHOP.plastic("PP"), 3.0).value < low["amorphous"]


@given(st.floats(0.5, 6), st.sampled_from(PLASTICS))
@settings(max_examples=40, deadline=None)
def test_no_vent_is_wider_than_the_sheet(local, plastic):
    """A vent is no wider than the formed sheet is thick, and in tenths."""
    value = vent_rule(plastic, local).value

    assert 0.5 <= value <= max(0.5, local)
    assert round(value * 10) == pytest.approx(value * 10)


def test_the_finest_vent_says_so():
    """On a very thin sheet the finest hole stands, and the reason admits it."""
    found = vent_rule(SHOP.plastic("HIPS"), 0.3)

    assert found.value == 0.5
    assert "never under 0.5 mm" in found.because
    assert "never under" not in vent_rule(SHOP.plastic("HIPS"), 0.8).because


def test_texture_and_depth_add():
    """Layers of 0.2 mm add 0.03 mm / 0.0254 mm = 1.2°, a wall over 50 mm one more; half degrees."""
    hips = SHOP.plastic("HIPS")
    values = [
        draft_rule(MALE, height, plastic=hips, layer_mm=layer).value
        for height, layer in ((20, SMOOTH), (20, 0.2), (50, 0.2), (50.1, 0.2))
    ]

    assert values == [3.5, 4.5, 4.5, 5.5]
    because = draft_rule(MALE, 60, plastic=hips, layer_mm=0.2).because
    assert because == (
        "3° for HIPS (the part shrinks onto it), 1.2° for 0.2 mm layers, 1° for a wall over 50 mm; "
        "rounded up to half a degree"
    )


def test_radius_is_the_gauge_but_never_under_on_tall_walls():
    """The edge radius is the sheet's thickness, and 1.5 mm for thinner ones on walls over 5 mm."""
    assert [radius_rule(gauge, 12.0).value for gauge in (0.5, 1.5, 3.0)] == [1.5, 1.5, 3.0]
    assert [radius_rule(gauge, 5.0).value for gauge in (0.5, 1.5, 3.0)] == [0.5, 1.5, 3.0]


@given(
    st.floats(0.5, 80), st.floats(0.5, 6), st.booleans(),
    st.one_of(st.none(), st.floats(0, 12)), st.sampled_from([MALE, FEMALE]),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_settled_walls_can_be_built(height, gauge, on_table, draft, direction):
    """Radii left to the rules always fit on the wall, however low, and never exceed them."""
    asked = rules(direction, height, gauge)
    wall = settle_wall(WantedWall(height_mm=height, draft_deg=draft), asked, on_table=on_table)

    profile_of(Feature(name="f", region=None, wall=wall))
    assert wall.draft_deg == (asked.draft.value if draft is None else draft)
    assert 0 < wall.top_radius_mm <= asked.top_radius.value
    assert wall.base_radius_mm <= asked.base_radius.value
    assert (wall.base_radius_mm == 0) == on_table


def test_a_person_has_the_last_word():
    """What was asked for stands; the rest makes room for it."""
    wanted = WantedWall(height_mm=3, draft_deg=2, top_radius_mm=2.4)
    wall = settle_wall(wanted, rules(), on_table=False)

    assert (wall.draft_deg, wall.top_radius_mm) == (2, 2.4)
    assert 0 < wall.base_radius_mm < 1
    profile_of(Feature(name="f", region=None, wall=wall))


def found(wall, on_table=False):
    return {f.code: f for f in check_wall("deck", wall, rules(), on_table=on_table)}


def test_under_the_rule_is_told():
    """Each value under its rule is a finding with both numbers; half and less is a caution."""
    low = found(Wall(height_mm=20, draft_deg=4, top_radius_mm=0.7, base_radius_mm=1.4))

    assert set(low) == {"draft-under-rule", "top-radius-under-rule", "base-radius-under-rule"}
    draft, top, base = (
        low[f"{word}-under-rule"] for word in ("draft", "top-radius", "base-radius")
    )
    assert (draft.measured, draft.limit, draft.unit) == (4, 4.5, "°")
    assert [f.severity for f in (draft, top, base)] == [
        Severity.NOTE, Severity.CAUTION, Severity.NOTE,
    ]  # fmt: skip
    assert all(f.basis and f.advice and f.subject == "deck" for f in low.values())


def test_by_the_rule_is_silent():
    """A wall by the rules has no finding, nor has a sharp root on the table."""
    assert found(Wall(height_mm=20, draft_deg=4.5, top_radius_mm=1.5, base_radius_mm=1.5)) == {}
    assert (
        found(Wall(height_mm=20, draft_deg=5, top_radius_mm=1.5, base_radius_mm=0), on_table=True)
        == {}
    )


@pytest.mark.parametrize("local", [0.0, -1.0, float("nan")])
def test_bad_input(local):
    """A sheet without thickness is refused."""
    with pytest.raises(SpecError, match="local_mm must be more than 0 mm"):
        vent_rule(SHOP.plastic("HIPS"), local)


@pytest.mark.parametrize("plastic", PLASTICS, ids=lambda plastic: plastic.name)
@pytest.mark.parametrize("side", ["male", "female"])
def test_a_mold_grows_so_that_the_part_shrinks_to_its_size(plastic, side):
    """Part = mold (1 - shrinkage), with the shrinkage of that side of the mold, which is told."""
    factor, told = shrinkage_growth(plastic, female=side == "female")
    share = getattr(plastic, f"shrinkage_{side}")

    assert factor * (1 - share) == pytest.approx(1, abs=1e-12)
    assert told.measured == pytest.approx(100 * share)
    assert told.basis.endswith(plastic.sources.get(f"shrinkage_{side}", ""))


def test_bores_are_those_of_the_printer():
    """What a printed hole loses and the least one are the printer's; the rest is as usual."""
    for name in some(SHOP.names("printer")):
        printer = SHOP.printer(name)
        bore = BoreSpec.for_printer(printer)
        assert (bore.least_hole_mm, bore.undersize_mm) == (
            printer.least_hole_mm,
            printer.hole_undersize_mm,
        )
        assert bore.bore_mm == BoreSpec().bore_mm


def test_an_upper_edge_on_the_table_leaves_a_fifth_of_the_wall_straight():
    """On a wall too low for its radius the edge takes four fifths of the room, and no more."""
    sheet = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=4.0)
    rules = wall_rules(MALE, 2.0, sheet=sheet, printer=PRINTER)

    wall = settle_wall(WantedWall(height_mm=2.0), rules, on_table=True)

    assert rules.top_radius.value > fillet_room_mm(2.0, wall.draft_deg)
    assert wall.top_radius_mm == pytest.approx(0.8 * fillet_room_mm(2.0, wall.draft_deg), rel=1e-5)


@pytest.mark.parametrize(("wide_mm", "radius_mm"), [(4.0, 1.0), (8.0, 2.25), (0.7, 0.2)])
def test_corners_take_three_tenths_of_a_stroke(wide_mm, radius_mm):
    """In whole quarters of a millimeter; a stroke too thin for one of them takes its share."""
    stroke = MultiPolygon([box(0, 0, 1000, wide_mm)])

    assert stroke_radius_mm(stroke) == pytest.approx(radius_mm, rel=0.1)
