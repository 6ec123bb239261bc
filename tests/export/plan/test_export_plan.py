"""Plans at 1:1: what is drawn is as large as it says, in every file and on every sheet."""

import hashlib
import io
import math
import os
import re
import shutil
import subprocess
import sys
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path as FilePath
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from conftest import ROOT, half_last_digit, published
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from shapely import MultiPolygon, Point, Polygon, box, union_all
from shapely.affinity import translate
from support.some import some
from svgelements import SVG, Circle, Group
from svgelements import Path as SvgPath

from moldgen.errors import OutlineError, SpecError
from moldgen.export.plan.dxf import dxf_bytes
from moldgen.export.plan.glyphs import glyph_rings
from moldgen.export.plan.layers import LINE_KINDS, Layer
from moldgen.export.plan.paper import PAPERS, paper_named, place_tiles, points
from moldgen.export.plan.pdf import MARGIN_MM, pdf_bytes
from moldgen.export.plan.pdf_canvas import text_width_mm
from moldgen.export.plan.plan import Dimension, Hole, Note, Plan, build_plan, legend
from moldgen.export.plan.png import plan_png_bytes, scale_bar_mm
from moldgen.export.plan.svg import svg_bytes
from moldgen.typeface.face import drawing_font

PAPER_ROWS = published("paper_sizes")
UNITS = {row["fact"]: row["value"] for row in published("drawing_units")}
SVG_NAMESPACE = "{http://www.w3.org/2000/svg}"

lengths_mm = st.floats(5.0, 900.0)


def bait_tray() -> dict:
    """Return a tray with a counter, an island, vents, pilots, relief and everything around it."""
    foot = MultiPolygon([box(0, 0, 120, 70).difference(box(20, 20, 50, 45)), box(130, 5, 150, 31)])
    return {
        "title": "Bait tray",
        "foot": foot,
        "flats": [foot.buffer(-3)],
        "vents": [Hole(x_mm=10, y_mm=10, diameter_mm=0.8), Hole(x_mm=60, y_mm=10, diameter_mm=0.8)],
        "drills": [Hole(x_mm=100, y_mm=60, diameter_mm=1.0, note="no. 60")],
        "channels": [box(0, 33, 120, 37)],
        "trim": box(-15, -15, 165, 85),
        "opening": box(-40, -50, 190, 120),
        "sheet": box(-55, -65, 205, 135),
    }


@pytest.fixture
def plan() -> Plan:
    return build_plan(**bait_tray())


def areas_mm2(subject: dict) -> dict[str, float]:
    """Areas straight from the regions that went in."""
    return {
        "foot": subject["foot"].area,
        "flat": sum(flat.area for flat in subject["flats"]),
        "channel": sum(channel.area for channel in subject["channels"]),
        "trim": subject["trim"].area,
        "clamp": subject["opening"].area,
        "sheet": subject["sheet"].area,
    }


def even_odd_area(rings) -> float:
    """Area of rings filled even-odd."""
    region = Polygon()
    for ring in rings:
        region = region.symmetric_difference(Polygon(ring))
    return region.area


# --- paper ------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", PAPER_ROWS, ids=lambda row: row["paper"])
def test_paper_is_as_large_as_published(row):
    """Every paper has the size the standard gives it."""
    paper = PAPERS[row["paper"]]

    assert paper.width_mm == pytest.approx(float(row["width_mm"]), abs=1e-9)
    assert paper.height_mm == pytest.approx(float(row["height_mm"]), abs=1e-9)


@pytest.mark.parametrize(
    "row", [row for row in PAPER_ROWS if row["width_pt"]], ids=lambda row: row["paper"]
)
def test_paper_in_points_is_as_published(row):
    """Every printed digit of the sizes in points is met."""
    paper = PAPERS[row["paper"]]

    for mm, printed in ((paper.width_mm, row["width_pt"]), (paper.height_mm, row["height_pt"])):
        assert points(mm) == pytest.approx(float(printed), abs=half_last_digit(printed) + 1e-9)


def test_published_points_can_tell_an_inch_of_25_mm():
    """The same table rejects an inch rounded to 25 mm."""
    misses = [
        abs(PAPERS[row["paper"]].width_mm / 25.0 * 72.0 - float(row["width_pt"]))
        > half_last_digit(row["width_pt"])
        for row in PAPER_ROWS
        if row["width_pt"]
    ]

    assert all(misses)


