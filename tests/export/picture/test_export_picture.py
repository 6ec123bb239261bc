"""Pictures of molds: what is seen where, how large, how light and in which color."""

import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from shapely import Polygon
from support.diagrams import opened
from support.solids_for_export import box, frustum, leans_deg, mesh_of, sign_with_peg, tide_sign
from support.some import some

from moldgen.errors import SpecError
from moldgen.export.picture import shading
from moldgen.export.picture import views as pictures
from moldgen.export.picture.canvas import PAPER, Canvas, png_bytes
from moldgen.export.picture.draft_map import draft_map_png
from moldgen.export.picture.render import View, ViewFrame, frame_of, look, render
from moldgen.export.picture.section import section_png
from moldgen.export.picture.shading import BLOCK, near_solid
from moldgen.export.picture.views import lit_views_png
from moldgen.solid.mesh import Body, joined
from moldgen.solid.section import section_rings, section_rise_mm

ABOVE = View(azimuth_deg=0, elevation_deg=90)
FRONT = View(azimuth_deg=0, elevation_deg=0)
RED, GREEN, GRAY = (220, 30, 30), (30, 180, 60), (150, 150, 150)


# -- what is seen ---------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(st.floats(-180, 180), st.floats(-90, 90))
def test_the_outline_has_the_area_of_the_projection(azimuth_deg, elevation_deg):
    """The pixels that show a box add up to its projected area, from anywhere."""
    view = View(azimuth_deg=azimuth_deg, elevation_deg=elevation_deg)
    solid = box(30, 20, 10, at_mm=(5, -3, 2))
    frame = frame_of(solid, view=view, size_px=(300, 240))

    _, seen = look(solid, view=view, frame=frame, size_px=(300, 240))

    # Half the sum of face areas times the cosine to the viewer, for a convex solid.
    cosines = np.abs(view.axes[2])
    exact_mm2 = cosines @ (20 * 10, 30 * 10, 30 * 20)
    shown_mm2 = (seen >= 0).sum() / frame.px_per_mm**2
    border_px = 4 * (300 + 240)
    assert shown_mm2 == pytest.approx(exact_mm2, abs=border_px * 0.15 / frame.px_per_mm**2)


def test_depth_is_the_place_along_the_line_of_sight():
    """From above a frustum's top is at its height, and its wall halfway at half of it."""
    solid = mesh_of(frustum(40, 40, 10, draft_deg=45))
    frame = ViewFrame(right_mm=0, up_mm=0, px_per_mm=4)

    depths, seen = look(solid, view=ABOVE, frame=frame, size_px=(200, 200))

    assert depths[100, 100] == pytest.approx(10)
    # The wall runs from x = 20 at z = 0 to x = 10 at z = 10; pixel 159 has its center at
    # (159.5 - 100)/4 = 14.875 mm.
    assert depths[100, 159] == pytest.approx(20 - 14.875)
    assert np.isneginf(depths[100, 190])
    assert seen[100, 190] == -1


@pytest.mark.parametrize(
    ("azimuth_deg", "elevation_deg", "right", "up"),
    [
        (0, 0, "x", "z"),
        (90, 0, "y", "z"),
        (180, 0, "-x", "z"),
        (-90, 0, "-y", "z"),
        (0, 90, "x", "y"),
        (0, -90, "x", "-y"),
        (90, 90, "y", "-x"),
    ],
)
def test_views_are_the_right_way_round(azimuth_deg, elevation_deg, right, up):
    """Each view shows the stated axes to the right and up; nothing is mirrored."""
    view = View(azimuth_deg=azimuth_deg, elevation_deg=elevation_deg)
    axes = {"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1),
            "-x": (-1, 0, 0), "-y": (0, -1, 0)}  # fmt: skip

    np.testing.assert_allclose(view.axes[0], axes[right], atol=1e-12)
    np.testing.assert_allclose(view.axes[1], axes[up], atol=1e-12)
    assert np.linalg.det(view.axes) == pytest.approx(1)


