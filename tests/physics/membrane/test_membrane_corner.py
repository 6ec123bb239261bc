"""Sheet that sticks, drawn into a straight corner: the run and the formula against exact results.

Published corner thicknesses of formed HIPS or ABS are not typed here: none is known to us with its
modulus and temperature, and without those it would judge nothing. The trough below is exact.
"""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from support.membrane_shapes import across, block, strip
from support.some import some

from moldgen.physics.membrane.corner import FILLING, corner_radius_mm, thinned_by
from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.holding import before_holding, pressure_at_arrival
from moldgen.physics.membrane.rubber import Rubber, greater_tension
from moldgen.physics.membrane.run import FREE, FormingSpec
from moldgen.physics.membrane.touch import MoldFaces

HALF_MM = 10.0
"""Half the width of the trough, and its depth."""
LONG_MM = 120.0
PRESSURES = (0.34, 0.7)
SHARE = 0.4


def trough():
    """Return two upright walls on a floor: a half circle just touches all three."""
    y, z = (-LONG_MM, LONG_MM), (-HALF_MM - 1, 0.0)
    walls = [block((-HALF_MM - 2, -HALF_MM), y, z), block((HALF_MM, HALF_MM + 2), y, z)]
    return MoldFaces(corners_mm=np.concatenate(walls), floor_mm=-HALF_MM, clamp_mm=0.0)


@cache
def drawn(pressure_per_mm, n_across=40):
    """Return a long sheet drawn into the trough, of which a share of the stiffness is left."""
    mesh = strip(2 * HALF_MM, LONG_MM, n_across=n_across, n_along=max(48, 3 * n_across))
    spec = FormingSpec(pressure_per_mm=pressure_per_mm, relaxed_share=SHARE)
    return form_sheet(mesh, trough(), spec=spec)


def exact(pressure_per_mm):
    """Return radius and thickness in the corner: p r = stretch - stretch^-3, by halving."""
    low, high = 1e-3, HALF_MM
    for _ in range(100):
        radius = np.sqrt(low * high)
        stretch = np.pi / 2 * (radius / HALF_MM) ** -((4 - np.pi) / np.pi)
        if stretch - stretch**-3 > pressure_per_mm * radius:
            low = radius
        else:
            high = radius
    return radius, 1 / stretch


def middle(run):
    """Return which points and triangles lie in the middle of the trough's length."""
    points = np.abs(run.mesh.points_mm[:, 1]) < 0.3 * HALF_MM
    return points, points[run.mesh.triangles].all(axis=1)


def gap_radius_mm(run):
    """Return the radius of a quarter circle that stays as far from the edge as the sheet does."""
    free = middle(run)[0] & (run.touches == FREE)
    assert free.any()
    x, z = np.abs(run.points_mm[free, 0]), run.points_mm[free, 2]
    return np.hypot(HALF_MM - x, z + HALF_MM).min() / (2**0.5 - 1)


def told_radius_mm(run, to_per_mm):
    """Return the mean radius by the formula, from all sheet that came to rest late or never."""
    under = pressure_at_arrival(run)[run.mesh.triangles].max(axis=1)
    own = middle(run)[1] & (under > run.spec.drawn_per_mm)
    under = np.minimum(under[own], run.spec.pressure_per_mm)
    radii = corner_radius_mm(run.stretches[own], under, to_per_mm, run.rubber)
    return np.average(radii, weights=run.areas_mm2[own])


@pytest.mark.parametrize("share", [0.9, 0.5, 0.1])
def test_the_power_solves_the_balance_of_volume(share):
    """Followed in small steps, what lies down takes its thickness with it: to a ten-thousandth."""

    def thins(radius, thickness):
        # d(pi/2 r t) = 2 t dr
        return (4 / np.pi - 1) * thickness / radius

    radii = np.linspace(1.0, share, 2001)
    thickness = 1.0
    for here, there in some(list(pairwise(radii))):
        half = thickness + 0.5 * (there - here) * thins(here, thickness)
        thickness += (there - here) * thins(0.5 * (here + there), half)

    assert thickness == pytest.approx(float(thinned_by(np.array(share))), rel=1e-4)


