"""Strokes, gaps, detail and characters, asked of outlines."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, affinity
from shapely import box as rectangle
from support.check_solids import block, box, case, codes, cut, drafted, joined, lathe, pyramid

from moldgen.finding import Severity
from moldgen.mold.build import build_raw_mold
from moldgen.mold.checks.fine_detail import check_follow, measure_bridged
from moldgen.mold.checks.outlines import owners
from moldgen.mold.checks.stroke import check_stroke
from moldgen.mold.checks.tactile import (
    LEAST_CHARACTER_MM,
    LEAST_RELIEF_MM,
    MOST_CHARACTER_MM,
    check_tactile,
)
from moldgen.mold.checks.widths import widths_across
from moldgen.mold.features import Direction, Feature, Wall
from moldgen.mold.width_rule import least_gap_mm, least_stroke_mm
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.solid.slices import section

WALL = Wall(height_mm=4, draft_deg=5, top_radius_mm=0.5, base_radius_mm=0.5)


def region(*polygons):
    """Return polygons as one region."""
    return MultiPolygon(list(polygons))


def planned(*features, **more):
    """Return a case of features on a plaque."""
    plaque = Feature(
        name="plaque", region=region(rectangle(-90, -60, 90, 60)),
        wall=replace(WALL, top_radius_mm=2, base_radius_mm=0), children=features,
    )  # fmt: skip
    raw = build_raw_mold([plaque])
    return case(*raw.meshes, plan=raw.plans, **more)


def letter(name, polygon, *, sunk=False, **wall):
    """Return a raised or sunk feature of one polygon."""
    return Feature(
        name=name, region=region(polygon), wall=replace(WALL, **wall),
        direction=Direction.SUNK if sunk else Direction.RAISED,
    )  # fmt: skip


H_SHAPE = Polygon(
    [(0, 0), (6, 0), (6, 17), (14, 17), (14, 0), (23, 0), (23, 40), (14, 40), (14, 21), (6, 21),
     (6, 40), (0, 40)]
)  # fmt: skip


def test_strokes_of_a_letter_are_measured():
    """The bar of an H, 4 mm, is its narrowest stroke; its legs are 6 and 9 wide."""
    widths = widths_across(region(H_SHAPE), reach_mm=20, inward=True)
    x, y = widths.middles_mm[widths.least]

    assert widths.widths_mm[widths.least] == pytest.approx(4, abs=1e-5)
    assert 6 < x < 14
    assert y == pytest.approx(19, abs=1e-5)
    assert sorted(set(np.round(widths.widths_mm, 3))) == [4, 6, 9]
    assert widths.below(5).shares_mm.sum() == pytest.approx(16, rel=0.1)


def test_gaps_of_a_letter_are_measured_outside_it():
    """Between the legs of the H are 8 mm; there are no other gaps."""
    widths = widths_across(region(H_SHAPE), reach_mm=20, inward=False)

    assert set(np.round(widths.widths_mm, 3)) == {8}


def test_counter_is_a_gap_and_ring_a_stroke():
    """A ring has the stroke of its wall and the gap of its hole."""
    ring = region(Point(0, 0).buffer(12, quad_segs=64) - Point(0, 0).buffer(7, quad_segs=64))
    stroke = widths_across(ring, reach_mm=30, inward=True)
    gap = widths_across(ring, reach_mm=30, inward=False)

    assert stroke.widths_mm.min() == pytest.approx(5, rel=1e-2)
    assert gap.widths_mm.min() == pytest.approx(14, rel=1e-2)


def test_tips_of_wedges_are_no_strokes():
    """A wedge of 40 deg ends in nothing, but is no narrow stroke; a needle of 10 deg is."""
    wedge = region(Polygon([(0, 0), (50, -18.2), (50, 18.2)]))
    needle = region(Polygon([(0, 0), (50, -4.4), (50, 4.4)]))

    assert not len(widths_across(wedge, reach_mm=10, inward=True).widths_mm)
    assert widths_across(needle, reach_mm=10, inward=True).widths_mm.min() < 1


def test_widths_beyond_reach_are_not_looked_for():
    """A square of 20 mm has no width within 19."""
    square = region(rectangle(0, 0, 20, 20))

    assert not len(widths_across(square, reach_mm=19, inward=True).widths_mm)
    assert len(widths_across(square, reach_mm=21, inward=True).widths_mm)
    assert not len(widths_across(MultiPolygon(), reach_mm=5, inward=True).widths_mm)


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(0.3, 3))
def test_turning_moving_and_scaling_keep_widths(turn_deg, by, scale):
    """A stroke goes with the scale and with nothing else."""
    made = affinity.rotate(affinity.scale(H_SHAPE, scale, scale), turn_deg)
    made = region(affinity.translate(made, by, -by))
    widths = widths_across(made, reach_mm=20 * scale, inward=True)

    assert widths.widths_mm.min() == pytest.approx(4 * scale, rel=1e-4)


def test_rules_of_the_lettering_table():
    """Stroke: two gauges and 2 mm, and the relief; gap: two gauges, and the relief."""
    assert least_stroke_mm(1.0, 3.0) == 4.0
    assert least_stroke_mm(1.0, 9.0) == 9.0
    assert least_gap_mm(1.0, 1.5) == 2.0
    assert least_gap_mm(1.0, 9.0) == 9.0


def test_gap_findings_of_a_plan():
    """Between the legs of an H are 8 mm: enough for a relief of 8 mm and not for 9.

    Its strokes are not asked: the sheet lands on their tops first, and is thickest there.
    """
    assert check_stroke(planned(letter("H", H_SHAPE, height_mm=8))) == ()
    (gap,) = check_stroke(planned(letter("H", H_SHAPE, height_mm=9)))

    assert (gap.code, gap.subject, gap.severity) == ("gap-narrow", "H", Severity.CAUTION)
    assert (gap.measured, gap.limit) == (pytest.approx(8, abs=1e-4), 9)
    assert gap.where_mm[2] == 4


@pytest.mark.parametrize(("long_mm", "told"), [(4.0, []), (20.0, ["gap-narrow"])])
def test_a_short_gap_is_filled_from_its_ends(long_mm, told):
    """Two blocks 3 mm apart: no caution along less than one and a half times that."""
    left = rectangle(0, 0, 10, 10 + long_mm) - rectangle(8, long_mm, 10, 10 + long_mm)
    made = planned(letter("left", left), letter("right", rectangle(13, 0, 23, long_mm)))

    assert codes(check_stroke(made)) == told


def test_a_notch_is_no_gap():
    """Walls that open by 30° are a notch, which is filled to a fillet; by 10° they are a gap."""

    def vee(opens_deg):
        half = 20 * np.tan(np.radians(opens_deg / 2))
        return rectangle(-20, 0, 20, 30) - Polygon([(0, 10), (half, 30), (-half, 30)])

    assert codes(check_stroke(planned(letter("V", vee(30))))) == []
    assert codes(check_stroke(planned(letter("V", vee(10))))) == ["gap-narrow"]


def test_a_shortfall_of_a_twentieth_is_none():
    """A gap of 3.85 mm is as good as 4; one of 3.7 is not."""
    for gap_mm, told in ((3.85, []), (3.7, ["gap-narrow"])):
        blocks = (rectangle(0, 0, 8, 30), rectangle(8 + gap_mm, 0, 16 + gap_mm, 30))
        made = planned(*(letter(f"I {k}", one) for k, one in enumerate(blocks)))
        assert codes(check_stroke(made)) == told


def two_bars(gap_mm, *, long_mm=40.0):
    """Return two bars on one foot, so near to each other along so much, farther apart elsewhere."""
    bars = [rectangle(0, 0, 8, 50), rectangle(16, 0, 24, 50), rectangle(0, -8, 24, 0)]
    low, half = 30 - long_mm / 2, gap_mm / 2
    noses = [rectangle(8, low, 12 - half, 30 + long_mm / 2)]
    noses += [rectangle(12 + half, low, 16, 30 + long_mm / 2)]
    return shapely.union_all([*bars, *noses])


@pytest.mark.parametrize("character", "KNMWA")
def test_where_slanted_strokes_meet_is_no_gap(character):
    """The fillets of K, N, M, W and A are no gaps; bars that stand as near are."""
    (drawn,) = outline_from_text(TextSpec(text=character, height_mm=30.0)).region.geoms

    for height_mm in (2, 4):
        assert codes(check_stroke(planned(letter(character, drawn, height_mm=height_mm)))) == []
    assert codes(check_stroke(planned(letter("II", two_bars(1.5))))) == ["gap-narrow"]


@pytest.mark.parametrize(("long_mm", "told"), [(0.8, []), (2.0, ["gap-narrow"])])
def test_what_is_narrow_along_less_than_two_millimeters_is_no_matter(long_mm, told):
    """Both borders of a gap count: one 0.8 mm long has 1.6 mm of them, one 2 mm long has 4."""
    assert codes(check_stroke(planned(letter("II", two_bars(0.4, long_mm=long_mm))))) == told


def test_gap_between_two_letters_belongs_to_their_plaque():
    """What lies between two letters is told once, of the plaque."""
    made = planned(letter("I", rectangle(0, 0, 8, 30)), letter("L", rectangle(11, 0, 19, 30)))
    (finding,) = check_stroke(made)

    assert (finding.code, finding.subject) == ("gap-narrow", "plaque")
    assert finding.measured == pytest.approx(3, abs=1e-4)
    assert finding.where_mm[0] == pytest.approx(9.5, abs=1e-3)


def test_sunk_slots_and_the_rib_between_them():
    """A slot narrower than two gauges is a gap, a rib of 3 mm between two slots a narrow stroke."""
    slot = letter(
        "slot", rectangle(0, 0, 1.8, 30), sunk=True, height_mm=2, base_radius_mm=0, top_radius_mm=0
    )
    made = planned(slot)
    ribs = planned(
        letter("left", rectangle(0, 0, 10, 30), sunk=True, height_mm=2),
        letter("right", rectangle(13, 0, 23, 30), sunk=True, height_mm=2),
    )

    assert codes(check_stroke(made)) == ["gap-narrow"]
    assert [(f.code, f.subject) for f in check_stroke(ribs)] == [("rib-narrow", "plaque")]


def test_foreign_mesh_is_asked_at_half_its_height():
    """A mesh without plan is cut at half height: two walls 6 mm apart are too near for 10 mm."""
    near, far = (joined(box(20, 40, 10), box(20, 40, 10, (20 + gap, 0, 0))) for gap in (6, 11))
    (finding,) = check_stroke(case(near))

    assert (finding.code, finding.measured) == ("gap-narrow", pytest.approx(6, abs=1e-4))
    assert check_stroke(case(far)) == ()


def test_section_of_known_solids():
    """A cut through a frustum, a ring and two boxes has the known area."""
    assert section(pyramid(20, 10, 10), 5.0).area == pytest.approx(15**2)
    ring = section(lathe([(4, 0), (8, 0), (8, 3), (4, 3)], 64), 1.0)
    assert len(ring.geoms) == 1
    assert len(ring.geoms[0].interiors) == 1
    assert len(section(joined(box(1, 1, 2), box(1, 1, 2, (3, 0, 0))), 1.0).geoms) == 2
    assert section(box(1, 1, 2), 5.0).is_empty
    assert section(box(1, 1, 2), 0.0).area == pytest.approx(1)


def test_cavity_of_a_foreign_mold_is_found():
    """Of a block with a shallow cavity the mouth and the depth are found."""
    solid = cut(drafted(60, 60, 20), block(30, 20, 10).translate((0, 0, 16)))
    (outline,) = case(solid, side="female").outlines

    assert (outline.raised, outline.height_mm) == (False, pytest.approx(4))
    assert outline.region.area == pytest.approx(600)
    (none,) = case(box(9, 9, 9), side="female").outlines
    assert none.region.is_empty
    assert none.height_mm == 0


def test_owner_is_the_innermost_outline():
    """A place on a letter is the letter's, one beside it the plaque's, one outside nobody's."""
    made = planned(letter("I", rectangle(0, 0, 8, 30)))
    places = np.array([[4, 15, 0], [-30, 0, 0], [4, 15.5, 9], [-95.0, -65, 0], [95, 65, 0]])

    assert list(owners(places, made.outlines)) == [1, 0, 1, -1, -1]


