"""Pieces of a split: they fit, add up, meet, are keyed and numbered, and cuts go round things."""

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold, OpType
from support.molds import SHOP, tide_sign, whole
from support.printed import BED, body, box, opened, printer, rod

import moldgen as mg
from moldgen.errors import GeometryError, SpecError
from moldgen.printing.bed_fit import MARGIN_MM, check_beds
from moldgen.printing.bed_fit import fits_bed as fits
from moldgen.printing.choices import PLAYS_MM, KeyKind
from moldgen.printing.hurdles import HurdleKind, hurdles_of_mesh, run_along_mm2
from moldgen.printing.keys import WALL_MM, KeySpec, build_pin, key_hole, keys_bill
from moldgen.printing.planes import Cut, place_cuts
from moldgen.printing.split import on_bed, split_to_bed
from moldgen.printing.test_piece import build_key_test_piece, build_vent_test_piece
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.slices import region_at, solid_of
from moldgen.solid.topology import topology_of
from moldgen.stock.dowel import DowelKind, dowel_named, load_dowels

SMALL = printer(80, 60, 50)
DOWELS = published("dowel_pins")
NONE = KeySpec(kind=KeyKind.NONE)


def codes(findings):
    """Return the codes of findings."""
    return [finding.code for finding in findings]


def volumes(bodies):
    """Return the volumes of bodies."""
    return [one.mesh.volume_mm3 for one in bodies]


def wide_block():
    """Return a block with a step and a hole, larger than the small printer in every direction."""
    return body(
        box(150, 100, 40) + box(40, 30, 90).translate((20, 30, 0)) - rod(7, 50, 100, 60, -1)
    )


def test_pieces_add_up_to_the_whole():
    """Volumes before keys agree to 1e-6 of the whole, in all three directions at once."""
    block = wide_block()

    found = split_to_bed(block, SMALL, keys=NONE)

    assert {cut.axis for cut in found.cuts} == {0, 1, 2}
    assert sum(volumes(found.plain)) == pytest.approx(block.mesh.volume_mm3, rel=1e-6)


def test_pieces_meet_without_gap_or_overlap():
    """Together they are the whole and nothing twice."""
    block = wide_block()

    parts = [solid_of(one.mesh) for one in split_to_bed(block, SMALL, keys=NONE).plain]
    whole_again = Manifold.batch_boolean(parts, OpType.Add)

    solid = solid_of(block.mesh)
    assert whole_again.volume() == pytest.approx(solid.volume(), rel=1e-9)
    assert (solid - whole_again).volume() == pytest.approx(0, abs=1e-6)
    twice = sum((a ^ b).volume() for i, a in enumerate(parts) for b in parts[:i])
    assert twice == pytest.approx(0, abs=1e-6)


@given(st.floats(70, 230), st.floats(40, 150), st.floats(10, 70), st.integers(0, 2))
@settings(max_examples=8)
def test_every_piece_fits_the_bed_and_is_closed(width, depth, height, kind):
    """Whatever the size and the keys."""
    block = body(box(width, depth, height))

    found = split_to_bed(block, SMALL, keys=KeySpec(kind=list(KeyKind)[kind]))

    assert all(fits(piece.mesh, SMALL) for piece in found.pieces)
    assert all(topology_of(piece.mesh).closed for piece in (*found.pieces, *found.pins))
    assert sum(volumes(found.plain)) == pytest.approx(width * depth * height, rel=1e-6)
    assert "print-beyond-bed" not in codes(found.findings)


def test_as_few_pieces_as_fit():
    """Two for 140 mm, margins left free; the part is turned if that saves one."""
    room = 80 - 2 * MARGIN_MM

    assert len(place_cuts(body(box(2 * room, 20, 20)).mesh, SMALL)) == 1
    assert len(place_cuts(body(box(2 * room + 1, 20, 20)).mesh, SMALL)) == 2
    assert place_cuts(body(box(room, 54, 50)).mesh, SMALL) == ()
    assert place_cuts(body(box(54, room, 50)).mesh, SMALL) == ()
    assert [cut.axis for cut in place_cuts(body(box(50, 50, 99)).mesh, SMALL)] == [2]