def test_a_sizes_halve():
    """Each A size is the one before cut across, to the millimeter it is rounded down to."""
    for larger, smaller in ((0, 1), (1, 2), (2, 3), (3, 4), (4, 5)):
        before, after = PAPERS[f"A{larger}"], PAPERS[f"A{smaller}"]
        assert (after.width_mm, after.height_mm) == (before.height_mm // 2, before.width_mm)


@pytest.mark.parametrize("word", ["a4", " A4 ", "A4"])
def test_paper_is_found_in_any_case(word):
    """Nobody has to remember capitals."""
    assert paper_named(word).name == "A4"


@pytest.mark.parametrize(
    ("word", "hint"), [("leter", r"Did you mean Letter\?"), ("postcard", "Choose A0, A1")]
)
def test_unknown_paper_is_refused_with_the_nearest_name(word, hint):
    """A typo is answered with the name that was meant."""
    with pytest.raises(SpecError, match=rf"^paper must be A0, .* \(got '{word}'\)\. {hint}"):
        paper_named(word)


# --- tiling -----------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(
    width=lengths_mm, height=lengths_mm, across=st.floats(120, 400), down=st.floats(120, 400),
    overlap=st.floats(2, 40), x=st.floats(-500, 500), y=st.floats(-500, 500),
)  # fmt: skip
def test_sheets_cover_the_drawing_and_overlap(width, height, across, down, overlap, x, y):
    """No part of the drawing is missing, neighbors share the overlap, and no sheet is idle."""
    bounds = (x, y, x + width, y + height)

    tiling = place_tiles(bounds, width_mm=across, height_mm=down, overlap_mm=overlap)

    covered = union_all(
        [box(t.x0_mm, t.y0_mm, t.x1_mm, t.y1_mm).buffer(1e-6) for t in tiling.tiles]
    )
    assert covered.covers(box(*bounds))
    assert len(tiling.tiles) == tiling.rows * tiling.columns
    for tile in tiling.tiles:
        assert (tile.x1_mm - tile.x0_mm, tile.y1_mm - tile.y0_mm) == pytest.approx((across, down))
        for other in tiling.tiles:
            if (other.row, other.column) == (tile.row, tile.column + 1):
                assert tile.x1_mm - other.x0_mm == pytest.approx(overlap, abs=1e-6)
            if (other.row, other.column) == (tile.row + 1, tile.column):
                assert other.y1_mm - tile.y0_mm == pytest.approx(overlap, abs=1e-6)
    assert tiling.columns == 1 or (tiling.columns - 1) * (across - overlap) + overlap < width
    assert tiling.rows == 1 or (tiling.rows - 1) * (down - overlap) + overlap < height


def test_pages_are_named_by_row_and_column():
    """Rows count from the top and columns from the left; no page is named like a paper size."""
    tiling = place_tiles((0, 0, 250, 350), width_mm=100, height_mm=100, overlap_mm=10)

    assert [tile.name for tile in tiling.tiles][:4] == [
        "row 1, column 1", "row 1, column 2", "row 1, column 3", "row 2, column 1",
    ]  # fmt: skip
    assert tiling.tiles[-1].name == "row 4, column 3"
    assert tiling.tiles[0].y1_mm > tiling.tiles[-1].y1_mm


def test_rows_go_on():
    """Row 27 is called by its number like any other."""
    tiling = place_tiles((0, 0, 50, 2700), width_mm=100, height_mm=100, overlap_mm=0)

    assert tiling.tiles[25].name == "row 26, column 1"
    assert tiling.tiles[26].name == "row 27, column 1"


def test_absurd_drawings_are_refused_before_the_paper_runs_out():
    """More than 200 sheets is a mistake in the size."""
    foot = box(0, 0, 60_000, 60_000)

    with pytest.raises(SpecError, match=r"paper must be large enough for at most 200 sheets"):
        pdf_bytes(build_plan(title="Quay", foot=foot), paper="A5")


# --- the plan ---------------------------------------------------------------------------------


def test_every_kind_of_line_has_its_own_layer(plan):
    """Nothing that is cut shares a layer with what is only told."""
    of_strips = {Layer.STRIP, Layer.BEND, Layer.HOT, Layer.TICK}
    of_wood = {Layer.SAW, Layer.BELOW, Layer.ROUT, Layer.DOWEL, Layer.BORE}
    of_arrangements = {Layer.TABLE, Layer.PLUG, Layer.BED, Layer.BLANK}
    of_others = {*of_strips, *of_wood, *of_arrangements, Layer.FINDING, Layer.HANG}
    assert plan.layers == tuple(layer for layer in Layer if layer not in of_others)
    assert {item.layer for item in plan.items if isinstance(item, Dimension)} == {Layer.MARK}
    assert len({kind.title for kind in LINE_KINDS.values()}) == len(Layer)


def test_lines_stay_apart_on_gray_paper():
    """Dashes and widths alone tell the line kinds apart; holes differ by their cross."""
    lines = [
        (kind.dash_mm, kind.width_mm)
        for layer, kind in LINE_KINDS.items()
        if layer not in (Layer.VENT, Layer.DRILL)
    ]

    assert len(set(lines)) == len(lines)
    assert Hole(x_mm=0, y_mm=0, diameter_mm=1, layer=Layer.DRILL).cross
    assert not Hole(x_mm=0, y_mm=0, diameter_mm=1).cross


