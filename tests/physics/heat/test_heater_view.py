"""What a sheet sees of a heater, what it exchanges with it, light that goes deep, a fan."""

from dataclasses import replace
from math import atan, exp, log, pi, sqrt

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.heat_formulas import gray_plates

from moldgen.errors import SpecError
from moldgen.physics.heat.convection import nusselt_blown
from moldgen.physics.heat.heating import INSULATED, Matter, SheetFace, beer_shares, stack
from moldgen.physics.heat.march import march
from moldgen.physics.heat.radiation import exchange_share, facing_view_factor, point_view_factor

FEW = settings(max_examples=25, deadline=None)
SIDE = st.floats(20, 900)
CLEAR = Matter(conductivity_W_mK=0.2, density_kg_m3=1180, heat_J_kgK=1500)


def equal_rectangles(X, Y):
    """Return the factor of equal aligned rectangles, Incropera Table 13.2, from memory."""
    a, b = sqrt(1 + X**2), sqrt(1 + Y**2)
    total = log(a * b / sqrt(1 + X**2 + Y**2))
    total += X * b * atan(X / b) + Y * a * atan(Y / a) - X * atan(X) - Y * atan(Y)
    return 2 / (pi * X * Y) * total


def double_sum(first_mm, second_mm, gap_mm, n=28):
    """Return the factor as a sum over small pieces of both rectangles."""
    places = [(np.arange(n) + 0.5) / n * side - side / 2 for side in (*first_mm, *second_mm)]
    x, y, u, v = np.meshgrid(*places, indexing="ij", sparse=True)
    squared = (x - u) ** 2 + (y - v) ** 2 + gap_mm**2
    piece = second_mm[0] * second_mm[1] / n**2
    return float((gap_mm**2 / (pi * squared**2)).mean(axis=(2, 3)).mean() * n**2 * piece)


@pytest.mark.parametrize("row", published("view_factors"), ids=lambda row: row["side_over_gap"])
def test_equal_squares_are_those_of_the_table(row):
    """The general factor gives the table's values for squares."""
    side = float(row["side_over_gap"]) * 70
    found = facing_view_factor((side, side), (side, side), 70)

    assert found == pytest.approx(float(row["factor"]), abs=1e-6)
    assert facing_view_factor((side, side), (side, side), 80) != pytest.approx(
        float(row["factor"]), abs=1e-3
    )


@FEW
@given(SIDE, SIDE, SIDE)
def test_equal_rectangles_are_those_of_the_formula(wide, deep, gap):
    """Unequal sides, against the formula of the table."""
    found = facing_view_factor((wide, deep), (wide, deep), gap)

    assert found == pytest.approx(equal_rectangles(wide / gap, deep / gap), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("first", "second", "gap"), [((250, 180), (400, 120), 90), ((100, 300), (60, 80), 70)]
)
def test_unequal_rectangles_are_their_double_sum(first, second, gap):
    """Pieces of one seen from pieces of the other, added up."""
    found = facing_view_factor(first, second, gap)

    assert found == pytest.approx(double_sum(first, second, gap), rel=2e-3)
    assert facing_view_factor(second, first, gap) != pytest.approx(found, rel=0.05)


@FEW
@given(SIDE, SIDE, SIDE, SIDE, SIDE)
def test_what_one_gives_the_other_the_other_gives_back(a, b, c, d, gap):
    """Area times factor is the same both ways, and no factor is above 1."""
    there, back = facing_view_factor((a, b), (c, d), gap), facing_view_factor((c, d), (a, b), gap)

    assert a * b * there == pytest.approx(c * d * back, rel=1e-6)
    assert 0 < there <= 1


def test_the_mean_of_the_points_is_the_whole():
    """Points of a sheet, averaged, see what the sheet sees."""
    xs, ys = ((np.arange(30) + 0.5) / 30 - 0.5) * 250, ((np.arange(30) + 0.5) / 30 - 0.5) * 180
    mean = np.mean([point_view_factor(x, y, (400, 120), 90) for x in xs for y in ys])

    assert mean == pytest.approx(facing_view_factor((250, 180), (400, 120), 90), rel=1e-3)


def test_a_point_sees_less_away_from_the_middle():
    """The middle sees most, a corner about a quarter of a large near heater, none far out."""
    middle, side, corner, out = (
        point_view_factor(x, y, (300, 300), 30) for x, y in ((0, 0), (150, 0), (150, 150), (900, 0))
    )
    assert middle > side > corner > out > 0
    assert middle == pytest.approx(1, abs=0.05)
    assert corner == pytest.approx(0.25, abs=0.02)


@FEW
@given(st.floats(0.1, 1), st.floats(0.1, 1), st.floats(0.05, 1))
def test_the_exchange_is_less_than_each_of_its_parts(sheet, heater, view):
    """Neither emissivity nor view is surpassed, and a full view makes it that of two plates."""
    share = exchange_share(sheet, heater, view)

    assert share <= min(sheet, heater, view) + 1e-12
    assert exchange_share(sheet, heater, 1.0) == pytest.approx(gray_plates(sheet, heater))
    assert exchange_share(1.0, 1.0, view) == pytest.approx(view)


