"""Jig: closed, true to its angle, with room for the strip everywhere, printable and lettered."""

from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.jigs import PRINTER, SHOP, measured_deg, section
from support.strips import fold, strip

from moldgen.bend.jig.base import titled
from moldgen.bend.jig.facing import check_filament, face_degC
from moldgen.bend.jig.fitted import strip_in_jig
from moldgen.bend.jig.held import build_held
from moldgen.bend.jig.jig import JigSpec, build_jig
from moldgen.bend.jig.keyed import KEY_CLEARANCE_MM
from moldgen.bend.strip.choices import LegsBy
from moldgen.bend.strip.layout import build_layout
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.printing.bed import STEEPEST_DEG, as_used, steepest_overhang_deg
from moldgen.printing.bed_fit import fits_bed
from moldgen.printing.label import label_in
from moldgen.solid.sound import solid_from_mesh
from moldgen.solid.topology import topology_of

PLAIN = JigSpec(label=False)


def jig(spec, number=1, *, bent=(), make=PLAIN, printer=PRINTER):
    return build_jig(spec, build_layout(spec), number, make, printer, bent=bent)


def nearest_mm(made):
    """Distances from points all over the strip's outline to the finished jig, and the points."""
    solid = solid_from_mesh(made.whole.mesh, doing="testing")
    one = solid_from_mesh(strip_in_jig(made.block.held, made.spec.rail_mm).mesh, doing="testing")
    found, places = [], []
    for share in (0.05, 0.5, 0.7):
        z = made.spec.rail_mm + share * made.block.held.strip.width_mm
        outline = section(one, z).exterior
        points = shapely.get_coordinates(shapely.segmentize(outline, 0.5))
        found.append(shapely.distance(section(solid, z), shapely.points(points)))
        places.append(points)
    return np.concatenate(found), np.concatenate(places)


@st.composite
def bends(draw):
    """Draw a strip, one of its bends, and which of the others are bent before."""
    angles = draw(st.lists(st.floats(15, 120) | st.floats(-120, -15), min_size=1, max_size=3))
    spec = strip(
        [draw(st.floats(75, 110)) for _ in range(len(angles) + 1)],
        angles,
        radius_mm=draw(st.floats(2, 8)),
        thickness_mm=draw(st.floats(1.5, 5)),
        width_mm=draw(st.floats(25, 90)),
    )
    number = draw(st.integers(1, len(angles)))
    others = [k for k in range(1, len(angles) + 1) if k != number]
    return spec, number, tuple(draw(st.sets(st.sampled_from(others)) if others else st.just(())))


@settings(max_examples=20, deadline=None)
@given(case=bends(), clearance=st.sampled_from([0.1, 0.2, 0.5]))
def test_any_jig_is_closed_true_and_roomy(case, clearance):
    """One closed piece, its angle right to a tenth of a degree, the strip free in it."""
    spec, number, bent = case
    made = jig(spec, number, bent=bent, make=JigSpec(label=False, clearance_mm=clearance))
    mesh = made.whole.mesh
    topology = topology_of(mesh)
    distance, places = nearest_mm(made)
    free = places[:, 0] > -(made.fence_mm or 1e9) + clearance + 0.5

    assert topology.closed
    assert topology.n_pieces == 1
    assert mesh.volume_mm3 > 0
    assert measured_deg(made) == pytest.approx(made.pressed_deg, abs=0.1)
    assert distance[free].min() > clearance - 0.03
    assert steepest_overhang_deg(mesh) <= STEEPEST_DEG


@pytest.mark.parametrize("angle", [20.0, 45.0, 90.0, 120.0, 150.0])
@pytest.mark.parametrize("facing", [0.0, 1.0, 3.0])
def test_the_hot_faces_stand_back_by_clearance_and_facing(angle, facing):
    """The nearest the strip comes to the block is what was asked for, neither more nor less."""
    made = jig(strip([80.0, 120.0], [angle]), make=JigSpec(label=False, facing_mm=facing))
    inside = shapely.LineString(made.block.held.round_mm(made.block.held.inner_mm))
    leg = inside.coords[-1] + 15.0 * made.block.held.way
    gaps = [
        shapely.distance(made.block.former, shapely.Point(place))
        for place in (leg, (-made.block.held.half_mm - 10.0, 1.5))
    ]

    assert gaps == pytest.approx([0.2 + facing] * 2, abs=0.01)


