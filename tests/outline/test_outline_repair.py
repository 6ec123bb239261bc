"""Mending of drawings: what is mended, what is told, what is left alone."""

import contextlib
from math import cos, pi, sin

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from support.some import some

from moldgen.errors import OutlineError
from moldgen.finding import Severity, sentence
from moldgen.outline.chains import joined_lines
from moldgen.outline.region import FillRule, as_region
from moldgen.outline.repair import repair_outline

SQUARE = [(0, 0), (10, 0), (10, 10), (0, 10)]
STAR = [
    ((30 if k % 2 else 10) * cos(pi * k / 20), (30 if k % 2 else 10) * sin(pi * k / 20))
    for k in range(40)
]


def close_chains(lines, tolerance_mm):
    """Rings and findings of lines that all close; what stays open is refused as readers do."""
    chains = joined_lines(lines, tolerance_mm, what="the drawing")
    if chains.open:
        raise OutlineError(chains.why_open("the drawing"))
    return chains.rings, chains.findings


def codes(findings):
    return [finding.code for finding in findings]


@pytest.mark.parametrize("drawing", [box(0, 0, 40, 20), Polygon(SQUARE), Polygon(STAR)])
def test_sound_outline_is_left_alone(drawing):
    """What needs no mending comes back the same, sharp corners and all, without a finding."""
    repaired = repair_outline(drawing)
    assert repaired.changes == ()
    assert repaired.region.equals_exact(as_region(drawing), 1e-9)


def test_repair_of_a_repaired_outline_changes_nothing():
    """Mending twice is mending once."""
    bow = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    once = repair_outline(bow).region
    twice = repair_outline(once)
    assert twice.changes == ()
    assert twice.region.equals(once)


def test_self_crossing_is_resolved_and_told_with_its_place():
    """A bow tie becomes its two wings; the finding stands at the knot."""
    repaired = repair_outline([[(0, 0), (10, 10), (10, 0), (0, 10)]])
    assert repaired.region.area == pytest.approx(50)
    (finding,) = repaired.changes
    assert finding.code == "crossing-mended"
    assert finding.severity is Severity.CAUTION
    assert finding.where_mm == pytest.approx((5, 5, 0))


def test_fill_rule_decides_what_crossing_outlines_enclose():
    """Overlapping squares are united under nonzero, and leave a hole under even-odd."""
    rings = [SQUARE, [(5, 5), (15, 5), (15, 15), (5, 15)]]
    assert repair_outline(rings, rule=FillRule.NONZERO).region.area == pytest.approx(175)
    assert repair_outline(rings, rule=FillRule.EVEN_ODD).region.area == pytest.approx(150)


def test_many_crossings_are_summed_up():
    """A scribble does not fill the report: twenty places, then how many more."""
    scribble = np.random.default_rng(0).uniform(0, 100, (30, 2))
    changes = [f for f in repair_outline([scribble]).changes if f.code == "crossing-mended"]
    assert len(changes) == 21
    assert "further crossings" in changes[-1].says


def test_repeated_points_are_removed_and_counted():
    """Points a micrometer apart are one; the finding holds how many went."""
    ring = [(0, 0), (10, 0), (10, 0.0005), (10, 0.0005), (10, 10), (0, 10)]
    repaired = repair_outline([ring])
    assert codes(repaired.changes) == ["points-repeated"]
    assert repaired.changes[0].measured == 2
    assert len(shapely.get_coordinates(repaired.region)) == 5


def test_spike_without_width_is_cut_off_and_measured():
    """A line that goes out 5 mm and back is told by tip and length."""
    ring = [(0, 0), (10, 0), (10, 10), (10, 15), (10, 10), (0, 10)]
    repaired = repair_outline([ring])
    (finding,) = repaired.changes
    assert (finding.code, finding.measured) == ("spike-removed", 5)
    assert finding.where_mm == (10, 15, 0)
    assert repaired.region.area == 100


