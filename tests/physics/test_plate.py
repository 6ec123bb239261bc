"""Plates under pressure: against printed coefficients, series and closed forms."""

from functools import partial
from math import inf, pi

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import SpecError
from moldgen.physics.plate import (
    Bent,
    PlateEdge,
    deflection_coefficient,
    disc,
    rectangle,
    stress_coefficient,
    strip,
    strip_thickness_mm,
    thin_enough,
    upright,
)

FEW = settings(max_examples=30, deadline=None)
ROWS = published("plate_coefficients")


def _navier(aspect, n_terms=60, nu=0.3):
    """Deflection over q b^4/(E t^3) and stress over q b^2/t^2 in the middle, by the sine series."""
    m = np.arange(1, 2 * n_terms, 2, dtype=float)
    M, N = np.meshgrid(m, m)
    sign = np.where((M + N) / 2 % 2 == 1, 1.0, -1.0)
    term = 16 / (pi**6 * M * N * (M**2 / aspect**2 + N**2) ** 2) * sign
    deflection = term.sum()
    moment = (pi**2 * term * (N**2 + nu * M**2 / aspect**2)).sum()
    return 12 * (1 - nu**2) * deflection, 6 * moment


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["long_over_short"])
def test_coefficients_are_as_printed(row):
    """At every printed ratio of the sides, to the last digit."""
    aspect = float(row["long_over_short"])
    for edge in some(PlateEdge):
        for name, ours in (("beta", stress_coefficient), ("alpha", deflection_coefficient)):
            printed = row[f"{edge}_{name}"]
            if printed:
                assert ours(aspect, 1.0, edge) == pytest.approx(
                    float(printed), abs=1.01 * half_last_digit(printed)
                )


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["long_over_short"])
def test_coefficients_agree_with_independent_solutions(row):
    """Series and Ritz values within 1 %."""
    aspect = float(row["long_over_short"])
    pairs = (
        ("supported_beta_series", stress_coefficient, PlateEdge.SUPPORTED),
        ("supported_alpha_series", deflection_coefficient, PlateEdge.SUPPORTED),
        ("clamped_beta_ritz", stress_coefficient, PlateEdge.CLAMPED),
        ("clamped_alpha_ritz", deflection_coefficient, PlateEdge.CLAMPED),
    )
    for column, ours, edge in pairs:
        if row[column]:
            assert ours(aspect, 1.0, edge) == pytest.approx(float(row[column]), rel=0.01)


def test_the_other_edge_would_miss_the_table():
    """A clamped plate taken for a supported one bends three times as much."""
    row = ROWS[0]
    wrong = deflection_coefficient(1, 1, PlateEdge.SUPPORTED)
    assert wrong > 3 * float(row["clamped_alpha"])
    assert abs(stress_coefficient(2, 1, PlateEdge.CLAMPED) - float(row["clamped_beta"])) > 0.1


@FEW
@given(st.floats(1.0, 12.0))
def test_between_the_printed_ratios_the_series_is_met(aspect):
    """Straight lines between the rows, drawn over short by long, stay within 1.5 %."""
    alpha, beta = _navier(aspect)
    assert deflection_coefficient(aspect, 1, PlateEdge.SUPPORTED) == pytest.approx(alpha, rel=0.015)
    assert stress_coefficient(aspect, 1, PlateEdge.SUPPORTED) == pytest.approx(beta, rel=0.015)


def test_the_square_is_timoshenkos():
    """Deflection over q a^4/D and moment over q a^2."""
    for row in published("plate_timoshenko"):
        edge = PlateEdge(row["edge"])
        deflection = deflection_coefficient(1, 1, edge) / (12 * 0.91)
        assert deflection == pytest.approx(float(row["deflection"]), abs=1e-5)
        assert stress_coefficient(1, 1, edge) / 6 == pytest.approx(float(row["moment"]), abs=5e-5)


@pytest.mark.parametrize("row", published("plate_rectangles"), ids=lambda row: row["stress"])
def test_worked_rectangles(row):
    """Stress and deflection within 0.5 %, the strip by its own formula too."""
    sizes = [float(row[key]) for key in ("long", "short", "thickness")]
    pressure_kPa, modulus_MPa = float(row["pressure"]) * 1e3, float(row["modulus"])
    bent = rectangle(
        *sizes, pressure_kPa=pressure_kPa, modulus_MPa=modulus_MPa, edge=PlateEdge(row["edge"])
    )
    assert bent.stress_MPa == pytest.approx(float(row["stress"]), rel=5e-3)
    assert bent.deflection_mm == pytest.approx(float(row["deflection"]), rel=5e-3)
    if sizes[0] == inf:
        exact = strip(*sizes[1:], pressure_kPa=pressure_kPa, modulus_MPa=modulus_MPa)
        assert exact.stress_MPa == pytest.approx(bent.stress_MPa, rel=1e-9)
        assert exact.deflection_mm == pytest.approx(bent.deflection_mm, rel=2e-3)


@pytest.mark.parametrize("row", published("plate_discs"), ids=lambda row: row["stress"])
def test_worked_discs(row):
    """Closed forms, to the printed digits."""
    bent = disc(
        float(row["radius"]), float(row["thickness"]),
        pressure_kPa=float(row["pressure"]) * 1e3, modulus_MPa=float(row["modulus"]),
        edge=PlateEdge(row["edge"]), poisson=float(row["poisson"]),
    )  # fmt: skip
    assert bent.stress_MPa == pytest.approx(
        float(row["stress"]), abs=1.01 * half_last_digit(row["stress"])
    )
    assert bent.deflection_mm == pytest.approx(
        float(row["deflection"]), abs=1.01 * half_last_digit(row["deflection"])
    )