def test_overall_dimensions_say_the_true_size(plan):
    """Width and depth of the foot and of the trim line, measured on their bounds."""
    told = [item for item in plan.items if isinstance(item, Dimension)]

    assert [item.text for item in told] == ["150.0 mm", "70.0 mm", "180.0 mm", "100.0 mm"]
    assert [item.length_mm for item in told] == pytest.approx([150, 70, 180, 100])


def test_dimension_lines_do_not_lie_on_the_part(plan):
    """Every dimension line stands clear of the foot and the trim line."""
    part = box(-15, -15, 165, 85)
    for item in some(plan.items):
        if isinstance(item, Dimension):
            (ax, ay), (bx, by) = item.strokes[2]
            middle = Point((ax + bx) / 2, (ay + by) / 2)
            assert part.distance(middle) >= 8.0 - 1e-9
            assert part.distance(Point(item.note.x_mm, item.note.y_mm)) > part.distance(middle)


@settings(max_examples=40)
@given(turn=st.floats(-math.pi, math.pi), offset=st.sampled_from([-12.0, 12.0]))
def test_dimension_text_is_never_upside_down(turn, offset):
    """Whatever the direction measured in, its text reads from below or from the right."""
    end = (50 * math.cos(turn), 50 * math.sin(turn))
    told = Dimension(start_mm=(0, 0), end_mm=end, offset_mm=offset, text="50 mm")

    (ax, ay), (bx, by) = told.strokes[2]

    assert -90 - 1e-9 <= told.note.angle_deg <= 90 + 1e-9
    assert math.hypot(bx - ax, by - ay) == pytest.approx(50)
    assert abs(ax * end[1] - ay * end[0]) / 50 == pytest.approx(12)
    away = math.radians(told.note.angle_deg) - turn
    assert math.sin(away) == pytest.approx(0, abs=1e-9)


def test_dimension_stands_on_the_left_of_its_direction():
    """A positive offset is to the left of start to end."""
    told = Dimension(start_mm=(0, 0), end_mm=(40, 0), offset_mm=7, text="40 mm")

    assert told.strokes[2] == ((0, 7), (40, 7))
    assert told.note.y_mm > 7


@pytest.mark.parametrize("offset_mm", [7.0, -7.0])
def test_witness_lines_reach_past_the_dimension_line(offset_mm):
    """They start at what is measured and end 1.5 mm beyond the line, on either side."""
    told = Dimension(start_mm=(5, 3), end_mm=(45, 3), offset_mm=offset_mm, text="40 mm")
    reach = 3 + offset_mm + math.copysign(1.5, offset_mm)

    assert told.strokes[:2] == (((5, 3), (5, reach)), ((45, 3), (45, reach)))


def test_hole_takes_its_own_room():
    """Bounds of a hole are its center plus and minus half its diameter."""
    assert Hole(x_mm=10, y_mm=20, diameter_mm=3).bounds_mm == (8.5, 18.5, 11.5, 21.5)


@pytest.mark.parametrize(("angle_deg", "base"), [(0, (10, 18)), (90, (12, 20)), (-90, (8, 20))])
def test_letters_stand_below_their_middle(angle_deg, base):
    """The base line lies half a capital below the place, as the text is turned."""
    note = Note(x_mm=10, y_mm=20, text="UP", height_mm=4, angle_deg=angle_deg)

    assert note.base_mm == pytest.approx(base)


def test_upper_side_is_marked_unless_declined():
    """The arrow points at greater y, and can be left out."""
    tray = bait_tray()
    arrow = [item for item in build_plan(**tray).on(Layer.MARK) if hasattr(item, "rings")]
    words = [item.text for item in build_plan(**tray).on(Layer.MARK) if isinstance(item, Note)]

    (ring,) = arrow[0].rings
    assert "UP" in words
    assert ring[ring[:, 1].argmax()][0] == pytest.approx(ring[:, 0].mean(), abs=1e-9)
    assert (ring[:, 1] == ring[:, 1].max()).sum() == 1
    plain = build_plan(**tray, upright=False)
    assert not [item for item in plain.on(Layer.MARK) if hasattr(item, "rings")]


def test_legend_counts_the_holes_by_size(plan):
    """The legend says how many holes there are of each size."""
    words = dict(legend(plan))

    assert words[Layer.VENT] == "vent, printed through (2 of 0.8 mm)"
    assert words[Layer.DRILL] == "drill after printing (1 of 1 mm)"


def test_only_some_layers_can_be_drawn(plan):
    """Leaving out the sheet and the clamp makes the drawing smaller and changes nothing else."""
    small = plan.only(Layer.FOOT, Layer.VENT)

    assert small.layers == (Layer.FOOT, Layer.VENT)
    assert small.bounds_mm == pytest.approx((0, 0, 150, 70))


