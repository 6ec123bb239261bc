"""Heating step by step: against closed forms, with rates of convergence, and turned over."""

from dataclasses import replace
from itertools import pairwise
from math import inf, log2, pi, sqrt
from typing import Any

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.heat_formulas import back_face_share, constant_flux_rise, convection_share_left

from moldgen.errors import SpecError
from moldgen.physics.heat.conduction import contact_degC, effusivity
from moldgen.physics.heat.heating import INSULATED, Matter, SheetFace, stack
from moldgen.physics.heat.march import Exposure, march, march_all
from moldgen.physics.heat.radiation import black_flux_W_m2, radiation_heating_s

FEW = settings(max_examples=20, deadline=None)
SHEET = Matter(conductivity_W_mK=0.2, density_kg_m3=1000, heat_J_kgK=1000)
L = 0.003
FOURIER_s = L**2 / 2e-7


def _last(n_cells, n_steps, *, fourier, front, back=INSULATED, start=0.0):
    body = stack((SHEET, L, n_cells))
    return march(
        body, start, front=front, back=back, duration_s=fourier * FOURIER_s, n_steps=n_steps
    )


def _flux_error(n):
    course = _last(n, 120, fourier=0.2, front=SheetFace(flux_W_m2=1.0))
    return course.fronts_degC[-1, 0] * 0.2 / L - constant_flux_rise(0.2, 1)


def _held_error(n):
    course = _last(n, 120, fourier=0.4, front=SheetFace(air_degC=1, film_W_m2K=inf))
    return course.backs_degC[-1, 0] - back_face_share(0.4)


def _film_error(n):
    course = _last(n, 120, fourier=0.4, front=SheetFace(film_W_m2K=100), start=1.0)
    return course.fronts_degC[-1, 0] - convection_share_left(1.5, 0.4, 1)


@pytest.mark.parametrize("error", [_flux_error, _held_error, _film_error])
def test_cells_converge_in_second_order(error):
    """Twice the cells leave a quarter of the error, for each kind of face."""
    errors = [abs(error(n)) for n in (6, 12, 24)]
    assert errors[0] < 6e-3
    assert all(log2(a / b) > 1.7 for a, b in pairwise(errors))


def test_time_steps_alone_converge_faster_than_first_order():
    """Against very many steps on the same cells; the jump at the start costs half an order."""
    face = SheetFace(glows=((700.0, 0.15),))
    ends = [_last(8, n, fourier=3, front=face, start=20.0).profiles_degC[-1] for n in (20, 40, 600)]
    coarse, fine = (np.abs(end - ends[-1]).max() for end in ends[:2])
    assert log2(coarse / fine) > 1.4


def test_a_coated_plate_is_cured_as_in_the_book():
    """Radiation and convection: time to 150 degrees, soak, time to 37, as printed within 1 %."""
    rows = {row["what"]: float(row["printed"]) for row in published("lumped_plate")}
    aluminum = Matter(conductivity_W_mK=177, density_kg_m3=2770, heat_J_kgK=875)
    body = stack((aluminum, 0.0015, 2))
    hot = SheetFace(air_degC=175, film_W_m2K=40, glows=((175, 0.8),))
    heating = march(body, 25.0, front=hot, back=INSULATED, duration_s=600, n_steps=600)
    faces = heating.fronts_degC[:, 0]
    heated_s = float(np.interp(150, faces, heating.times_s[:, 0]))
    soaked = float(np.interp(heated_s + 300, heating.times_s[:, 0], faces))
    cool = SheetFace(air_degC=25, film_W_m2K=10, glows=((25, 0.8),))
    cooling = march(body, soaked, front=cool, back=INSULATED, duration_s=900, n_steps=900)
    cooled_s = float(np.interp(-37, -cooling.fronts_degC[:, 0], cooling.times_s[:, 0]))
    assert heated_s == pytest.approx(rows["heated_s"], rel=0.01)
    assert soaked == pytest.approx(rows["soaked_degC"], abs=0.5)
    assert heated_s + 300 + cooled_s == pytest.approx(rows["total_s"], rel=0.01)
    # Without radiation it would take far longer.
    bare = SheetFace(air_degC=175, film_W_m2K=40)
    plain = march(body, 25.0, front=bare, back=INSULATED, duration_s=heated_s, n_steps=200)
    assert plain.fronts_degC[-1, 0] < 145


