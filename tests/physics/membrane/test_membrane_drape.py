"""A mold that rises through the sheet, against what can be worked out by hand.

Where every point of the sheet moves straight down (or the mold straight up), thickness is the
cosine of the slope. That is exact in two cases. In plane strain the free web is straight and
evenly stretched, whatever the law. And a sheet drawn very tight before it is touched obeys
Laplace's equation in each coordinate, of which "nothing moves sideways" is the solution. A slack
round sheet is neither: its rings are pulled inward, and it stays a few percent thicker.
"""

from functools import cache

import numpy as np
import pytest
from support.membrane_shapes import across, drawn_out, strip, turned
from support.round_mesh import build_round_mesh

from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import FormingSpec

WIDTH, LENGTH = 20.0, 120.0
SLOPES = {
    "cone": lambda r: np.full_like(r, np.deg2rad(40)),
    "sphere": lambda r: np.arcsin(np.minimum(r / 40, 1.0)),
    "paraboloid": lambda r: np.arctan(0.04 * r),
}
PROFILES = {
    "cone": lambda r: 60 - r * np.tan(np.deg2rad(40)),
    "sphere": lambda r: np.sqrt(np.maximum(1600 - r**2, 0.0)) - 1e-9,
    "paraboloid": lambda r: 50 - 0.02 * r**2,
}


def draped(shape, *, taut):
    """Return thickness over cosine, less 1, of the triangles on a turned mold, middle first."""
    r = np.linspace(0, 90, 360)
    z = PROFILES[shape](r)
    mold = turned(np.column_stack([r, z])[z >= 0], floor_mm=-50.0, clamp_mm=0.0)
    mesh = build_round_mesh(100.0, n_rings=32)
    spec = FormingSpec(pressure_per_mm=0.0, pace=2)
    run = form_sheet(mesh, mold, rubber=Rubber(taut=taut), spec=spec)
    lies = run.contact[mesh.triangles].all(axis=1)
    radii = np.hypot(*run.points_mm[mesh.triangles].mean(axis=1)[:, :2].T)[lies]
    off = run.thickness[lies] / np.cos(SLOPES[shape](radii)) - 1
    return off[np.argsort(radii, kind="stable")]


@pytest.mark.parametrize("shape", SLOPES)
def test_a_tight_sheet_is_thinned_by_the_cosine_of_the_slope(shape):
    """Cone, sphere and paraboloid: every tenth of the mold to 1 %, the whole to 0.3 %."""
    off = draped(shape, taut=4.0)

    assert len(off) > 100
    assert abs(off.mean()) < 3e-3
    assert max(abs(part.mean()) for part in np.array_split(off, 10)) < 1e-2


@pytest.mark.parametrize("shape", SLOPES)
def test_a_slack_sheet_stays_thicker_than_that(shape):
    """The rings are pulled inward: thicker by one to six percent, as the cosine does not know."""
    off = draped(shape, taut=1.0)

    assert 0.01 < off.mean() < 0.06


@cache
def web_over_a_plug(taut):
    """Return the mean thickness of the free web from a flat plug of radius 50, 60 up, to 100."""
    plug = turned([(0, 60), (25, 60), (50, 60), (52, 0)], floor_mm=-50.0, clamp_mm=0.0)
    mesh = build_round_mesh(100.0, n_rings=32)
    spec = FormingSpec(pressure_per_mm=0.0, pace=2)
    run = form_sheet(mesh, plug, rubber=Rubber(taut=taut), spec=spec)
    web = np.hypot(*mesh.points_mm[mesh.triangles].mean(axis=1).T) > 50
    return float(mesh.areas_mm2[web].sum() / run.areas_mm2[web].sum())


CONE_WEB = 50 / np.hypot(50, 60)
"""Mean thickness if the web were a cone: the flat ring over the cone's area, 0.640184."""


def test_a_web_over_a_plug_is_thicker_than_a_cone_would_be():
    """Tight: the logarithm that solves Laplace's equation between the rings, to 0.5 %.

    The web hangs inward of the cone, so its area is less; of all webs the soap film has the least.
    """
    r = np.linspace(50, 100, 2001)
    steep = 60 / (r * np.log(2))
    log_web = 3750 / np.trapezoid(r * np.hypot(1, steep), r)

    assert web_over_a_plug(4.0) == pytest.approx(log_web, rel=5e-3)
    assert log_web > 1.015 * CONE_WEB


