"""Bend allowance, stretch, cold radius and annealing against tables and by their own laws."""

from math import degrees, pi, radians

import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import SpecError
from moldgen.physics.bending import (
    allowance_mm,
    annealing_h,
    cold_radius_mm,
    cold_strain,
    cooling_rate_K_h,
    deduction_mm,
    heated_width_mm,
    neutral_from_lengths,
    outer_stretch,
    setback_mm,
)

FEW = settings(max_examples=30, deadline=None)
ANGLES = st.floats(1, 179)
RADII = st.floats(0, 50)
GAUGES = st.floats(0.5, 12)
NEUTRALS = st.floats(0.2, 0.6)
METAL = {row["what"]: row for row in published("bend_metal")}
WORKBOOK, NAVY = 0.0078 / 0.01743, 0.0078 / 0.0173


def _metal(what):
    row = METAL[what]
    return float(row["angle_deg"]), float(row["radius_in"]), float(row["thickness_in"])


def test_the_workbook_bend_is_reproduced():
    """Allowance and deduction of a three-bend part as a workbook prints them."""
    A, R, T = _metal("workbook allowance")
    assert allowance_mm(A, R, T, neutral=WORKBOOK) == pytest.approx(0.085, abs=5e-4)
    assert deduction_mm(A, R, T, neutral=WORKBOOK) == pytest.approx(0.079, abs=5e-4)


@pytest.mark.parametrize("wrong", [{"neutral": 0.33}, {"angle": radians(90)}, {"radius": 0.016}])
def test_the_workbook_bend_needs_its_own_inputs(wrong):
    """A guessed neutral line, radians, or a radius taken for a diameter do not reproduce it."""
    A, R, T = _metal("workbook allowance")
    found = allowance_mm(
        wrong.get("angle", A), wrong.get("radius", R), T, neutral=wrong.get("neutral", WORKBOOK)
    )
    assert found != pytest.approx(0.085, abs=5e-4)


def test_the_workbook_length_is_the_legs_less_three_deductions():
    """Four outside legs and three bends make the printed length."""
    legs = [float(leg) for leg in METAL["workbook length"]["legs_in"].split()]
    A, R, T = _metal("workbook length")
    taken = 3 * deduction_mm(A, R, T, neutral=WORKBOOK)
    assert sum(legs) - taken == pytest.approx(2.973, abs=1.5e-3)
    assert sum(legs) - taken * 2 / 3 != pytest.approx(2.973, abs=1.5e-3)


def test_a_channel_has_the_setback_and_flats_that_are_printed():
    """A U-channel of the aviation handbook, exactly."""
    A, R, T = _metal("faa setback")
    back = setback_mm(A, R + T)
    legs = [float(leg) for leg in METAL["faa flats"]["legs_in"].split()]
    flats = [legs[0] - back, legs[1] - 2 * back, legs[2] - back]
    assert back == pytest.approx(float(METAL["faa setback"]["printed"]), abs=1e-9)
    assert flats == pytest.approx([float(x) for x in METAL["faa flats"]["printed"].split()])
    assert setback_mm(A, R) != pytest.approx(back, rel=0.05)


def test_the_navy_formula_is_a_neutral_line_too():
    """Its printed allowance comes out with the neutral line it implies, and not in the middle."""
    A, R, T = _metal("navy allowance")
    printed = METAL["navy allowance"]["printed"]
    # The text rounds pi/180 to 0.0173.
    scale = 0.0173 / radians(1)
    assert allowance_mm(A, R, T, neutral=NAVY) * scale == pytest.approx(float(printed), abs=5e-4)
    assert allowance_mm(A, R, T, neutral=0.5) * scale != pytest.approx(float(printed), abs=5e-4)


def test_the_empirical_formula_implies_its_neutral_line():
    """0.0078 T a degree is a neutral line at 0.4469 of the thickness."""
    assert degrees(0.0078) == pytest.approx(0.4469, abs=1e-4)


@pytest.mark.parametrize("row", published("bend_allowance"), ids=lambda row: row["angle_deg"])
def test_allowance_setback_and_deduction_of_3_mm(row):
    """Each angle of the table, to half its last digit."""
    A = float(row["angle_deg"])
    for found, printed in (
        (allowance_mm(A, 6, 3), row["allowance_mm"]),
        (setback_mm(A, 9), row["setback_mm"]),
        (deduction_mm(A, 6, 3), row["deduction_mm"]),
    ):
        assert found == pytest.approx(float(printed), abs=1.01 * half_last_digit(printed))
    assert allowance_mm(A, 6, 3, neutral=0.33) != pytest.approx(float(row["allowance_mm"]), abs=0.1)
    assert allowance_mm(180 - A + 1e-6, 6, 3) != pytest.approx(
        float(row["allowance_mm"]), abs=0.1
    ) or A == pytest.approx(90)


