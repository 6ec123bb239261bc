"""What a bent test strip says: neutral line, spring back, heater."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.logbook_stand import strip

from moldgen.bend.heat.calibrate import (
    BentTestStrip,
    heater_from_timed_strip,
    neutral_from_test_strip,
    overbend_from_test_strip,
)
from moldgen.bend.heat.dwell import dwell
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend
from moldgen.errors import SpecError
from moldgen.stock import load_shop

FEW = settings(max_examples=25, deadline=None)
SHOP = load_shop(user_file=None)
ACRYLIC = SHOP.plastic("PMMA cast")
WIRE = SHOP.strip_heater("wire-600")


def bent(**changed):
    """100 mm of 3 mm strip, bent square at 6 mm, neutral line in the middle."""
    usual = BentTestStrip(
        thickness_mm=3.0, flat_mm=100.0, legs_mm=(53.11, 53.11), inside_radius_mm=6.0
    )
    return replace(usual, **changed)


def test_the_tabled_strip_has_its_neutral_line_in_the_middle():
    """6.22 mm more over both legs than before: 0.500; 6.0 would be something else."""
    found = neutral_from_test_strip(bent())
    assert found.ratio == pytest.approx(0.5, abs=0.003)
    assert neutral_from_test_strip(bent(legs_mm=(53.0, 53.0))).ratio != pytest.approx(0.5, abs=0.02)


@FEW
@given(st.floats(0.2, 0.6), st.floats(0, 12), st.floats(1, 6), st.floats(60, 120))
def test_a_layout_with_the_found_line_gives_the_strip_back(neutral, radius_mm, gauge_mm, angle_deg):
    """Bend, measure, calibrate, lay out: the length that was cut."""
    bend = Bend(angle_deg=angle_deg, inside_radius_mm=radius_mm)
    legs_mm = (120.0, 90.0)
    cut = build_layout(
        strip(legs_mm=legs_mm, bends=(bend,), thickness_mm=gauge_mm, neutral=neutral)
    ).developed_mm
    found = neutral_from_test_strip(
        BentTestStrip(
            flat_mm=cut, legs_mm=legs_mm, angle_deg=angle_deg, inside_radius_mm=radius_mm,
            thickness_mm=gauge_mm,
        )
    )  # fmt: skip
    assert found.ratio == pytest.approx(neutral, abs=1e-6)


def test_the_band_holds_what_readings_can_be_wrong_by():
    """Every length read 0.1 mm wrong moves the neutral line by less than the band of 0.2 mm."""
    found = neutral_from_test_strip(bent())
    for wrong in (
        bent(legs_mm=(53.21, 53.11)), bent(legs_mm=(53.11, 53.01)), bent(flat_mm=100.1),
        bent(inside_radius_mm=6.1),
    ):  # fmt: skip
        assert abs(wrong.neutral - found.ratio) < found.within
    assert neutral_from_test_strip(bent(), reading_mm=0.4).within == pytest.approx(2 * found.within)


def test_more_strips_narrow_the_band_unless_they_scatter():
    """Four alike halve it; four that differ do not."""
    one = neutral_from_test_strip(bent())
    alike = neutral_from_test_strip(*[bent()] * 4)
    assert (alike.n_strips, alike.within) == (4, pytest.approx(one.within / 2))
    scattered = neutral_from_test_strip(
        *[bent(legs_mm=(53.11 + shift, 53.11)) for shift in (-0.6, -0.2, 0.2, 0.6)]
    )
    assert scattered.within > alike.within
    assert scattered.ratio == pytest.approx(0.5, abs=0.01)


def test_spring_back_is_pressed_further():
    """The jig's angle less the cold bend's, averaged, never less than 0."""
    found = overbend_from_test_strip((90, 88.5), (90, 88.0), (45, 43.0))
    assert found.deg == pytest.approx(5.5 / 3)
    assert found.low_deg < found.deg < found.high_deg
    assert found.basis == "3 test strips"
    assert overbend_from_test_strip((90, 90.3)).deg == 0
    assert overbend_from_test_strip((90, 89)).basis == "1 test strip"


@pytest.mark.parametrize("side_s", [80.0, 120.0, 180.0])
def test_a_timed_strip_sets_the_heater(side_s):
    """With the corrected heater, the dwell is what was timed."""
    bend = Bend(angle_deg=90)
    made = strip(bends=(bend,), legs_mm=(90.0, 90.0))
    timed = heater_from_timed_strip(WIRE, made, bend, ACRYLIC, side_s=side_s)
    assert dwell(made, bend, timed, ACRYLIC).side_s == pytest.approx(side_s, rel=0.03)
    assert timed == replace(WIRE, element_degC=timed.element_degC)


def _timed(side_s):
    bend = Bend(angle_deg=90)
    made = strip(bends=(bend,), legs_mm=(90.0, 90.0))
    return heater_from_timed_strip(WIRE, made, bend, ACRYLIC, side_s=side_s)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: neutral_from_test_strip(), r"strips must be at least one \(got none\)"),
        (
            lambda: neutral_from_test_strip(bent(legs_mm=(50, 50))),
            r"test strip must be measured so that .* \(got 1\.82\)\. Measure both legs",
        ),
        (lambda: bent(angle_deg=10), r"angle_deg must be at least 30 ° and at most 150 °"),
        (lambda: bent(flat_mm=0), r"flat_mm must be more than 0 mm"),
        (lambda: overbend_from_test_strip(), r"test strip must be at least one"),
        (
            lambda: overbend_from_test_strip((88, 90)),
            r"test strip must be open by 0° to 30° after bending \(got -2°\)\. Give the jig's",
        ),
        (lambda: overbend_from_test_strip((90, 50)), r"\(got 40°\)"),
        (lambda: _timed(0), r"side_s must be more than 0 s"),
        (lambda: _timed(1), r"side_s must be long enough for 3 mm PMMA cast \(got 1 s\)"),
    ],
)
def test_wrong_measures_are_refused(call, sentence):
    """One sentence: what, rule, value, what to do."""
    with pytest.raises(SpecError, match=sentence):
        call()
