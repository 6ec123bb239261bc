"""Hollowing, edits of a brought part, vents into a finished mold, measures of a part."""

from math import radians, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from support.molds import MACHINE, build_raw_mold, screw_tray, tide_sign
from support.printed import BED, PETG, SHOP, body, box, mesh, opened, rod

from moldgen.errors import GeometryError, SpecError
from moldgen.mold.air.added_vents import vent_mold
from moldgen.mold.checks import Case
from moldgen.mold.checks.rays import targets
from moldgen.mold.underside.cut import BoreSpec, Opening, vent_tool
from moldgen.mold.underside.underside import UndersideSpec
from moldgen.mold.vents.vent import VentSpec
from moldgen.pipeline.printing.facts import measure_part
from moldgen.printing.cells import STEEP, HollowSpec
from moldgen.printing.choices import Axis
from moldgen.printing.edits import (
    cut_flat,
    mirror,
    scale,
    scale_to_length,
    set_down,
    thicken_base,
    turn,
    underside_of,
)
from moldgen.printing.hollow import PASSAGE_MM, _shut, hollow, hollow_spec
from moldgen.printing.overhang import check_overhangs, measure_overhangs
from moldgen.solid.mesh import Body
from moldgen.solid.slices import region_at, solid_of
from moldgen.solid.topology import topology_of
from moldgen.stock import Sheet

TRAY = Body("tray", build_raw_mold([screw_tray()]).meshes[0])
SIGN = Body("sign", build_raw_mold([tide_sign()]).meshes[0])
LEVEL = HollowSpec(cell_mm=10, skin_mm=2, rib_mm=2, bridge_mm=10, passages=False)


def codes(findings):
    """Return the codes of findings."""
    return [finding.code for finding in findings]


def gap_mm(solid, hollowed, look_mm):
    """Return the least distance from the hollows to what lies outside a solid."""
    low, high = np.reshape(solid.bounding_box(), (2, 3))
    around = Manifold.cube((*(high - low + 20)[:2], (high - low)[2] + 10)).translate(
        (*(low - 10)[:2], low[2])
    )
    return (around - solid).min_gap(solid - hollowed, look_mm)


def test_a_box_is_hollowed_by_a_closed_form():
    """Five by three level cells of 10 mm, 2 mm under a lid: just their volume is gone."""
    block = body(box(5 * 12 + 2, 3 * 12 + 2, 20))

    found = hollow(block, spec=LEVEL)

    assert len(found.cells) == 15
    assert found.saved_mm3 == pytest.approx(15 * 10 * 10 * 18, rel=1e-6)
    assert found.body.mesh.volume_mm3 == pytest.approx(62 * 38 * 20 - 15 * 1800, rel=1e-6)


def test_a_wide_cell_gets_a_sloped_roof_of_known_volume():
    """A column under the frustum of a pyramid, its level part as wide as the bridge."""
    block = body(box(24, 24, 40))
    spec = HollowSpec(cell_mm=20, skin_mm=2, rib_mm=2, bridge_mm=8, passages=False)

    found = hollow(block, spec=spec)

    rise = STEEP * 6
    frustum = rise / 3 * (20**2 + 8**2 + 20 * 8)
    assert found.saved_mm3 == pytest.approx(20 * 20 * (38 - rise) + frustum, rel=1e-4)
    assert measure_overhangs(found.body.mesh).span_mm == pytest.approx(8, abs=0.01)


def test_passages_join_neighbors():
    """Each rib between two cells loses its foot, as wide and tall as stated."""
    block = body(box(2 * 12 + 2, 14, 20))
    spec = HollowSpec(cell_mm=10, skin_mm=2, rib_mm=2, bridge_mm=10)

    found = hollow(block, spec=spec)

    wide, tall = PASSAGE_MM
    assert found.saved_mm3 == pytest.approx(2 * 1800 + 2 * wide * tall, rel=1e-6)
    assert found.findings == ()


@pytest.mark.parametrize("part", [TRAY, SIGN], ids=["tray", "sign"])
@pytest.mark.parametrize("skin_mm", [1.5, 2.5])
def test_the_shell_of_a_mold_is_nowhere_thinner(part, skin_mm):
    """The least distance from any hollow to the outside is the skin, by the modeler's measure."""
    spec = HollowSpec(cell_mm=16, skin_mm=skin_mm)

    found = hollow(part, spec=spec)

    assert found.cells
    gap = gap_mm(solid_of(part.mesh), solid_of(found.body.mesh), 2 * skin_mm)
    assert gap >= skin_mm - 1e-5
    assert topology_of(found.body.mesh).closed