def test_outline_thinner_than_a_cell_claims_nothing_beside_it():
    """A hair of an outline, both of whose sides lie in one cell, is not taken for a border."""
    made = planned(letter("I", rectangle(0, 0, 8, 30)))
    hair = replace(
        made.outlines[1],
        outer=region(rectangle(-40.01, -20, -40, 50), rectangle(70, -20, 72, 50)),
        draft_deg=5.0,
    )
    places = np.array([[-95.0, -65, 0], [95, 65, 0], [60, 0, 0], [-60, 0, 0]])

    assert list(owners(places, (made.outlines[0], hair))) == [-1, -1, 0, 0]


def notch(width, depth):
    """Return a block with a slot in its upper side."""
    return region(
        rectangle(0, 0, 40, 30) - rectangle(20 - width / 2, 30 - depth, 20 + width / 2, 30)
    )


def test_slot_narrower_than_two_radii_is_bridged():
    """A disc of 2 mm does not go into a slot 3 mm wide: all but the disc's belly is left out."""
    (spot,) = measure_bridged(notch(3, 10), radius_mm=2.0, raised=True)
    belly = 2 - (2**2 - 1.5**2) ** 0.5

    assert spot.depth_mm == pytest.approx(10 - belly, rel=2e-2)
    assert spot.where_mm[1] == 20