def test_a_thin_sheet_heats_by_radiation_as_the_closed_form_says():
    """With hardly any thickness to cross, both give the same time."""
    thin = Matter(conductivity_W_mK=50, density_kg_m3=1050, heat_J_kgK=1800)
    seconds = radiation_heating_s(1050 * 1800 * 0.0015 / 2, 0.9, 400, 20, 150)
    # The closed form sees a room at the heater's temperature all round.
    face = SheetFace(glows=((400, 0.9),))
    course = march(
        stack((thin, 0.0015, 4)), 20.0, front=face, back=face, duration_s=seconds, n_steps=60
    )
    assert course.profiles_degC[-1].mean() == pytest.approx(150, abs=0.1)


def test_what_a_face_takes_up_is_what_the_sheet_holds():
    """A constant flux into a plastic that softens and melts: nothing is lost on the way."""
    melting = Matter(
        conductivity_W_mK=0.25, density_kg_m3=950, heat_J_kgK=2200, hot_J_kgK=2500,
        changes_degC=130, melting_J_kg=200e3,
    )  # fmt: skip
    body = stack((melting, L, 10))
    course = march(
        body, 20.0, front=SheetFace(flux_W_m2=5000), back=INSULATED, duration_s=300, n_steps=150
    )
    held = melting.enthalpy(course.profiles_degC[[0, -1], 0]).sum(axis=-1) * 950 * L / 10
    assert held[1] - held[0] == pytest.approx(5000 * 300, rel=2e-3)


def test_nothing_is_lost_in_long_steps_either():
    """Steps in which a cell melts from end to end still hold what the face took up."""
    melting = Matter(
        conductivity_W_mK=0.25, density_kg_m3=950, heat_J_kgK=2200, hot_J_kgK=2500,
        changes_degC=130, melting_J_kg=200e3,
    )  # fmt: skip
    body = stack((melting, L, 4))
    course = march(
        body, 60.0, front=SheetFace(flux_W_m2=20000), back=INSULATED, duration_s=60, n_steps=6
    )
    held = melting.enthalpy(course.profiles_degC[[0, -1], 0]).sum(axis=-1) * 950 * L / 4
    assert held[1] - held[0] == pytest.approx(20000 * 60, rel=0.015)


def test_melting_takes_the_heat_it_should():
    """From below the crystals to above them: both specific heats and the melting."""
    matter = Matter(
        conductivity_W_mK=0.2, density_kg_m3=900, heat_J_kgK=2000, hot_J_kgK=2700,
        changes_degC=165, melting_J_kg=100e3,
    )  # fmt: skip
    low, high = np.array([100.0]), np.array([200.0])
    exact = 2000 * 65 + 2700 * 35 + 100e3
    assert matter.enthalpy(high) - matter.enthalpy(low) == pytest.approx(exact, rel=1e-3)
    assert matter.content.heat(low, high) * 100 == pytest.approx(exact, rel=1e-3)


def test_touching_bodies_meet_at_the_contact_temperature():
    """Two deep layers: the plane between them takes the temperature of the effusivities."""
    pla = Matter(conductivity_W_mK=0.13, density_kg_m3=1240, heat_J_kgK=1800)
    hips = Matter(conductivity_W_mK=0.15, density_kg_m3=1050, heat_J_kgK=1300)
    body = stack((pla, 0.01, 80), (hips, 0.01, 80))
    start = np.where(np.arange(160) < 80, 25.0, 150.0)
    course = march(body, start, front=INSULATED, back=INSULATED, duration_s=20, n_steps=80)
    g = body.half_conductances
    last = course.profiles_degC[-1, 0]
    met = (g[79] * last[79] + g[80] * last[80]) / (g[79] + g[80])
    wanted = contact_degC(25, effusivity(0.13, 1240, 1800), 150, effusivity(0.15, 1050, 1300))
    assert met == pytest.approx(wanted, abs=0.05)


def test_a_deep_body_under_flux_follows_the_square_root():
    """2 q sqrt(t/pi)/e on the face of a body that the heat has not crossed."""
    body = stack((SHEET, 0.03, 200))
    course = march(
        body, 0.0, front=SheetFace(flux_W_m2=1000), back=INSULATED, duration_s=60, n_steps=100
    )
    exact = 2 * 1000 * sqrt(60 / pi) / effusivity(0.2, 1000, 1000)
    assert course.fronts_degC[-1, 0] == pytest.approx(exact, rel=2e-3)


@FEW
@given(st.floats(100, 900), st.floats(5, 60), st.integers(1, 5))
def test_turning_the_sheet_over_is_swapping_its_faces(source_degC, side_s, n_turns):
    """The strip turned over in place, or the heater moved to the other side: the same."""
    hot, air = SheetFace(glows=((source_degC, 0.1),)), SheetFace(air_degC=20, film_W_m2K=10)
    body = stack((SHEET, L, 8))
    turned = moved = np.full((1, 8), 20.0)
    for turn in range(n_turns):
        run = march(body, turned, front=hot, back=air, duration_s=side_s, n_steps=6)
        turned = run.profiles_degC[-1][:, ::-1]
        faces = (hot, air) if turn % 2 == 0 else (air, hot)
        swap = march(body, moved, front=faces[0], back=faces[1], duration_s=side_s, n_steps=6)
        moved = swap.profiles_degC[-1]
    np.testing.assert_allclose(moved if n_turns % 2 == 0 else moved[:, ::-1], turned, rtol=1e-9)


