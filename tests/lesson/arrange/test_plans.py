"""Templates and pictures of an arrangement: true to size, with all that is needed at the table."""

import numpy as np
import pytest
import shapely
from support.some import some

import moldgen as mg
from moldgen.export.plan.layers import Layer
from moldgen.lesson.arrange.plans import cut_plan, plate_plan, shot_plan
from moldgen.lesson.layout.piece import Placing, Shot


@pytest.fixture(scope="module")
def work():
    """Two tags arranged, with stock."""
    jobs = [mg.sign(word, letter_height_mm=14, plastic="HIPS", gauge=1) for word in ("OAR", "KEEL")]
    return mg.arrange(jobs, forming="off", stock_sheet="1220 x 610", kerf=3).arrangement


@pytest.fixture(scope="module")
def template(work):
    """The template of their shot."""
    shots = work.shots[0]
    return shot_plan(shots, shots.layout.shots[0], work.machine, title="Shot 1")


def sizes(plan, layer):
    """Return width and depth of what is drawn on a layer."""
    x0, y0, x1, y1 = plan.only(layer).bounds_mm
    return x1 - x0, y1 - y0


def test_opening_and_sheet_are_drawn_in_full_size(work, template):
    """The clear opening, and round it the sheet that the clamp holds and prints on."""
    paths = [item for item in template.on(Layer.CLAMP) if hasattr(item, "rings")]
    opening = shapely.Polygon(paths[0].rings[0])

    assert opening.bounds == (0.0, 0.0, 450.0, 300.0)
    assert sizes(template, Layer.SHEET) == (490.0, 340.0)
    notes = [item.text for item in template.on(Layer.CLAMP) if hasattr(item, "text")]
    assert notes == ["print of the clamp"]


def test_each_mold_is_drawn_where_it_stands(work, template):
    """The feet of the plan are those of the layout, and each has a name and an arrow."""
    shots = work.shots[0]
    drawn = [shapely.Polygon(item.rings[0]) for item in template.on(Layer.FOOT)]

    for one, region in zip(some(drawn), shots.layout.regions(shots.layout.shots[0]), strict=True):
        assert one.symmetric_difference(region).area == pytest.approx(0.0, abs=1e-6)
    marks = list(template.on(Layer.MARK))
    assert {"OAR", "KEEL"} <= {item.text for item in marks if hasattr(item, "text")}
    assert len([item for item in marks if hasattr(item, "rings")]) == 2


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0, 15.0])
def test_arrows_point_where_the_upper_side_is(work, turn_deg):
    """A mold turned counter-clockwise has an arrow turned the same way."""
    shots = work.shots[0]
    shot = Shot(placings=(Placing(piece=0, x_mm=225.0, y_mm=150.0, turn_deg=turn_deg),))

    plan = shot_plan(shots, shot, work.machine, title="Shot")

    (arrow,) = [item.rings[0] for item in plan.on(Layer.MARK) if hasattr(item, "rings")]
    way = arrow[0] - (arrow[3] + arrow[4]) / 2
    assert np.degrees(np.arctan2(way[1], way[0])) - 90 == pytest.approx(
        turn_deg if turn_deg < 180 else turn_deg - 360
    )


def test_holes_to_plug_lie_under_a_part_beside_its_mold(work, template):
    """Marked holes are within a trim line and not under a foot; all others are not so."""
    shots = work.shots[0]
    shot = shots.layout.shots[0]
    feet = shapely.union_all(shots.layout.regions(shot))
    parts = shapely.union_all([shots.molds[p.piece].trim_at(p) for p in shot.placings])
    marked = [shapely.Point(hole.x_mm, hole.y_mm) for hole in template.on(Layer.PLUG)]
    others = [shapely.Point(hole.x_mm, hole.y_mm) for hole in template.on(Layer.TABLE)]

    assert len(marked) > 10
    assert all(parts.distance(hole) <= 1.0 + 1e-9 and not feet.covers(hole) for hole in marked)
    assert not any(parts.distance(hole) <= 1.0 and not feet.covers(hole) for hole in others)
    assert len(marked) + len(others) == 30 * 20


def test_plates_and_stock_are_drawn_in_full_size(work):
    """A plate shows the bed and each body; a stock sheet each blank and offcut."""
    plate = plate_plan(work.plates[0].layout, work.plates[0].layout.shots[0], title="Plate 1")
    cuts = work.cut_lists[0]
    stock = cut_plan(cuts, cuts.sheets[0], title="Stock sheet 1")

    assert sizes(plate, Layer.BED) == (
        work.plates[0].printer.bed_width_mm,
        work.plates[0].printer.bed_depth_mm,
    )
    assert len(list(plate.on(Layer.FOOT))) == 2
    assert sizes(stock, Layer.SHEET) == (1220.0, 610.0)
    drawn = sum(shapely.Polygon(item.rings[0]).area for item in stock.on(Layer.BLANK))
    sheet = cuts.sheets[0]
    assert drawn == pytest.approx(1220 * 610 - sum(cut.kerf.area_mm2 for cut in sheet.cuts))