def test_bounds_hold_everything_drawn(plan):
    """No text, hole or line reaches out of the stated bounds."""
    x0, y0, x1, y1 = plan.bounds_mm
    for item in some(plan.items):
        a0, b0, a1, b1 = item.bounds_mm
        assert x0 <= a0 <= a1 <= x1
        assert y0 <= b0 <= b1 <= y1


@settings(max_examples=25)
@given(dx=st.floats(-900, 900), dy=st.floats(-900, 900))
def test_moving_the_mold_moves_the_plan(dx, dy):
    """A mold somewhere else gives the same drawing somewhere else."""
    here = build_plan(title="Tray", foot=box(0, 0, 90, 40))
    there = build_plan(title="Tray", foot=translate(box(0, 0, 90, 40), dx, dy))

    shift = np.subtract(there.bounds_mm, here.bounds_mm)

    assert shift == pytest.approx([dx, dy, dx, dy], abs=1e-6)


def test_plan_without_a_foot_is_refused():
    """An empty mold has nothing to draw."""
    with pytest.raises(OutlineError, match=r"^The plan has no foot outline"):
        build_plan(title="Tray", foot=MultiPolygon())


def test_corner_that_is_not_a_number_is_refused():
    """Not-a-number never reaches a file."""
    bad = Polygon([(0, 0), (10, 0), (10, math.inf)])

    with pytest.raises(
        OutlineError, match=r"^The foot outline holds a corner that is not a number"
    ):
        build_plan(title="Tray", foot=bad)


@pytest.mark.parametrize("diameter_mm", [0.0, -1.0, math.nan, math.inf, 500.0])
def test_absurd_holes_are_refused(diameter_mm):
    """A hole has a real size."""
    with pytest.raises(SpecError, match=r"^diameter_mm must be more than 0 mm and at most 200 mm"):
        Hole(x_mm=0, y_mm=0, diameter_mm=diameter_mm)


def test_hole_nowhere_is_refused():
    """A hole has a real place."""
    with pytest.raises(OutlineError, match=r"^A hole lies at x nan, y 0"):
        Hole(x_mm=math.nan, y_mm=0, diameter_mm=1)


# --- SVG --------------------------------------------------------------------------------------


def test_svg_unit_is_one_millimeter(plan):
    """Width and height in mm equal those of the view box, one user unit each."""
    root = ElementTree.fromstring(svg_bytes(plan))
    _, _, width, height = (float(part) for part in root.get("viewBox").split())

    assert root.get("width").endswith("mm")
    assert float(root.get("width")[:-2]) == width
    assert root.get("height").endswith("mm")
    assert float(root.get("height")[:-2]) == height


def test_svg_hundred_millimeters_are_as_many_pixels_as_published():
    """A foot 100 mm wide, read by another library at 96 px per inch, is 377.953 px wide."""
    plan = build_plan(title="Bar", foot=box(0, 0, 100, 20))
    foot = svg_paths(svg_bytes(plan))["foot"]
    printed = UNITS["svg px of 100 mm"]

    x0, _, x1, _ = foot[0].bbox()

    assert x1 - x0 == pytest.approx(float(printed), abs=half_last_digit(printed))


def test_published_pixels_can_tell_90_to_the_inch():
    """The same figure rejects the older convention of 90 px per inch."""
    printed = UNITS["svg px of 100 mm"]

    assert abs(100 / 25.4 * 90 - float(printed)) > half_last_digit(printed)


def svg_groups(data: bytes) -> dict[str, list]:
    drawing = SVG.parse(io.BytesIO(data), ppi=96.0, reify=True)
    return {
        element.id: list(element)
        for element in drawing.elements()
        if type(element) is Group and element.id in {layer.value for layer in Layer}
    }


def svg_paths(data: bytes) -> dict[str, list[SvgPath]]:
    groups = svg_groups(data)
    return {n: [e for e in group if isinstance(e, SvgPath)] for n, group in groups.items()}


def corners_px(path: SvgPath) -> list[list[tuple[float, float]]]:
    """Return the corners of each ring of a path made of straight lines."""
    rings = [SvgPath(ring) for ring in path.as_subpaths()]
    return [[(corner.x, corner.y) for corner in ring.as_points()] for ring in rings]


def test_svg_read_back_has_the_same_areas(plan):
    """Another library finds every region, in its layer, with its area."""
    pixels_per_mm2 = float(UNITS["svg px of 1 mm"]) ** 2
    paths = svg_paths(svg_bytes(plan))

    for layer, expected_mm2 in some(areas_mm2(bait_tray()).items()):
        found = sum(even_odd_area(corners_px(path)) for path in paths[layer])
        assert found / pixels_per_mm2 == pytest.approx(expected_mm2, rel=1e-4)


