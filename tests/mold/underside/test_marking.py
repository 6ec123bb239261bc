"""Label, arrow, insert and pry slots: they read from below and keep clear of everything."""

import numpy as np
import pytest
import shapely
from shapely import Point, box
from shapely.affinity import scale, translate
from support.molds import (
    MACHINE,
    SHOP,
    plain,
    plate,
    ring,
    screw_tray,
    sunk,
    tide_sign,
    wall,
    whole,
    word,
)
from support.outlines import as_multi

from moldgen.finding import Severity
from moldgen.mold.features import Feature
from moldgen.mold.underside.marking import (
    LABEL_DEPTH_MM,
    LETTER_HEIGHTS_MM,
    SKIN_MM,
    SLOT_HEIGHT_MM,
    SLOT_MM,
)
from moldgen.outline.lettering.text import TextSpec, outline_from_text

NUT = SHOP.insert("M4", "nut")
SET = SHOP.insert("M3", "heat-set")


def marked(body, **marks):
    """Return one body's marking, and the body."""
    made = whole(body, cell_mm=0.7, machine=MACHINE, **marks)
    return made.marking, made


def same_shape(a, b):
    """Tell whether two regions agree when their boxes are laid on each other."""
    ax, ay = a.bounds[:2]
    bx, by = b.bounds[:2]
    moved = translate(a, bx - ax, by - ay)
    return moved.symmetric_difference(b).area < 0.02 * b.area


def test_the_label_reads_from_below():
    """Turned over about the upright axis, the sunk letters are the letters as they are written."""
    marking, _ = marked(plain(plate(100, 60), 10), lines=("Fender",))
    seen = scale(marking.label, xfact=-1, origin=(0, 0))
    heights = [
        h for h in LETTER_HEIGHTS_MM
        if same_shape(outline_from_text(TextSpec(text="Fender", height_mm=h)).region, seen)
    ]  # fmt: skip

    assert heights == [6.0]
    plain_text = outline_from_text(TextSpec(text="Fender", height_mm=6.0)).region
    assert not same_shape(plain_text, marking.label)


def test_the_arrow_points_up_the_drawing():
    """The arrow alone is wider in its upper half: its head is at larger y."""
    marking, _ = marked(plain(plate(60, 40), 10), arrow=True)
    x0, y0, x1, y1 = marking.label.bounds
    upper = marking.label.intersection(box(x0, (y0 + y1) / 2, x1, y1)).bounds
    lower = marking.label.intersection(box(x0, y0, x1, (y0 + y1) / 2 - 0.5)).bounds

    assert upper[2] - upper[0] > 2 * (lower[2] - lower[0])
    assert y1 - y0 == pytest.approx(8.0)


def test_arrow_stands_before_the_words_as_read():
    """Seen from below the arrow is to the left of the words."""
    marking, _ = marked(plain(plate(120, 60), 10), lines=("Bait",), arrow=True)
    seen = scale(marking.label, xfact=-1, origin=(0, 0))
    parts = sorted(seen.geoms, key=lambda part: part.bounds[0])

    assert len(parts[0].exterior.coords) == 8


@pytest.mark.parametrize("body", [tide_sign(), screw_tray(), plain(ring(45, 25), 12)])
def test_marks_keep_clear(body):
    """Label, pocket and slots lie under the body, apart from each other, vents and channels."""
    marking, made = marked(body, lines=("shed", "HIPS"), arrow=True, insert=NUT, pry_slots=True)
    foot = made.root.outer
    regions = [marking.label, marking.pocket, marking.slots]

    assert not marking.label.is_empty
    assert shapely.buffer(foot, -2.0).covers(marking.label)
    assert shapely.buffer(foot, -4.0).covers(marking.pocket)
    for k, region in enumerate(regions):
        for other in regions[:k]:
            if not (region.is_empty or other.is_empty):
                assert region.distance(other) > 0.8
    solid = shapely.union_all([marking.label, marking.pocket, marking.slots])
    assert made.underside.airways.distance(solid) > 0.5
    for vent in made.vents.vents:
        assert solid.distance(Point(vent.x_mm, vent.y_mm)) > made.bore.bore_mm / 2


@pytest.mark.parametrize("insert", [NUT, SET])
def test_the_pocket_fits_its_insert(insert):
    """A nut gets a hexagon 0.2 mm wider than its flats, an insert its hole; with plastic around."""
    marking, made = marked(plain(plate(60, 50), 14), insert=insert)
    (pocket,) = marking.pocket.geoms
    inner = 2 * shapely.maximum_inscribed_circle(pocket, tolerance=1e-3).length

    size = insert.across_flats_mm + 0.2 if insert is NUT else insert.hole_mm
    assert inner == pytest.approx(size, abs=0.02)
    assert marking.pocket_depth_mm == pytest.approx(insert.thickness_mm + 1.0)
    assert marking.reserved.covers(shapely.buffer(pocket, 1.9))
    rows, columns = made.relief.cells(shapely.get_coordinates(pocket)).T
    above = made.relief.on_table_mm[rows, columns].min() - marking.pocket_depth_mm
    assert above >= SKIN_MM