def test_a_picture_shows_right_and_up_where_they_are():
    """A red block on the right and a green one above come out there, in the lit picture too."""
    blocks = [
        box(10, 10, 10, at_mm=(-5, -5, 0)),
        box(10, 10, 10, at_mm=(25, -5, 0)),
        box(10, 10, 10, at_mm=(-5, 25, 0)),
    ]
    paint = np.repeat(np.array([GRAY, RED, GREEN], dtype=np.uint8), 12, axis=0)
    frame = ViewFrame(right_mm=10, up_mm=10, px_per_mm=4)

    shown = render(blocks, view=ABOVE, size_px=(200, 200), colors=paint, frame=frame).astype(int)

    red, green = shown[140, 180], shown[20, 60]
    assert red[0] > 2 * max(red[1], red[2])
    assert green[1] > 1.5 * max(green[0], green[2])
    assert np.ptp(shown[140, 60]) < 30


def test_a_frame_holds_the_whole_solid_with_its_margin():
    """The solid touches the margin in one direction and stays within it in the other."""
    solid = box(60, 20, 5, at_mm=(100, 200, 0))

    frame = frame_of(solid, view=ABOVE, size_px=(400, 400), margin=0.1)
    _, seen = look(solid, view=ABOVE, frame=frame, size_px=(400, 400))

    rows, columns = np.nonzero(seen >= 0)
    assert frame.px_per_mm == pytest.approx(0.8 * 400 / 60)
    assert (columns.min(), columns.max()) == (40, 359)
    assert rows.min() + rows.max() == 399


# -- light ----------------------------------------------------------------------------------


def brightness(shown):
    """Return the mean of the three colors."""
    return shown.astype(int).mean(axis=-1)


def test_the_lamp_stands_to_the_upper_left_in_every_view():
    """The wall toward the upper left is lighter than the one away from it, turned or not."""
    solid = mesh_of(frustum(40, 40, 10, draft_deg=45))
    for azimuth_deg in (0, 90):
        view = View(azimuth_deg=azimuth_deg, elevation_deg=90)
        light = brightness(render(solid, view=view, size_px=(240, 240)))
        assert light[120, 45] > light[120, 195] + 20
        assert light[45, 120] > light[195, 120] + 20


def test_the_shadow_falls_to_the_lower_right_on_bench_and_solid():
    """The bench is darker there, the paper itself elsewhere, and a post shades the plate."""
    plate = Manifold.cube((60, 60, 4), True) + Manifold.cube((8, 8, 30), True).translate((0, 0, 10))
    frame = ViewFrame(right_mm=0, up_mm=0, px_per_mm=3)

    shown = render(mesh_of(plate), view=ABOVE, size_px=(300, 300), background=PAPER, frame=frame)

    light = brightness(shown)
    paper = np.mean(PAPER)
    assert light[5, 5] == pytest.approx(paper, abs=1.5)
    assert light[245, 245] < paper - 15
    assert light[80, 150] == pytest.approx(light[150, 70], abs=6)
    # 24 mm of post cast a shadow of 24 * 0.5/0.6 = 20 mm to the right, 24.8 mm downward.
    assert light[150 + 36, 150 + 30] < light[150 - 36, 150 - 30] - 20
    assert light[150 + 80, 150 - 60] == pytest.approx(light[150 - 36, 150 - 30], abs=8)


def test_a_vent_is_dark_from_above():
    """A narrow hole through a plate is darker than half of the plate around it."""
    plate = Manifold.cube((30, 30, 10), True) - Manifold.cylinder(20, 0.75, 0.75, 32, True)

    light = brightness(render(mesh_of(plate), view=ABOVE, size_px=(300, 300)))

    assert light[150, 150] < 0.62 * light[100, 100]


