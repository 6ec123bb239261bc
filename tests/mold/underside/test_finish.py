"""Cutters of known size, bodies cut in one go, and their Euler numbers."""

from math import pi, radians, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box
from support.check_solids import block
from support.molds import (
    SHOP,
    VENTS,
    disc,
    plain,
    plate,
    ring,
    screw_tray,
    tide_sign,
    wall,
    whole,
    word,
)
from support.some import some

from moldgen.errors import GeometryError, SpecError
from moldgen.mold.build import build_raw_mold
from moldgen.mold.choices import UndersideKind
from moldgen.mold.features import Feature
from moldgen.mold.underside.cut import (
    DRILL_POINT_DEG,
    OVERSHOOT_MM,
    BoreSpec,
    Opening,
    below,
    cut_underside,
    euler_of_region,
    finish_body,
    vent_tool,
)
from moldgen.mold.underside.underside import Underside, UndersideSpec, build_underside
from moldgen.mold.vents.vent import LowPlace, Reason, Vent, VentSpec
from moldgen.solid.sound import mesh_from_solid
from moldgen.solid.topology import topology_of

PRINTED = VentSpec(diameter_mm=2.0)
BORE = BoreSpec()


def vent(z=10.0, diameter=1.0, x=0.0, y=0.0, bore_mm=None):
    """Return a vent."""
    low = LowPlace(x_mm=x, y_mm=y, z_mm=z, gap_mm=2, air_mm3=50, reason=Reason.POCKET)
    return Vent(
        name="V1", x_mm=x, y_mm=y, z_mm=z, diameter_mm=diameter, feature="f", low=low,
        bore_mm=bore_mm,
    )  # fmt: skip


def cylinder_mm3(diameter, height):
    """Return the volume of a cylinder."""
    return pi / 4 * diameter**2 * height


def cone_mm3(diameter, height):
    """Return the volume of a cone."""
    return cylinder_mm3(diameter, height) / 3


@given(st.floats(4, 60), st.floats(1.5, 3.0), st.floats(3.5, 10))
@settings(max_examples=30, deadline=None)
def test_a_stepped_bore_has_its_volume(z, diameter, bore):
    """A printed vent is a bore up to its land and a hole, wider by what printing takes, beyond."""
    tool = vent_tool(vent(z, diameter), BoreSpec(bore_mm=bore), chord_mm=1e-4)
    step = z - BORE.land_mm
    exact = cylinder_mm3(bore, step + 1) + cylinder_mm3(
        diameter + BORE.undersize_mm, BORE.land_mm + OVERSHOOT_MM
    )

    assert tool.volume() == pytest.approx(exact, rel=5e-4)


@given(st.floats(3.5, 60), st.floats(1.0, 12))
@settings(max_examples=30, deadline=None)
def test_a_pilot_has_its_volume(z, bore):
    """A pilot is a bore that ends in the cone of a drill point, its apex under the skin."""
    tool = vent_tool(vent(z), BoreSpec(bore_mm=bore), chord_mm=1e-4)
    cone = bore / 2 / tan(radians(DRILL_POINT_DEG / 2))
    apex = z - BORE.skin_mm
    exact = cylinder_mm3(bore, apex - cone + 1) + cone_mm3(bore, cone)
    if apex - cone < -1:  # the bore is so wide that only a part of the cone is above its start
        exact = cone_mm3(2 * (apex + 1) * tan(radians(DRILL_POINT_DEG / 2)), apex + 1)

    assert tool.volume() == pytest.approx(exact, rel=5e-4)
    assert tool.bounding_box()[5] == pytest.approx(apex, abs=1e-7)


def test_bores_of_a_circle_stay_within_the_chord():
    """The polygon of a hole loses no more of its diameter than twice the chord tolerance."""
    tool = vent_tool(vent(10, 1.6), BORE)
    top = tool.slice(10.0).to_polygons()[0]
    middles = (top + np.roll(top, -1, axis=0)) / 2

    assert np.hypot(*top.T).max() == pytest.approx(0.9, abs=1e-7)
    assert np.hypot(*middles.T).min() >= 0.9 - 0.01


def test_tools_are_of_one_piece():
    """No cutter has a seam inside: a seam between bore and cone once left closed hollows."""
    for z in np.linspace(3.0, 25.0, 23):
        for diameter in (1.0, 2.0):
            mesh = mesh_from_solid(vent_tool(vent(z, diameter), BORE))
            top = topology_of(mesh)
            assert (top.n_pieces, top.euler) == (1, 2)


def test_opening_follows_the_printer():
    """Holes as fine as the printer makes are printed; finer ones become pilots."""
    openings = [BORE.opening(vent(diameter=d)) for d in (1.49, 1.5, 3.0)]

    assert openings == [Opening.DRILLED, Opening.PRINTED, Opening.PRINTED]


def test_a_lesser_bore_is_bored():
    """A vent with a bore of its own gets it."""
    narrow, usual = vent(bore_mm=2.0), vent()

    assert vent_tool(narrow, BORE).volume() < 0.4 * vent_tool(usual, BORE).volume()


