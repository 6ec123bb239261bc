"""Female molds, against closed forms and against one-dimensional solutions.

The closed forms take the free sheet to be evenly thin. In a long trough that is so: pressure stands
square on the sheet, hence one tension all along the arc, and the sheet must agree. A round bubble
is not even. Around its pole it is stretched both ways, at its rim only down the wall, so it leaves
the lip thicker than the closed form has it and reaches the depth thinner: there the closed form is
a bound, and the sheet must agree with the equations of Adkins and Rivlin, marched down the wall.
"""

import numpy as np
import pytest
from conftest import half_last_digit, published
from support.membrane_bubble import (
    cap,
    cone_wall,
    corner,
    cup,
    floor_corner,
    ring_foot,
    shallow_arc,
    trough_wall,
)
from support.membrane_hollow import HALF, LENGTH, RADIUS, hollow, in_a_cone, in_a_trough, on_wall
from support.membrane_ode import dome_so_high
from support.membrane_shapes import across, drawn_out, strip, turned
from support.membrane_wall import covered_wall
from support.round_mesh import build_round_mesh

from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.run import FormingSpec

BUBBLE = published("membrane_bubble")
CONES = [60, 75, 90]


def closed_form(row):
    """Return the thickness of a row."""
    size, depth, place = (float(row[name] or 0) for name in ("size", "depth", "place"))
    degrees = float(row["angle_deg"] or 0)
    angle = np.pi / 2 if degrees == 90 else np.radians(degrees)
    if row["shape"] == "cup":
        return cup(size, size - depth / np.tan(angle) if degrees < 90 else size, depth, place)
    if row["shape"] == "shallow":
        return shallow_arc(size, depth) * floor_corner(angle, size, place, depth)
    return {
        "cone": lambda: cone_wall(angle, place / size),
        "trough": lambda: trough_wall(angle, place / size),
        "corner": lambda: corner(angle, place),
        "cap": lambda: cap(depth / size),
        "foot": lambda: 2 / np.pi * corner(angle, place),
        "ring": lambda: ring_foot(size, depth, place),
    }[row["shape"]]()


def promised(row):
    """Return how near a row can be met: a place is printed to so many digits only, too."""
    near = 1.5 * half_last_digit(row["thickness"])
    if row["shape"] not in {"cone", "trough"} or "." not in row["place"]:
        return near
    half = half_last_digit(row["place"])
    ends = [closed_form(row | {"place": repr(float(row["place"]) + s * half)}) for s in (-1, 1)]
    return near + 0.5 * abs(ends[1] - ends[0])


def name_of(row):
    """Return a name for a row."""
    return "-".join(row[name] for name in ("shape", "angle_deg", "depth", "place"))


@pytest.mark.parametrize("row", BUBBLE, ids=name_of)
def test_the_closed_forms_give_the_published_values(row):
    """Cone, cylinder, cup, trough, corner, cap and foot: to a digit of the last place."""
    assert closed_form(row) == pytest.approx(float(row["thickness"]), abs=promised(row))


@pytest.mark.parametrize("row", [row for row in BUBBLE if len(row["thickness"]) > 6], ids=name_of)
def test_another_shape_is_told_apart(row):
    """A degree less of slope, or a fiftieth more of depth, is noticed."""
    changed = {"angle_deg": str(float(row["angle_deg"] or 0) - 1)}
    if row["shape"] in {"shallow", "ring", "cap"}:
        changed = {"depth": str(1.02 * float(row["depth"]))}

    off = closed_form(row | changed) - float(row["thickness"])
    assert abs(off) > 2 * promised(row)


@pytest.mark.parametrize("angle_deg", [30, 60, 80])
def test_a_covered_cone_holds_the_whole_sheet(angle_deg):
    """Thickness summed over the wall is the flat sheet, for closed form and equations."""
    angle = np.radians(angle_deg)
    along = np.linspace(0, 1 / np.cos(angle), 200_001)
    thickness = np.array([cone_wall(angle, s) for s in along[:-1]] + [0.0])
    solved = covered_wall(angle)

    kept = np.trapezoid(2 * (1 - along * np.cos(angle)) * thickness, along)
    assert kept == pytest.approx(1, abs=1e-4)
    wall = 2 * (1 - solved.along * np.cos(angle)) * solved.thickness
    kept = np.trapezoid(wall, solved.along) + solved.left[-1] ** 2
    assert kept == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize(("angle_deg", "depth", "last"), [(45, 9.5, 11), (60, 16, 14)])
