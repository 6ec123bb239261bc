"""What hangs while a solid is printed: closed forms, bridges, ways up, layers, warp, estimates."""

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from support.molds import SHOP
from support.printed import BED, PETG, body, box, mesh, printer, rod

from moldgen.errors import SpecError
from moldgen.mold.features import Direction
from moldgen.mold.release.layer_steps import (
    check_layer_steps,
    check_terraces,
    coarsest_layer_mm,
    wall_steps,
)
from moldgen.mold.rules import draft_rule
from moldgen.printing.orient import check_orientation, orientations, ways_up
from moldgen.printing.overhang import check_overhangs, measure_overhangs
from moldgen.printing.skin import (
    allowed_MPa,
    check_skin,
    infill_advice,
    skin_stress_MPa,
    widest_cell_mm,
)
from moldgen.printing.turn import turn_to
from moldgen.printing.warp import check_warp, end_pull_mm, measure_bed_faces, measure_first_layer
from moldgen.stock import Structure

HIPS = SHOP.plastic("HIPS")
PLATE = published("square_plate")
sizes_mm = st.floats(8, 60)


def codes(findings):
    """Return the codes of findings."""
    return [finding.code for finding in findings]


@pytest.mark.parametrize("limit_deg", [30.0, 45.0, 60.0])
def test_a_sphere_hangs_by_its_lower_cap(limit_deg):
    """The area steeper than the limit is the cap 2 pi R^2 (1 - sin limit)."""
    ball = mesh(Manifold.sphere(20.0, 256).translate((3, 4, 0)))

    found = measure_overhangs(ball, limit_deg=limit_deg)

    cap = 2 * pi * 20**2 * (1 - sin(radians(limit_deg)))
    assert found.hanging_mm2 == pytest.approx(cap, rel=0.01)
    assert found.where_mm[:2] == pytest.approx((3, 4), abs=0.1)


def test_a_cone_on_its_point_hangs_by_its_mantle_if_it_leans_too_far():
    """A cone opening at 50 degrees from upright hangs whole; one at 40 degrees not at all."""
    flat, steep = (
        mesh(Manifold.cylinder(20, 0.01, 20 * tan(radians(lean)) + 0.01, 720)) for lean in (50, 40)
    )

    found = measure_overhangs(flat)

    mantle = pi * (20 * tan(radians(50))) * 20 / cos(radians(50))
    assert found.hanging_mm2 == pytest.approx(mantle, rel=2e-3)
    assert found.worst_deg == pytest.approx(50, abs=0.05)
    assert measure_overhangs(steep).hanging_mm2 == 0


@pytest.mark.parametrize("wide", [6.0, 17.0, 40.0])
def test_a_bridge_spans_the_shorter_way_between_its_supports(wide):
    """A tunnel through a block is bridged over its width, however long it is."""
    block = box(60, 30, 20) - box(wide, 30, 10).translate((10, 0, 0))

    found = measure_overhangs(mesh(block))

    assert found.span_mm == pytest.approx(wide, abs=1e-6)
    assert found.reach_mm == 0
    assert sum(bridge.area_mm2 for bridge in found.bridges) == pytest.approx(30 * wide)
    assert found.bed_mm2 == pytest.approx(60 * 30 - 30 * wide)


def test_the_span_of_a_tunnel_is_not_its_length():
    """The largest circle would take a short tunnel's length for it; open ends hold nothing."""
    block = box(60, 12, 20) - box(40, 12, 10).translate((10, 0, 0))

    assert measure_overhangs(mesh(block)).span_mm == pytest.approx(40, abs=1e-6)


def test_a_round_pocket_is_bridged_over_its_diameter():
    """A blind hole from below spans what its circle is wide."""
    pocket = box(40, 40, 10) - rod(6, 5, 20, 20)

    assert measure_overhangs(mesh(pocket)).span_mm == pytest.approx(12, abs=0.03)