def test_looks_straight_inward_meet_no_wall_nearer_than_the_skin():
    """Rays from the forming surface inward go at least the skin's way."""
    found = hollow(TRAY, spec=HollowSpec(cell_mm=16, skin_mm=2))
    shell = found.body.mesh
    flat = np.abs(shell.area_vectors_mm2[:, 2]) > 0.3 * shell.areas_mm2
    up = flat & (shell.area_vectors_mm2[:, 2] > 0) & (shell.areas_mm2 > 1e-3)
    normals = shell.area_vectors_mm2[up] / shell.areas_mm2[up, None]
    start = shell.corners_mm[up].mean(axis=1) - 1e-6 * normals

    away, _ = targets(shell.corners_mm).hits(start, -normals, 30.0)

    assert up.sum() > 50
    assert away.min() >= 2 - 1e-4


def test_a_hollowed_mold_prints_without_support():
    """Its roofs are bridged or steep, its passages too."""
    found = hollow(TRAY, spec=hollow_spec(BED))

    assert check_overhangs("tray", measure_overhangs(found.body.mesh), BED) == ()


@given(st.floats(20, 60), st.floats(20, 60), st.floats(8, 40), st.floats(1, 4))
@settings(max_examples=8)
def test_a_thicker_skin_never_saves_more(width, depth, height, skin_mm):
    """And what is saved is what is missing."""
    block = body(box(width, depth, height))

    thin, thick = (
        hollow(block, spec=HollowSpec(skin_mm=skin, cell_mm=12, bridge_mm=12, passages=False))
        for skin in (skin_mm, skin_mm + 1)
    )

    assert thick.saved_mm3 <= thin.saved_mm3 * (1 + 1e-9)
    left = thin.body.mesh.volume_mm3
    assert left + thin.saved_mm3 == pytest.approx(width * depth * height)


def test_too_small_a_part_stays_solid():
    """Nothing is cut, and the finding says why."""
    block = body(box(6, 6, 6))

    found = hollow(block)

    assert found.body is block
    assert codes(found.findings) == ["hollow-no-room"]


def test_a_weak_skin_is_told():
    """A thin lid over a wide cell may break."""
    spec = HollowSpec(skin_mm=0.8, cell_mm=40, bridge_mm=40)

    found = hollow(body(box(50, 50, 30)), spec=spec, filament=PETG)

    assert "print-skin-weak" in codes(found.findings)


def test_an_open_mesh_is_not_hollowed():
    """It has no inside."""
    with pytest.raises(GeometryError, match="shell is not a closed solid"):
        hollow(Body("shell", opened(box(30, 30, 30))))


@given(st.floats(10, 300), st.floats(10, 300))
@settings(max_examples=15)
def test_a_measured_length_comes_out_as_it_should(measured_mm, wanted_mm):
    """An edge of 25 mm is scaled as the measure is, and volumes by the cube."""
    edge = body(box(25, 10, 5))

    made = scale_to_length(edge, wanted_mm, measured_mm=measured_mm)

    factor = wanted_mm / measured_mm
    assert np.ptp(made.mesh.points_mm, axis=0) == pytest.approx(
        [25 * factor, 10 * factor, 5 * factor]
    )
    assert made.mesh.volume_mm3 == pytest.approx(1250 * factor**3)


def test_without_a_measure_the_longest_side_is_meant():
    """25 mm become 63."""
    made = scale_to_length(body(box(10, 25, 5)), 63)

    assert np.ptp(made.mesh.points_mm, axis=0) == pytest.approx([10 * 2.52, 63, 5 * 2.52])


@pytest.mark.parametrize("axis", list(Axis))
def test_mirroring_keeps_place_and_volume_and_twice_is_nothing(axis):
    """The box stays, the surface looks outward, and the mirror image is another."""
    once = mirror(TRAY, axis)

    assert once.mesh.bounds_mm == pytest.approx(TRAY.mesh.bounds_mm)
    assert once.mesh.volume_mm3 == pytest.approx(TRAY.mesh.volume_mm3)
    assert mirror(once, axis).mesh.points_mm == pytest.approx(TRAY.mesh.points_mm)
    assert not np.allclose(once.mesh.points_mm, TRAY.mesh.points_mm)


def test_cutting_flat_leaves_a_frustum():
    """Of a cone cut at 40 % of its height the rest stands on the table."""
    cone = body(Manifold.cylinder(50, 20, 0.001, 256))

    made = cut_flat(cone, 20)

    assert made.mesh.bounds_mm[:, 2] == pytest.approx([0, 30])
    assert made.mesh.volume_mm3 == pytest.approx(cone.mesh.volume_mm3 * 0.6**3, rel=1e-3)


