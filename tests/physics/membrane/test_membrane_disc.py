"""A round sheet blown free, against the equations of Adkins and Rivlin."""

from math import log2

import numpy as np
import pytest
from conftest import half_last_digit, published
from support.membrane_blown import blown
from support.membrane_ode import dome, dome_so_high
from support.round_mesh import build_round_mesh
from support.some import some

from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.run import FormingSpec

DISC = published("membrane_disc")
MOONEY = published("membrane_disc_mooney")


@pytest.mark.parametrize("row", DISC, ids=lambda row: row["pole_stretch"])
def test_the_equations_give_the_published_table(row):
    """Runge-Kutta agrees in every printed digit, and the first integral holds."""
    solved = dome(float(row["pole_stretch"]))

    assert solved.residual < 1e-10
    for name in ("pressure", "height", "pole", "rim"):
        printed = row[name]
        assert getattr(solved, name) == pytest.approx(
            float(printed), abs=1.01 * half_last_digit(printed)
        )


@pytest.mark.parametrize("row", MOONEY, ids=lambda row: row["pole_stretch"])
def test_the_equations_give_the_published_pressures_of_mooney_rivlin(row):
    """The second term is in the equations too."""
    solved = dome(float(row["pole_stretch"]), second=0.1)

    assert solved.pressure == pytest.approx(
        float(row["pressure"]), abs=1.01 * half_last_digit(row["pressure"])
    )


@pytest.mark.parametrize("row", DISC, ids=lambda row: row["pole_stretch"])
def test_a_disc_is_blown_as_published(row):
    """Pressure, height, pole and rim to 0.1 %, before, at and beyond the limit point."""
    got = blown(float(row["pole_stretch"]))

    for name, value in some(got.items()):
        assert value == pytest.approx(float(row[name]), rel=1e-3), name


@pytest.mark.parametrize("row", MOONEY[1:4], ids=lambda row: row["pole_stretch"])
def test_a_disc_of_mooney_rivlin_is_blown_as_published(row):
    """Pressure to 0.1 % with a tenth of the second term."""
    got = blown(float(row["pole_stretch"]), second=0.1)

    assert got["pressure"] == pytest.approx(float(row["pressure"]), rel=1e-3)


@pytest.mark.parametrize("row", MOONEY[1:3], ids=lambda row: row["pole_stretch"])
def test_another_law_is_not(row):
    """Without the second term the pressure is off by far more than is promised."""
    got = blown(float(row["pole_stretch"]), n_rings=12)

    assert abs(got["pressure"] / float(row["pressure"]) - 1) > 0.05


def test_every_halving_of_the_triangles_quarters_the_error():
    """Second order in pressure, height and rim, from 12 to 24 to 48 rings."""
    wanted = dome(1.5)
    for name in ("pressure", "height", "rim"):
        errors = [
            abs(blown(1.5, n_rings=n)[name] / getattr(wanted, name) - 1) for n in (12, 24, 48)
        ]
        assert 1.6 < log2(errors[0] / errors[1]) < 2.6, name
        assert errors[2] < errors[1] / 2.5, name


def test_the_limit_point_is_passed_without_overshoot():
    """Pressure climbs to 1.879 and comes down again while volume only grows."""
    mesh = build_round_mesh(1.0, n_rings=16)
    spec = FormingSpec(pressure_per_mm=100, volume_mm3=dome(3.0).volume, pace=4)
    history = form_sheet(mesh, None, spec=spec).history

    assert history.pressure_per_mm.max() == pytest.approx(1.879, rel=0.01)
    assert history.pressure_per_mm[-1] == pytest.approx(dome(3.0).pressure, rel=0.01)
    assert (np.diff(history.swept_mm3) > -1e-6).all()
    assert history.swept_mm3.max() <= spec.volume_mm3 * (1 + 1e-3)


def test_a_pressure_below_the_limit_is_held():
    """Blown by pressure the disc ends where the table has it."""
    mesh = build_round_mesh(1.0, n_rings=24)
    run = form_sheet(mesh, None, spec=FormingSpec(pressure_per_mm=1.30987, tolerance=1e-6))

    assert run.converged
    assert run.history.pressure_per_mm[-1] == 1.30987
    assert -run.points_mm[:, 2].min() == pytest.approx(0.63796, rel=2e-3)


def test_a_pressure_beyond_the_limit_is_told():
    """No balance exists: the run ends at its steps, says so, and still has its shape."""
    mesh = build_round_mesh(1.0, n_rings=6)
    run = form_sheet(mesh, None, spec=FormingSpec(pressure_per_mm=1.95, most_steps=640))

    assert not run.converged
    assert run.residual > 0
    assert run.steps == 640
    assert np.isfinite(run.points_mm).all()


@pytest.mark.parametrize("sag", [0.4, -0.7])
def test_a_sag_is_as_deep_as_asked(sag):
    """Hanging or blown up, the deepest point is within a thousandth of what was asked."""
    mesh = build_round_mesh(1.0, n_rings=10)
    spec = FormingSpec(pressure_per_mm=0.0, sag_mm=sag, most_steps=1200)
    run = form_sheet(mesh, None, spec=spec)
    before = run.history.time <= 0

    _, wanted = dome_so_high(abs(sag))
    assert run.history.pressure_per_mm[before][-1] == pytest.approx(
        np.sign(sag) * wanted.pressure, rel=0.03
    )
    assert np.sign(run.history.swept_mm3[before][-1]) == np.sign(sag)