def test_a_mushroom_is_held_on_one_side_only():
    """Its brim sticks out by the difference of the radii, and no bridge is claimed."""
    mushroom = rod(5, 10) + rod(15, 5, z=10)

    found = measure_overhangs(mesh(mushroom))

    assert found.reach_mm == pytest.approx(10, abs=0.02)
    assert found.span_mm == 0
    assert codes(check_overhangs("cap", found, BED)) == ["print-cantilever"]
    assert found.needs_support_mm2(50) == pytest.approx(pi * (15**2 - 5**2), rel=2e-3)


def test_what_is_bridged_needs_no_support():
    """Up to the printer's bridge a ceiling is told but not counted, beyond it is."""
    found = measure_overhangs(mesh(box(60, 30, 20) - box(17, 30, 10).translate((10, 0, 0))))

    assert found.needs_support_mm2(17) == 0
    assert found.needs_support_mm2(16.9) == pytest.approx(510)
    assert not found.to_support(17).any()
    assert found.hanging.any()
    assert codes(check_overhangs("block", found, BED)) == ["print-bridge"]


def test_a_wall_at_the_limit_does_not_hang():
    """45 degrees print without support; a hair more does not."""
    roofs = [
        box(60, 30, 30) - Manifold.hull_points(
            np.array([(x, y, z) for y in (-1, 31) for x, z in
                      ((10, -1), (50, -1), (50, 5), (10, 5), (30, 5 + 20 / tan(radians(lean))))])
        )
        for lean in (45.0, 46.0)
    ]  # fmt: skip

    flat, steep = (measure_overhangs(mesh(roof)) for roof in roofs)

    assert flat.hanging_mm2 == 0
    assert steep.hanging_mm2 == pytest.approx(2 * 30 * 20 / sin(radians(46)), rel=1e-6)


@given(sizes_mm, sizes_mm, sizes_mm, st.floats(0, 360))
@settings(max_examples=10)
def test_turning_about_the_upright_changes_nothing(width, depth, height, turn):
    """How a part lies round on the bed is of no account."""
    solid = box(width, depth, height) - box(width / 2, depth, height / 4).translate((2, 0, 0))

    straight = measure_overhangs(mesh(solid))
    turned = measure_overhangs(mesh(solid.rotate((0, 0, turn))))

    assert turned.bed_mm2 == pytest.approx(straight.bed_mm2, rel=1e-6)
    assert turned.span_mm == pytest.approx(straight.span_mm, rel=1e-6)
    assert straight.span_mm == pytest.approx(width / 2)


def test_upside_down_is_measured_as_such():
    """The direction given is the one that points up."""
    mushroom = mesh(rod(5, 10) + rod(15, 5, z=10))

    found = measure_overhangs(mushroom, up=(0, 0, -2))

    assert found.bridges == ()
    assert found.bed_mm2 == pytest.approx(pi * 15**2, rel=2e-3)


def test_a_turn_is_a_rotation():
    """Lengths and handedness stay."""
    turn = turn_to((1.0, -2.0, 0.5))

    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1)


@pytest.mark.parametrize(
    ("given_", "match"),
    [({"up": (0, 0, 0)}, r"up must be a direction"), ({"limit_deg": 90.0}, "between 0 and 90°")],
)
def test_measuring_refuses_nonsense(given_, match):
    """A direction without length, or a limit that means nothing."""
    with pytest.raises(SpecError, match=match):
        measure_overhangs(mesh(box(10, 10, 10)), **given_)


def test_the_pilot_of_a_vent_is_no_overhang():
    """The small cone of a drill point holds itself."""
    cone = Manifold.cylinder(1.2, 2.0, 0.0, 48).translate((20, 20, 5))
    block = box(40, 40, 10) - rod(2, 5, 20, 20) - cone

    assert check_overhangs("mold", measure_overhangs(mesh(block)), BED) == ()


def test_the_best_way_up_of_a_mushroom_is_on_its_cap():
    """Laid on its brim it needs no support; the finding says so."""
    tried = orientations(mesh(rod(5, 10) + rod(15, 5, z=10)), BED)

    assert tried[0].name == "upside down"
    assert tried[0].support_mm2 == 0
    assert check_orientation("cap", tried)[0].advice == "Lay it upside down on the bed."
    assert check_orientation("cap", tried, must_stand=True) == ()


