"""Conduction in closed form, radiation and convection, against printed and derived tables."""

from math import atan, exp, log

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.heat_formulas import (
    back_face_fourier,
    back_face_share,
    burial_share,
    constant_flux_rise,
    convection_roots,
    convection_share_left,
    deep_convection_share,
    flux_lag_K,
    gray_plates,
    nusselt_pipe,
    nusselt_vertical,
    square_view_factor,
)

from moldgen.errors import SpecError
from moldgen.physics.heat.conduction import contact_degC, cooling_s, diffusivity_m2_s, effusivity
from moldgen.physics.heat.convection import nusselt_level, rayleigh
from moldgen.physics.heat.radiation import (
    black_flux_W_m2,
    radiation_heating_s,
    rod_point_view_factor,
)

FEW = settings(max_examples=25, deadline=None)
PMMA = diffusivity_m2_s(0.19, 1190, 1260)
BODY = {row["material"]: row for row in published("effusivity")}
PLATE = {row["what"]: row for row in published("plane_wall")}
AIR = {row["what"]: row for row in published("free_convection")}


@pytest.mark.parametrize("row", published("slab_times"), ids=lambda row: row["share"])
def test_the_back_face_follows_as_tabled(row):
    """Fourier number of each share; with half the thickness it is four times as soon."""
    share, printed = float(row["share"]), float(row["fourier"])
    assert back_face_fourier(share) == pytest.approx(printed, abs=1e-4)
    assert back_face_share(printed) == pytest.approx(share, abs=1e-4)
    assert back_face_share(printed / 4) != pytest.approx(share, abs=0.1)


def test_heating_3_mm_to_90_percent():
    """73.2 s from one side, a quarter of it from both; 6 mm takes four times as long."""
    one = back_face_fourier(0.9) * 0.003**2 / PMMA
    assert one == pytest.approx(73.2, rel=0.01)
    assert back_face_fourier(0.9) * 0.0015**2 / PMMA == pytest.approx(18.3, rel=0.01)
    assert back_face_fourier(0.8) * 0.003**2 / PMMA != pytest.approx(73.2, rel=0.1)


@pytest.mark.parametrize("row", published("constant_flux"), ids=lambda row: row["fourier"])
def test_constant_flux_rises_as_tabled(row):
    """Both faces at each time; the faces swapped would not do."""
    Fo = float(row["fourier"])
    for depth, field in ((1, "heated_face"), (0, "insulated_face")):
        printed = row[field]
        assert constant_flux_rise(Fo, depth) == pytest.approx(
            float(printed), abs=1.01 * half_last_digit(printed)
        )
        assert constant_flux_rise(Fo, 1 - depth) != pytest.approx(float(printed), abs=0.1)


def test_the_lag_of_steady_heating_is_half_or_a_quarter():
    """The series tends to q L/2k; both faces heated give q L/4k; a printed pair of numbers."""
    assert constant_flux_rise(2, 1) - constant_flux_rise(2, 0) == pytest.approx(0.5, abs=1e-6)
    assert flux_lag_K(3800, 0.003, 0.19, heated_faces=1) == pytest.approx(30, rel=1e-6)
    assert flux_lag_K(7600, 0.003, 0.19, heated_faces=2) == pytest.approx(30, rel=1e-6)
    assert flux_lag_K(9620, 0.0015, 0.15, heated_faces=2) == pytest.approx(24.05, rel=1e-3)
    assert flux_lag_K(9620, 0.0015, 0.15, heated_faces=1) != pytest.approx(24.05, rel=0.1)


@pytest.mark.parametrize(("flux_W_m2", "seconds"), [(3800, 165.7), (15200, 41.4)])
def test_a_limited_flux_takes_its_time(flux_W_m2, seconds):
    """140 K in 3 mm, derived: the mean rises with Fo, whatever the profile."""
    Fo = 140 / (flux_W_m2 * 0.003 / 0.19)
    assert Fo * 0.003**2 / PMMA == pytest.approx(seconds, rel=0.01)
    mean = sum(constant_flux_rise(Fo, (i + 0.5) / 200) for i in range(200)) / 200
    assert mean == pytest.approx(Fo, rel=1e-4)


@pytest.mark.parametrize("row", published("one_term"), ids=lambda row: row["biot"])
def test_roots_of_the_plane_wall(row):
    """First root and coefficient of each Biot number; of twice the number they differ."""
    zeta, C = convection_roots(float(row["biot"]))[0]
    assert zeta == pytest.approx(float(row["zeta"]), abs=1e-4)
    assert pytest.approx(float(row["coefficient"]), abs=1e-4) == C
    assert convection_roots(2 * float(row["biot"]))[0][0] != pytest.approx(zeta, abs=1e-2)