def test_a_thicker_base_adds_its_outline_times_the_amount():
    """With its holes; what stands on it is lifted and otherwise as it was."""
    part = body(box(40, 30, 10) - rod(4, 12, 20, 15, -1))

    made = thicken_base(part, 3)

    assert made.mesh.volume_mm3 - part.mesh.volume_mm3 == pytest.approx(
        3 * underside_of(part.mesh).area
    )
    assert underside_of(made.mesh).area == pytest.approx(underside_of(part.mesh).area)
    assert made.mesh.bounds_mm[:, 2] == pytest.approx([0, 13])
    assert topology_of(made.mesh).closed


def test_turning_lays_a_side_up():
    """X up: the length becomes the height, and it stands on the table."""
    made = turn(body(box(30, 20, 10).translate((5, 5, 5))), up=(1, 0, 0))

    assert made.mesh.bounds_mm[:, 2] == pytest.approx([0, 30])
    assert made.mesh.volume_mm3 == pytest.approx(6000)


@pytest.mark.parametrize(
    ("edit", "match"),
    [
        (lambda: scale(TRAY, 0.0), r"factor must be more than 0\.001"),
        (lambda: scale_to_length(TRAY, 0.0), r"length must be more than 0 mm"),
        (lambda: scale_to_length(TRAY, 5.0, measured_mm=-1.0), r"measured must be more than 0 mm"),
        (lambda: cut_flat(TRAY, 20.0), r"cut must be between 0 and 20\.0 mm \(got 20 mm\)"),
        (lambda: thicken_base(TRAY, 0.0), r"thicken must be more than 0 mm"),
        (
            lambda: thicken_base(body(Manifold.sphere(10)), 2.0),
            r"thicken must be used on a part with a level underside",
        ),
        (lambda: turn(TRAY, up=(0, 0, 0)), r"up must be a direction"),
    ],
)
def test_edits_refuse_nonsense(edit, match):
    """One sentence each: what, and what to do."""
    with pytest.raises(SpecError, match=match):
        edit()


def vented_tray(grooves=None, diameter_mm=1.6):
    """Return a tray with vents."""
    return vent_mold(TRAY, VentSpec(diameter_mm=diameter_mm), bore=BoreSpec(), grooves=grooves)


@pytest.mark.parametrize("grooves", [None, UndersideSpec()], ids=["bored", "grooved"])
def test_the_surface_outside_the_bores_is_unchanged(grooves):
    """Every corner of the forming surface beside the bores is where it was, to 1e-6 mm."""
    found = vented_tray(grooves)
    before, after = TRAY.mesh.points_mm, found.body.mesh.points_mm
    bored = shapely.union_all([shapely.Point(v.x_mm, v.y_mm).buffer(2.1) for v in found.vents])
    own = (before[:, 2] > 1.3) & ~shapely.contains_xy(bored, before[:, :2])

    tree = shapely.STRtree(shapely.points(after[:, :2]))
    pairs = tree.query(shapely.points(before[own][:, :2]), predicate="dwithin", distance=1e-6)
    same = np.abs(before[own][pairs[0]] - after[pairs[1]]).max(axis=1) < 1e-6

    assert own.sum() > 1000
    assert len(np.unique(pairs[0][same])) == own.sum()


def test_what_is_gone_is_in_the_bores():
    """The mold with its bores filled again is the mold that was brought."""
    found = vented_tray()
    tools = [vent_tool(vent, BoreSpec()) for vent in found.vents]
    gone = solid_of(TRAY.mesh) - solid_of(found.body.mesh)

    for tool in tools:
        gone = gone - tool
    assert len(found.vents) >= 6
    assert gone.volume() == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("grooves", [None, UndersideSpec()], ids=["bored", "grooved"])
def test_bores_reach_the_underside_and_the_surface(grooves):
    """Under every vent the table shows, and a printed one goes all the way through."""
    found = vented_tray(grooves)
    solid = solid_of(found.body.mesh)

    assert all(BoreSpec().opening(vent) is Opening.PRINTED for vent in found.vents)
    for vent in found.vents:
        at = shapely.Point(vent.x_mm, vent.y_mm)
        for z in (0.05, 1.0, vent.z_mm - 1.0, vent.z_mm - 0.05):
            assert not region_at(solid, z).intersects(at.buffer(0.7))
    if grooves:
        channels = found.underside.airways
        assert all(channels.buffer(0.01).covers(shapely.Point(v.x_mm, v.y_mm)) for v in found.vents)