@FEW
@given(st.floats(50, 300), st.floats(10, 300))
def test_no_part_gets_hotter_than_what_heats_it(air_degC, seconds):
    """Nor colder than it started."""
    face = SheetFace(air_degC=air_degC, film_W_m2K=inf)
    course = _last(10, 12, fourier=seconds / FOURIER_s, front=face, start=20.0)
    assert course.profiles_degC.max() <= air_degC + 1e-6 * air_degC + 0.03 * air_degC
    assert course.profiles_degC[-1].min() >= 20 - 1e-6


def test_several_durations_at_once_are_each_by_itself():
    """A batch gives what single runs give."""
    body = stack((SHEET, L, 6))
    face = SheetFace(glows=((700, 0.1),))
    both = march(body, 20.0, front=face, back=INSULATED, duration_s=[30, 90], n_steps=8)
    for column, seconds in enumerate((30, 90)):
        alone = march(body, 20.0, front=face, back=INSULATED, duration_s=seconds, n_steps=8)
        np.testing.assert_allclose(
            both.profiles_degC[:, column], alone.profiles_degC[:, 0], rtol=1e-12
        )


def test_a_face_in_balance_with_radiation_stays():
    """A sheet as hot as everything it sees keeps its temperature."""
    face = SheetFace(air_degC=150, film_W_m2K=10, glows=((150, 0.9),))
    course = _last(6, 5, fourier=1, front=face, back=face, start=150.0)
    np.testing.assert_allclose(course.profiles_degC, 150, atol=1e-9)


def test_the_face_takes_up_the_net_radiation():
    """At the start a cold face takes share times the difference of both black fluxes."""
    total, driven = SheetFace(glows=((400, 0.9),)).films(np.array([20.0]))
    exact = 0.9 * (black_flux_W_m2(400) - black_flux_W_m2(20))
    assert driven - total * 20 == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: Matter(conductivity_W_mK=0, density_kg_m3=1000, heat_J_kgK=1000),
            r"conductivity_W_mK must be more than 0",
        ),
        (lambda: stack((SHEET, -0.001, 4)), r"thickness_m must be more than 0 m"),
    ],
)
def test_impossible_layers_are_refused(call, sentence):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=sentence):
        call()


def test_stacks_side_by_side_go_their_own_ways():
    """Thicker, melting and turned over: each as it goes alone, whatever goes beside it."""
    melting = replace(SHEET, hot_J_kgK=2700, changes_degC=100, melting_J_kg=100e3)
    hot = SheetFace(air_degC=20, film_W_m2K=5, glows=((500.0, 0.8), (20.0, 0.1)))
    alone: list[dict[str, Any]] = [
        {"body": stack((melting, L, 6)), "front": hot, "back": INSULATED, "duration_s": [30, 90]},
        {"body": stack((melting, 2 * L, 6)), "front": INSULATED, "back": hot, "duration_s": 60},
    ]
    both = march_all([Exposure(start_degC=20.0, **one) for one in alone], n_steps=8)

    for course, one in zip(both, alone, strict=True):
        own = march(start_degC=20.0, n_steps=8, **one)
        for name in ("times_s", "profiles_degC", "fronts_degC", "backs_degC"):
            np.testing.assert_allclose(getattr(course, name), getattr(own, name), rtol=1e-12)
    assert both[0].profiles_degC.shape == (9, 2, 6)
    assert both[1].fronts_degC.shape == (9, 1)
    assert both[1].backs_degC[-1, 0] > both[1].fronts_degC[-1, 0] + 50


def test_a_face_takes_up_what_stefan_and_newton_say():
    """Film and radiation, each by its own law, at several temperatures at once."""
    face = SheetFace(flux_W_m2=300.0, air_degC=25.0, film_W_m2K=7.0, glows=((600.0, 0.7),))
    faces_degC = np.array([20.0, 150.0, 600.0])
    total, driven = face.films(faces_degC)

    kelvin, source_K = faces_degC + 273.15, 873.15
    radiant = 0.7 * 5.670374419e-8 * (source_K**4 - kelvin**4)
    exact = 300.0 + 7.0 * (25.0 - faces_degC) + radiant
    np.testing.assert_allclose(driven - total * faces_degC, exact, rtol=1e-9)
