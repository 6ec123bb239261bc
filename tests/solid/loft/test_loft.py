"""Lofted solids: closed by construction, drafted and rounded as promised, equal to closed forms."""

import itertools
from math import atan, degrees, pi, radians, sqrt, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, scale, translate
from support.narrow_places import narrow_places
from support.outlines import as_multi, outlines, rectangle, regular

from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.solid.loft.band import BandLimits, _excess
from moldgen.solid.loft.contour import clean_pieces
from moldgen.solid.loft.ease import eased, steepest
from moldgen.solid.loft.loft import Surface, add_wall, inset, too_narrow
from moldgen.solid.loft.narrow import narrow_between, short_edged, with_ridge_steps
from moldgen.solid.loft.profile import Profile, fillet_room_mm
from moldgen.solid.mesh import Mesh
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh


def least_draft_deg(walled):
    """Draft of the steepest triangle of a wall; 90 if there is none. [°]."""
    slope = walled.steepest.slope
    return degrees(atan(1 / slope)) if slope > 0 else 90.0


def raised(region, profile, *, chord_mm=0.01) -> Mesh:
    """A block with the given wall, standing on z = 0."""
    surface = Surface()
    wall = add_wall(surface, region, profile, z_mm=0.0, chord_mm=chord_mm)
    for piece in wall.inner.pieces:
        surface.fill_flat(piece)
    for piece in wall.outer.pieces:
        surface.fill_flat(piece, facing_down=True)
    return surface.mesh()


def drafts_deg(mesh: Mesh):
    """Draft of every wall triangle, and its index; slivers under a micrometre have none."""
    sides = mesh.corners_mm - np.roll(mesh.corners_mm, 1, axis=1)
    thickness_mm = 2 * mesh.areas_mm2 / np.linalg.norm(sides, axis=2).max(axis=1)
    up = mesh.area_vectors_mm2[:, 2] / np.maximum(mesh.areas_mm2, 1e-300)
    wall = (np.abs(up) < 0.9999) & (thickness_mm > 1e-3)
    return np.degrees(np.arcsin(np.clip(up[wall], -1, 1))), np.flatnonzero(wall)


def assert_manifold(mesh: Mesh) -> None:
    """Every edge belongs to just two triangles, which run along it either way; none lacks area."""
    n = len(mesh.points_mm)
    t = mesh.triangles.astype(np.int64)
    start, end = t.ravel(), np.roll(t, -1, axis=1).ravel()
    there, back = np.sort(start * n + end), np.sort(end * n + start)
    assert (np.diff(there) > 0).all()
    np.testing.assert_array_equal(there, back)
    assert mesh.areas_mm2.min() > 1e-9  # half a step of the grid, squared


def runs_out(region, wall: Profile) -> bool:
    """Whether some stroke or gap of the outline is too narrow for the wall."""
    return any(not places.is_empty for places in narrow_places(region, wall))


def wall_of(height=12.0, draft=5.0, root=1.5, rim=1.0, read=None) -> Profile:
    return Profile(
        height_mm=height,
        draft_deg=draft,
        base_radius_mm=root,
        top_radius_mm=rim,
        read_mm=height if read is None else read,
    )


@st.composite
def walls(draw):
    height = draw(st.floats(1.0, 30))
    draft = draw(st.floats(0.5, 30))
    room = fillet_room_mm(height, draft)
    root = draw(st.floats(0, 0.5)) * room
    rim = draw(st.floats(0, 0.9)) * (room - root)
    return wall_of(
        height, draft, min(root, 6.0), min(rim, 6.0), draw(st.sampled_from([0.0, height]))
    )


@given(outlines(), walls())
@settings(max_examples=25, deadline=None)
def test_any_outline_makes_a_closed_solid_with_its_draft(region, wall):
    """Every random outline lofts to a closed, oriented solid; its walls keep the stated draft.

    Where a stroke or a gap runs out before the wall ends, a build says so and measures it.
    """
    mesh = raised(region, wall)
    assert_manifold(mesh)
    solid = solid_from_mesh(mesh, doing="checking")
    least, _ = drafts_deg(mesh)
    outer = inset(region, wall.foot_mm)
    handles = sum(len(part.interiors) for part in outer.geoms)

    assert solid.volume() == pytest.approx(mesh.volume_mm3, rel=1e-8)
    assert mesh.volume_mm3 > 0
    if not runs_out(region, wall):
        assert least.min() >= wall.draft_deg - 0.1
    assert len(solid.decompose()) == len(outer.geoms)
    euler = solid.num_vert() - solid.num_edge() + solid.num_tri()
    assert euler == 2 * len(outer.geoms) - 2 * handles