def test_thin_sliver_is_cut_off_and_a_thicker_one_stays():
    """A tail of 0.04 mm goes, one of 0.06 mm stays, at the limit of 0.05 mm."""
    for width, gone in ((0.04, True), (0.06, False)):
        drawing = box(0, 0, 10, 10).union(box(10, 4, 20, 4 + width))
        repaired = repair_outline(drawing)
        assert (codes(repaired.changes) == ["sliver-removed"]) is gone
        assert (repaired.region.bounds[2] < 10.001) is gone
    finding = repair_outline(box(0, 0, 10, 10).union(box(10, 4, 20, 4.04))).changes[0]
    assert finding.measured == pytest.approx(0.04, rel=0.02)
    assert finding.limit == 0.05


def test_thin_gap_is_filled_and_a_wider_one_stays():
    """Boards 0.08 mm apart are joined, boards 0.12 mm apart are not, at the limit of 0.1 mm."""
    for gap, parts in ((0.08, 1), (0.12, 2)):
        pair = shapely.union(box(0, 0, 10, 10), box(10 + gap, 0, 20, 10))
        repaired = repair_outline(pair)
        assert len(repaired.region.geoms) == parts
        assert codes(repaired.changes) == ["slit-filled"] * (2 - parts)


def test_mended_edges_have_no_nanometer_steps():
    """After filling a slit the square has its four corners and no others."""
    slit = box(0, 0, 10, 10).difference(box(4.98, 2, 5.02, 20))
    region = repair_outline(slit).region
    assert region.area == pytest.approx(100, abs=1e-4)
    assert len(shapely.get_coordinates(region)) == 5


def test_specks_are_dropped_and_pinholes_filled():
    """An island and a hole of 0.01 mm2 go; both findings hold area, limit and place."""
    drawing = box(0, 0, 10, 10).union(box(11, 11, 11.1, 11.1)).difference(box(2, 2, 2.1, 2.1))
    repaired = repair_outline(drawing)
    assert sorted(codes(repaired.changes)) == ["island-dropped", "pinhole-filled"]
    for finding in repaired.changes:
        assert finding.measured == pytest.approx(0.01)
        assert finding.limit == 0.05
    assert repaired.region.area == pytest.approx(100)
    kept = repair_outline(drawing, speck_mm2=0.001)
    assert kept.changes == ()


def test_every_change_is_a_sentence_with_a_place():
    """Whatever is mended reads as a sentence that says where."""
    drawing = box(0, 0, 10, 10).union(box(11, 11, 11.1, 11.1)).difference(box(2, 2, 2.1, 2.1))
    for finding in some(repair_outline(drawing).changes):
        assert " at x " in sentence(finding)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(st.floats(0, 50), st.floats(0, 50)), min_size=4, max_size=12),
        min_size=1,
        max_size=3,
    )
)
def test_any_scribble_becomes_a_valid_region_or_a_sentence(rings):
    """Random curves give a valid region, or one refusal; nothing else."""
    with contextlib.suppress(OutlineError):
        region = repair_outline(rings).region
        assert region.is_valid
        assert region.area > 0


def test_nothing_left_is_refused():
    """A hairline drawing has nothing left to form."""
    with pytest.raises(OutlineError, match="encloses no area"):
        repair_outline(box(0, 0, 50, 0.001))


# --- open lines --------------------------------------------------------------------------------


def test_lines_in_any_order_and_direction_make_one_ring():
    """Four sides, shuffled and reversed, are the square, without a finding."""
    sides = [[(0, 0), (10, 0)], [(10, 10), (10, 0)], [(0, 10), (0, 0)], [(10, 10), (0, 10)]]
    rings, findings = close_chains(sides, 0.1)
    assert findings == ()
    assert len(rings) == 1
    assert Polygon(rings[0]).equals(box(0, 0, 10, 10))