def test_a_large_heater_counts_as_black():
    """Beside a heater of endless area its own emissivity no longer matters."""
    assert exchange_share(0.8, 0.3, 1.0, area_ratio=1e-9) == pytest.approx(0.8, rel=1e-6)


def test_a_fan_cools_a_plate_as_in_the_book():
    """Nusselt number and film coefficient of the worked example; 4/3 the speed would not."""
    (row,) = published("blown_plate")
    number = nusselt_blown(float(row["reynolds"]), float(row["prandtl"]))
    film = number * float(row["conductivity_W_mK"]) / float(row["length_m"])

    assert number == pytest.approx(float(row["nusselt"]), abs=0.05)
    assert film == pytest.approx(float(row["h_W_m2K"]), abs=0.01)
    faster = nusselt_blown(4 / 3 * float(row["reynolds"]), float(row["prandtl"]))
    assert faster != pytest.approx(float(row["nusselt"]), abs=1)


def test_light_is_taken_up_as_by_beer():
    """All of it in a thick sheet, 1 - 1/e in one depth, each cell less than the one before."""
    shares = beer_shares(stack((CLEAR, 0.004, 8)), 0.001)

    assert shares.sum() == pytest.approx(1 - exp(-4), rel=1e-12)
    assert shares[:2].sum() == pytest.approx(1 - exp(-1), rel=1e-12)
    assert (np.diff(shares) < 0).all()


def test_light_that_goes_deep_is_all_kept():
    """What is taken up within, and lost at the faces, is what the sheet holds."""
    body = stack((CLEAR, 0.003, 12))
    within = 6000 * beer_shares(body, 0.0015)
    held = march(
        body, 20.0, front=INSULATED, back=INSULATED, duration_s=40, n_steps=20, within_W_m2=within
    )
    gained = (held.profiles_degC[-1, 0] - 20).mean() * 1180 * 1500 * 0.003
    assert gained == pytest.approx(within.sum() * 40, rel=1e-9)
    air = SheetFace(air_degC=20, film_W_m2K=15)
    cooled = march(body, 20.0, front=air, back=air, duration_s=40, n_steps=400, within_W_m2=within)
    times_s = cooled.times_s[:, 0]
    out = np.trapezoid(15 * (cooled.fronts_degC[:, 0] + cooled.backs_degC[:, 0] - 40), times_s)
    kept = (cooled.profiles_degC[-1, 0] - 20).mean() * 1180 * 1500 * 0.003
    assert kept + out == pytest.approx(within.sum() * 40, rel=1e-4)


def test_deep_light_heats_more_evenly():
    """The same heat spread through the depth leaves the face cooler and the back hotter."""
    body = stack((CLEAR, 0.003, 12))
    within = beer_shares(body, 0.002)
    deep = march(
        body, 20.0, front=INSULATED, back=INSULATED, duration_s=30, n_steps=20,
        within_W_m2=6000 * within / within.sum(),
    )  # fmt: skip
    face = march(
        body, 20.0, front=SheetFace(flux_W_m2=6000), back=INSULATED, duration_s=30, n_steps=20
    )
    assert deep.fronts_degC[-1, 0] < face.fronts_degC[-1, 0]
    assert deep.backs_degC[-1, 0] > face.backs_degC[-1, 0]
    means = deep.profiles_degC[-1, 0].mean(), face.profiles_degC[-1, 0].mean()
    assert means[0] == pytest.approx(means[1], rel=1e-6)


def test_faces_of_a_batch_are_each_by_itself():
    """Several heaters, airs and fluxes at once give what each gives alone."""
    body = stack((CLEAR, 0.002, 6))
    glows = (np.array([400.0, 700.0]), np.array([0.7, 0.2]))
    airs_degC, fluxes_W_m2 = np.array([30.0, 90.0]), np.array([0.0, -500.0])
    several = SheetFace(glows=(glows,), air_degC=airs_degC, film_W_m2K=9, flux_W_m2=fluxes_W_m2)
    both = march(body, 20.0, front=several, back=INSULATED, duration_s=[20, 40], n_steps=8)
    for place, seconds in enumerate((20, 40)):
        one = replace(
            several, glows=((float(glows[0][place]), float(glows[1][place])),),
            air_degC=float(airs_degC[place]), flux_W_m2=float(fluxes_W_m2[place]),
        )  # fmt: skip
        alone = march(body, 20.0, front=one, back=INSULATED, duration_s=seconds, n_steps=8)
        np.testing.assert_allclose(both.fronts_degC[:, place], alone.fronts_degC[:, 0], rtol=1e-12)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: facing_view_factor((0, 10), (10, 10), 10), "each length must be more than 0"),
        (lambda: point_view_factor(0, 0, (10, 10), 0), "each length must be more than 0"),
        (lambda: exchange_share(1.2, 0.9, 0.5), "each share must be .*at most 1"),
        (lambda: exchange_share(0.9, 0.9, 0.5, area_ratio=0), "area_ratio must be more than 0"),
        (lambda: nusselt_blown(6e5, 0.7), "reynolds must be more than 0 and at most 500000"),
        (lambda: beer_shares(stack((CLEAR, 0.001, 2)), 0), "depth_m must be more than 0 m"),
    ],
)
def test_impossible_views_are_refused(call, says):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=says):
        call()