def test_hollows_are_darker_than_open_flats():
    """The foot of a wall that faces the lamp is darker than the flat far from it."""
    wall = Manifold.cube((20, 60, 24), True).translate((20, 0, 0))
    step = mesh_of(Manifold.cube((60, 60, 4), True) + wall)
    frame = ViewFrame(right_mm=0, up_mm=0, px_per_mm=4)

    row = brightness(render(step, view=ABOVE, size_px=(300, 300), frame=frame))[150]

    # The wall stands at x = 10 mm, column 190.
    assert row[186] < row[170] - 5
    assert row[170] <= row[100]


def test_even_light_shows_the_colors_as_they_are():
    """On an open flat a map has exactly the color of its legend, whatever the view."""
    for view in (ABOVE, View(azimuth_deg=30, elevation_deg=50)):
        shown = render(box(40, 40, 5), view=view, size_px=(200, 200), colors=RED, even_light=True)
        np.testing.assert_allclose(shown[95, 100], RED, atol=1)


def test_a_mold_seen_from_below_is_lit_as_if_turned_over():
    """The underside is as light as the top is from above."""
    solid = box(40, 40, 10)
    over = brightness(render(solid, view=View(azimuth_deg=0, elevation_deg=60)))
    under = brightness(render(solid, view=View(azimuth_deg=0, elevation_deg=-60)))

    assert under[320, 400] == pytest.approx(over[280, 400], abs=4)


def test_fillets_look_round_and_edges_sharp():
    """Light changes in small steps over a finely cut round, and in one step at an edge."""
    frame = ViewFrame(right_mm=0, up_mm=0, px_per_mm=6)
    smooth = mesh_of(Manifold.cylinder(60, 15, 15, 48, True).rotate((90, 0, 0)))
    round_row = brightness(render(smooth, view=ABOVE, size_px=(300, 300), frame=frame))[150]
    sharp = mesh_of(Manifold.cylinder(60, 15, 15, 4, True).rotate((90, 0, 0)))
    sharp_row = brightness(render(sharp, view=ABOVE, size_px=(300, 300), frame=frame))[150]

    inner = slice(80, 220)
    assert np.abs(np.diff(round_row[inner])).max() < 6
    assert np.abs(np.diff(sharp_row[inner])).max() > 25


def test_coarse_and_fine_rounds_look_alike():
    """Normals between the corners make a round of 40 strips look like one of 400."""
    frame = ViewFrame(right_mm=0, up_mm=0, px_per_mm=6)
    rows: list[np.ndarray] = []
    for n_strips in (40, 400):
        round_bar = mesh_of(Manifold.cylinder(60, 15, 15, n_strips, True).rotate((90, 0, 0)))
        picture = render(round_bar, view=ABOVE, size_px=(300, 300), frame=frame)
        rows.append(brightness(picture)[150, 75:225])

    np.testing.assert_allclose(rows[0], rows[1], atol=4)


def test_creases_and_outlines_carry_a_line():
    """In even light a ridge and the rim of a block are darker than the flats beside them."""
    frame = ViewFrame(right_mm=0, up_mm=0, px_per_mm=5)
    roof = mesh_of(Manifold.cylinder(60, 15, 15, 4, True).rotate((90, 0, 0)))
    block = mesh_of(
        Manifold.cube((50, 50, 4), True) + Manifold.cube((20, 50, 8), True).translate((0, 0, 3))
    )
    for solid, line in ((roof, slice(147, 153)), (block, slice(98, 103))):
        picture = render(solid, view=ABOVE, size_px=(300, 300), frame=frame, even_light=True)
        row = brightness(picture)[150]
        assert row[line].min() < row[112] - 8
        assert row[112] == pytest.approx(row[125], abs=3)