@pytest.mark.parametrize(
    ("size_mm", "says", "measured", "limit"),
    [
        ((77, 40, 20), "width", 77, 80 - 2 * MARGIN_MM),
        ((40, 77, 20), "depth", 77, 80 - 2 * MARGIN_MM),
        ((60, 60, 20), "depth", 60, 60 - 2 * MARGIN_MM),
        ((40, 40, 90), "height", 90, 50),
    ],
)
def test_beyond_the_bed_tells_the_side_that_lacks(size_mm, says, measured, limit):
    """What is measured is larger than its limit, and it is the room of that very side."""
    (found,) = check_beds([body(box(*size_mm))], SMALL)

    assert found.says.endswith(says)
    assert found.measured == pytest.approx(measured)
    assert found.limit == pytest.approx(limit)


def test_a_part_that_fits_stays_whole():
    """One piece, neither keyed nor numbered."""
    block = body(box(60, 40, 30))

    found = split_to_bed(block, SMALL)

    assert len(found.pieces) == 1
    assert found.keys == found.cuts == found.findings == ()
    assert found.pieces[0].mesh.volume_mm3 == pytest.approx(72000)


def test_a_cut_goes_round_a_vent():
    """A hole in the middle pushes the cut aside by its radius and what is left around it."""
    plain, bored = box(100, 40, 20), box(100, 40, 20) - rod(2, 30, 50, 20, -1)

    straight, aside = (
        place_cuts(body(one).mesh, SMALL, hurdles_of_mesh(body(one).mesh)) for one in (plain, bored)
    )

    assert straight[0].at_mm == pytest.approx(50, abs=0.3)
    assert 3.5 <= abs(aside[0].at_mm - 50) <= 4.0
    assert aside[0].crossed == ()


def test_a_cut_goes_round_letters_and_one_more_piece_is_made_for_them():
    """A letter that covers all places for a single cut is spared by a second one."""
    letter = box(100, 40, 10) + box(60, 20, 6).translate((20, 10, 10))
    block = body(letter)
    hurdles = hurdles_of_mesh(block.mesh)

    cuts = place_cuts(block.mesh, SMALL, hurdles)

    assert [hurdle.kind for hurdle in hurdles] == [HurdleKind.LETTER]
    assert len(cuts) == 2
    assert all(cut.crossed == () for cut in cuts)


def test_what_cannot_be_helped_is_told():
    """A word longer than the bed is cut somewhere, and the finding names what."""
    block = body(box(100, 40, 10) + box(90, 15, 6).translate((5, 10, 10)))

    found = split_to_bed(block, SMALL, hurdles=hurdles_of_mesh(block.mesh))

    crossed = [finding for finding in found.findings if finding.code == "split-crosses"]
    assert len(crossed) == 1
    assert "cannot go round a raised part (letter)" in crossed[0].says


def test_a_cut_does_not_run_along_a_wall():
    """A wall in the middle of the part is not shaved: the cut stays clear of it."""
    stepped = body(box(100, 40, 10) + box(50, 40, 10).translate((0, 0, 10)))

    cut = place_cuts(stepped.mesh, SMALL)[0]

    assert abs(cut.at_mm - 50) >= 0.9
    assert cut.crossed == ()
    places = np.array([40.0, 50.0, 60.0])
    assert run_along_mm2(stepped.mesh, 0, places) == pytest.approx([0, 400, 0])


def test_hurdles_of_a_mold_are_its_vents_and_letters():
    """As many vents as were placed, and each letter of the word, told from the mesh alone."""
    made = whole(tide_sign())

    kinds = [hurdle.kind for hurdle in hurdles_of_mesh(made.finished.bodies[0].mesh)]

    assert kinds.count(HurdleKind.LETTER) == 4
    assert kinds.count(HurdleKind.VENT) == len(made.vents.vents) > 0


def test_a_long_word_is_cut_between_two_letters():
    """Vents fill every gap of WORKSHOP with slits, and yet no letter of it is cut halfway up."""
    made = mg.make(mg.sign("WORKSHOP", letter_height_mm=30, relief_mm=4), SHOP)
    mesh = made.bodies[0].mesh

    found = split_to_bed(Body("sign", mesh), SHOP.printer("bed-180"), hurdles=hurdles_of_mesh(mesh))

    letters = region_at(solid_of(mesh), float(mesh.bounds_mm[0, 2]) + 8)
    (cut,) = found.cuts
    sides = [
        letter.bounds[0] > cut.at_mm or letter.bounds[2] < cut.at_mm for letter in letters.geoms
    ]
    assert len(sides) == 8
    assert all(sides)
    assert all(h.kind is not HurdleKind.VENT for h in cut.crossed)