def test_svg_holes_are_circles_of_their_size(plan):
    """Vents and pilots are circles, y turned over."""
    groups = svg_groups(svg_bytes(plan))
    scale = float(UNITS["svg px of 1 mm"])
    vents = [e for e in groups["vent"] if isinstance(e, Circle)]
    drills = [e for e in groups["drill"] if isinstance(e, Circle)]

    assert [vent.rx / scale for vent in vents] == pytest.approx([0.4, 0.4], rel=1e-5)
    assert [drill.rx / scale for drill in drills] == pytest.approx([0.5], rel=1e-5)
    assert (vents[1].cx - vents[0].cx) / scale == pytest.approx(50, rel=1e-5)
    assert (vents[0].cy - drills[0].cy) / scale == pytest.approx(50, rel=1e-5)


def test_svg_layers_are_groups_with_a_title(plan):
    """Every layer is one group that says what it is."""
    root = ElementTree.fromstring(svg_bytes(plan))
    groups = root.findall(f"{SVG_NAMESPACE}g")

    assert [group.get("id") for group in groups] == [layer.value for layer in plan.layers]
    for group in groups:
        assert group.find(f"{SVG_NAMESPACE}title").text == LINE_KINDS[Layer(group.get("id"))].title
        assert group.get("stroke-width") == "0.1"


def test_svg_survives_any_title():
    """Angle brackets, quotes, control characters and broken text stay inside the text."""
    title = "<script>&\"'\x00\x0b \ud800Ωя"
    plan = build_plan(title=title, foot=box(0, 0, 9, 9))

    root = ElementTree.fromstring(svg_bytes(plan))

    assert root.find(f"{SVG_NAMESPACE}title").text == "<script>&\"' Ωя"


# --- DXF --------------------------------------------------------------------------------------


@pytest.fixture
def dxf(plan):
    return ezdxf.read(io.StringIO(dxf_bytes(plan).decode("cp1252")))


def test_dxf_is_in_millimeters(dxf):
    """The unit code is the published one for millimeters."""
    assert dxf.header["$INSUNITS"] == int(UNITS["dxf insunits of mm"])
    assert dxf.header["$MEASUREMENT"] == 1
    assert dxf.dxfversion == "AC1015"


def test_dxf_passes_its_own_audit(dxf):
    """The reader finds nothing to repair."""
    audit = dxf.audit()

    assert not audit.errors
    assert not audit.fixes


def test_dxf_read_back_has_the_same_areas(dxf):
    """Every region is closed, on its layer, and as large as it was."""
    for layer, expected_mm2 in some(areas_mm2(bait_tray()).items()):
        lines = dxf.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
        assert all(line.closed for line in lines)
        rings = [[(x, y) for x, y in line.get_points("xy")] for line in lines]
        assert even_odd_area(rings) == pytest.approx(expected_mm2, rel=1e-9)


def test_dxf_holes_are_circles_of_their_size(dxf):
    """Vents and pilots keep place and size."""
    circles = [
        (c.dxf.layer, c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius)
        for c in dxf.modelspace().query("CIRCLE")
    ]

    assert sorted(circles) == [
        ("drill", 100, 60, 1.0),
        ("vent", 10, 10, 0.8),
        ("vent", 60, 10, 0.8),
    ]


def test_dxf_keeps_marks_off_the_cutting_layers(dxf):
    """Lines and text of dimensions are never on a layer that a cutter follows."""
    loose = {line.dxf.layer for line in dxf.modelspace().query("LINE")}
    texts = {text.dxf.layer for text in dxf.modelspace().query("TEXT")}

    assert loose == {"mark"}
    assert not texts & {"foot", "flat", "trim", "channel"}


@pytest.mark.parametrize("setting", [True, False])
def test_dxf_writer_leaves_the_library_as_it_was(setting, plan, monkeypatch):
    """The fixed dates are this file's own business."""
    monkeypatch.setattr(ezdxf.options, "write_fixed_meta_data_for_testing", setting)

    dxf_bytes(plan)

    assert ezdxf.options.write_fixed_meta_data_for_testing is setting


# --- PDF --------------------------------------------------------------------------------------


def page_streams(data: bytes) -> list[str]:
    """Content of the pages, without the shared drawing."""
    streams = re.findall(rb"stream\n(.*?)endstream", data, re.S)
    return [stream.decode("ascii") for stream in streams[1:]]


def shared_drawing(data: bytes) -> str:
    return re.search(rb"/Subtype /Form .*?stream\n(.*?)endstream", data, re.S)[1].decode("ascii")


def media_boxes(data: bytes) -> list[tuple[float, float]]:
    found = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    return [(float(width), float(height)) for width, height in found]