@pytest.mark.parametrize(("hold", "leg_mm"), [("left", 80.0), ("right", 120.0)])
def test_the_fence_is_at_the_mark(hold, leg_mm):
    """The end of the strip touches the fence when the bend line is in the middle of the nose.

    From the end to the bend line: the leg less the setback of a right angle, outside radius 6 + 3
    mm, and half the length of its neutral arc, radius 6 + 3 / 2 mm.
    """
    mark = leg_mm - (6.0 + 3.0) + pi / 4 * (6.0 + 1.5)
    spec = strip([80.0, 120.0], [90.0])
    made = jig(spec, make=JigSpec(label=False, hold=hold))
    distance, places = nearest_mm(made)
    end = places[:, 0] < -made.fence_mm + 1e-6

    assert made.fence_mm == pytest.approx(mark, abs=1e-5)
    assert distance[end].max() == pytest.approx(0.0, abs=1e-6)


def test_a_shifted_strip_would_be_noticed():
    """The measure of room has teeth: half a millimeter off, the strip touches the block."""
    made = jig(strip([80.0, 120.0], [90.0]))
    distance, places = nearest_mm(made)
    solid = solid_from_mesh(made.whole.mesh, doing="testing")
    free = places[places[:, 0] > -70.0] + (0.0, 0.5)
    off = shapely.distance(section(solid, 30.0), shapely.points(free))

    # The chords of the strip itself stray by up to 0.02 mm.
    assert distance[places[:, 0] > -70.0].min() > 0.18
    assert off.min() == 0.0


def test_the_strip_lies_at_the_rail_and_fills_the_width():
    """The strip's edge is on the rail, and the block is as wide as the strip."""
    made = jig(strip([80.0, 120.0], [90.0]))
    lying = strip_in_jig(made.block.held, made.spec.rail_mm)

    assert lying.mesh.bounds_mm[:, 2] == pytest.approx([4.0, 64.0])
    assert made.whole.mesh.bounds_mm[1, 2] == pytest.approx(64.0)


@pytest.mark.parametrize("number", [1, 2])
def test_the_nose_is_as_round_as_the_pressed_bend(number):
    """Apex radius: the flat length kept, pressed further, is a little sharper than asked."""
    spec = strip([80.0, 120.0, 60.0], [90.0, -60.0])
    made = jig(spec, number, bent=[1] if number == 2 else [])
    asked = spec.bends[number - 1].angle_deg

    assert made.pressed_deg == asked + 1.0
    neutral = (6.0 + 1.5) * asked / (asked + 1.0)
    assert made.block.held.inner_mm == pytest.approx(neutral - 1.5)