@pytest.mark.parametrize("row", published("bend_handbook"), ids=lambda row: row["material"])
def test_the_handbook_lengths_are_neutral_lines(row):
    """A right angle of a T + 1.57 R is the allowance with K = a/(pi/2)."""
    K = float(row["a"]) / (pi / 2)
    assert pytest.approx(float(row["neutral"]), abs=1e-3) == K
    length = float(row["a"]) * 0.05 + 1.57 * 0.06
    assert allowance_mm(90, 0.06, 0.05, neutral=K) == pytest.approx(length, rel=1e-3)
    assert allowance_mm(90, 0.06, 0.05, neutral=0.5) != pytest.approx(length, rel=1e-2)


def test_the_neutral_table_agrees_with_the_handbook_formula():
    """Aluminum at T .063: both give the same allowance to half a percent."""
    row = next(row for row in published("bend_neutral") if row["thickness_in"] == ".063")
    R, T = float(row["radius_in"]), float(row["thickness_in"])
    formula = 0.64 * T + 1.57 * R
    assert allowance_mm(90, R, T, neutral=float(row["neutral"])) == pytest.approx(formula, rel=5e-3)
    assert allowance_mm(90, R, T, neutral=0.5) != pytest.approx(formula, rel=5e-3)


def test_every_tabled_neutral_line_lies_between_a_third_and_a_half():
    """The usual statement for sheet metal, and inside what the formulas here accept."""
    assert all(1 / 3 < float(row["neutral"]) < 1 / 2 for row in published("bend_neutral"))


def test_hems_use_half_a_turn():
    """Closed and open hems, derived: pi K T, and pi (R + K T)."""
    assert allowance_mm(180, 0, 1.5) == pytest.approx(2.3562, abs=5e-5)
    assert allowance_mm(180, 0, 0.040, neutral=0.4469) == pytest.approx(0.05616, abs=5e-6)
    assert allowance_mm(180, 0.75, 1.5) == pytest.approx(4.7124, abs=5e-5)
    assert allowance_mm(180, 1.5, 1.5) != pytest.approx(4.7124, abs=0.1)


def test_a_test_strip_gives_the_neutral_line():
    """106.22 mm over both legs of 100 mm of strip: the middle; read as 105.7, not."""
    assert neutral_from_lengths((53.11, 53.11), 100, 90, 6, 3) == pytest.approx(0.5, abs=0.003)
    assert neutral_from_lengths((52.85, 52.85), 100, 90, 6, 3) != pytest.approx(0.5, abs=0.05)


@FEW
@given(ANGLES, RADII, GAUGES, NEUTRALS, st.floats(0, 300))
def test_calibration_undoes_the_deduction(angle_deg, radius_mm, gauge_mm, neutral, extra_mm):
    """The neutral line that made the legs is found again."""
    lost = deduction_mm(angle_deg, radius_mm, gauge_mm, neutral=neutral)
    flat = 200 + extra_mm
    legs = ((flat + lost) * 0.4, (flat + lost) * 0.6)
    found = neutral_from_lengths(legs, flat, angle_deg, radius_mm, gauge_mm)
    assert found == pytest.approx(neutral, abs=1e-6 * max(1, lost))


@pytest.mark.parametrize(
    "row", published("bend_width"), ids=lambda row: row["radius_over_thickness"]
)
def test_the_heated_width_covers_the_allowance(row):
    """Allowance over thickness as tabled; the heated width is never less, nor less than 3."""
    ratio = float(row.pop("radius_over_thickness"))
    for angle, printed in some(row.items()):
        used = allowance_mm(float(angle), ratio * 3, 3) / 3
        assert used == pytest.approx(float(printed), abs=1.01 * half_last_digit(printed))
        width = heated_width_mm(float(angle), ratio * 3, 3) / 3
        assert width == pytest.approx(max(3, used))
        if 0 < ratio:
            assert allowance_mm(float(angle), ratio * 1.5, 3) / 3 != pytest.approx(used, abs=0.01)


def test_three_to_five_thicknesses_are_69_to_115_degrees():
    """The trade's rule of heated width is the allowance at twice the thickness, in this range."""
    assert allowance_mm(68.75, 6, 3) / 3 == pytest.approx(3, abs=1e-3)
    assert allowance_mm(114.59, 6, 3) / 3 == pytest.approx(5, abs=1e-3)
    assert allowance_mm(68.75, 3, 3) / 3 != pytest.approx(3, abs=0.5)


@pytest.mark.parametrize("row", published("bend_stretch"), ids=lambda row: row["percent"])
def test_the_outside_stretches_as_tabled(row):
    """With the neutral line in the middle; at a third it would be more."""
    R, printed = 3 * float(row["radius_over_thickness"]), float(row["percent"])
    assert 100 * outer_stretch(R, 3) == pytest.approx(printed, abs=0.05)
    assert 100 * outer_stretch(R, 3, neutral=0.33) != pytest.approx(printed, abs=1)