@settings(max_examples=30, deadline=None)
@given(st.permutations(range(12)), st.lists(st.booleans(), min_size=12, max_size=12))
def test_shuffled_polygon_sides_give_back_the_polygon(order, flips):
    """Whatever the order and the directions of its sides, a dodecagon is recovered."""
    corners = np.array([(cos(pi * k / 6), sin(pi * k / 6)) for k in range(12)]) * 20
    sides = [np.stack([corners[k], corners[(k + 1) % 12]]) for k in order]
    lines = [side[::-1] if flip else side for side, flip in zip(sides, flips, strict=True)]
    rings, findings = close_chains(lines, 0.01)
    assert findings == ()
    assert Polygon(rings[0]).area == pytest.approx(3 * 20**2, rel=1e-12)


def test_gap_is_closed_in_the_middle_and_measured():
    """Ends 0.08 mm apart meet half way; the finding holds the gap and the place."""
    lines = [[(0, 0), (10, 0), (10, 10)], [(10.08, 10), (0, 10), (0, 0)]]
    rings, (finding,) = close_chains([np.array(line) for line in lines], 0.1)
    assert (finding.code, finding.measured) == ("gap-closed", pytest.approx(0.08))
    assert finding.where_mm == pytest.approx((10.04, 10, 0))
    assert [10.04, 10] in rings[0].round(9).tolist()


def test_a_line_closes_on_itself():
    """One line whose ends nearly meet is a ring; a closed line passes unchanged."""
    nearly = [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0.05)]
    rings, findings = close_chains([nearly, [*SQUARE, SQUARE[0]]], 0.1)
    assert codes(findings) == ["gap-closed"]
    assert sorted(len(ring) for ring in rings) == [4, 4]


def test_nearest_ends_are_joined_first():
    """Two rings side by side within the tolerance stay two rings."""
    left = [[(0, 0), (5, 0), (5, 5)], [(5, 5), (0, 5), (0, 0)]]
    right = [[(5.05, 5), (9, 5), (9, 0), (5.05, 0)], [(5.05, 0), (5.05, 5)]]
    rings, findings = close_chains([left[0], *right, left[1]], 0.2)
    assert len(rings) == 2
    assert findings == ()


def test_doubled_and_empty_lines_are_left_out_and_told():
    """A side drawn twice and a dot do not spoil the square."""
    sides = [[(0, 0), (10, 0)], [(10, 0), (10, 10), (0, 10), (0, 0)], [(10, 0), (0, 0)]]
    rings, findings = close_chains([*sides, [(3, 3), (3, 3)]], 0.1)
    assert codes(findings) == ["line-without-length", "line-doubled"]
    assert Polygon(rings[0]).area == 100


OPEN = [
    ([[(0, 0), (10, 0)], [(10, 0), (10, 10)]], r"open end at x 0, y 0 mm.* 14\.1 mm away"),
    ([[(0, 0), (10, 0), (10, 10), (0, 0.5)]], r"open end at x 0, y 0 mm.* 0\.5 mm away, and"),
    ([[(0, 0), (10, 0), (5, 5), (0, 0)], [(1, 1), (2, 2)]], r"open end at x 1, y 1 mm"),
    ([[(0, 0), (float("nan"), 0)]], "not a finite number"),
    ([np.empty((0, 2))], "a line without points"),
    (
        [[(0, 0), (9, 0)], [(0, 0), (0, 9)], [(0, 0), (5, 5)], [(9, 0), (0, 9)]],
        r"open end at .*there is no other|open end at .* mm away",
    ),
]


@pytest.mark.parametrize(("lines", "words"), OPEN)
def test_lines_that_do_not_close_are_refused_with_the_place(lines, words):
    """The sentence names the open end, the nearest other one and the tolerance."""
    with pytest.raises(OutlineError, match=words):
        close_chains(lines, 0.1)


def test_short_open_line_is_not_folded_onto_itself():
    """A stub shorter than the tolerance is an open end, not a ring."""
    with pytest.raises(OutlineError, match="open end"):
        close_chains([[(0, 0), (0.02, 0), (0.04, 0.01)]], 0.1)