def test_wide_slot_is_followed_but_for_its_corners():
    """Into a slot 5 mm wide the disc goes; only the corners, 0.41 radii deep, are left out."""
    spots = measure_bridged(notch(5, 10), radius_mm=2.0, raised=True)

    assert [spot.depth_mm for spot in spots] == pytest.approx([2 * (2**0.5 - 1)] * 2, rel=2e-2)
    assert codes(check_follow(planned(letter("U", notch(2.5, 10).geoms[0])))) == []


def test_hole_that_vanishes_is_bridged():
    """A counter smaller than the disc is left out as a whole."""
    ring = region(Point(0, 0).buffer(12) - Point(0, 0).buffer(1.2))
    (spot,) = measure_bridged(ring, radius_mm=2.0, raised=True)

    assert spot.depth_mm == pytest.approx(2.4, rel=0.15)


def test_sunk_outline_is_rolled_from_inside():
    """A spike of a sunk outline is left out from inside, and is none seen from outside."""
    spike = region(rectangle(0, 0, 30, 20) | rectangle(10, 20, 12, 35))

    assert [s.depth_mm > 10 for s in measure_bridged(spike, radius_mm=2, raised=False)].count(True)
    assert all(s.depth_mm < 1 for s in measure_bridged(spike, radius_mm=2, raised=True))