def test_what_fits_goes_before_what_does_not():
    """A tall rod on a low printer is laid down, however it would print best."""
    tried = orientations(mesh(box(20, 20, 100)), printer(150, 150, 60))

    assert tried[0].fits
    assert tried[0].height_mm == pytest.approx(20)
    assert not next(one for one in tried if one.name == "as it stands").fits


def test_eighteen_ways_up_are_tried():
    """Six sides and three tilts four ways, each a direction of length 1."""
    ways = dict(ways_up())

    assert len(ways) == 18
    assert all(np.linalg.norm(up) == pytest.approx(1) for up in ways.values())


def test_the_first_layer_is_what_stands_on_the_bed():
    """Two feet of a table: their area, and the diagonal of the longer one."""
    table = box(60, 40, 5).translate((0, 0, 10)) + box(10, 40, 10) + rod(4, 10, 50, 20)

    first = measure_first_layer(mesh(table))

    assert first.area_mm2 == pytest.approx(400 + pi * 16, rel=1e-3)
    assert first.longest_mm == pytest.approx(np.hypot(10, 40))


def test_the_longest_piece_on_the_bed_is_not_the_one_with_the_longest_box():
    """A round foot of 50 has a box of 71 across its corners; a bar of 60 is longer all the same."""
    plate = box(150, 60, 5).translate((-30, -30, 10))
    feet = rod(25, 10, sides=256) + box(60, 4, 10).translate((40, 0, 0))

    for solid in (plate + feet, plate.mirror((1, 0, 0)) + feet.mirror((1, 0, 0))):
        assert measure_bed_faces(mesh(solid)).longest_mm == pytest.approx(np.hypot(60, 4))


@given(sizes_mm, sizes_mm, st.floats(-40, 40), st.integers(1, 4))
@settings(max_examples=20)
def test_faces_on_the_bed_are_the_first_layer(width, depth, turn, feet):
    """The same area and length as a cut through the feet of a table, wherever it stands."""
    table = box(60 * feet, 60, 5).translate((0, 0, 10))
    for k in range(feet):
        table += box(width / (k + 1), depth, 10).translate((60 * k + 30, 30, 0))
    solid = mesh(table.rotate((0, 0, turn)).translate((5, -7, -3)))

    faces, cut = measure_bed_faces(solid), measure_first_layer(solid)

    assert faces.area_mm2 == pytest.approx(cut.area_mm2, rel=1e-4)
    assert faces.longest_mm == pytest.approx(cut.longest_mm, rel=1e-4)


def test_ends_pull_in_by_half_the_shrinkage():
    """200 mm of ABS from 105 to 25 degC at 90e-6 per kelvin: 0.72 mm at each end."""
    assert end_pull_mm(200, SHOP.filament("ABS")) == pytest.approx(100 * 90e-6 * 80)
    nylon = SHOP.filament("PA6")
    assert nylon.structure is Structure.CRYSTALLINE
    assert end_pull_mm(200, nylon) == pytest.approx(100 * 85e-6 * 135)


@pytest.mark.parametrize(("name", "warned"), [("PLA", False), ("PETG", False), ("ABS", True)])
def test_a_long_flat_part_warps_in_abs_and_not_in_pla(name, warned):
    """150 mm on the bed is a caution for ABS alone."""
    first = measure_first_layer(mesh(box(150, 20, 8)))

    assert bool(check_warp("rail", first, SHOP.filament(name))) is warned


@given(st.floats(0.5, 40), st.floats(0.05, 0.4))
@settings(max_examples=20)
def test_steps_close_the_triangle_of_a_layer(draft_deg, layer_mm):
    """Ledge, layer and sloping wall are a right triangle; the ridge is its altitude."""
    steps = wall_steps(draft_deg, layer_mm, plastic=HIPS)

    slope = np.hypot(layer_mm, steps.width_mm)
    assert steps.ridge_mm == pytest.approx(layer_mm * steps.width_mm / slope)


@pytest.mark.parametrize("draft_deg", [3.5, 4.0, 4.5, 6.0])
def test_the_coarsest_layer_is_the_last_that_the_rule_allows(draft_deg):
    """One hundredth more would ask for more draft."""
    layer = coarsest_layer_mm(draft_deg, plastic=HIPS)

    allowed = [draft_rule(Direction.RAISED, 10, plastic=HIPS, layer_mm=one).value
               for one in (layer, layer + 0.01)]  # fmt: skip
    assert allowed[0] <= draft_deg < allowed[1]