def test_a_letter_is_spared_before_any_vents():
    """Between letters that fill all other places lies a gap with three holes: it is cut there."""
    block = box(110, 40, 10) + box(48.5, 30, 6).translate((2, 5, 10))
    block = block + box(48.5, 30, 6).translate((59.5, 5, 10))
    for y in (8, 20, 32):
        block = block - rod(3.25, 40, 55, y, -1)

    found = split_to_bed(body(block), SMALL, hurdles=hurdles_of_mesh(body(block).mesh))

    assert [50.5 < cut.at_mm < 59.5 for cut in found.cuts] == [True]
    assert {h.kind for h in found.cuts[0].crossed} <= {HurdleKind.VENT, HurdleKind.RADIUS}


def test_a_slit_is_told_by_its_mouth():
    """The pocket below a slit may be cut: the hurdle is as wide as the slit and what is left."""
    pocket = box(4, 10, 5).translate((48, 15, -1)) + box(0.4, 8, 30).translate((49.8, 16, -1))
    block = body(box(100, 40, 20) - pocket)

    (hurdle,) = hurdles_of_mesh(block.mesh)

    assert hurdle.low_mm[0] == pytest.approx(49.8 - 1.5)
    assert hurdle.high_mm[0] == pytest.approx(50.2 + 1.5)


def test_upright_vents_do_not_mind_a_level_cut():
    """They go on on the other side."""
    hurdle = hurdles_of_mesh(body(box(40, 40, 60) - rod(2, 70, 20, 20, -1)).mesh)[0]

    assert hurdle.crossed(0, 20)
    assert not hurdle.crossed(2, 30)


def test_pins_have_their_holes_in_both_pieces_and_plastic_around_them():
    """Keys take out just their holes, half on either side, and keep their walls."""
    block = body(box(100, 40, 20))

    found = split_to_bed(block, SMALL)

    assert len(found.keys) == 2
    key = found.keys[0]
    assert (key.name, key.length_mm) == ("steel 8 x 32", 32)
    assert key.hole_mm == pytest.approx(8 + 0.1 + BED.hole_undersize_mm)
    numbers = 2 * 200 * 0.6
    for plain, piece in zip(found.plain, found.pieces, strict=True):
        holes = 2 * np.pi / 4 * key.hole_mm**2 * (key.length_mm / 2 + 0.5)
        assert 0 < plain.mesh.volume_mm3 - piece.mesh.volume_mm3 - holes < numbers
        low, high = plain.mesh.bounds_mm
        for one in found.keys:
            middle = np.array(one.middle_mm)[1:]
            room = np.minimum(middle - low[1:], high[1:] - middle)
            assert (room >= one.hole_mm / 2 + WALL_MM - 1e-6).all()


def test_two_pins_stand_far_apart():
    """As far as a block of 40 x 20 allows, corner to corner of the room."""
    keys = split_to_bed(body(box(100, 40, 20)), SMALL).keys

    apart = np.linalg.norm(np.subtract(keys[0].middle_mm, keys[1].middle_mm))
    rim = keys[0].hole_mm / 2 + WALL_MM
    assert apart == pytest.approx(np.hypot(40 - 2 * rim, 20 - 2 * rim), abs=0.3)


def test_a_pin_keeps_off_a_bore():
    """A narrow upright bore beside the joint is not broken into."""
    bore = rod(1.0, 30, 54, 9, -1)
    block = body(box(100, 18, 20) - bore)
    keys = split_to_bed(block, SMALL, cuts=[Cut(axis=0, at_mm=50.0)]).keys

    assert keys
    assert all((key_hole(key) ^ bore).volume() == 0 for key in keys)


def test_a_pin_keeps_off_bores_that_level_cuts_miss():
    """Bores finer than the cuts are apart, behind two corners of the joint."""
    bores = [rod(0.3, 30, 51.5, y, -1) for y in (3, 4, 5, 6)]
    solid = box(100, 30, 20)
    for bore in bores:
        solid = solid - bore

    keys = split_to_bed(body(solid), SMALL, cuts=[Cut(axis=0, at_mm=50.0)]).keys

    assert len(keys) == 2
    assert sum((key_hole(key) ^ bore).volume() for key in keys for bore in bores) == 0


def test_a_slice_keeps_islands_in_holes():
    """Tubes within tubes, as pads within a rim: areas add up."""
    nested = [rod(r, 10) - rod(r - 2, 12, z=-1) for r in (20, 15, 10)]

    region = region_at(nested[0] + nested[1] + nested[2], 5.0)

    rings = sum(r**2 - (r - 2) ** 2 for r in (20, 15, 10))
    assert region.is_valid
    assert region.area == pytest.approx(np.pi * rings, rel=2e-3)
    assert [len(part.interiors) for part in region.geoms] == [1, 1, 1]