def level_lines_pt(stream: str) -> list[float]:
    """Return the lengths of the level lines of a page [pt]."""
    unit = float(re.match(r"([\d.]+) 0 0 \1 0 0 cm", stream)[1])
    lines = re.findall(r"^([-\d.]+) ([-\d.]+) m ([-\d.]+) ([-\d.]+) l S$", stream, re.M)
    return [
        (float(x1) - float(x0)) * unit for x0, y0, x1, y1 in lines if y0 == y1
    ]  # fmt: skip


@pytest.mark.parametrize(
    "row", [row for row in PAPER_ROWS if row["width_pt"]], ids=lambda row: row["paper"]
)
def test_pdf_pages_have_the_published_size(row, plan):
    """Every page is the paper asked for, one way round or the other."""
    sizes = media_boxes(pdf_bytes(plan, paper=row["paper"]))

    for size in some(sizes):
        for points_found, printed in zip(
            sorted(some(size)), (row["width_pt"], row["height_pt"]), strict=True
        ):
            assert points_found == pytest.approx(
                float(printed), abs=half_last_digit(printed) if "." in printed else 1e-3
            )


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_pdf_check_bar_is_100_mm_and_4_in_on_every_page(paper, plan):
    """Each page carries both bars at the published lengths, and says to print at 100 %."""
    for stream in some(page_streams(pdf_bytes(plan, paper=paper))):
        lengths = level_lines_pt(stream)
        for fact in ("pdf points of 100 mm", "pdf points of 4 in"):
            assert min(abs(length - float(UNITS[fact])) for length in lengths) < 1e-3
        assert "Print at 100 %, no scaling".encode("cp1252").hex() in stream


def test_published_bar_can_tell_a_page_shrunk_to_fit():
    """The same figure rejects the 97 % that a viewer's fit-to-page leaves."""
    assert abs(0.97 * 100 / 25.4 * 72 - float(UNITS["pdf points of 100 mm"])) > 1


def test_pdf_draws_at_full_size(plan):
    """Every sheet places the shared drawing unscaled; only the overview shrinks it."""
    overview, *sheets = page_streams(pdf_bytes(plan, paper="A5"))
    places = [re.findall(r"^([\d.]+) 0 0 \1 [-\d. ]+ cm$", stream, re.M)[1] for stream in sheets]

    assert len(sheets) > 1
    assert set(places) == {"1"}
    assert float(re.findall(r"^([\d.]+) 0 0 \1 [-\d. ]+ cm$", overview, re.M)[1]) < 1
    assert "not to scale".encode("cp1252").hex() in overview


def test_pdf_drawing_holds_the_regions_in_millimeters(plan):
    """The shared drawing's closed lines have the areas that went in."""
    content = shared_drawing(pdf_bytes(plan))
    rings = [
        [tuple(map(float, pair.split())) for pair in re.split(r" [ml] ?", trail) if pair.strip()]
        for trail in re.findall(r"^([-\d. ml]+) h$", content, re.M)
    ]
    found = sorted(round(Polygon(ring).area, 2) for ring in rings)
    foot_rings = [120 * 70.0, 30 * 25.0, 20 * 26.0]

    assert all(any(math.isclose(area, ring, abs_tol=0.01) for area in found) for ring in foot_rings)
    assert 180 * 100.0 in found
    assert 260 * 200.0 in found


def test_pdf_of_one_sheet_has_no_overview():
    """A small mold is one page."""
    assert len(media_boxes(pdf_bytes(build_plan(title="Tag", foot=box(0, 0, 60, 30))))) == 1


def test_pdf_lies_the_way_that_saves_paper():
    """A long mold turns the page on its side, a tall one leaves it upright."""
    long = media_boxes(pdf_bytes(build_plan(title="Long", foot=box(0, 0, 230, 40))))
    tall = media_boxes(pdf_bytes(build_plan(title="Tall", foot=box(0, 0, 40, 190))))

    assert len(long) == len(tall) == 1
    assert long[0][0] > long[0][1]
    assert tall[0][0] < tall[0][1]


def test_pdf_sheets_are_numbered_and_name_their_neighbors(plan):
    """Each sheet says which it is and what joins it."""
    streams = page_streams(pdf_bytes(plan, paper="A5"))[1:]

    for number, stream in enumerate(streams, start=1):
        assert f", {number} of {len(streams)}".encode("cp1252").hex() in stream
        assert b"joins ".hex() in stream
    assert b"Page row 1, column 1".hex() in streams[0]
    assert b"joins row 1, column 2".hex() in streams[0]
    assert b"joins row 1, column 1".hex() in streams[1]


def test_pdf_register_marks_meet_their_twins():
    """A cross on one sheet lies at the same place of the drawing as on its neighbor."""
    streams = page_streams(pdf_bytes(build_plan(title="Rail", foot=box(0, 0, 700, 60))))[1:]
    marks = []
    for stream in streams:
        body = stream[stream.index("/Plan Do") : stream.index("\nQ\n")]
        marks.append(set(re.findall(r"^([-\d.]+ [-\d.]+) m .* c h S$", body, re.M)))

    assert len(streams) >= 3
    assert len(marks[0]) == 2
    for before, after in pairwise(marks):
        assert len(before & after) == 2