@pytest.mark.parametrize("row", published("bend_cold"), ids=lambda row: row["radius_in"])
def test_the_cold_radius_is_as_printed(row):
    """Thickness times the printed ratio, to the printed half inch at worst."""
    ratio, T, printed = (float(row[k]) for k in ("ratio", "thickness_in", "radius_in"))
    within = 0.005 if ratio == 330 else 0.5
    assert cold_radius_mm(T, ratio=ratio) == pytest.approx(printed, abs=within)
    assert cold_radius_mm(T, ratio=240) != pytest.approx(printed, abs=within)


def test_cold_strain_and_stress():
    """330, 180 and 100 thicknesses, derived; a right angle's 2 thicknesses are far off."""
    assert 100 * cold_strain(330, 1) == pytest.approx(0.1515, abs=1e-4)
    assert 100 * cold_strain(180, 1) == pytest.approx(0.278, abs=1e-3)
    assert 3200 * cold_strain(330, 1) == pytest.approx(4.85, rel=0.01)
    assert 2300 * cold_strain(100, 1) == pytest.approx(11.5, rel=0.01)
    assert 2300 * cold_strain(50, 1) != pytest.approx(11.5, rel=0.01)


@pytest.mark.parametrize("row", published("annealing"), ids=lambda row: row["thickness_mm"])
def test_annealing_takes_an_hour_a_millimeter(row):
    """At least two, and a slow cooling above 8 mm; half the gauge would not do."""
    T = float(row["thickness_mm"])
    tabled = (float(row["heat_h"]), float(row["cool_h"]))
    assert annealing_h(T) == tabled
    assert T < 2 or annealing_h(T / 25.4) != tabled


@pytest.mark.parametrize("row", published("annealing_rate"), ids=lambda row: row["thickness_in"])
def test_annealed_acrylic_cools_at_the_tabled_rate(row):
    """110 F of cooling takes the printed hours, which the guide rounds to quarters."""
    whole, _, part = row["printed_h"].rpartition(" ")
    top, _, bottom = part.partition("/")
    printed = float(whole or 0) + float(top) / float(bottom or 1)
    rate = cooling_rate_K_h(float(row["thickness_in"]) * 25.4)
    assert rate * 9 / 5 == pytest.approx(float(row["rate_F_h"]))
    assert 110 * 5 / 9 / rate == pytest.approx(printed, rel=0.06)
    assert 110 / rate != pytest.approx(printed, rel=0.06)


@FEW
@given(ANGLES, RADII, GAUGES, NEUTRALS, st.sampled_from([25.4, 0.1, 1000.0]))
def test_lengths_scale_with_the_unit(angle_deg, radius, gauge, neutral, factor):
    """Whoever works in inches gets the same strip."""
    small = deduction_mm(angle_deg, radius, gauge, neutral=neutral)
    large = deduction_mm(angle_deg, radius * factor, gauge * factor, neutral=neutral)
    assert large == pytest.approx(small * factor, rel=1e-9, abs=1e-9)


@FEW
@given(st.floats(1, 89), RADII, GAUGES)
def test_two_half_bends_are_a_whole_one(angle_deg, radius_mm, gauge_mm):
    """Allowance adds up over the angle."""
    whole = allowance_mm(2 * angle_deg, radius_mm, gauge_mm)
    assert whole == pytest.approx(2 * allowance_mm(angle_deg, radius_mm, gauge_mm))


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: allowance_mm(181, 6, 3), r"angle_deg must be more than 0 ° and at most 180 °"),
        (lambda: allowance_mm(90, -1, 3), r"inside_radius_mm must be at least 0 mm \(got -1 mm"),
        (lambda: allowance_mm(90, 6, 0), r"thickness_mm must be more than 0 mm"),
        (lambda: allowance_mm(90, 6, 3, neutral=1.5), r"neutral must be .* \(got 1.5\)"),
        (lambda: setback_mm(180, 9), r"angle_deg must be less than 180° .* fold has no corner"),
        (lambda: outer_stretch(6, -3), r"thickness_mm must be more than 0 mm"),
        (lambda: cold_strain(0, 3), r"radius_mm must be more than 0 mm"),
        (lambda: cold_radius_mm(3, ratio=0), r"ratio must be more than 0"),
        (lambda: cooling_rate_K_h(60), r"thickness_mm must be at most 50.8 mm \(got 60 mm\)"),
        (lambda: annealing_h(-1), r"thickness_mm must be more than 0 mm"),
    ],
)
def test_impossible_numbers_are_refused(call, sentence):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=sentence):
        call()


@pytest.mark.parametrize(("thickness_mm", "ramp_h"), [(8.0, 0.0), (8.1, 2.025), (8.9, 2.225)])
def test_sheet_over_8_mm_is_heated_slowly(thickness_mm, ramp_h):
    """The rule begins right above 8 mm: a quarter of an hour for each millimeter."""
    assert annealing_h(thickness_mm) == pytest.approx((thickness_mm, ramp_h))