@given(outlines(), walls())
@settings(max_examples=20, deadline=None)
def test_walls_stay_on_the_exact_profile(region, wall):
    """Middles of wall triangles lie within 0.02 mm of the profile at their distance inward."""
    if runs_out(region, wall):
        return
    mesh = raised(region, wall)
    _, walls_at = drafts_deg(mesh)
    middles = mesh.corners_mm[walls_at].mean(axis=1)
    points = shapely.points(middles[:, :2])
    distance = shapely.distance(points, region.boundary)
    inside = shapely.contains(region, points)
    d = np.where(inside, distance, -distance)
    curve = shapely.LineString(np.column_stack(wall.stations(chord_mm=0.001)))
    gaps = shapely.distance(shapely.points(np.column_stack([d, middles[:, 2]])), curve)
    assert gaps.max() <= 0.02


@given(outlines(), walls())
@settings(max_examples=12, deadline=None)
def test_flats_are_flat(region, wall):
    """All corners lie on the profile's own heights; top and bottom are exactly level."""
    mesh = raised(region, wall)
    _, heights = wall.stations()
    assert mesh.points_mm[:, 2].min() == 0.0
    up = mesh.area_vectors_mm2[:, 2] / np.maximum(mesh.areas_mm2, 1e-300)
    flat = mesh.corners_mm[(up > 1 - 1e-12)]
    assert np.ptp(flat[:, :, 2], axis=1).max(initial=0.0) <= 1e-6
    assert mesh.points_mm[:, 2].max() <= heights[-1] + 1e-12


@pytest.mark.parametrize("font", ["DejaVu Sans", "Bitter Bold", "Nunito Black", "Lexend Bold"])
@pytest.mark.parametrize("text", ["Å8&@", "gjQ%", "MW"])
def test_letters_of_many_fonts_close(font, text):
    """Letters with counters, accents and thin strokes close and keep their draft."""
    region = outline_from_text(TextSpec(text=text, height_mm=30, font=font)).region
    mesh = raised(region, wall_of(6, 5, 1.0, 0.6))
    assert_manifold(mesh)
    solid = solid_from_mesh(mesh, doing="checking")
    assert solid.volume() == pytest.approx(mesh.volume_mm3, rel=1e-8)
    assert drafts_deg(mesh)[0].min() >= 4.9


def test_square_frustum_by_the_prismatoid_formula():
    """A drafted square block has the volume h (A0 + 4 Am + A1)/6 (prismatoid formula)."""
    wall = wall_of(20, 10, 0, 0, read=0.0)
    top = 60 - 2 * 20 * tan(radians(10))
    middle = (60 + top) / 2
    exact = 20 * (60**2 + 4 * middle**2 + top**2) / 6
    assert raised(rectangle(60, 60), wall).volume_mm3 == pytest.approx(exact, rel=1e-6)


def test_cone_frustum_volume_and_area():
    """A many-sided frustum approaches pi h (R2 + Rr + r2)/3 and pi (R + r) s (cone frustum)."""
    wall = wall_of(20, 15, 0, 0, read=0.0)
    big, small = 40.0, 40 - 20 * tan(radians(15))
    slant = sqrt(20**2 + (big - small) ** 2)
    mesh = raised(regular(40, 720), wall)
    volume = pi * 20 * (big**2 + big * small + small**2) / 3
    area = pi * ((big + small) * slant + big**2 + small**2)
    assert mesh.volume_mm3 == pytest.approx(volume, rel=3e-5)
    assert mesh.areas_mm2.sum() == pytest.approx(area, rel=3e-5)