def test_pdf_cross_reference_points_at_the_objects(plan):
    """Every offset of the table finds its object, and the trailer finds the table."""
    data = pdf_bytes(plan, paper="Letter")
    start = int(re.search(rb"startxref\n(\d+)", data)[1])
    offsets = [int(place) for place in re.findall(rb"^(\d{10}) 00000 n $", data, re.M)]

    assert data[start:].startswith(b"xref\n")
    for number, place in enumerate(offsets, start=1):
        assert data[place:].startswith(b"%d 0 obj\n" % number)
    for match in re.finditer(rb"/Length (\d+) >>\nstream\n", data):
        assert data[match.end() + int(match[1]) :].startswith(b"endstream")


def test_pdf_asks_the_viewer_not_to_scale(plan):
    """The document's own setting is no scaling."""
    assert b"/PrintScaling /None" in pdf_bytes(plan)


def test_pdf_spells_names_that_the_built_in_font_lacks():
    """A Greek name is drawn as shapes, not as question marks."""
    data = pdf_bytes(build_plan(title="Λιμάνι", foot=box(0, 0, 60, 30)))

    (stream,) = page_streams(data)
    assert re.search(r" h\nf\n", stream)
    assert "?".encode("cp1252").hex() + "> Tj" not in stream


def test_helvetica_widths_agree_with_another_copy():
    """Every width equals that in the font metrics which another library ships."""
    metrics = FilePath(find_spec("matplotlib").origin).parent / "mpl-data/fonts/pdfcorefonts"
    metrics = metrics / "Helvetica.afm"
    rows = re.findall(r"^C (-?\d+) ; WX (\d+) ; N (\w+)", metrics.read_text(), re.M)
    by_code = {int(code): int(width) for code, width, _ in rows}
    by_name = {name: int(width) for _, width, name in rows}
    # The metrics number straight quotes differently from the encoding of Windows.
    by_code |= {39: by_name["quotesingle"], 96: by_name["grave"]}

    assert all(text_width_mm(chr(code), 1000.0) == by_code[code] for code in range(32, 127))


def test_glyph_shapes_advance_like_the_text():
    """Twice the letters are twice as wide, and a counter is wound against its letter."""
    rings, width = glyph_rings("Ω", 10.0)
    _, double = glyph_rings("ΩΩ", 10.0)
    letter, _ = glyph_rings("Θ", 10.0)

    assert rings
    assert double == pytest.approx(2 * width)
    assert {Polygon(ring).exterior.is_ccw for ring in letter} == {True, False}


def test_glyph_shapes_pass_through_the_points_of_the_font():
    """Every point that the font puts on an outline is a corner of ours, by another library."""
    font = TTFont(drawing_font())
    name = font.getBestCmap()[ord("Ω")]
    corners, _, flags = font["glyf"][name].getCoordinates(font["glyf"])
    scale = 10.0 / font["head"].unitsPerEm
    on_line = [corner for corner, flag in zip(corners, flags, strict=True) if flag & 1]

    rings, width_mm = glyph_rings("Ω", 10.0)
    ours = np.concatenate([np.array(ring) for ring in rings])

    assert width_mm == pytest.approx(font["hmtx"][name][0] * scale)

    for x, y in on_line:
        assert np.hypot(*(ours - (x * scale, y * scale)).T).min() < 1e-6


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not installed")
def test_pdf_bar_and_foot_measure_true_in_pixels(tmp_path):
    """Rendered at 10 px to the millimeter, bar and foot are as long as they say."""
    (tmp_path / "plan.pdf").write_bytes(
        pdf_bytes(build_plan(title="Tag", foot=box(0, 0, 120, 30), upright=False))
    )
    command = ["pdftoppm", "-r", "254", "-gray", "-png", "-singlefile", "plan.pdf", "page"]
    subprocess.run(command, cwd=tmp_path, check=True, timeout=60)
    pixels = np.asarray(Image.open(tmp_path / "page.png").convert("L"))
    dark = pixels < 128

    runs = [longest_run(row) for row in dark]

    assert pixels.shape == pytest.approx((2970, 2100), abs=1)
    assert any(abs(run - 1000) <= 4 for run in runs)
    assert any(abs(run - 1016) <= 4 for run in runs)
    assert any(abs(run - 1205) <= 4 for run in runs)