def test_thin_plates_get_thin_pins_or_a_finding():
    """5 mm carry pins of 2 mm; 3 mm carry none, and the report says so."""
    thin, thinner = (split_to_bed(body(box(100, 40, tall)), SMALL) for tall in (5, 3))

    assert [key.diameter_mm for key in thin.keys] == [2.0, 2.0]
    assert thinner.keys == ()
    assert "split-few-keys" in codes(thinner.findings)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_holes_lie_along_the_cut_axis(axis):
    """A key's holes lie half on either side of the joint."""
    sizes = [20.0, 22.0, 24.0]
    sizes[axis] = 60.0
    block = body(box(*sizes))

    key = split_to_bed(block, BED, cuts=[Cut(axis=axis, at_mm=30.0)]).keys[0]
    bounds = key_hole(key).bounding_box()

    assert bounds[axis] == pytest.approx(30 - key.length_mm / 2 - 0.5)
    assert bounds[axis + 3] == pytest.approx(30 + key.length_mm / 2 + 0.5)


def test_printed_pins_are_as_long_and_lie_flat():
    """Each lies on z = 0 on its flat and goes into its hole."""
    found = split_to_bed(body(box(100, 40, 20)), SMALL, keys=KeySpec(kind=KeyKind.PRINTED))

    assert len(found.pins) == len(found.keys) == 2
    width, depth, height = np.ptp(found.pins[0].mesh.points_mm, axis=0)
    assert width == pytest.approx(32)
    assert depth == pytest.approx(8, abs=0.02)
    assert height == pytest.approx(8 * 0.85, abs=0.02)
    assert found.pins[0].mesh.points_mm[:, 2].min() == 0
    assert build_pin(found.keys[0]).volume() < np.pi * 16 * 32


def test_pieces_are_numbered_underneath():
    """A sunk number takes plastic from the lowest 0.6 mm of a piece and from nowhere else."""
    found = split_to_bed(body(box(100, 40, 20)), SMALL, keys=NONE)

    for plain, piece in zip(found.plain, found.pieces, strict=True):
        before, after = solid_of(plain.mesh), solid_of(piece.mesh)
        assert region_at(after, 0.3).area < region_at(before, 0.3).area - 1
        assert region_at(after, 0.7).area == pytest.approx(region_at(before, 0.7).area)
    assert [piece.name for piece in found.pieces] == ["1", "2"]


def test_a_piece_without_room_for_a_number_is_told():
    """A narrow bar has none."""
    found = split_to_bed(body(box(100, 3, 20)), SMALL, keys=NONE)

    assert "split-unmarked" in codes(found.findings)


def test_pieces_go_to_the_bed():
    """Each stands on z = 0, its low corner over the origin."""
    piece = split_to_bed(body(box(100, 40, 20).translate((5, 6, 7))), SMALL).pieces[1]

    assert on_bed(piece).mesh.bounds_mm[0] == pytest.approx([0, 0, 0])


def test_dowels_are_those_of_the_standard():
    """Every printed size is in stock, from its shortest to its longest length."""
    stock = {d.printed: d for d in load_dowels() if d.kind is DowelKind.STEEL}

    for row in DOWELS:
        dowel = stock[row["diameter"]]
        assert dowel.diameter_mm == float(row["diameter"])
        assert dowel.lengths_mm[0] == float(row["shortest"])
        assert dowel.lengths_mm[-1] == float(row["longest"])


def test_dowels_of_another_size_would_be_noticed():
    """The next diameter's lengths do not pass for this one's."""
    stock = [d for d in load_dowels() if d.kind is DowelKind.STEEL]

    shifted = zip(DOWELS[2:], stock, strict=False)
    assert all(float(row["longest"]) != dowel.lengths_mm[-1] for row, dowel in shifted)


def test_dowels_are_found_by_what_people_write():
    """With or without kind and unit; what there is not is refused with what there is."""
    assert dowel_named("steel 5") == dowel_named("5") == dowel_named("Steel 5 mm")
    assert dowel_named("wood 8").lengths_mm == (30, 32, 35, 40)
    assert dowel_named("5").longest_within(9) is None
    with pytest.raises(SpecError, match=r"dowel must be a standard dowel \(got '7'\)\. Choose one"):
        dowel_named("7")