def test_rounded_box_area_and_volume_by_steiner():
    """A rim of 0 on a rounded rectangle: footprint and mantle follow Steiner's formulas."""
    core = rectangle(80, 40)
    region = as_multi(shapely.buffer(core, 10, quad_segs=64))
    mesh = raised(region, wall_of(15, 0, 0, 0))
    perimeter, footprint = 240 + 2 * pi * 10, 80 * 40 + 240 * 10 + pi * 100
    assert mesh.volume_mm3 == pytest.approx(15 * footprint, rel=1e-4)
    assert mesh.areas_mm2.sum() == pytest.approx(15 * perimeter + 2 * footprint, rel=1e-4)


def _rim_loss_mm3(radius: float, rim: float) -> float:
    """Volume cut off a cylinder's edge by a rim fillet: Pappus's second theorem."""
    square, quarter = rim**2, pi * rim**2 / 4
    centroid_from_corner = (square * rim / 2 - quarter * (rim - 4 * rim / (3 * pi))) / (
        square - quarter
    )
    return (square - quarter) * 2 * pi * (radius - centroid_from_corner)


def test_torus_fillet_by_pappus_and_its_rate():
    """A rounded disc loses the ring that Pappus gives; the error falls with the chord tolerance."""
    exact = pi * 30**2 * 12 - _rim_loss_mm3(30, 5)
    region = regular(30, 2880)
    errors = [
        abs(raised(region, wall_of(12, 0, 0, 5), chord_mm=chord).volume_mm3 - exact)
        for chord in (0.04, 0.01, 0.0025)
    ]
    assert errors[1] < 2e-3 * exact
    assert 3.0 < errors[0] / errors[1] < 5.0
    assert errors[2] < errors[1] < errors[0]


def test_pappus_can_tell_a_wrong_radius():
    """A rim of 4.5 mm does not pass for one of 5 mm: the check has teeth."""
    exact = pi * 30**2 * 12 - _rim_loss_mm3(30, 5)
    wrong = raised(regular(30, 2880), wall_of(12, 0, 0, 4.5), chord_mm=0.0025).volume_mm3
    assert abs(wrong - exact) > 2e-3 * exact


def test_root_fillet_adds_what_pappus_says():
    """A foot fillet adds its ring: square less quarter circle, carried round its centroid."""
    r, big = 4.0, 30.0
    area = r**2 * (1 - pi / 4)
    centroid = (r**2 * r / 2 - pi * r**2 / 4 * (r - 4 * r / (3 * pi))) / area
    exact = pi * big**2 * 12 + area * 2 * pi * (big + centroid)
    mesh = raised(regular(30, 2880), wall_of(12, 0, 4, 0), chord_mm=0.001)
    assert mesh.volume_mm3 == pytest.approx(exact, rel=1e-4)


@given(outlines(), st.floats(0, 360), st.floats(-200, 200))
@settings(max_examples=8, deadline=None)
def test_turning_and_moving_change_nothing(region, angle_deg, shift_mm):
    """The volume of a loft does not depend on where the outline lies."""
    wall = wall_of(8, 6, 1, 1)
    there = translate(rotate(region, angle_deg, origin=(0, 0)), shift_mm, -shift_mm)
    assert raised(as_multi(there), wall).volume_mm3 == pytest.approx(
        raised(region, wall).volume_mm3, rel=1e-4
    )


@given(outlines(), st.floats(0.5, 3))
@settings(max_examples=8, deadline=None)
def test_scaling_scales(region, factor):
    """Twice the outline and twice the wall hold eight times the volume."""
    small = wall_of(8, 6, 1, 1)
    large = wall_of(8 * factor, 6, factor, factor)
    grown = as_multi(scale(region, factor, factor, origin=(0, 0)))
    volume = raised(grown, large, chord_mm=0.01 * factor).volume_mm3
    assert volume == pytest.approx(factor**3 * raised(region, small).volume_mm3, rel=1e-3)


def test_sunk_wall_is_the_plug_taken_out():
    """A recess and the block of the same section upside down fit each other exactly."""
    region = rectangle(40, 30)
    wall = wall_of(8, 7, 0, 0, read=8.0)
    surface = Surface()
    pocket = add_wall(surface, region, wall, z_mm=8.0, sunk=True)
    assert pocket.outer.region.area == pytest.approx(1200)
    floor = 40 - 2 * 8 * tan(radians(7)), 30 - 2 * 8 * tan(radians(7))
    assert pocket.inner.region.area == pytest.approx(floor[0] * floor[1], rel=1e-4)
    heights = surface.mesh().points_mm[:, 2] if surface.n_points else np.zeros(1)
    assert (heights.min(), heights.max()) == (pytest.approx(0.0), 8.0)