def test_a_thin_plate_is_holed_straight():
    """Where the land is as thick as the plate there is no wide bore, only the hole."""
    tool = vent_tool(vent(1.8, 2.0), BORE, chord_mm=1e-4)

    assert tool.volume() == pytest.approx(cylinder_mm3(2.2, 1.8 + 1 + OVERSHOOT_MM), rel=5e-4)


def test_a_pilot_leaves_a_skin():
    """In a plate of 3 mm on channels the pilot's point is above the channel and under the skin."""
    solid = block(30, 30, 3.0)
    under = build_underside(plate(30, 30, 1), [vent(3.0)], UndersideSpec())
    cut = cut_underside(solid, under, [vent_tool(vent(3.0), BORE)])
    ray = np.array([0.0, 0.0])
    mesh = mesh_from_solid(cut)
    over = mesh.points_mm[np.hypot(*(mesh.points_mm[:, :2] - ray).T) < 1e-9, 2]

    assert over.max() == pytest.approx(2.2, abs=1e-7)
    assert over.max() > under.spec.depth_mm


def test_below_is_the_region_to_its_depth():
    """A region with a hole is cut from under the table up to its depth, no higher."""
    region = ring(20, 12)
    tool = below(region, 1.2)

    assert tool.volume() == pytest.approx(region.area * 2.2, rel=1e-9)
    assert tool.bounding_box()[2::3] == pytest.approx((-1.0, 1.2))


def test_cutting_takes_exactly_what_lies_in_the_mold():
    """A block loses its channels' area times their depth."""
    solid = block(60, 40, 10)
    region = MultiPolygon([box(-20, -10, 5, 12)])
    spec = UndersideSpec()
    cut = cut_underside(solid, Underside(region, MultiPolygon(), spec), [])

    assert solid.volume() - cut.volume() == pytest.approx(region.area * spec.depth_mm, rel=1e-9)


def test_nothing_to_cut():
    """A flat mold without vents comes back as it was."""
    solid = block(20, 20, 5)
    flat = Underside(MultiPolygon(), MultiPolygon(), UndersideSpec(kind=UndersideKind.FLAT))

    assert cut_underside(solid, flat, []) is solid


BODIES = {
    "sign": tide_sign,
    "tray": screw_tray,
    "ring": lambda: plain(ring(45, 25), 12),
    "letters": lambda: plain(word("BOA", 45), 14),
    "badge": lambda: Feature(name="badge", region=disc(6), wall=wall(4), children=(
        Feature(name="o", region=word("o", 5),
                wall=wall(1.5, top_radius_mm=0.3, base_radius_mm=0.3)),)),
}  # fmt: skip
MARKS = {
    "lines": ("tide", "HIPS 1.5 mm"), "arrow": True, "insert": SHOP.insert("M4", "nut"),
    "pry_slots": True,
}  # fmt: skip


@pytest.mark.parametrize("kind", [UndersideKind.RELIEF, UndersideKind.FEET, UndersideKind.FLAT])
@pytest.mark.parametrize("vents", [VENTS, PRINTED])
@pytest.mark.parametrize("name", BODIES)
def test_finished_bodies(name, vents, kind):
    """Every body is closed, one piece each, without slivers, and its Euler number is foretold."""
    made = whole(BODIES[name](), vents=vents, under=UndersideSpec(kind=kind), **MARKS)
    raw_least = made.raw.meshes[0].areas_mm2.min()

    assert made.finished.euler_measured == made.finished.euler_foretold
    assert len(made.finished.bodies) == len(made.root.outer.geoms)
    for body in made.finished.bodies:
        top = topology_of(body.mesh)
        assert top.closed
        assert len(top.degenerate) == 0
        assert (top.n_pieces, (top.volumes_mm3 > 0).all()) == (1, True)
        assert body.mesh.areas_mm2.min() > min(0.5 * raw_least, 1e-9)


def least_lean(mesh, above_mm):
    """Return the least lean of any triangle that faces up and lies above a height, as a sine."""
    z = mesh.corners_mm[..., 2].min(axis=1)
    big = (mesh.areas_mm2 > 1e-4) & (z > above_mm) & (mesh.area_vectors_mm2[:, 2] > 1e-9)
    return (mesh.area_vectors_mm2[big, 2] / mesh.areas_mm2[big]).min()


@pytest.mark.parametrize("name", ["sign", "tray"])
def test_the_top_is_not_touched(name):
    """Cutting from below leaves the upper side: the same corners, the same lean, the same top."""
    made = whole(BODIES[name](), vents=PRINTED)
    before, after = made.raw.meshes[0], made.finished.bodies[0].mesh
    spots = np.array([(v.x_mm, v.y_mm) for v in made.vents.vents])
    old, new = (np.round(mesh.points_mm[mesh.points_mm[:, 2] > 2.0], 6) for mesh in (before, after))
    kept = {tuple(p) for p in new}
    lost = np.array([p for p in old if tuple(p) not in kept]).reshape(-1, 3)
    fresh = np.array(sorted(kept - {tuple(p) for p in old}))

    # What is lost are corners that nearly coincide with others; what is new are the bores.
    assert len(lost) < 0.01 * len(old)
    away = np.hypot(*(fresh[:, None, :2] - spots[None]).T).min(axis=0)
    assert away.max() <= made.bore.bore_mm / 2 + 1e-3
    assert least_lean(after, 2.0) >= least_lean(before, 2.0) - 1e-4
    assert after.points_mm[:, 2].max() == before.points_mm[:, 2].max()