def test_the_survey_of_the_sky_is_as_good_as_a_look_from_every_pixel(monkeypatch):
    """Openness between surveyed places is within a few steps of what each pixel sees itself."""
    view = View(azimuth_deg=-30, elevation_deg=35)
    surveyed = render(tide_sign(), view=view, size_px=(320, 240)).astype(int)

    def vague(scene, survey, first, end):
        # Neighbors that never agree send every pixel to look for itself.
        survey[first:end] = np.arange(survey.shape[1]) % 2

    monkeypatch.setattr(shading, "survey_sky", vague)
    looked = render(tide_sign(), view=view, size_px=(320, 240)).astype(int)

    off = np.abs(surveyed - looked)
    assert 0 < off.max() <= 16
    assert off.mean() < 0.1


def test_pictures_are_the_same_every_time():
    """Threads or not, a picture is the same to the last pixel."""
    view = View(azimuth_deg=20, elevation_deg=30)

    np.testing.assert_array_equal(
        render(tide_sign(), view=view, size_px=(320, 240)),
        render(tide_sign(), view=view, size_px=(320, 240)),
    )


def test_a_mesh_keeps_its_normals():
    """Every view of a mesh shares its normals, which nobody can change."""
    sign = tide_sign()

    assert sign.corner_normals is sign.corner_normals
    assert joined([sign]) is sign
    with pytest.raises(ValueError, match="read-only"):
        sign.corner_normals[0] = 0.0


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"size_px": (8, 100)}, "size_px must be 16 to 8000 each way"),
        ({"size_px": (100, 9000)}, "size_px must be 16 to 8000 each way"),
        ({"colors": np.zeros((3, 3), dtype=np.uint8)}, "colors must be one, or three numbers"),
    ],
)
def test_unfit_pictures_are_refused(change, rule):
    """A size or colors that do not fit are told."""
    with pytest.raises(SpecError, match=rule):
        render(box(1, 1, 1), **({"view": ABOVE} | change))


def test_a_view_from_beyond_the_zenith_is_refused():
    """The viewer's height ends at straight above."""
    with pytest.raises(SpecError, match="elevation_deg must be at least -90 ° and at most 90 °"):
        View(azimuth_deg=0, elevation_deg=91)


# -- sections -------------------------------------------------------------------------------


def signed_area(ring):
    """Return the area of a ring, positive counter-clockwise."""
    x, y = ring.T
    return 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())


@pytest.mark.parametrize(("axis", "area"), [(0, 5 * 7), (1, 3 * 7), (2, 3 * 5)])
def test_a_cut_box_has_the_area_of_its_side(axis, area):
    """Cut across each axis, the ring is counter-clockwise and has the box's side area."""
    [ring] = section_rings(box(3, 5, 7), axis=axis, at_mm=1.25)

    assert signed_area(ring) == pytest.approx(area)


@pytest.mark.parametrize(("axis", "corner"), [(0, (20, 300)), (1, (1, 300)), (2, (1, 20))])
def test_a_cut_shows_the_stated_axes(axis, corner):
    """Across x lie y and z, across y lie x and z, across z lie x and y."""
    [ring] = section_rings(box(4, 4, 4, at_mm=(1, 20, 300)), axis=axis, at_mm=(3, 22, 302)[axis])

    np.testing.assert_allclose(ring.min(axis=0), corner)


def test_a_cut_through_a_hole_has_rings_of_both_senses():
    """A tube cut across has its area, the hole counted clockwise."""
    tube = mesh_of(Manifold.cylinder(10, 5, 5, 64) - Manifold.cylinder(10, 2, 2, 64))

    rings = section_rings(tube, axis=2, at_mm=3.3)

    # A regular polygon of n corners has n/2 sin(2 pi/n) r^2.
    share = 32 * np.sin(2 * np.pi / 64)
    assert sorted(signed_area(ring) for ring in rings) == pytest.approx([-4 * share, 25 * share])