def test_thin_stroke_ends_in_a_ridge_not_in_a_ledge():
    """A stroke too narrow for its wall rises nearly to where its two walls meet."""
    region = as_multi(shapely.union(rectangle(60, 2), rectangle(10, 30)))
    wall = wall_of(12, 5, 0, 1, read=0.0)
    mesh = raised(region, wall)
    on_stroke = np.abs(mesh.points_mm[:, 0]) > 12
    ridge_mm = mesh.points_mm[on_stroke, 2].max()
    assert wall.height_at_mm(1.0) - 0.6 <= ridge_mm <= wall.height_at_mm(1.0)


def test_too_narrow_finds_the_stroke_and_spares_the_corners():
    """Only the 2 mm stroke is lost to an inset of 1.5 mm, not the corners of the block."""
    region = as_multi(shapely.union(rectangle(60, 2), rectangle(10, 30)))
    lost = too_narrow(region, 1.5)
    assert lost.area == pytest.approx(100.0, rel=0.05)
    assert too_narrow(rectangle(30, 30), 3.0).is_empty


@pytest.mark.parametrize("neck_mm", [7.0, 9.4, 12.0])
def test_a_neck_between_a_hole_and_an_edge_is_too_narrow(neck_mm):
    """Tips of the wide places on either side do not hide a neck narrower than two insets."""
    hole = shapely.Point(0, neck_mm + 11 - 50).buffer(11)
    (neck,) = too_narrow(as_multi(rectangle(68, 100).difference(hole)), 7.9).geoms
    assert neck.intersects(shapely.box(-0.1, -50, 0.1, neck_mm - 50))
    wide = shapely.Point(0, 16 + 11 - 50).buffer(11)
    assert too_narrow(as_multi(rectangle(68, 100).difference(wide)), 7.9).is_empty


@pytest.mark.parametrize("apart_mm", [4.0, 8.0, 12.0])
def test_gaps_between_round_islands_around_a_pocket_are_too_narrow(apart_mm):
    """Wide places on either side reach over a short gap between discs; it is found all the same."""
    half = 10 + apart_mm / 2
    discs = [shapely.Point(x, y).buffer(10) for x in (-half, half) for y in (-half, half)]
    region = as_multi(shapely.union_all(discs))
    wall = wall_of(12, apart_mm * 2.5, 0, 0)  # its foot lies 5 to 15 % beyond the middle
    gaps, _ = narrow_places(region, wall)
    for x, y in ((half, 0), (-half, 0), (0, half), (0, -half)):
        assert gaps.intersects(shapely.Point(x, y))
    walled = add_wall(Surface(), region, wall, z_mm=0.0)
    assert least_draft_deg(walled) >= wall.draft_deg - 0.1


def test_many_islands_are_paired_with_their_own_contours():
    """A field of separate discs closes piece by piece."""
    discs = shapely.union_all(
        [shapely.Point(9 * i, 9 * j).buffer(3) for i in range(6) for j in range(5)]
    )
    solid = solid_from_mesh(raised(as_multi(discs), wall_of(3, 5, 0.5, 0.5)), doing="checking")
    assert len(solid.decompose()) == 30


def test_mesh_survives_the_modeler():
    """Handing a mesh over and taking it back keeps volume and bounds."""
    mesh = raised(rectangle(30, 20), wall_of())
    back = mesh_from_solid(solid_from_mesh(mesh, doing="checking"))
    assert back.volume_mm3 == pytest.approx(mesh.volume_mm3, rel=1e-12)
    np.testing.assert_allclose(back.bounds_mm, mesh.bounds_mm, atol=1e-9)


@given(outlines(), walls())
@settings(max_examples=15, deadline=None)
def test_a_wall_says_its_own_least_draft(region, wall):
    """The steepest triangle that a wall reports is the steepest one of the mesh."""
    surface = Surface()
    walled = add_wall(surface, region, wall, z_mm=0.0)
    least = drafts_deg(surface.mesh())[0].min(initial=90.0)
    assert least_draft_deg(walled) == pytest.approx(least, abs=1e-6)