def test_vents_stand_at_the_low_places():
    """In the corners of both compartments, on their floors; none on the rim or the table."""
    vents = vented_tray().vents

    floors = {round(vent.z_mm) for vent in vents}
    assert floors == {5, 11}
    assert [vent.name for vent in vents] == [f"V{n}" for n in range(1, len(vents) + 1)]


def test_narrow_vents_are_left_to_the_drill():
    """Their pilots end under the surface."""
    found = vented_tray(diameter_mm=0.8)

    assert found.vents
    for vent in found.vents:
        at = shapely.Point(vent.x_mm, vent.y_mm)
        assert region_at(solid_of(found.body.mesh), vent.z_mm - 0.3).covers(at.buffer(0.3))


def test_vents_open_into_hollows():
    """A mold that was hollowed first is vented into its hollows."""
    hollowed = hollow(TRAY, spec=hollow_spec(BED, skin_mm=2)).body

    found = vent_mold(hollowed, VentSpec(diameter_mm=1.6), bore=BoreSpec())

    assert len(found.vents) >= 6
    assert topology_of(found.body.mesh).closed


def test_a_low_place_without_room_for_a_bore_is_told():
    """A groove along a fin too thin for any bore; the floor beside the fin gets its vents."""
    fin = box(50, 3.4, 20).translate((5, 18, 0)) - box(40, 1.4, 4).translate((10, 19, 17))
    plate = body(box(60, 40, 5) + fin)

    found = vent_mold(plate, VentSpec(diameter_mm=1.6), bore=BoreSpec())

    assert codes(found.findings)
    assert set(codes(found.findings)) == {"vent-no-room"}
    assert {round(finding.where_mm[2]) for finding in found.findings} == {17}
    assert {round(vent.z_mm) for vent in found.vents} == {5}


def case_of(part, **given_):
    """Return a part as the checks look at it."""
    sheet = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5)
    return Case(bodies=(part,), sheet=sheet, machine=MACHINE, printer=BED, **given_)


def test_a_frustum_is_measured():
    """Size, volume, surface, draft, sharp edges, masses: by closed forms."""
    cone = body(Manifold.cylinder(20, 30, 30 - 20 * tan(radians(6)), 512).translate((1, 2, 3)))

    facts = measure_part(case_of(cone))

    top = 30 - 20 * tan(radians(6))
    volume = np.pi * 20 / 3 * (30**2 + top**2 + 30 * top)
    assert facts.size_mm == pytest.approx((60, 60, 20), abs=1e-3)
    assert facts.low_mm == pytest.approx((-29, -28, 3), abs=1e-3)
    assert facts.volume_mm3 == pytest.approx(volume, rel=1e-4)
    assert facts.area_mm2 == pytest.approx(
        np.pi * (30**2 + top**2 + (30 + top) * 20 / np.cos(radians(6))), rel=1e-4
    )
    assert facts.draft.least_deg == pytest.approx(6, abs=0.01)
    assert facts.convex_mm == 0
    assert (facts.closed, facts.undercuts, facts.n_pieces) == (True, (), 1)


def test_a_thin_wall_is_found():
    """A fin of 1.3 mm on a block, told at its place."""
    finned = body(box(40, 30, 10) + box(1.3, 30, 12).translate((20, 0, 9)))

    facts = measure_part(case_of(finned))

    assert facts.wall_mm == pytest.approx(1.3, abs=1e-6)
    assert facts.wall_where_mm[2] > 10


def test_an_undercut_and_an_open_mesh_are_told():
    """A mushroom grips; a mesh with a hole has no volume."""
    gripping = measure_part(case_of(body(rod(5, 12) + rod(15, 5, z=12))))
    torn = measure_part(case_of(Body("torn", opened(box(30, 20, 10)))))

    assert gripping.undercuts[0].depth_mm == pytest.approx(10, abs=0.1)
    assert not torn.closed
    assert np.isnan(torn.volume_mm3)


def test_set_down_stands_on_the_table():
    """Whatever its height was."""
    assert set_down(body(box(3, 3, 3).translate((0, 0, -7)))).mesh.bounds_mm[0, 2] == 0
    assert mesh(box(1, 1, 1)).volume_mm3 == pytest.approx(1)


@pytest.mark.parametrize(("groups", "told"), [(0, 0), (1, 0), (2, 1), (5, 1)])
def test_hollows_that_no_passage_joins_are_told(groups, told):
    """Two groups are one too many: one of them may lie over no hole of the table."""
    findings = _shut("block", groups)

    assert [one.code for one in findings] == ["hollow-shut"] * told
    assert [one.measured for one in findings] == [float(groups)] * told