@settings(max_examples=25, deadline=None)
@given(st.floats(-34, 34), st.sampled_from([0, 1, 2]))
def test_cuts_are_those_of_the_solid_modeler(at_mm, axis):
    """Anywhere, also through corners, the cut has the area the modeler finds."""
    at_mm = abs(at_mm) / 2.1 if axis == 2 else at_mm
    sign = tide_sign()
    turned = {0: sign.points_mm[:, [1, 2, 0]], 1: sign.points_mm[:, [2, 0, 1]], 2: sign.points_mm}
    from manifold3d import Mesh64

    solid = Manifold(Mesh64(turned[axis].copy(), sign.triangles.astype(np.uint64)))

    rings = section_rings(sign, axis=axis, at_mm=at_mm)

    assert sum(map(signed_area, rings)) == pytest.approx(solid.slice(at_mm).area(), abs=1e-3)


def test_slices_add_up_to_the_volume():
    """Areas of many cuts, summed, make the volume: none is missing a part."""
    sign = tide_sign()
    low, high = sign.bounds_mm[:, 1]
    places = low + (np.arange(200) + 0.5) / 200 * (high - low)

    areas = [sum(map(signed_area, section_rings(sign, axis=1, at_mm=at))) for at in places]

    assert np.mean(areas) * (high - low) == pytest.approx(sign.volume_mm3, rel=2e-3)


def test_the_rings_of_a_mold_are_simple():
    """No ring crosses itself, so it can be filled."""
    for ring in some(section_rings(tide_sign(), axis=1, at_mm=0.0)):
        assert Polygon(ring).is_valid


def test_a_cut_beside_the_mold_is_empty():
    """A plane that misses gives no ring."""
    assert section_rings(box(1, 1, 1), axis=0, at_mm=5) == []


def test_a_cut_in_a_face_takes_what_lies_below_it():
    """In its foot a box is not yet cut, in its top it still is."""
    assert section_rings(box(3, 5, 7), axis=2, at_mm=0.0) == []
    [ring] = section_rings(box(3, 5, 7), axis=2, at_mm=7.0)
    assert signed_area(ring) == pytest.approx(15)


def test_the_rise_of_a_cut_is_the_height_of_its_walls():
    """A box has two walls: twice its height; a frustum too, whatever its lean."""
    assert section_rise_mm(box(3, 5, 7), axis=1, at_mm=1) == pytest.approx(14)
    assert section_rise_mm(
        mesh_of(frustum(40, 40, 10, draft_deg=30)), axis=1, at_mm=1
    ) == pytest.approx(20)


def recorded(monkeypatch, module):
    """Let canvases note what is written, drawn and filled on them."""
    notes = {"write": [], "area": []}

    class Noting(Canvas):
        def write(self, place, words, **how):
            notes["write"].append((place, words, how))
            super().write(place, words, **how)

        def area(self, places, *, color):
            notes["area"].append((places, color))
            super().area(places, color=color)

    monkeypatch.setattr(module, "Canvas", Noting)
    return notes


def words_of(notes):
    """Return all lines written."""
    return [words for _, words, _ in notes["write"]]


# -- composed pictures ----------------------------------------------------------------------


def test_both_views_have_one_scale_and_a_bar_of_50_mm(monkeypatch):
    """The bar is as long in pixels as 50 mm in either view, and the size is written."""
    notes = recorded(monkeypatch, pictures)
    frames = []

    def noted(mesh, **how):
        frames.append(how["frame"])
        return render(mesh, **how)

    monkeypatch.setattr(pictures, "render", noted)
    shown = opened(lit_views_png([Body("x", tide_sign())], title="tide sign"))

    assert shown.shape == (560, 1400, 3)
    assert frames[0].px_per_mm == frames[1].px_per_mm
    columns = [x for places, _ in notes["area"] for x, _ in places]
    assert max(columns) - min(columns) == pytest.approx(50 * frames[0].px_per_mm)
    assert {"50 mm", "tide sign", "160.0 × 70.0 × 17.0 mm"} <= set(words_of(notes))
    for half in (shown[60:480, :700], shown[60:480, 700:]):
        blue = (half[:, :, 2] > half[:, :, 0] + 8).mean()
        assert 0.1 < blue < 0.6


