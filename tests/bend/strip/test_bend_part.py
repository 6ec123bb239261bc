"""A bent strip as it is asked for: what is computed, what is refused."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.logbook_stand import strip

from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend, strip_from_marks
from moldgen.errors import SpecError

FEW = settings(max_examples=30, deadline=None)


def test_the_radius_is_given_or_half_the_gap_or_twice_the_thickness():
    """In this order."""
    assert Bend(angle_deg=90, inside_radius_mm=4).radius_mm(3) == 4
    assert Bend(angle_deg=180, gap_mm=1).radius_mm(3) == 0.5
    assert Bend(angle_deg=90).radius_mm(3) == 6
    assert Bend(angle_deg=180, gap_mm=1, inside_radius_mm=0.5).radius_mm(3) == 0.5


def test_only_half_a_turn_is_a_fold():
    """179 degrees is a very sharp bend."""
    assert Bend(angle_deg=180).is_fold
    assert not Bend(angle_deg=179).is_fold


def test_bends_turn_up_and_legs_are_outside_unless_said():
    """The defaults that the manual states."""
    assert Bend(angle_deg=90).turn is Turn.UP
    assert strip().legs_by is LegsBy.OUTSIDE
    assert strip().neutral == 0.5
    assert strip().overbend_deg is None


@FEW
@given(st.lists(st.floats(40, 200), min_size=1, max_size=6), st.floats(1, 150))
def test_marks_come_out_where_they_were_put(gaps_mm, angle_deg):
    """A strip read from marks, laid flat again, has its lines at the marks and its length."""
    marks_mm = [sum(gaps_mm[: i + 1]) for i in range(len(gaps_mm))]
    length_mm = marks_mm[-1] + 50
    made = strip_from_marks(
        marks_mm, [Bend(angle_deg=angle_deg)] * len(marks_mm), length_mm,
        name="rest", thickness_mm=3.0, width_mm=50.0, plastic="HIPS",
    )  # fmt: skip
    layout = build_layout(made)
    assert layout.developed_mm == pytest.approx(length_mm)
    assert [line.center_mm for line in layout.lines] == pytest.approx(marks_mm)


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: Bend(angle_deg=0), r"angle_deg must be more than 0 ° and at most 180 °"),
        (lambda: Bend(angle_deg=181), r"angle_deg must be .* at most 180 ° \(got 181 °\)"),
        (lambda: Bend(angle_deg=90, inside_radius_mm=-1), r"inside_radius_mm must be at least 0"),
        (lambda: Bend(angle_deg=90, gap_mm=2), r"gap_mm must be given for a closed fold only"),
        (
            lambda: Bend(angle_deg=180, gap_mm=2, inside_radius_mm=3),
            r"gap_mm must be twice the inside radius, 6 mm \(got 2 mm\)\. Give one of the two\.",
        ),
        (lambda: strip(legs_mm=(80, 120)), r"legs_mm must be one more than the bends, 3 \(got 2"),
        (lambda: strip(legs_mm=(80, 0, 60)), r"leg 2 must be more than 0 mm"),
        (lambda: strip(legs_mm=(80, float("nan"), 60)), r"leg 2 must be more than 0 mm"),
        (lambda: strip(thickness_mm=0), r"thickness_mm must be more than 0 mm"),
        (lambda: strip(neutral=0), r"neutral must be more than 0"),
        (lambda: strip(holes=((10, 2, 6),)), r"hole 1 across_mm must be within the strip, 0 to"),
        (lambda: strip(holes=((10, 60, -1),)), r"hole 1 diameter_mm must be more than 0 mm"),
        (lambda: strip(holes=((-10, 60, 5),)), r"hole 1 along_mm must be at least 0 mm"),
        (lambda: strip(overbend_deg=-1), r"overbend_deg must be at least 0 °"),
        (
            lambda: strip_from_marks([50, 40], [Bend(angle_deg=90)] * 2, 200),
            r"marks_mm must be rising .* \(got 40 mm after 50 mm\)",
        ),
        (lambda: strip_from_marks([50], [], 200), r"marks_mm must be as many as the bends, 0"),
        (
            lambda: strip_from_marks([250], [Bend(angle_deg=90)], 200),
            r"marks_mm must be rising from 0 to the length of the strip, 200 mm",
        ),
    ],
)
def test_impossible_strips_are_refused(make, sentence):
    """One sentence: field, rule, value, what to do."""
    with pytest.raises(SpecError, match=sentence):
        make()