@pytest.mark.parametrize("pressure_per_mm", PRESSURES)
def test_a_long_trough_fills_as_the_closed_form_says(pressure_per_mm):
    """Radius and thickness of the corner: both to 2 %."""
    run, (radius_mm, thickness) = drawn(pressure_per_mm), exact(pressure_per_mm)

    assert gap_radius_mm(run) == pytest.approx(radius_mm, rel=0.02)
    assert across(run, within=HALF_MM / 4)[:, 3].min() == pytest.approx(thickness, rel=0.02)


@pytest.mark.parametrize("wrong", [0.9, 1.1])
def test_a_modulus_a_tenth_off_would_be_noticed(wrong):
    """The closed form for a tenth more or less of the modulus misses the run by more than 4 %."""
    for pressure_per_mm in some(PRESSURES):
        radius_mm, _ = exact(pressure_per_mm / wrong)
        assert abs(gap_radius_mm(drawn(pressure_per_mm)) / radius_mm - 1) > 0.04


@pytest.mark.parametrize("pressure_per_mm", PRESSURES)
def test_the_formula_tells_the_radius_of_the_run(pressure_per_mm):
    """From the stretch of what came to rest late, at its own end and at any other: to 4 %."""
    run = drawn(pressure_per_mm)

    for to_per_mm in some((SHARE * pressure_per_mm, pressure_per_mm, 3 * pressure_per_mm)):
        assert told_radius_mm(run, to_per_mm) == pytest.approx(exact(to_per_mm)[0], rel=0.04)


def test_a_corner_rounder_than_no_triangle_is_told():
    """With triangles of 2.5 mm nothing may be left free; the radius of 1 mm is told to 25 %."""
    run = drawn(2.8, n_across=8)
    radius_mm = exact(2.8)[0]

    assert radius_mm < 1.2 < 2 * HALF_MM / 8
    assert told_radius_mm(run, 2.8) == pytest.approx(radius_mm, rel=0.25)


def test_under_its_own_pressure_a_corner_is_as_round_as_tension_over_pressure():
    """With two terms of the law as with one."""
    stretches = np.array([[1.5, 1.0], [2.5, 1.2]])
    for rubber in some((Rubber(), Rubber(second=0.2))):
        radii = corner_radius_mm(stretches, np.array([0.5, 0.5]), 0.5, rubber)
        np.testing.assert_allclose(radii, greater_tension(stretches, rubber) / 0.5, rtol=1e-9)


def test_there_and_back_a_corner_is_as_it_was():
    """What the sheet was under less pressure, told from later, comes to the same later."""
    pulled, under = np.array([[2.0, 1.0]]), np.array([0.5])
    later = corner_radius_mm(pulled, under, 2.0, Rubber())
    first = corner_radius_mm(pulled, under, 0.5, Rubber())
    across_then = pulled[:, 0] * thinned_by(first / later)

    back = corner_radius_mm(
        np.column_stack([across_then, pulled[:, 1]]), np.array([2.0]), 0.5, Rubber()
    )
    np.testing.assert_allclose(back, first, rtol=1e-6)
    assert later[0] < 0.5 * first[0]
    assert FILLING == pytest.approx(0.2732, abs=1e-4)


def test_sheet_under_no_tension_has_no_radius():
    """A sheet that is pressed together tells 0 and no nan."""
    radii = corner_radius_mm(np.array([[0.8, 0.8]]), np.array([0.5]), 1.0, Rubber())
    assert radii.tolist() == [0.0]


def test_before_it_was_held_the_sheet_hung_as_rubber_does():
    """The run cut off as the full vacuum came, against a run of rubber to it: radius to 8 %.

    It is cut at the first frame after that moment, up to 32 steps late.
    """
    run = drawn(0.7)
    cut, rubber = before_holding(run), drawn_as_rubber(run.spec.drawn_per_mm)

    assert gap_radius_mm(cut) == pytest.approx(gap_radius_mm(rubber), rel=0.08)
    assert gap_radius_mm(cut) > 1.5 * gap_radius_mm(run)
    assert (cut.touches == FREE).sum() > 1.5 * (run.touches == FREE).sum()
    assert cut.frames.time[-1] < run.frames.time[-1]
    assert before_holding(rubber) is rubber


@cache
def drawn_as_rubber(pressure_per_mm):
    """Return the sheet drawn to a pressure without relaxing."""
    mesh = strip(2 * HALF_MM, LONG_MM, n_across=40, n_along=120)
    return form_sheet(mesh, trough(), spec=FormingSpec(pressure_per_mm=pressure_per_mm))