def test_a_sheet_in_a_trough_is_as_thin_as_the_closed_form(angle_deg, depth, last):
    """From a twentieth of the wall on to 1 %, and half of that on the average."""
    along, thickness = on_wall(in_a_trough(angle_deg, depth), angle_deg)
    there = (along > 0.5) & (along < last)
    wanted = [trough_wall(np.radians(angle_deg), s / HALF) for s in along[there]]

    assert there.sum() > 30
    np.testing.assert_allclose(thickness[there], wanted, rtol=1e-2)
    assert abs(np.mean(thickness[there] / wanted - 1)) < 5e-3


def test_a_sheet_fills_a_square_corner_as_the_closed_form():
    """A channel as deep as half its width: wall and floor of the fillet, to 1.2 %."""
    table = in_a_trough(90, HALF)
    on_floor = np.abs(table[:, 2] + HALF) < 0.01
    wall = (table[:, 2] > -0.8 * HALF) & (table[:, 2] < -0.05 * HALF)
    fillets = np.where(on_floor, table[:, 1] + HALF, table[:, 2] + HALF)
    there = wall | (on_floor & (fillets > 0.25 * HALF))
    wanted = 2 / np.pi * np.array([corner(np.pi / 2, f / HALF) for f in fillets[there]])

    assert wall.sum() > 20
    assert (there & on_floor).sum() > 20
    np.testing.assert_allclose(table[there, 3], wanted, rtol=1.2e-2)


def test_a_sheet_fills_the_foot_of_a_ridge_as_the_closed_form():
    """As tall as the clamp is away: wall and base to 1 %, but for the edge and the last corner."""
    top = 3.0
    profile = [[-top - 1e-6, 0], [-top, HALF], [top, HALF], [top + 1e-6, 0]]
    mold = drawn_out(profile, length=0.999 * LENGTH)
    mesh = strip(2 * (top + HALF), LENGTH, n_across=65, n_along=20)
    table = across(form_sheet(mesh, mold, spec=FormingSpec(pressure_per_mm=1, pace=4)), within=3)
    wall = (np.abs(table[:, 1] - top) < 0.01) & (np.abs(table[:, 2] - 0.6 * HALF) < 0.3 * HALF)
    base = (table[:, 2] < 0.01) & (np.abs(table[:, 1] - top - 0.6 * HALF) < 0.3 * HALF)
    there = wall | base
    fillets = np.where(wall, table[:, 2], table[:, 1] - top)[there]

    assert min(wall.sum(), base.sum()) > 10
    wanted = 2 / np.pi * np.array([corner(np.pi / 2, f / HALF) for f in fillets])
    np.testing.assert_allclose(table[there, 3], wanted, rtol=1e-2)


def test_an_even_ring_bounds_a_sheet_at_the_foot_of_a_post():
    """The pull is spread over ever less sheet toward the post.

    So it is thinned most at the post: its wall is thinner than an even ring would be, down to two
    thirds of its height, and the base thicker, by up to a quarter and a tenth.
    """
    mold = turned([[0, HALF], [RADIUS, HALF], [RADIUS + 1e-6, 0]], n_around=120)
    spec = FormingSpec(pressure_per_mm=1, pace=2)
    run = form_sheet(build_round_mesh(RADIUS + HALF, n_rings=24), mold, spec=spec)
    middles = run.points_mm[run.mesh.triangles].mean(axis=1)
    away = np.hypot(*middles[:, :2].T) - RADIUS
    for low, high in ((6.5, 8), (8, 9.5)):
        for lies, fillet in ((np.abs(away) < 0.1, middles[:, 2]), (middles[:, 2] < 0.02, away)):
            here = lies & (fillet > low) & (fillet < high)
            thickness = run.mesh.areas_mm2[here].sum() / run.areas_mm2[here].sum()
            place = np.average(fillet[here], weights=run.areas_mm2[here])
            over = thickness / ring_foot(RADIUS, HALF, place) - 1
            assert -0.25 < over < -0.05 if fillet is not away else 0.02 < over < 0.1


