"""Gauges: steps at the bend lines, points at the limits of an angle, printable and lettered."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.jigs import PRINTER
from support.strips import fold, strip

from moldgen.bend.jig.angle_gauge import AngleGaugeSpec, build_angle_gauge
from moldgen.bend.jig.mark_gauge import MarkGaugeSpec, build_mark_gauge
from moldgen.bend.strip.layout import build_layout
from moldgen.errors import SpecError
from moldgen.printing.bed import STEEPEST_DEG, steepest_overhang_deg
from moldgen.printing.bed_fit import fits_bed
from moldgen.solid.topology import topology_of

STAIRS = strip([60.0, 40.0, 50.0, 40.0], [90.0, 45.0, -90.0])


def marks(spec, **how):
    return build_mark_gauge(build_layout(spec), MarkGaugeSpec(**how), PRINTER)


def angles(spec, number=1, **how):
    return build_angle_gauge(build_layout(spec), number, AngleGaugeSpec(**how), PRINTER)


def upright_places(mesh):
    """Find every x at which a finished body has a wall across the strip."""
    normals = mesh.area_vectors_mm2 / np.maximum(mesh.areas_mm2, 1e-12)[:, None]
    wall = (np.abs(normals[:, 0]) > 1 - 1e-9) & (mesh.areas_mm2 > 1.0)
    return np.unique(mesh.corners_mm[wall][:, :, 0].round(4))


def sloping_deg(mesh):
    """Find the included angles of the points at either end of a finished plate."""
    normals = mesh.area_vectors_mm2 / np.maximum(mesh.areas_mm2, 1e-12)[:, None]
    side = (np.abs(normals[:, 2]) < 1e-9) & (mesh.areas_mm2 > 20.0)
    side &= (np.abs(normals[:, 0]) > 1e-3) & (np.abs(normals[:, 1]) > 1e-3)
    found = []
    for way in (-1, 1):
        own = normals[side & (np.sign(normals[:, 0]) == way)]
        lean = np.degrees(np.arctan2(np.abs(own[:, 0]), np.abs(own[:, 1])))
        assert np.ptp(lean) < 1e-6
        found.append(2 * float(lean[0]))
    return tuple(found)


def test_a_step_stands_at_every_bend_line():
    """On the finished triangles there is a wall at every bend center from the hook's face."""
    made = marks(STAIRS, label=False)
    found = upright_places(made.whole.mesh)
    lines = [line.center_mm for line in build_layout(STAIRS).lines]

    assert made.steps_mm == pytest.approx(lines)
    for place in (0.0, *lines):
        assert np.abs(found - place).min() < 1e-3


@settings(max_examples=15, deadline=None)
@given(
    legs=st.lists(st.floats(40, 90), min_size=2, max_size=7),
    thickness=st.floats(1, 6),
    label=st.booleans(),
)
def test_any_marking_gauge_is_closed_and_prints(legs, thickness, label):
    """Closed pieces that fit the printer, steps that get no higher from left to right."""
    spec = strip(legs, [45.0] * (len(legs) - 1), thickness_mm=thickness, radius_mm=3.0)
    made = marks(spec, label=label)

    assert all(topology_of(one.mesh).closed for one in made.bodies)
    assert all(fits_bed(one.mesh, PRINTER) for one in made.bodies)
    assert all(steepest_overhang_deg(one.mesh) <= STEEPEST_DEG for one in made.bodies)
    assert made.plate.bounds[3] <= spec.width_mm + 1e-9


def test_a_long_marking_gauge_keeps_its_lengths():
    """Split pieces butt: their lengths and the whole agree but for the tongues of the keys."""
    made = marks(strip([200.0, 220.0], [90.0]), label=False)
    lengths = sum(float(np.ptp(one.mesh.points_mm[:, 0])) for one in made.bodies)
    whole = float(np.ptp(made.whole.mesh.points_mm[:, 0]))
    long = marks(strip([350.0, 220.0], [90.0]), label=False)

    assert len(made.bodies) == 1
    assert lengths == pytest.approx(whole)
    assert len(long.bodies) == 2
    total = sum(float(np.ptp(one.mesh.points_mm[:, 0])) for one in long.bodies)
    assert total - float(np.ptp(long.whole.mesh.points_mm[:, 0])) == pytest.approx(7.0, abs=1e-6)


def test_numbers_are_sunk_into_the_face_on_the_bed():
    """Letters take plastic off below and leave the top and the steps as they were."""
    plain, told = (marks(STAIRS, label=label).whole.mesh for label in (False, True))

    assert 10.0 < plain.volume_mm3 - told.volume_mm3 < 400.0
    assert told.bounds_mm == pytest.approx(plain.bounds_mm)


@pytest.mark.parametrize("angle", [20.0, 45.0, 90.0, 120.0, 150.0])
@pytest.mark.parametrize("tolerance", [0.5, 2.0])
def test_the_points_have_the_limits_of_the_angle(angle, tolerance):
    """Measured on the triangles, the points include what the least and greatest bend leave."""
    made = angles(strip([200.0, 200.0], [angle]), tolerance_deg=tolerance, label=False)
    least, most = sloping_deg(made.bodies[0].mesh)

    assert made.limits == pytest.approx((angle - tolerance, angle + tolerance))
    assert 180 - least == pytest.approx(angle - tolerance, abs=0.1)
    assert 180 - most == pytest.approx(angle + tolerance, abs=0.1)


@pytest.mark.parametrize("angle", [20.0, 90.0, 150.0])
def test_an_angle_gauge_is_closed_prints_and_is_lettered(angle):
    """One closed plate, letters sunk into its top."""
    spec = strip([200.0, 200.0], [angle])
    plain, told = (angles(spec, label=label).bodies[0].mesh for label in (False, True))

    assert topology_of(told).closed
    assert topology_of(told).n_pieces == 1
    assert steepest_overhang_deg(told) <= STEEPEST_DEG
    assert plain.volume_mm3 - told.volume_mm3 > 20.0


def test_a_fold_is_tried_with_two_blades():
    """The thin blade goes into the gap, the thick one does not."""
    made = angles(fold(3.0), label=False)
    go, stop = made.limits
    heights = np.unique(made.bodies[0].mesh.points_mm[:, 2].round(6))

    assert go < 3.0 < stop
    assert {0.0, round(go, 6), round(stop, 6)} <= set(heights)
    assert topology_of(made.bodies[0].mesh).closed


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: marks(strip([100.0], [])), r"bends must be at least one \(got 0\)"),
        (
            lambda: marks(strip([30.0] * 7, [20.0] * 6, width_mm=12.0)),
            "width_mm must be at least 23 mm for a gauge of 6 bends",
        ),
        (lambda: angles(STAIRS, 0), "number must be that of a bend, 1 to 3"),
        (lambda: angles(STAIRS, 4), "number must be that of a bend, 1 to 3"),
        (lambda: angles(strip([400, 400], [168])), "angle_deg must be at most 166.5°"),
        (lambda: angles(fold(0.5)), "gap_mm must be at least 1 mm for a printed blade"),
        (lambda: AngleGaugeSpec(tolerance_deg=0.0), "tolerance_deg must be at least 0.25°|0.25 °"),
        (lambda: AngleGaugeSpec(side_mm=1.0), "side_mm must be at least 12 mm"),
        (lambda: MarkGaugeSpec(plate_mm=0.5), "plate_mm must be at least 2 mm"),
        (lambda: MarkGaugeSpec(step_mm=float("inf")), "step_mm must be at least 2.5 mm"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(make, match):
    """What cannot be is refused with the field and what to do."""
    with pytest.raises(SpecError, match=match):
        make()