def test_a_corner_cut_off_by_wall_and_underside_is_parted():
    """An edge that wall and underside both use is halved below, so that no edge has four users."""
    surface = Surface()
    ring = as_multi(shapely.Polygon([(0, 0), (4, 0), (4, 4), (0, 4)]))
    foot = surface.add_contour(ring, 0.0)
    # Wall and underside are cut by the same triangulation, so they share the diagonal.
    surface.fill_flat(foot.pieces[0])
    surface.fill_flat(foot.pieces[0], facing_down=True)
    mesh = surface.mesh()
    assert len(mesh.triangles) == 6
    assert_manifold(mesh)


def test_eased_heights_are_the_nearest_that_lean_enough():
    """A triangle with two corners held at 0 has its third brought down to slope times height."""
    points = np.array([[0.0, 0, 0], [4, 0, 0], [2, 1, 9], [2, -1, 3]])
    faces = np.array([[0, 1, 2], [0, 3, 1]])
    held = np.array([True, True, False, False])
    settled = eased(faces, points, held, 5.0)
    np.testing.assert_allclose(settled[:, 2], [0, 0, 5, 3], rtol=2e-4)
    assert steepest(faces, settled)[0] <= 5.0
    assert eased(faces, settled, held, 5.0) is settled


def test_corners_that_are_held_stay():
    """Nothing moves where all corners belong to flats; the steepness is still told."""
    points = np.array([[0.0, 0, 0], [4, 0, 0], [2, 1, 9]])
    faces = np.array([[0, 1, 2]])
    assert eased(faces, points, np.ones(3, bool), 5.0) is points
    assert steepest(faces, points) == (9.0, 0)


def test_a_needle_between_walls_keeps_its_draft_and_is_eased():
    """A long wedge, whose walls meet in a falling ridge, leans as stated all along."""
    wedge = as_multi(shapely.Polygon([(0, -2), (90, -0.4), (90, 0.4), (0, 2)]))
    surface = Surface()
    walled = add_wall(surface, wedge, wall_of(12, 8, 0.5, 0.5, read=0.0), z_mm=0.0)
    assert least_draft_deg(walled) >= 7.9