def test_the_pipe_wall_of_the_book():
    """Temperatures and flux after 8 minutes, within what the printed coefficients allow."""
    k, a, L, h = 63.9, 18.8e-6, 0.040, 500
    Bi, Fo = h * L / k, a * 480 / L**2
    left = [convection_share_left(Bi, Fo, depth) for depth in (0, 1)]
    inner, outer = (60 - 80 * share for share in left)
    found = {
        "biot": Bi, "fourier": Fo, "insulated_degC": inner, "exposed_degC": outer,
        "flux_W_m2": h * (outer - 60),
    }  # fmt: skip
    for what, value in found.items():
        assert value == pytest.approx(
            float(PLATE[what]["printed"]), abs=float(PLATE[what]["within"])
        )
    assert 60 - 80 * convection_share_left(Bi / 2, Fo, 0) != pytest.approx(42.9, abs=3)


def test_the_brass_plate_of_the_oven():
    """279.6 degrees on its face by the series and 279.4 lumped, 7 minutes in 500 degrees."""
    k, a, L, h = 110, 33.9e-6, 0.020, 120
    left = convection_share_left(h * L / k, a * 420 / L**2, 1)
    assert 500 - 480 * left == pytest.approx(279.6, abs=0.1)
    assert 500 - 480 * exp(-h * 420 / (8530 * 380 * L)) == pytest.approx(279.4, abs=0.1)
    assert 500 - 480 * convection_share_left(h * L / k, a * 420 / (2 * L) ** 2, 1) < 200


@pytest.mark.parametrize("row", published("burial"), ids=lambda row: row["depth_m"])
def test_a_pipe_is_buried_as_deep_as_printed(row):
    """The depth that just freezes; half of it is far below freezing."""
    face, first, depth = (float(row[k]) for k in ("face_degC", "first_degC", "depth_m"))
    a, t = float(row["diffusivity_m2_s"]), float(row["days"]) * 86400
    for shift, sign in ((-1, 1), (1, -1)):
        share = burial_share(depth + shift * float(row["within"]), t, a)
        assert sign * (face + (first - face) * share) < 1e-9
    assert face + (first - face) * burial_share(depth / 2, t, a) < -2


@pytest.mark.parametrize("row", published("deep_convection"), ids=lambda row: row["share"])
def test_a_deep_body_follows_the_air_as_tabled(row):
    """Each pair; swapped it would not do."""
    eta, beta, share = (float(row[k]) for k in ("eta", "beta", "share"))
    assert deep_convection_share(eta, beta) == pytest.approx(share, abs=1e-6)
    assert deep_convection_share(eta, beta + 0.1) != pytest.approx(share, abs=1e-3)


def test_cooling_in_the_jig_lies_between_contact_and_air():
    """8.2 s between cold faces, 202 s in air; jigs are held 1 to 3 minutes, which lies between."""
    rows = {
        (row["what"], row["thickness_mm"]): float(row["seconds"]) for row in published("cooling")
    }
    ratio = (160 - 25) / (80 - 25)
    held = cooling_s(0.003, PMMA, ratio, mean=False)
    assert held == pytest.approx(rows["held center", "3"], rel=0.01)
    assert cooling_s(0.003, PMMA, ratio, mean=True) == pytest.approx(
        rows["held mean", "3"], rel=0.015
    )
    for gauge in ("3", "6"):
        air = 1190 * 1260 * float(gauge) / 1000 / (2 * 10) * log(ratio)
        assert air == pytest.approx(rows["air", gauge], rel=0.01)
    assert held < 60 < 180 < rows["air", "3"]
    assert cooling_s(0.006, PMMA, ratio, mean=False) != pytest.approx(held, rel=0.5)


@pytest.mark.parametrize("row", published("effusivity"), ids=lambda row: row["material"])
def test_effusivities(row):
    """Each material; conductivity for diffusivity would not do."""
    k, rho, c = (float(row[f]) for f in list(row)[1:4])
    assert effusivity(k, rho, c) == pytest.approx(float(row["effusivity"]), rel=1e-3)
    assert diffusivity_m2_s(k, rho, c) != pytest.approx(float(row["effusivity"]), rel=1e-3)


@pytest.mark.parametrize(
    "row", published("contact"), ids=lambda row: f"{row['sheet']}-{row['body']}"
)
def test_contact_temperatures(row):
    """Each pair; the mean of both temperatures would not do."""
    sheet, body = (float(BODY[row[k]]["effusivity"]) for k in ("sheet", "body"))
    hot, printed = float(row["sheet_degC"]), float(row["contact_degC"])
    assert contact_degC(hot, sheet, 25, body) == pytest.approx(printed, abs=0.1)
    assert contact_degC(hot, body, 25, sheet) != pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize("row", published("black_flux"), ids=lambda row: row["temperature_degC"])
def test_black_bodies_radiate_as_tabled(row):
    """Each temperature; taken for kelvin it would not do."""
    T, printed = float(row["temperature_degC"]), float(row["kW_m2"])
    assert black_flux_W_m2(T) / 1000 == pytest.approx(printed, abs=float(row["within"]))
    assert black_flux_W_m2(T - 273.15) / 1000 != pytest.approx(printed, rel=0.1)