def test_fine_detail_is_one_note_per_feature():
    """Two slots are one note with the deeper one's place."""
    comb = notch(1.2, 10).geoms[0] - rectangle(5, 26, 6.2, 30)
    (finding,) = check_follow(planned(letter("E", comb)))

    assert (finding.code, finding.severity) == ("detail-fine", Severity.NOTE)
    assert "2 places" in finding.says
    assert finding.where_mm[0] == pytest.approx(20, abs=1)
    assert finding.measured == pytest.approx(10, rel=0.05)


def test_character_limits_are_the_published_ones():
    """The three limits are those of the standard, digit by digit."""
    printed = {row["quantity"]: row["mm"] for row in published("raised_characters")}

    assert LEAST_RELIEF_MM == float(printed["depth_least"])
    assert LEAST_CHARACTER_MM == float(printed["height_least"])
    assert MOST_CHARACTER_MM == float(printed["height_most"])


def test_published_inches_tell_the_limits_apart():
    """The inches of the same table give the millimeters by rounding, and no other row's."""
    for row in published("raised_characters"):
        top, _, bottom = row["inch"].partition("/")
        assert round(25.4 * float(top) / float(bottom or 1), 1) == pytest.approx(
            float(row["mm"]), abs=0.21
        )


def test_characters_are_noted_only_if_asked_for():
    """Too low, too small and too large characters are notes; without asking there are none."""
    features = (
        letter(
            "flat", rectangle(0, 0, 2.5, 20), height_mm=0.6, top_radius_mm=0.1, base_radius_mm=0.1
        ),
        letter("small", rectangle(12, 0, 13.2, 12)),
        letter("large", rectangle(30, -26, 36, 26)),
        letter("good", rectangle(50, 0, 52.5, 20)),
    )
    found = check_tactile(planned(*features, tactile=True, gauge_mm=0.25))

    assert [(f.code, f.subject) for f in found] == [
        ("tactile-relief", "flat"),
        ("tactile-small", "small"),
        ("tactile-large", "large"),
    ]
    assert {f.severity for f in found} == {Severity.NOTE}
    assert check_tactile(planned(*features)) == ()