def _wavy(size_mm, waves, depth, n):
    """A blob whose waves run into each other before a tall wall ends."""
    turns = np.linspace(0, 2 * np.pi, n, endpoint=False)
    radii = size_mm * (1 + depth * np.sin(waves * turns))
    corners = radii[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    return as_multi(shapely.Polygon(corners))


@pytest.mark.parametrize(
    ("blob", "height_mm", "draft_deg"),
    [((8, 4, 0.45, 41), 10, 18), ((8, 4, 0.45, 41), 12, 16), ((8, 5, 0.3, 41), 12, 16)],
)
def test_a_wall_that_is_too_steep_is_cut_again(blob, height_mm, draft_deg):
    """Where waves meet inside one tall band and nothing was found narrow, the draft still holds."""
    surface = Surface()
    wall = wall_of(height_mm, draft_deg, 0, 0, read=0.0)
    walled = add_wall(surface, _wavy(*blob), wall, z_mm=0.0)
    assert least_draft_deg(walled) >= draft_deg - 0.1
    assert_manifold(raised(_wavy(*blob), wall))


def test_what_is_taken_back_can_be_put_back():
    """A surface is the same after its last wall was taken back and put back again."""
    surface = Surface()
    add_wall(surface, rectangle(30, 20), wall_of(), z_mm=0.0)
    since, before = surface.mark(), surface.mesh()
    add_wall(surface, translate(rectangle(30, 20), 50, 0), wall_of(), z_mm=0.0)
    both = surface.mesh()
    taken = surface.take_back(since)
    np.testing.assert_array_equal(surface.mesh().points_mm, before.points_mm)
    np.testing.assert_array_equal(surface.mesh().triangles, before.triangles)
    surface.put_back(taken)
    np.testing.assert_array_equal(surface.mesh().points_mm, both.points_mm)
    np.testing.assert_array_equal(surface.mesh().triangles, both.triangles)
    assert surface.n_points == len(both.points_mm)


def test_a_wall_settles_where_its_ridges_would_be_too_steep():
    """Ridges of thin letters are moved by micrometres, so that no triangle misses the draft."""
    thin = outline_from_text(TextSpec(text="8&@", height_mm=18)).region
    surface = Surface()
    walled = add_wall(surface, thin, wall_of(12, 8, 0.5, 0.5, read=0.0), z_mm=0.0)
    assert 0 < walled.steepest.moved_mm < 0.02
    assert drafts_deg(surface.mesh())[0].min() >= 7.95 - 1e-6


def test_contours_that_touch_themselves_by_a_rounding_step_are_cut():
    """Ridges of steep letters, whose contours rounding made invalid, still keep their draft."""
    thin = outline_from_text(TextSpec(text="8&@", height_mm=36)).region
    walled = add_wall(Surface(), thin, wall_of(12, 15, 0, 1, read=0.0), z_mm=0.0)
    assert least_draft_deg(walled) >= 14.9


def test_a_gap_that_has_closed_does_not_open_again():
    """An octagonal hole grown shut by more than its radius leaves no ghost of itself."""
    octagon = shapely.Point(0, 0).buffer(5.4, quad_segs=2)
    plate = as_multi(rectangle(60, 60).difference(octagon))
    assert not inset(plate, -5.2).geoms[0].interiors
    assert len(inset(plate, -4.5).geoms[0].interiors) == 1


def test_round_corners_get_the_chords_their_radius_needs():
    """A corner carried out by 40 mm stays within 0.005 mm of its arc, where 16 chords would not."""
    grown = inset(rectangle(10, 10), -40.0)
    middles = shapely.centroid([shapely.LineString(e) for e in zip(*_arc(grown), strict=True)])
    off = np.hypot(shapely.get_x(middles) - 5, shapely.get_y(middles) - 5)
    assert 40 - off.min() <= 0.005 * 1.02
    assert 40 * (1 - np.cos(pi / 4 / 16)) > 0.02


def _arc(region):
    """The chords of the corner up on the right, from starts to ends."""
    ring = shapely.get_coordinates(region.geoms[0].exterior)
    there = (ring[:-1] >= 5 - 1e-9).all(axis=1) & (ring[1:] >= 5 - 1e-9).all(axis=1)
    return ring[:-1][there], ring[1:][there]


def test_a_ring_folded_onto_itself_loses_the_fold():
    """A tail thinner than the grid is left out, not turned into a triangle without area."""
    tail = shapely.Polygon([(0, 0), (4, 0), (4, 2), (9, 2 + 1e-6), (4, 2 + 2e-6), (4, 4), (0, 4)])
    ((ring,),) = clean_pieces(as_multi(tail))
    assert ring[:, 0].max() == 4.0


def test_the_tip_of_a_ring_is_not_turned_inside_out_by_rounding():
    """Corners a rounding step apart are one: the ring's edges would cross at such a tip."""
    tip = [(15.726318, 12.225037), (15.866577, 12.265198), (15.866699, 12.265198)]
    ring = shapely.Polygon([(0, 0), *tip, (15.724854, 12.255737), (0, 12)])
    ((cleaned,),) = clean_pieces(as_multi(ring))
    assert len(cleaned) == 5
    assert shapely.is_valid(shapely.Polygon(cleaned))
    rounded = np.round(shapely.get_coordinates(ring) * 2**14) / 2**14
    assert not shapely.is_valid(shapely.Polygon(rounded))


def test_a_chain_of_tiny_edges_keeps_its_way():
    """Corners far closer than a rounding step may be told apart are thinned, not all dropped."""
    turns = np.linspace(0, 2 * np.pi, 200_000, endpoint=False)
    disc = shapely.Polygon(5 * np.column_stack([np.cos(turns), np.sin(turns)]))
    ((ring,),) = clean_pieces(as_multi(disc))
    edges = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    assert edges.min() >= 4 * 2.0**-14
    assert edges.max() <= 12 * 2.0**-14
    assert shapely.Polygon(ring).area == pytest.approx(25 * pi, rel=1e-5)


def test_a_word_of_many_letters_costs_its_letters():
    """Every letter is lofted by itself: twice the letters are twice the triangles."""
    word = outline_from_text(TextSpec(text="TIDE", height_mm=20)).region
    two = as_multi(shapely.union_all([word, translate(word, 0, 60)]))
    assert len(raised(two, wall_of(4, 5, 0.5, 0.5)).triangles) == pytest.approx(
        2 * len(raised(word, wall_of(4, 5, 0.5, 0.5)).triangles), rel=0.01
    )


def test_a_surface_settles_between_the_contours_it_is_told_to_hold():
    """A step that is too steep sinks until it leans enough; both flats stay where they are."""
    surface = Surface()
    since = surface.mark()
    levels = [surface.add_contour(rectangle(20 - d, 20 - d), z) for d, z in _TOO_STEEP]
    for outer, inner in itertools.pairwise(levels):
        band = BandLimits(run_mm=0.5, rise_mm=1.0, steepest=1e9, outward=False)
        surface.fill_band(outer, inner, band)
    found = surface.ease(since, (levels[0], levels[-1]), limit=4.0)
    heights = surface.mesh().points_mm[:, 2]
    assert found.slope <= 4.0 + 1e-9
    assert found.moved_mm == pytest.approx(1.0, rel=1e-2)
    np.testing.assert_allclose(heights, np.repeat([0.0, 2.0, 4.0], 4), atol=2e-3)


_TOO_STEEP = ((0.0, 0.0), (1.0, 3.0), (3.0, 4.0))
"""Square sides taken off, and heights: the first wall rises 6 to 1. [mm]."""


def _two_blocks(apart_mm):
    """Two blocks side by side, long against the gap between them, which narrows to the right."""
    left = shapely.Polygon([(-60, 0), (60, 0), (60, 30), (-60, 30)])
    right = shapely.Polygon([(-60, -30), (60, -30), (60, -apart_mm), (-60, -2.5 * apart_mm)])
    return shapely.MultiPolygon([left, right])


def test_outlines_whose_feet_merge_cost_little_more_than_apart():
    """Short edges and steps stay near the gap; the rest of the walls keeps its long edges."""
    word = outline_from_text(TextSpec(text="R", height_mm=40)).region
    width = word.bounds[2] - word.bounds[0]

    def n_triangles(apart_mm):
        both = as_multi(shapely.union_all([word, translate(word, width + apart_mm, 0)]))
        return len(raised(both, wall_of()).triangles)

    assert n_triangles(1.0) <= 2 * n_triangles(10.0)


def test_edges_are_cut_short_only_near_the_gap():
    """New corners lie along the gap, none of them at the far side of either block."""
    region = _two_blocks(1.0)
    d = np.array([-2.0, -1.5, -1.0, 0.0])
    narrow = narrow_between(region, d[0], d[-1])
    levels = [inset(region, each) for each in d]
    cut = short_edged(levels, d, narrow)
    assert [each.area for each in cut] == pytest.approx([each.area for each in levels], rel=1e-9)
    before, after = ({tuple(xy) for xy in shapely.get_coordinates(some)} for some in (levels, cut))
    assert before <= after
    added = np.array(sorted(after - before))
    assert len(added) > 100
    assert -6 < added[:, 1].min() < added[:, 1].max() < 4


def test_steps_start_where_the_walls_first_meet():
    """A wall is cut into steps from half the least gap outward, not nearer to the outline."""
    d, z = np.array([-3.0, -2.0, -0.4, 0.0]), np.array([0.0, 3.0, 15.0, 20.0])
    stations, heights = with_ridge_steps(d, z, narrow_between(_two_blocks(1.6), d[0], d[-1]))
    extra = np.setdiff1d(stations, d)
    assert len(extra) >= 10
    assert extra.max() < -0.4
    np.testing.assert_allclose(heights, np.interp(stations, d, z), atol=1e-12)
    nearer, _ = with_ridge_steps(d, z, narrow_between(_two_blocks(0.5), d[0], d[-1]))
    assert ((nearer > -0.4) & (nearer < 0)).sum() >= 2


def test_a_triangle_steeper_than_its_band_is_looked_at():
    """Across a crease a triangle may rise more than the wall and yet less than the limit."""
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0.5, 1, 2], [0.5, -1, -1]])
    faces = np.array([[0, 1, 2], [0, 3, 1]])
    excess, unsure = _excess(faces, points, 1.0, 10.0)
    assert (excess <= 1).all()
    assert unsure.tolist() == [True, False]