def longest_run(row) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.view(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@pytest.mark.parametrize("overlap_mm", [0.0, 1.0, 60.0, math.nan])
def test_pdf_overlap_is_refused_out_of_range(overlap_mm, plan):
    """An overlap that cannot be glued, or eats the page, is refused."""
    with pytest.raises(SpecError, match=r"^overlap_mm must be at least 2 mm and at most 40 mm"):
        pdf_bytes(plan, overlap_mm=overlap_mm)


@settings(max_examples=25, deadline=None)
@given(width=st.floats(5, 700), height=st.floats(5, 700), paper=st.sampled_from(sorted(PAPERS)))
def test_pdf_shows_every_corner_of_the_foot(width, height, paper):
    """Every corner of the foot lies inside the clip of some sheet."""
    data = pdf_bytes(build_plan(title="Tray", foot=box(0, 0, width, height)), paper=paper)
    streams = page_streams(data)
    windows = []
    for stream in streams[1:] if len(streams) > 1 else streams:
        x, y, w, h = map(float, re.search(r"([-\d. ]+) re W n", stream)[1].split())
        dx, dy = map(float, re.search(r"^1 0 0 1 ([-\d. ]+) cm$", stream, re.M)[1].split())
        windows.append(box(x - dx, y - dy, x - dx + w, y - dy + h))
        assert x >= MARGIN_MM - 1e-3

    shown = union_all([window.buffer(1e-3) for window in windows])

    assert shown.covers(box(0, 0, width, height))


# --- PNG --------------------------------------------------------------------------------------


def picture(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)


def reds(pixels: np.ndarray) -> int:
    return int(((pixels[..., 0] > 180) & (pixels[..., 1] < 60) & (pixels[..., 2] < 90)).sum())


def test_png_is_as_wide_as_asked(plan):
    """The picture has the asked width."""
    assert picture(plan_png_bytes(plan, width_px=800)).shape[1] == 800


def test_png_keeps_red_for_problems(plan):
    """Signal red appears only where a problem is ringed."""
    calm = picture(plan_png_bytes(plan, width_px=800))
    ringed = build_plan(**bait_tray(), rings={"1": (60.0, 35.0)})
    alarm = picture(plan_png_bytes(ringed, width_px=800))

    assert reds(calm) == 0
    assert reds(alarm) > 50


@pytest.mark.parametrize(
    ("width_mm", "bar_mm"), [(310, 50), (400, 100), (399, 50), (84, 20), (7.9, 1), (0.9, 0.2)]
)
def test_scale_bar_is_a_round_length(width_mm, bar_mm):
    """The longest of 1, 2, 5 times a power of ten within a quarter of the width."""
    assert scale_bar_mm(width_mm) == pytest.approx(bar_mm)


@pytest.mark.parametrize("width_px", [0, 399, 6001])
def test_png_of_absurd_width_is_refused(width_px, plan):
    """A picture is neither a stamp nor a poster."""
    with pytest.raises(SpecError, match=r"^width_px must be 400 to 6000 \(got "):
        plan_png_bytes(plan, width_px=width_px)


# --- same bytes -------------------------------------------------------------------------------

WRITERS = {"svg": svg_bytes, "dxf": dxf_bytes, "pdf": pdf_bytes, "png": plan_png_bytes}


@pytest.mark.parametrize("kind", sorted(WRITERS))
def test_same_plan_gives_the_same_bytes(kind):
    """Writing twice changes nothing."""
    write = WRITERS[kind]

    assert write(build_plan(**bait_tray())) == write(build_plan(**bait_tray()))


def fingerprint() -> str:
    """One digest of all four files."""
    plan = build_plan(**bait_tray())
    return hashlib.sha256(b"".join(WRITERS[kind](plan) for kind in sorted(WRITERS))).hexdigest()


def in_another_process(code: str, **changes: str) -> subprocess.CompletedProcess[str]:
    """Run a line of Python with the tests on its path and a changed environment."""
    here = ROOT / "tests"
    paths = os.pathsep.join([str(here), str(ROOT), str(here / "export" / "plan")])
    environment = {**os.environ, "PYTHONPATH": paths, **changes}
    command = [sys.executable, "-c", code]
    return subprocess.run(command, capture_output=True, text=True, env=environment, timeout=120)


def test_same_bytes_in_another_process():
    """Another process with another hash seed writes the same files."""
    code = "import test_export_plan as plans; print(plans.fingerprint())"

    run = in_another_process(code, PYTHONHASHSEED="4711")

    assert run.stdout.strip() == fingerprint(), run.stderr


def test_dxf_is_written_in_silence_without_a_home(tmp_path):
    """A home folder that cannot be written changes neither the file nor the screen."""
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder is wanted")
    code = (
        "import sys; from shapely import box; from moldgen.export.plan.plan import build_plan; "
        "from moldgen.export.plan.dxf import dxf_bytes; "
        "sys.stdout.buffer.write(dxf_bytes(build_plan(title='Tag', foot=box(0, 0, 9, 5))))"
    )

    run = in_another_process(code, XDG_CACHE_HOME=str(blocked))

    assert run.stderr == ""
    assert run.stdout == dxf_bytes(build_plan(title="Tag", foot=box(0, 0, 9, 5))).decode()