def test_a_groove_over_the_bend_leaves_room_for_the_bead():
    """Half way round the nose stands back further than at its ends."""
    made = jig(strip([80.0, 120.0], [90.0]))
    arc = made.block.held.round_mm(made.block.held.inner_mm)
    gaps = [shapely.distance(made.block.former, shapely.Point(arc[k])) for k in (0, len(arc) // 2)]

    assert gaps == pytest.approx([0.2, 0.8], abs=0.02)


def test_legs_already_bent_have_room_while_the_other_swings():
    """Nothing of the jig is where the folded side passes on its way up."""
    spec = strip([60.0, 60.0, 60.0, 40.0], [90.0, -90.0, 80.0])
    made = jig(spec, 2, bent=[1, 3])
    passing = made.block.held.swept.intersection(made.block.solid)

    assert made.block.held.swept.area > 3 * made.block.held.parts[2].area
    assert passing.area < 1e-6


def test_a_leg_hooked_back_under_the_base_has_room():
    """A free side that reaches back below the held one is let out of the base."""
    spec = strip([80.0, 25.0, 70.0], [90.0, -170.0], radius_mm=2.0, legs_by=LegsBy.FLAT)
    held = jig(spec, 1, bent=[2], make=JigSpec(label=False, hold="left")).block

    assert held.held.swept.intersects(shapely.box(*held.base))
    assert held.held.swept.intersection(held.solid).area < 1e-6


def test_a_filament_needs_a_margin():
    """A face that would just not soften the filament once does so by the tenth strip."""
    acrylic, pla = SHOP.plastic("PMMA cast"), SHOP.filament("PLA")
    hot = next(t for t in range(40, 200) if face_degC(acrylic, pla, bend_degC=t) > 55.0)

    assert face_degC(acrylic, pla, bend_degC=hot) < pla.stands_degC
    assert check_filament(acrylic, pla, bend_degC=hot)[0].code == "jig-too-hot"


def test_a_weight_finds_a_level_shelf_with_lips():
    """On the block if the leg is out of the way, behind the fence if it leans over it."""
    upright, leaning = (jig(strip([80.0, 80.0], [angle])) for angle in (90.0, 135.0))

    assert upright.block.shelf_mm >= 25.0
    assert leaning.block.shelf_mm == pytest.approx(40.0)
    assert leaning.block.solid.bounds[0] < -leaning.fence_mm - 40.0


def test_a_thumb_finds_the_strip():
    """A notch through the base takes some of it away at the open side only."""
    made = jig(strip([80.0, 120.0], [90.0]))
    solid = solid_from_mesh(made.whole.mesh, doing="testing")

    assert section(solid, 60.0).area < section(solid, 40.0).area - 150.0


def test_letters_are_sunk_into_the_side():
    """The label takes a little plastic off and adds no overhang."""
    spec = strip([80.0, 120.0], [90.0])
    plain, told = jig(spec), jig(spec, make=JigSpec())
    taken = plain.whole.mesh.volume_mm3 - told.whole.mesh.volume_mm3

    assert 20.0 < taken < 400.0
    assert steepest_overhang_deg(told.whole.mesh) <= STEEPEST_DEG
    assert topology_of(told.whole.mesh).closed


def test_a_name_the_font_cannot_write_is_left_out():
    """A strip named in letters without outlines still gets the number of its bend."""
    spec = strip([80.0, 120.0], [90.0], name="\ue000")

    assert topology_of(jig(spec, make=JigSpec()).whole.mesh).closed
    assert titled("\ue000", "bend 1") == ["bend 1"]
    assert titled("tray hook", "bend 1") == ["tray hook\nbend 1", "bend 1"]


def test_a_label_stays_inside_its_room():
    """Letters keep off the edge, shrink to fit, and are given up where nothing fits."""
    room = shapely.box(0, 0, 60, 20)
    words = label_in(room, ["bend 1"])

    assert shapely.buffer(room, -1.19).contains(shapely.box(*words.bounds))
    assert label_in(shapely.box(0, 0, 5, 3), ["bend 1"]) is None
    assert label_in(shapely.box(0, 0, 2, 2), ["bend 1"]) is None


@pytest.mark.parametrize(
    ("make", "printer"), [(PLAIN, "bed-220"), (JigSpec(hold="left"), "bed-180")]
)
def test_a_long_jig_is_split_and_keyed(make, printer):
    """Every piece fits; together they are the whole but for the clearance of the keys."""
    made = jig(strip([400.0, 410.0], [90.0]), make=make, printer=SHOP.printer(printer))
    pieces = [one for one in made.bodies if "piece" in one.name]
    total = sum(one.mesh.volume_mm3 for one in pieces)
    whole = made.whole.mesh.volume_mm3

    assert len(pieces) > 1
    assert all(fits_bed(one.mesh, SHOP.printer(printer)) for one in made.bodies)
    assert all(topology_of(one.mesh).closed for one in made.bodies)
    assert 0 < whole - total < 300.0 * len(pieces)
    assert any(finding.code == "jig-in-pieces" for finding in made.findings)
    assert KEY_CLEARANCE_MM == 0.2


def test_a_wide_jig_is_split_and_pinned():
    """Wider than the printer is tall, it comes in slabs with pins that go into their holes."""
    made = jig(strip([80.0, 120.0], [90.0], width_mm=300.0))
    pins = [one for one in made.bodies if "pin" in one.name]

    assert pins
    assert all(fits_bed(one.mesh, PRINTER) for one in made.bodies)
    assert all(one.mesh.bounds_mm[0, 2] == pytest.approx(0.0, abs=1e-6) for one in made.bodies)
    assert all(steepest_overhang_deg(one.mesh) <= STEEPEST_DEG + 0.01 for one in made.bodies)


def test_bodies_lie_side_by_side():
    """No piece is over another on the bed."""
    made = jig(strip([400.0, 410.0], [90.0]))
    boxes = [shapely.box(*one.mesh.bounds_mm[:, :2].ravel()) for one in made.bodies]

    assert all(not one.intersects(two) for k, one in enumerate(boxes) for two in boxes[k + 1 :])


def test_as_used_it_stands_on_its_base():
    """Turned for use, the base is below and the rail behind."""
    made = jig(strip([80.0, 120.0], [90.0]))
    used = as_used(made.whole)

    assert used.mesh.volume_mm3 == pytest.approx(made.whole.mesh.volume_mm3)
    assert used.mesh.bounds_mm[:, 2] == pytest.approx(made.whole.mesh.bounds_mm[:, 1])
    assert used.mesh.bounds_mm[1, 1] == pytest.approx(0.0, abs=1e-9)


def test_the_leg_without_bends_is_held():
    """The side whose end is straight is held, so that there is a fence."""
    spec = strip([80.0, 120.0, 60.0], [90.0, 110.0])

    assert not jig(spec, 2, bent=[1]).block.held.left
    assert jig(spec, 1, bent=[2]).block.held.left
    assert jig(spec, 1, bent=[2]).marks_up


def test_a_leg_that_hangs_below_is_told():
    """A leg bent the other way on the held side needs the edge of the bench."""
    spec = strip([60.0, 80.0, 80.0], [-90.0, 90.0])
    made = jig(spec, 2, bent=[1], make=JigSpec(label=False, hold="left"))
    codes = [finding.code for finding in made.findings]

    assert "jig-leg-hangs" in codes
    assert "jig-without-fence" in codes


def test_the_same_jig_has_the_same_triangles():
    """Building twice gives the same numbers, bit for bit."""
    spec = strip([80.0, 120.0], [90.0])
    one, two = jig(spec, make=JigSpec()), jig(spec, make=JigSpec())

    assert np.array_equal(one.whole.mesh.points_mm, two.whole.mesh.points_mm)
    assert np.array_equal(one.whole.mesh.triangles, two.whole.mesh.triangles)


def test_hot_acrylic_softens_a_weak_filament():
    """Acrylic at its forming heat is too much for PLA and not for PC; a facing settles it."""
    acrylic = SHOP.plastic("PMMA cast")
    weak, strong = SHOP.filament("PLA"), SHOP.filament("PC")
    found = check_filament(acrylic, weak)

    assert found[0].code == "jig-too-hot"
    assert found[0].severity is Severity.CAUTION
    assert check_filament(acrylic, strong) == ()
    assert check_filament(acrylic, weak, facing_mm=1.0)[0].severity is Severity.NOTE
    assert check_filament(acrylic, weak, bend_degC=45.0) == ()


def test_a_face_gets_no_hotter_than_the_strip():
    """The face lies between the room and the strip, and rises with the strip."""
    acrylic, pla = SHOP.plastic("PMMA cast"), SHOP.filament("PLA")

    assert 25.0 < face_degC(acrylic, pla) < acrylic.forming_degC
    assert face_degC(acrylic, pla, bend_degC=180.0) > face_degC(acrylic, pla, bend_degC=140.0)
    assert pla.stands_degC == pla.softens_degC
    assert SHOP.filament("PA6").stands_degC == SHOP.filament("PA6").deflection_degC


def test_any_held_side_lies_in_the_frame():
    """Held left or right, marks up or down, the strip runs left and folds up."""
    for angle in (70.0, -70.0):
        spec = strip([80.0, 120.0], [angle])
        for hold in ("left", "right"):
            held = build_held(spec, build_layout(spec), 1, hold=hold)
            assert held.parts[0].bounds[2] < 0 < held.parts[2].bounds[1]
            assert held.marks_up == (angle > 0)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: jig(strip([80, 120], [90]), 2), "number must be that of a bend, 1 to 1"),
        (lambda: jig(strip([80, 120], [90]), 0), "number must be that of a bend, 1 to 1"),
        (lambda: jig(strip([80, 120], [90]), bent=[1]), "bent must be numbers of other bends"),
        (lambda: jig(strip([80, 120], [90]), bent=[7]), "bent must be numbers of other bends"),
        (lambda: jig(fold()), "angle_deg must be at most 165° with its overbend"),
        (lambda: jig(strip([400, 400], [165])), "angle_deg must be at most 165°"),
        (
            lambda: jig(strip([80, 120], [90]), make=JigSpec(hold="middle")),
            "hold must be left or right",
        ),
        (lambda: JigSpec(clearance_mm=0.0), "clearance_mm must be at least 0.05 mm"),
        (lambda: JigSpec(clearance_mm=2.0), "clearance_mm must be at least 0.05 mm and at most 1"),
        (lambda: JigSpec(face_mm=5.0), "face_mm must be at least 15 mm"),
        (lambda: JigSpec(base_mm=1.0), "base_mm must be at least 6 mm"),
        (lambda: JigSpec(facing_mm=-1.0), "facing_mm must be at least 0 mm"),
        (lambda: JigSpec(rail_mm=float("nan")), "rail_mm must be at least 2 mm"),
        (lambda: JigSpec(relief_mm=9.0), "relief_mm must be at least 0 mm and at most 3 mm"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(make, match):
    """What cannot be is refused with the field and what to do."""
    with pytest.raises(SpecError, match=match):
        make()