def test_the_wrong_trough_is_told_apart():
    """Five degrees of slope, or a round hollow in place of a long one, are off by over 2 %."""
    for s in (2.0, 6.0, 10.0):
        right = trough_wall(np.radians(60), s / HALF)
        assert abs(trough_wall(np.radians(65), s / HALF) / right - 1) > 0.02
        assert abs(cone_wall(np.radians(60), s / HALF) / right - 1) > 0.02


@pytest.mark.parametrize("angle_deg", CONES)
def test_a_sheet_in_a_cone_is_as_thin_as_the_equations(angle_deg):
    """Cone and cylinder, down the wall for nine tenths of the lip's radius: to 1 %."""
    along, thickness = in_a_cone(angle_deg)
    solved = covered_wall(np.radians(angle_deg))

    assert len(along) == 8
    wanted = np.interp(along, solved.along, solved.thickness)
    np.testing.assert_allclose(thickness, wanted, rtol=1e-2)


@pytest.mark.parametrize("angle_deg", CONES)
def test_an_even_bubble_bounds_a_sheet_in_a_cone(angle_deg):
    """Thicker at the lip, coming down to the closed form, far below it in the depth."""
    along, thickness = in_a_cone(angle_deg)
    even = np.array([cone_wall(np.radians(angle_deg), s) for s in along])
    over = thickness / even - 1

    assert over[0] > 0.1
    assert over[-1] < 0.02
    assert (np.diff(over) < 0).all()
    solved = covered_wall(np.radians(angle_deg))
    deep = np.interp(1.3, solved.along, solved.thickness)
    assert deep < 0.8 * cone_wall(np.radians(angle_deg), 1.3)


@pytest.mark.parametrize("angle_deg", [60, 75])
def test_another_cone_is_told_apart(angle_deg):
    """The equations for five degrees less of slope are off by over 2 % somewhere on the wall."""
    along, thickness = in_a_cone(angle_deg)
    solved = covered_wall(np.radians(angle_deg - 5))

    off = thickness / np.interp(along, solved.along, solved.thickness) - 1
    assert np.abs(off).max() > 0.02


def test_the_middle_of_a_floor_is_as_thin_as_the_dome_that_reaches_it():
    """A shallow cup: its middle sticks as the free dome's pole, thinner than an even cap."""
    depth = 0.6 * RADIUS
    mold = turned(hollow(90, depth)[::-1], n_around=120, floor_mm=-depth)
    spec = FormingSpec(pressure_per_mm=1.0, pace=2)
    run = form_sheet(build_round_mesh(RADIUS, n_rings=24), mold, spec=spec)
    middle = run.thickness_at_points[np.argmin(np.hypot(*run.mesh.points_mm.T))]

    assert middle == pytest.approx(dome_so_high(0.6)[1].pole, rel=1e-2)
    assert middle < 0.9 * cap(0.6)


def test_the_middle_of_a_deep_floor_is_as_thin_as_the_bubble_that_reaches_it():
    """A cup twice as deep as its radius: the pole as the wall's equations have it, to 4 %."""
    solved = covered_wall(np.pi / 2)
    wanted = np.interp(1.5, solved.depth, solved.pole)
    mold = turned(hollow(90, 15.0)[::-1], n_around=120, floor_mm=-15.0)
    spec = FormingSpec(pressure_per_mm=1.0, pace=2)
    run = form_sheet(build_round_mesh(RADIUS, n_rings=32), mold, spec=spec)
    middle = run.thickness_at_points[np.argmin(np.hypot(*run.mesh.points_mm.T))]

    assert middle == pytest.approx(wanted, rel=0.04)
    assert middle < 0.5 * cone_wall(np.pi / 2, 0.5)