@pytest.mark.parametrize("taut", [1.0, 4.0])
def test_a_web_lies_between_cone_and_soap_film(taut):
    """The catenoid between the rings, found by its height, bounds the thickness from above."""
    necks = np.linspace(30, 50, 20_001)[:-1]
    neck = np.interp(60, necks * (np.arccosh(100 / necks) - np.arccosh(50 / necks)), necks)
    u = np.linspace(np.arccosh(50 / neck), np.arccosh(100 / neck), 2001)
    film = 3750 / np.trapezoid((neck * np.cosh(u)) ** 2, u)

    assert CONE_WEB < web_over_a_plug(taut) < film


def ridged(z, *, pace):
    """Return place and thickness across a strip that a ridge of half width 9 rose through."""
    x = np.linspace(-9, 9, 181)
    profile = np.column_stack([x, z(x)])[z(x) >= 0]
    mold = drawn_out(profile, length=0.999 * LENGTH)
    mesh = strip(WIDTH, LENGTH, n_across=48, n_along=24)
    run = form_sheet(mesh, mold, spec=FormingSpec(pressure_per_mm=0.0, pace=pace))
    return across(run, within=LENGTH / 40)


def test_the_web_over_an_edge_is_straight_and_even():
    """Plane strain, slack sheet: 10.8 up in 10 across from edge to clamp, to 1 %."""
    table = ridged(lambda x: 10.8 - 1.2 * np.abs(x), pace=2)
    on = np.abs(table[:, 0]) < 8.5

    np.testing.assert_allclose(table[on, 3], 1 / np.hypot(1, 1.08), rtol=1e-2)


def test_a_strip_over_a_parabola_is_thinned_by_the_cosine():
    """Plane strain, slack sheet, slope 0.18 x where the sheet lies: to 1 %."""
    table = ridged(lambda x: 8 - 0.09 * x**2, pace=4)
    on = np.abs(table[:, 0]) < 5.5

    np.testing.assert_allclose(table[on, 3], 1 / np.hypot(1, 0.18 * table[on, 1]), rtol=1e-2)


def test_another_slope_is_told_apart():
    """The cosine of a slope a twentieth steeper is off by more than the tests allow."""
    assert abs(np.hypot(1, 1.05 * 1.08) / np.hypot(1, 1.08) - 1) > 0.02


ARCS = [0.3, 0.5, 1.2]


@cache
def blown_strip(angle):
    """Return the middle of a strip blown at the pressure of an arc of half an angle, and the arc.

    In plane strain one tension l - 1/l^3 runs all along, and the pressure is that over the radius.
    """
    half = WIDTH / 2
    stretch, radius = angle / np.sin(angle), half / np.sin(angle)
    pressure = (stretch - stretch**-3) / radius
    mesh = strip(WIDTH, LENGTH, n_across=32, n_along=24)
    spec = FormingSpec(pressure_per_mm=pressure, tolerance=1e-5, pace=0.3)
    run = form_sheet(mesh, None, spec=spec)
    assert run.converged
    return across(run, within=LENGTH / 40), stretch, radius


@pytest.mark.parametrize("angle", ARCS)
def test_a_free_strip_is_an_arc_of_even_stretch(angle):
    """Plane strain: as deep as the arc to 1 %, on its circle, and as thin all along to 0.5 %."""
    table, stretch, radius = blown_strip(angle)
    depth = radius * (1 - np.cos(angle))

    assert -table[:, 2].min() == pytest.approx(depth, rel=0.01)
    away = np.hypot(table[:, 1], table[:, 2] - radius * np.cos(angle))
    np.testing.assert_allclose(away, radius, atol=0.01 * depth)
    np.testing.assert_allclose(table[:, 3], 1 / stretch, rtol=5e-3)
    # Evenly laid out: a point's way along the arc goes with its place on the flat strip.
    turn = np.arctan2(table[:, 1], radius * np.cos(angle) - table[:, 2])
    np.testing.assert_allclose(turn / angle, table[:, 0] / (WIDTH / 2), atol=5e-3)


@pytest.mark.parametrize("angle", ARCS)
def test_a_strip_of_another_law_is_not(angle):
    """Tension as of a sheet stretched alike both ways, at the same pressure, is another arc."""
    _, stretch, _ = blown_strip(angle)
    plane, both_ways = stretch - stretch**-3, 1 - stretch**-6

    assert abs(both_ways / plane - 1) > 0.02