def test_the_pocket_goes_where_the_mold_is_thick():
    """Under a tray the nut finds the rib, not the thin floor of a compartment."""
    tray = Feature(
        name="tray", region=plate(90, 70, 8), wall=wall(16),
        children=(sunk("a", as_multi(translate(plate(30, 50, 4), -22)), 13),),
    )  # fmt: skip
    marking, made = marked(tray, insert=NUT)
    floor = next(p for p in made.raw.plans if p.name == "a").flat

    assert not marking.pocket.is_empty
    assert floor.distance(marking.pocket) > 0


def test_every_letter_gets_its_arrow():
    """Loose letters each carry an arrow, so that none is laid the wrong way round."""
    marking, made = marked(plain(word("OAH", 50), 14), arrow=True)

    assert len(marking.label.geoms) == 3
    for letter in made.root.outer.geoms:
        assert sum(letter.covers(arrow) for arrow in marking.label.geoms) == 1
    assert marking.findings == ()


def test_what_finds_no_room_is_told():
    """On a mold too small or too low each thing asked for and left out is one note with advice."""
    marking, _ = marked(
        plain(plate(16, 10, 2), 4), lines=("a long label",), arrow=True, insert=NUT, pry_slots=True
    )

    assert marking.pocket.is_empty
    assert marking.slots.is_empty
    assert [f.code for f in marking.findings] == ["no-room-underneath"] * 2
    assert all(f.severity is Severity.NOTE and f.advice and f.basis for f in marking.findings)
    assert "two pry slots" in marking.findings[0].says
    assert "nut" in marking.findings[1].says


def test_what_nobody_asked_for_is_left_out_in_silence():
    """An insert that was only the usual, a label and an arrow go where they fit."""
    marking, _ = marked(
        plain(plate(16, 10, 2), 4), lines=("a long label",), arrow=True, insert=NUT,
        insert_asked=False,
    )  # fmt: skip

    assert marking.pocket.is_empty
    assert marking.label.is_empty
    assert marking.findings == ()


def test_a_label_without_room_leaves_the_arrow():
    """Where only the arrow fits, it is cut alone."""
    marking, _ = marked(plain(plate(26, 26), 10), lines=("a very long label",), arrow=True)

    assert len(marking.label.geoms) == 1
    assert marking.findings == ()


def test_pieces_share_one_note():
    """Letters that all lack room give one finding that counts them."""
    marking, _ = marked(plain(word("III", 30), 14), insert=NUT, arrow=False)

    assert len(marking.findings) == 1
    assert "(on 3 of 3 pieces)" in marking.findings[0].says


def test_nothing_wanted_nothing_cut():
    """Without label, arrow, insert and slots the underside stays whole and nothing is said."""
    marking, _ = marked(plain(plate(60, 40), 10))

    assert marking.label.is_empty
    assert marking.reserved.is_empty
    assert marking.findings == ()


def test_a_label_keeps_its_floor():
    """Over a floor of 1.5 mm no label is sunk: it would leave 0.9 mm."""
    tray = Feature(
        name="t", region=plate(70, 50), wall=wall(10), children=(sunk("w", plate(58, 38), 8.5),)
    )
    marking, made = marked(tray, lines=("x",))

    rows, columns = made.relief.cells(shapely.get_coordinates(marking.label)).T
    left = made.relief.on_table_mm[rows, columns] - LABEL_DEPTH_MM
    assert left.min(initial=np.inf) >= SKIN_MM - 1e-9


@pytest.mark.parametrize("turn", [0, 90])
def test_pry_slots_at_both_ends(turn):
    """Two slots, 12 wide and 6 deep, open at opposite ends of the long way of the foot."""
    size = (100, 50) if turn == 0 else (50, 100)
    marking, made = marked(plain(plate(*size), 12), pry_slots=True)
    foot = made.root.outer
    width, depth = SLOT_MM

    assert len(marking.slots.geoms) == 2
    for slot in marking.slots.geoms:
        inside = slot.intersection(foot)
        assert inside.area == pytest.approx(width * depth, rel=0.01)
        assert not foot.covers(slot)
    a, b = (np.array(slot.centroid.coords[0]) for slot in marking.slots.geoms)
    assert abs((a - b)[0 if turn == 0 else 1]) > 95
    mesh = made.finished.bodies[0].mesh
    middle = marking.slots.geoms[0].intersection(foot).centroid
    rise = np.ptp(mesh.corners_mm[:, :, 2], axis=1)
    level = (rise < 1e-9) & (abs(mesh.corners_mm[:, 0, 2] - SLOT_HEIGHT_MM) < 1e-9)
    roof = as_multi(shapely.union_all(shapely.polygons(mesh.corners_mm[level][:, :, :2])))
    assert roof.covers(middle)


def test_slots_need_a_thick_end():
    """A plate of 2 mm has no room for slots 1.5 mm high."""
    marking, _ = marked(plain(plate(100, 50), 2.5, top_radius_mm=0.5), pry_slots=True)

    assert marking.slots.is_empty
    assert len(marking.findings) == 1