def test_no_layer_makes_up_for_too_little_draft():
    """Under the plastic's own draft there is none."""
    assert coarsest_layer_mm(1.0, plastic=HIPS) == 0


def test_steep_walls_and_gentle_slopes_are_told():
    """A wall of 4 degrees is grooved at 0.2 mm; a roof of 5 degrees shows terraces."""
    wall = Manifold.cylinder(20, 30, 30 - 20 * tan(radians(4)), 64)
    roof = rod(40, 5, sides=64) + Manifold.cylinder(3, 40, 40 - 3 / tan(radians(5)), 64).translate(
        (0, 0, 5)
    )

    grooved = check_layer_steps("wall", mesh(wall), plastic=HIPS, layer_mm=0.2)
    terraced = check_layer_steps("roof", mesh(roof), plastic=HIPS, layer_mm=0.2)

    assert codes(grooved) == ["print-layer-grooves"]
    assert grooved[0].measured == pytest.approx(4, abs=0.05)
    assert codes(terraced) == ["print-terraces"]
    assert terraced[0].measured == pytest.approx(0.2 / tan(radians(5)), rel=0.01)
    assert check_layer_steps("wall", mesh(wall), plastic=HIPS, layer_mm=0.05) == ()
    assert check_terraces("roof", mesh(roof), layer_mm=0.2) == terraced
    low = rod(40, 5, sides=64) + Manifold.cylinder(
        0.5, 40, 40 - 0.5 / tan(radians(5)), 64
    ).translate((0, 0, 5))
    both = mesh(low + (roof.translate((90, 0, 0))))
    assert check_terraces("low", mesh(low), layer_mm=0.2) == ()
    assert check_terraces("roof", both, layer_mm=0.2)[0].says == terraced[0].says
    assert check_terraces("wall", mesh(wall), layer_mm=0.2) == ()


def test_a_skin_over_a_square_cell_is_a_clamped_plate():
    """The published factor for clamped edges, to its last digit."""
    printed = PLATE[0]["beta"]

    assert skin_stress_MPa(1, 1, load_MPa=1) == pytest.approx(
        float(printed), abs=half_last_digit(printed)
    )


def test_a_plate_that_is_not_clamped_would_be_noticed():
    """The factor for supported edges is rejected."""
    printed = PLATE[1]["beta"]

    assert skin_stress_MPa(1, 1, load_MPa=1) != pytest.approx(
        float(printed), abs=half_last_digit(printed)
    )


def test_the_widest_cell_is_just_carried():
    """At the widest cell the stress is the allowed one; twice as wide is a finding."""
    widest = widest_cell_mm(2.0, PETG)

    assert skin_stress_MPa(widest, 2.0) == pytest.approx(allowed_MPa(PETG))
    assert check_skin("mold", span_mm=widest, skin_mm=2.0, filament=PETG) == ()
    weak = check_skin("mold", span_mm=2 * widest, skin_mm=2.0, filament=PETG)
    assert weak[0].measured == pytest.approx(4 * allowed_MPa(PETG))


@pytest.mark.parametrize("skin_mm", [0.2, 0.4, 0.8, 1.2])
def test_infill_advice_is_the_least_that_carries(skin_mm):
    """A thinner skin never asks for less, and what is advised carries and is bridged."""
    advice = infill_advice(PETG, BED, skin_mm=skin_mm)

    assert advice.enough
    assert advice.cell_mm <= BED.clean_bridge_mm
    assert advice.infill >= infill_advice(PETG, BED, skin_mm=2 * skin_mm).infill


def test_a_skin_has_a_thickness():
    """None at all is refused."""
    with pytest.raises(SpecError, match=r"skin_mm must be more than 0 mm \(got 0 mm\)\."):
        skin_stress_MPa(10, 0)


def test_bodies_of_tests_are_closed():
    """What the tests call a body is one."""
    assert body(box(1, 2, 3)).mesh.volume_mm3 == pytest.approx(6)