@pytest.mark.parametrize("row", published("view_factors"), ids=lambda row: row["side_over_gap"])
def test_view_factors_of_squares(row):
    """Each ratio; turned over it would not do."""
    X, printed = float(row["side_over_gap"]), float(row["factor"])
    assert square_view_factor(X) == pytest.approx(printed, abs=1e-6)
    assert square_view_factor(X * 1.2) != pytest.approx(printed, abs=1e-2)


def test_gray_plates_of_09():
    """Two plates of 0.9 exchange 0.818182 of what black ones do."""
    assert gray_plates(0.9, 0.9) == pytest.approx(0.818182, abs=1e-6)
    assert gray_plates(1, 0.9) == pytest.approx(0.9)


@FEW
@given(st.floats(5, 60), st.floats(0.5, 4), st.floats(5, 40))
def test_a_rod_is_seen_by_a_band_as_the_handbook_has_it(band_mm, radius_mm, gap_mm):
    """Mean over the band: cylinder and rectangle of Incropera, Table 13.1, from memory.

    Its middle sees more, so that a band of even view would be another.
    """
    n = 4000
    away_mm = band_mm * ((np.arange(n) + 0.5) / n - 0.5)
    views = rod_point_view_factor(away_mm, radius_mm, gap_mm)
    table = 2 * radius_mm / band_mm * atan(band_mm / (2 * gap_mm))
    assert views.mean() == pytest.approx(table, rel=1e-3)
    middle = float(rod_point_view_factor(np.array([0.0]), radius_mm, gap_mm)[0])
    assert middle == pytest.approx(radius_mm / gap_mm)
    assert middle > table


def test_radiation_heats_as_long_as_printed():
    """1.5 mm HIPS under 400 degrees: 19.258 s from both sides, twice that from one."""
    heat = 1050 * 1800 * 0.0015
    assert radiation_heating_s(heat / 2, 0.9, 400, 20, 150) == pytest.approx(19.258, rel=1e-3)
    assert radiation_heating_s(heat, 0.9, 400, 20, 150) == pytest.approx(38.516, rel=1e-3)
    assert radiation_heating_s(heat, 0.9, 673, 20, 150) != pytest.approx(38.516, rel=0.1)


def _film(what, nusselt):
    row = {k: float(v) for k, v in AIR[what].items() if k != "what"}
    Ra = rayleigh(
        row["excess_K"], row["length_m"], film_K=row["film_K"],
        viscosity_m2_s=row["viscosity_m2_s"], diffusivity_m2_s=row["diffusivity_m2_s"],
    )  # fmt: skip
    return Ra, nusselt(Ra, row["prandtl"]) * row["conductivity_W_mK"] / row["length_m"]


@pytest.mark.parametrize(
    ("what", "nusselt", "wrong"),
    [
        ("screen", nusselt_vertical, nusselt_pipe),
        ("duct side", nusselt_vertical, lambda Ra, Pr: nusselt_level(Ra, hot_up=True)),
        ("duct top", lambda Ra, Pr: nusselt_level(Ra, hot_up=True), nusselt_vertical),
        ("duct bottom", lambda Ra, Pr: nusselt_level(Ra, hot_up=False), nusselt_vertical),
        ("pipe", nusselt_pipe, nusselt_vertical),
    ],
)
def test_still_air_takes_heat_as_printed(what, nusselt, wrong):
    """Rayleigh number and film coefficient of each example; another body's law would not do."""
    Ra, h = _film(what, nusselt)
    assert Ra == pytest.approx(float(AIR[what]["rayleigh"]), rel=5e-3)
    assert h == pytest.approx(float(AIR[what]["h_W_m2K"]), rel=6e-3)
    assert _film(what, wrong)[1] != pytest.approx(float(AIR[what]["h_W_m2K"]), rel=6e-3)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: back_face_share(0), r"fourier must be more than 0"),
        (lambda: back_face_fourier(1), r"share must be more than 0 and less than 1"),
        (lambda: constant_flux_rise(1, 2), r"depth must be at least 0 and at most 1"),
        (lambda: flux_lag_K(1, 0.003, 0.2, heated_faces=3), r"heated_faces must be .* most 2"),
        (lambda: convection_roots(-1), r"biot must be more than 0"),
        (lambda: cooling_s(0.003, PMMA, 0.9, mean=True), r"excess must be more than 1"),
        (lambda: contact_degC(150, 0, 25, 500), r"each property must be more than 0"),
        (lambda: black_flux_W_m2(-300), r"temperature_degC must be at least -273.15 °C"),
        (lambda: gray_plates(0, 0.9), r"first_emissivity must be more than 0"),
        (lambda: rod_point_view_factor(np.zeros(1), 6, 5), r"gap_mm must be more than 6 mm"),
        (lambda: radiation_heating_s(1, 0.9, 100, 20, 150), r"last_degC must be .* less than 100"),
        (lambda: square_view_factor(0), r"side_over_gap must be more than 0"),
        (lambda: nusselt_pipe(-1, 0.7), r"rayleigh must be more than 0"),
    ],
)
def test_impossible_numbers_are_refused(call, sentence):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=sentence):
        call()