def test_plays_to_try_hold_the_published_fits():
    """Press, slide and loose are on the test piece."""
    assert {float(row["play"]) for row in published("print_fits")} <= set(PLAYS_MM)


def test_test_pieces_hold_the_holes_they_name():
    """What is missing of the plate is its holes and its figures."""
    sizes = (1.0, 2.0, 3.0)
    piece = build_vent_test_piece(sizes)

    region = region_at(solid_of(piece.mesh), 1.0)
    holes = sorted(hole_area(ring) for part in region.geoms for ring in part.interiors)
    assert holes == pytest.approx([np.pi / 4 * size**2 for size in sizes], rel=0.02)
    assert topology_of(piece.mesh).closed


def hole_area(ring):
    """Return the area within a ring."""
    import shapely

    return shapely.Polygon(ring).area


@pytest.mark.parametrize("lying", [True, False])
def test_key_test_pieces_are_bored_as_joints_are(lying):
    """The hole of a play is the pin plus what holes lose plus the play."""
    piece = build_key_test_piece(dowel_named("5"), BED, plays_mm=(0.1, 0.4), lying=lying)
    standing = solid_of(piece.mesh)
    level = 1.0
    if lying:
        standing, level = standing.rotate((90, 0, 0)), 2.0

    region = region_at(standing, level)
    holes = sorted(hole_area(ring) for part in region.geoms for ring in part.interiors)
    wanted = [np.pi / 4 * (5 + 0.2 + play) ** 2 for play in (0.1, 0.4)]
    assert holes == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(
    ("made", "match"),
    [
        (lambda: build_vent_test_piece(()), r"diameters_mm must be 1 to 20 sizes \(got 0\)"),
        (lambda: build_vent_test_piece((0.0,)), r"diameters_mm must be more than 0 mm"),
        (lambda: build_key_test_piece(dowel_named("5"), BED, plays_mm=(2.0,)), r"at most 1 mm"),
    ],
)
def test_test_pieces_refuse_nonsense(made, match):
    """No holes, holes of no size, absurd play."""
    with pytest.raises(SpecError, match=match):
        made()


def test_an_open_mesh_is_not_split():
    """The sentence names it and says what to do."""
    with pytest.raises(
        GeometryError, match=r"hull is not a closed solid: 3 of its edges .* Repair"
    ):
        split_to_bed(Body("hull", opened(box(100, 40, 20))), SMALL)


def test_absurd_sizes_are_refused():
    """A part in the wrong unit would fall into hundreds of pieces."""
    with pytest.raises(SpecError, match=r"size along x must be at most .* Check the unit"):
        split_to_bed(body(box(5000, 10, 10)), SMALL)


def test_a_bed_smaller_than_a_key_is_refused():
    """A dowel that no piece could hold."""
    tiny = printer(26, 26, 200)

    with pytest.raises(SpecError, match=r"dowel must be at most 23 mm long for this printer"):
        split_to_bed(body(box(60, 15, 15)), tiny, keys=KeySpec(dowel="steel 12"))


def test_a_cut_beside_the_part_is_refused():
    """It would cut nothing."""
    with pytest.raises(SpecError, match=r"cut must be between 0\.0 and 60\.0 mm \(got 61 mm\)"):
        split_to_bed(body(box(60, 15, 15)), BED, cuts=[Cut(axis=0, at_mm=61.0)])


def test_an_inside_out_mesh_is_turned():
    """Its volume is what it encloses."""
    block = body(box(60, 15, 15)).mesh
    inside_out = Mesh(block.points_mm.copy(), np.ascontiguousarray(block.triangles[:, ::-1]))

    assert solid_of(inside_out).volume() == pytest.approx(60 * 15 * 15)


def test_the_bill_counts_pins():
    """By name."""
    keys = split_to_bed(body(box(150, 40, 20)), SMALL).keys

    assert keys_bill(keys) == (("steel 8 x 32", 4),)


def test_splitting_twice_gives_the_same():
    """The same arguments, the same triangles."""
    block = body(box(100, 40, 20))
    one, two = (split_to_bed(block, SMALL).pieces for _ in range(2))

    assert all((a.mesh.points_mm == b.mesh.points_mm).all() for a, b in zip(one, two, strict=True))


def test_the_shop_knows_printers():
    """The stock's smallest printer takes a usual sign whole."""
    assert fits(body(box(160, 60, 12)).mesh, SHOP.printer("bed-180"))