def test_diameter_for_radius_would_miss_the_disc():
    """Twice the radius bears four times the stress."""
    row = published("plate_discs")[0]
    bent = disc(60, 3, pressure_kPa=85, modulus_MPa=1997)
    assert bent.stress_MPa == pytest.approx(4 * float(row["stress"]))


def test_a_supported_disc_bends_four_times_as_much():
    """(5 + nu) / (1 + nu), which the text calls approximately four times."""
    loaded = partial(disc, 30, 3, pressure_kPa=85, modulus_MPa=2000)
    ratio = loaded(edge=PlateEdge.SUPPORTED).deflection_mm / loaded().deflection_mm
    assert ratio == pytest.approx(4.077, abs=5e-4)


@FEW
@given(st.floats(1, 5), st.floats(3, 100), st.floats(0.4, 6), st.sampled_from(PlateEdge))
def test_plates_scale(aspect, short, t, edge):
    """Twice the thickness: a quarter of the stress, an eighth of the bend; twice the size."""
    load = {"pressure_kPa": 80, "modulus_MPa": 2000, "edge": edge}
    one = rectangle(aspect * short, short, t, **load)
    thick = rectangle(aspect * short, short, 2 * t, **load)
    large = rectangle(2 * aspect * short, 2 * short, t, **load)
    assert thick.stress_MPa == pytest.approx(one.stress_MPa / 4)
    assert thick.deflection_mm == pytest.approx(one.deflection_mm / 8)
    assert large.stress_MPa == pytest.approx(4 * one.stress_MPa)
    assert large.deflection_mm == pytest.approx(16 * one.deflection_mm)


@FEW
@given(st.floats(2, 40), st.floats(20, 100), st.floats(0.5, 10), st.floats(0.01, 1))
def test_the_least_thickness_just_bears(span, pressure, stress, deflection):
    """A strip of that thickness is at one of its limits and beyond none."""
    load = {"pressure_kPa": pressure, "modulus_MPa": 2000}
    t = strip_thickness_mm(span, **load, stress_MPa=stress, deflection_mm=deflection)
    bent = strip(span, t, **load)
    shares = (bent.stress_MPa / stress, bent.deflection_mm / deflection)
    assert max(shares) == pytest.approx(1, rel=1e-9)


def test_the_thickness_of_a_clamped_square_for_four_megapascals():
    """Scaling with the root: 3 sqrt(10.465/4) = 4.853 mm bears 4 MPa on a 60 mm square."""
    bent = rectangle(60, 60, 4.853, pressure_kPa=85, modulus_MPa=1997)
    assert bent.stress_MPa == pytest.approx(4.0, rel=1e-3)


def test_a_wall_on_its_foot_is_a_cantilever():
    """Against the sum of many loads p dx, each with its own lever and bend."""
    h, t, p, E = 20.0, 4.0, 0.08, 2000.0
    edges = np.linspace(0, h, 4001)
    x = (edges[:-1] + edges[1:]) / 2
    dx = h / 4000
    inertia = t**3 / 12
    moment = (p * x * dx).sum()
    top = (p * dx * x**2 * (3 * h - x) / (6 * E / (1 - 0.09) * inertia)).sum()
    bent = upright(h, t, pressure_kPa=80, modulus_MPa=E)
    assert bent.stress_MPa == pytest.approx(6 * moment / t**2, rel=1e-6)
    assert bent.deflection_mm == pytest.approx(top, rel=1e-6)


def test_thick_or_far_bent_plates_are_told():
    """Thicker than a quarter of the span, or bent by more than half the thickness."""
    assert thin_enough(10, 2.5, Bent(stress_MPa=1, deflection_mm=1.25))
    assert not thin_enough(10, 2.6, Bent(stress_MPa=1, deflection_mm=0.1))
    assert not thin_enough(10, 2.0, Bent(stress_MPa=1, deflection_mm=1.01))


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: rectangle(10, 20, 1, pressure_kPa=80, modulus_MPa=2000),
            r"long_mm must be at least the short side, 20 mm \(got 10 mm\). Swap the two.",
        ),
        (
            lambda: rectangle(10, 0, 1, pressure_kPa=80, modulus_MPa=2000),
            r"span_mm must be more than 0 mm",
        ),
        (lambda: strip(10, 0, pressure_kPa=80, modulus_MPa=2000), r"thickness_mm must be more th"),
        (lambda: disc(10, 1, pressure_kPa=-1, modulus_MPa=2000), r"pressure_kPa must be at least"),
        (lambda: upright(10, 1, pressure_kPa=1, modulus_MPa=0), r"modulus_MPa must be more than"),
        (
            lambda: strip_thickness_mm(
                1, pressure_kPa=1, modulus_MPa=1, stress_MPa=0, deflection_mm=1
            ),
            r"stress_MPa must be more than 0 MPa",
        ),
    ],
)
def test_bad_numbers_are_refused(call, sentence):
    """One sentence with field, rule and value."""
    with pytest.raises(SpecError, match=sentence):
        call()