def test_euler_counts_vents_and_holes():
    """A printed vent takes two off, a pilot nothing, a hole of the outline two."""
    ring_body, vents = plain(ring(45, 20), 12), [vent(12, 2.0, 32, 0), vent(12, 2.0, 0, 32)]
    raw = build_raw_mold([ring_body])
    under = build_underside(raw.plans[0].outer, vents, UndersideSpec())
    pilots = [vent(12, 1.0, 32, 0)]
    holed, pilot = (
        finish_body(raw.plans[0], raw.meshes[0], under, vents=own, bore=BORE)
        for own in (vents, pilots)
    )

    assert (holed.euler_foretold, holed.euler_measured) == (-4, -4)
    assert (pilot.euler_foretold, pilot.euler_measured) == (0, 0)
    assert euler_of_region(raw.plans[0].outer) == 0
    assert euler_of_region(MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)])) == 2


def test_a_blocked_vent_shows_in_the_euler_number():
    """A vent that does not come through is caught by the foretold Euler number."""
    raw = build_raw_mold([plain(plate(50, 40), 12)])
    under = build_underside(raw.plans[0].outer, [], UndersideSpec(kind=UndersideKind.FLAT))
    short = vent(6, 2.0)
    made = finish_body(raw.plans[0], raw.meshes[0], under, vents=[short], bore=BORE)

    assert made.euler_foretold == 0
    assert made.euler_measured == 2


def test_letters_become_bodies_from_left_to_right():
    """Each letter is a body, numbered as it is read; a lone one keeps the plain name."""
    made = whole(plain(word("BOA", 45), 14))
    starts = [b.mesh.bounds_mm[0, 0] for b in made.finished.bodies]

    assert [b.name for b in made.finished.bodies] == ["body 1", "body 2", "body 3"]
    assert starts == sorted(starts)
    assert [b.name for b in whole(screw_tray()).finished.bodies] == ["tray"]


def test_volume_left_is_what_was_not_cut():
    """The finished body weighs the raw one less channels, air notches, pilots, label and pocket."""
    made = whole(screw_tray(), **MARKS)
    spec, bore = made.underside.spec, made.bore
    raw = made.raw.meshes[0].volume_mm3
    airways = made.underside.channels.area * spec.depth_mm
    only_air_notches = made.underside.air_notches.difference(made.underside.channels)
    air_notches = only_air_notches.intersection(made.root.outer).area * spec.air_notch_mm
    label = made.marking.label.area * 0.6
    pocket = made.marking.pocket.area * made.marking.pocket_depth_mm
    slots = made.marking.slots.intersection(made.root.outer).area * 1.5
    cone = bore.bore_mm / 2 / tan(radians(DRILL_POINT_DEG / 2))
    pilots = sum(
        cylinder_mm3(bore.bore_mm, v.z_mm - bore.skin_mm - cone - spec.depth_mm)
        + cone_mm3(bore.bore_mm, cone)
        for v in made.vents.vents
    )
    left = raw - airways - air_notches - label - pocket - slots - pilots

    assert made.finished.bodies[0].mesh.volume_mm3 == pytest.approx(left, rel=5e-4)


def test_same_body_same_triangles():
    """Finishing twice gives the same triangles to the last bit."""
    first, second = (whole(screw_tray(), **MARKS).finished.bodies[0].mesh for _ in range(2))

    np.testing.assert_array_equal(first.points_mm, second.points_mm)
    np.testing.assert_array_equal(first.triangles, second.triangles)


def test_nothing_left_is_refused():
    """A cutter that swallows the body is refused with what was being done."""
    with pytest.raises(GeometryError, match=r"^Cutting the underside left no solid\.$"):
        cut_underside(
            block(10, 10, 3),
            Underside(MultiPolygon(), MultiPolygon(), UndersideSpec()),
            [below(MultiPolygon([box(-9, -9, 9, 9)]), 5.0)],
        )


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("bore_mm", 0), ("bore_mm", 13), ("land_mm", -1), ("skin_mm", 0), ("undersize_mm", 2),
        ("least_hole_mm", 0), ("skin_mm", float("nan")),
    ],
)  # fmt: skip
def test_bad_input(field, value):
    """A bore out of its range is refused by name."""
    with pytest.raises(SpecError, match=f"^{field} must be "):
        BoreSpec(**{field: value})


def test_a_bore_meets_its_mouth():
    """Each mouth in the channels is wider than its bore, so their edges never nearly coincide."""
    made = whole(tide_sign())
    for one in some(made.vents.vents):
        bore = Point(one.x_mm, one.y_mm).buffer((one.bore_mm or BORE.bore_mm) / 2, quad_segs=32)
        assert shapely.buffer(made.underside.channels, -0.1).covers(bore)