@pytest.mark.parametrize(("width", "words"), [(4, "1 mm"), (20, "10 mm"), (3000, "500 mm")])
def test_the_bar_fits_tiny_and_huge_molds(monkeypatch, width, words):
    """Where 50 mm would be too long or too short, another round length is taken."""
    notes = recorded(monkeypatch, pictures)

    lit_views_png([Body("x", box(width, width / 2, width / 10))])

    assert words in words_of(notes)


@pytest.mark.parametrize("title", ["a long name for a sign " * 4, "x" * 5000])
def test_a_long_title_keeps_to_its_room(title):
    """However long the title, it touches neither the scale bar nor the size."""
    shown = opened(lit_views_png([Body("x", box(100, 60, 20))], title=title))

    foot = np.abs(shown[510:550] - PAPER).sum(axis=2).max(axis=0) > 60
    written = np.flatnonzero(foot[380:1020]) + 380
    assert len(written) > 100
    assert 410 < written.min()
    assert written.max() < 990


def test_all_bodies_are_in_the_pictures(monkeypatch):
    """A loose piece beside the mold counts for size and picture."""
    notes = recorded(monkeypatch, pictures)

    lit_views_png(sign_with_peg())

    whole = joined([body.mesh for body in sign_with_peg()])
    width = np.ptp(whole.points_mm[:, 0])
    assert any(words.startswith(f"{width:.1f} ×") for words in words_of(notes))


def test_composed_pictures_refuse_what_does_not_fit():
    """No body, or drafts for another mesh, are told."""
    for write in (
        lambda: lit_views_png([]),
        lambda: section_png([]),
        lambda: draft_map_png([], np.zeros(0), limit_deg=5),
    ):
        with pytest.raises(SpecError, match="bodies must be at least one body"):
            write()
    with pytest.raises(SpecError, match="drafts_deg must be one for each of 12 triangles"):
        draft_map_png([Body("x", box(1, 1, 1))], np.zeros(11), limit_deg=5)


def test_png_holds_the_picture_and_nothing_else():
    """Another library reads the same pixels; there are three parts and no date or name."""
    picture = np.random.default_rng(5).integers(0, 256, (37, 53, 3)).astype(np.uint8)

    data = png_bytes(picture)

    np.testing.assert_array_equal(opened(data), picture)
    parts, place = [], 8
    while place < len(data):
        length = int.from_bytes(data[place : place + 4], "big")
        name = data[place + 4 : place + 8]
        content = data[place + 8 : place + 8 + length]
        check = int.from_bytes(data[place + 8 + length : place + 12 + length], "big")
        assert check == zlib.crc32(name + content)
        parts.append(name)
        place += 12 + length
    assert parts == [b"IHDR", b"IDAT", b"IEND"]


def test_the_same_bodies_give_the_same_pictures():
    """Every picture, made twice, is the same to the last byte."""
    bodies = sign_with_peg()
    drafts = leans_deg(joined([body.mesh for body in bodies]))

    assert lit_views_png(bodies) == lit_views_png(bodies)
    assert section_png(bodies, sheet_mm=1.5) == section_png(bodies, sheet_mm=1.5)
    assert draft_map_png(bodies, drafts, limit_deg=5) == draft_map_png(bodies, drafts, limit_deg=5)


@pytest.mark.parametrize(("row", "column"), [(0, 0), (31, 32), (40, 99), (70, 100), (95, 159)])
def test_blocks_beside_the_solid_are_near(row, column):
    """A block is near if it, or one of its eight neighbors, shows a pixel of the solid."""
    seen = np.full((96, 160), -1, np.int32)
    seen[row, column] = 7
    expected = [
        [abs(i - row // BLOCK) <= 1 and abs(j - column // BLOCK) <= 1 for j in range(160 // BLOCK)]
        for i in range(96 // BLOCK)
    ]

    assert near_solid(seen).tolist() == expected
    assert near_solid(seen[:-20, :-20] * 0).all()
    assert near_solid(seen[:-20, :-20]).shape == (3, 5)
