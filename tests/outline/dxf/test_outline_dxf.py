"""DXF drawings become regions in millimeters, and everything left out is told."""

from contextlib import suppress
from itertools import pairwise
from math import asin, cos, hypot, pi, radians, sin, sqrt
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from conftest import ROOT, published
from ezdxf.document import Drawing as Document
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity, box

from moldgen.errors import FileError, MoldgenError, OutlineError, SpecError
from moldgen.finding import sentence
from moldgen.outline.curves import bezier_points, bulge_points
from moldgen.outline.drawing import Drawing
from moldgen.outline.dxf.read import UNITS, outline_from_dxf

few = settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
SQUARE = [(0, 0), (50, 0), (50, 50), (0, 50)]


def document(insunits: int | None = 4, version: str = "R2010") -> Document:
    """Return an empty drawing with its unit set."""
    doc = ezdxf.new(version)
    doc.header["$INSUNITS"] = insunits or 0
    return doc


@pytest.fixture
def read(tmp_path):
    """Write a drawing to a file and read it back."""

    def written(doc: Document, fmt: str = "asc", **options) -> Drawing:
        path = tmp_path / "test.dxf"
        doc.saveas(path, fmt=fmt)
        return outline_from_dxf(path, **options)

    return written


def codes(drawing: Drawing) -> set[str]:
    return {finding.code for finding in drawing.findings}


def area_mm2(drawing: Drawing) -> float:
    return float(drawing.region.area)


def same(region, expected, tolerance_mm2: float = 1e-4) -> bool:
    """Tell whether two regions cover the same area."""
    return shapely.symmetric_difference(region, expected).area <= tolerance_mm2


# published -------------------------------------------------------------------------------------

ROWS = published("dxf_insunits")


def _square_of_100_mm(code: int, meters: float) -> Document:
    side = 0.1 / meters
    doc = document(code)
    doc.modelspace().add_lwpolyline([(0, 0), (side, 0), (side, side), (0, side)], close=True)
    return doc


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["unit"])
def test_each_insunits_code_has_its_length(read, row):
    """A square of 100 mm, written in any unit of the table, is read as 100 mm."""
    drawing = read(_square_of_100_mm(int(row["code"]), float(row["meters"])))

    assert drawing.region.bounds == pytest.approx((0, 0, 100, 100), abs=1e-4)
    assert row["unit"] in drawing.unit_note


def test_the_insunits_table_can_tell_a_neighbor(read):
    """The square of one code, read under the next, is not 100 mm: the table has teeth."""
    for row, other in [(ROWS[0], ROWS[4]), (ROWS[3], ROWS[0]), (ROWS[4], ROWS[3])]:
        doc = _square_of_100_mm(int(row["code"]), float(row["meters"]))
        doc.header["$INSUNITS"] = int(other["code"])

        assert read(doc).region.bounds[2] != pytest.approx(100, rel=0.5)


def test_every_code_is_in_the_table():
    """The reader knows the codes of the table and no other."""
    assert [(int(row["code"]), row["unit"]) for row in ROWS] == [
        (code, name) for code, (name, _) in UNITS.items()
    ]


# exact ------------------------------------------------------------------------------------------


def test_a_bulge_of_one_is_a_half_circle(read):
    """Two vertices with bulge 1 both ways make a circle; one makes half of it, below."""
    doc = document()
    doc.modelspace().add_lwpolyline([(0, 0, 1), (40, 0, 0)], format="xyb", close=True)

    drawing = read(doc, chord_mm=1e-4)

    assert area_mm2(drawing) == pytest.approx(pi * 400 / 2, rel=1e-5)
    assert drawing.region.bounds == pytest.approx((0, -20, 40, 0), abs=1e-3)


@pytest.mark.parametrize("bulge", [0.2, -0.2, 0.5, 1.0, 2.5, -3.0])
def test_a_bulge_is_the_tangent_of_a_quarter_of_its_angle(bulge):
    """Length, sagitta and ends of the arc follow from chord and bulge in closed form."""
    points = bulge_points((1, 2), (9, 8), bulge, chord=1e-5)

    angle = 4 * np.arctan(abs(bulge))
    radius = 10 / 2 / abs(sin(angle / 2))
    assert LineString(points).length == pytest.approx(radius * angle, rel=1e-4)
    # The sagitta is bulge times half the chord, to the right of the way for positive bulge.
    aside = (points - (1, 2)) @ (0.6, -0.8)
    assert aside[np.abs(aside).argmax()] == pytest.approx(bulge * 5, abs=2e-5)


def test_circles_arcs_and_ellipses_have_their_areas(read):
    """A disc with an elliptic hole, and a half disc of arc and line."""
    doc = document()
    space = doc.modelspace()
    space.add_circle((0, 0), 30)
    space.add_ellipse((5, 0), (12, 5), 0.5)
    space.add_arc((100, 0), 20, 30, 210)
    end = (20 * cos(radians(30)), 20 * sin(radians(30)))
    space.add_line((100 + end[0], end[1]), (100 - end[0], -end[1]))

    drawing = read(doc, chord_mm=1e-4)

    areas = [part.region.area for part in drawing.parts]
    assert areas == pytest.approx([900 * pi - pi * 13 * 6.5, 200 * pi], rel=1e-5)


def test_an_arc_may_pass_through_zero(read):
    """From 300 to 60 degrees is the third of the circle on the right, not the rest."""
    doc = document()
    doc.modelspace().add_arc((0, 0), 20, 300, 60)
    doc.modelspace().add_line((10, -20 * sin(pi / 3)), (10, 20 * sin(pi / 3)))

    drawing = read(doc, chord_mm=1e-4)

    assert area_mm2(drawing) == pytest.approx(400 * (pi / 3 - sin(2 * pi / 3) / 2), rel=1e-4)


def test_part_of_an_ellipse_is_read_between_its_parameters(read):
    """A quarter ellipse and two lines enclose a quarter of the area, in its quadrant."""
    doc = document()
    space = doc.modelspace()
    space.add_ellipse((0, 0), (30, 0), 0.5, start_param=pi / 2, end_param=pi)
    space.add_line((0, 15), (0, 0))
    space.add_line((0, 0), (-30, 0))

    drawing = read(doc, chord_mm=1e-4)

    assert area_mm2(drawing) == pytest.approx(pi * 30 * 15 / 4, rel=1e-4)
    assert drawing.region.bounds == pytest.approx((-30, 0, 0, 15), abs=1e-6)


def test_a_quadratic_spline_is_its_bezier_curve(read):
    """A spline of degree 2 with one span encloses what the Bézier formula encloses."""
    controls = [(0, 0), (30, 60), (60, 0)]
    doc = document()
    doc.modelspace().add_open_spline([(x, y, 0) for x, y in controls], degree=2)
    doc.modelspace().add_line((0, 0), (60, 0))

    drawing = read(doc, chord_mm=1e-3)

    # Two thirds of the triangle under the chord is one third of width times handle height.
    assert area_mm2(drawing) == pytest.approx(60 * 60 / 3, rel=1e-4)
    assert same(drawing.region, Polygon(bezier_points(controls, chord=1e-6)), 0.1)


def test_a_rational_spline_is_an_exact_circle(read):
    """The nine-point circle with weights 1 and root half keeps its radius."""
    doc = document()
    s = sqrt(0.5)
    corners = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    doc.modelspace().add_rational_spline(
        [(20 * x, 20 * y, 0) for x, y in corners], [1, s] * 4 + [1], degree=2,
        knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
    )  # fmt: skip

    drawing = read(doc, chord_mm=1e-4)

    radii = np.hypot(*shapely.get_coordinates(drawing.region).T)
    assert radii == pytest.approx(20, abs=1e-5)


def test_a_spline_through_points_passes_them(read):
    """A spline given by fit points alone meets each of them."""
    doc = document()
    points = [(0, 0), (20, 30), (50, 10), (60, 0)]
    doc.modelspace().add_spline(points)
    doc.modelspace().add_line((0, 0), (60, 0))

    edge = read(doc).region.boundary

    assert max(edge.distance(shapely.points(points))) <= 0.011


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_all_kinds_of_files_give_the_same(read, version, fmt):
    """Old polylines and new ones, in text and binary files, read alike."""
    doc = document(version=version)
    vertices = [(0, 0, 0), (40, 0, 1), (40, 20, 0), (0, 20, 0)]
    doc.modelspace().add_polyline2d(vertices, format="xyb", close=True)

    drawing = read(doc, fmt=fmt, unit="mm")

    assert area_mm2(drawing) == pytest.approx(800 + 50 * pi, rel=1e-3)


def test_old_files_keep_no_spline_frames(read):
    """The vertices that steer a fitted polyline are not corners of it."""
    doc = document()
    line = doc.modelspace().add_polyline2d([*SQUARE], close=True)
    line.append_vertex((500, 500), dxfattribs={"flags": 16})

    assert area_mm2(read(doc)) == pytest.approx(2500)


def test_blocks_are_placed_scaled_turned_and_mirrored(read):
    """An L in a block, mirrored, stretched and turned, lands where the matrix says."""
    doc = document()
    corners = [(0, 0), (20, 0), (20, 5), (5, 5), (5, 30), (0, 30)]
    doc.blocks.new("EL").add_lwpolyline(corners, close=True)
    doc.modelspace().add_blockref(
        "EL", (100, 50), dxfattribs={"xscale": -1, "yscale": 2, "rotation": 30}
    )

    drawing = read(doc)

    expected = affinity.scale(Polygon(corners), -1, 2, origin=(0, 0))
    expected = affinity.translate(affinity.rotate(expected, 30, origin=(0, 0)), 100, 50)
    assert same(drawing.region, expected)
    assert drawing.parts[0].label == "EL"


def test_blocks_hold_blocks_and_arrays(read):
    """A block in a block keeps both places, and an array makes its copies."""
    doc = document()
    doc.blocks.new("HOLE").add_circle((0, 0), 2)
    doc.blocks.new("PAIR").add_blockref("HOLE", (5, 0))
    doc.modelspace().add_blockref(
        "PAIR", (10, 10),
        dxfattribs={"row_count": 2, "row_spacing": 20, "column_count": 3, "column_spacing": 15},
    )  # fmt: skip

    drawing = read(doc)

    centers = sorted(
        (round(p.region.centroid.x), round(p.region.centroid.y)) for p in drawing.parts
    )
    assert centers == [(x, y) for x in (15, 30, 45) for y in (10, 30)]


def test_a_stretched_circle_becomes_an_ellipse(read):
    """A block with unequal scales turns a circle and a bulge into true ellipses."""
    doc = document()
    block = doc.blocks.new("B")
    block.add_circle((0, 0), 10)
    block.add_lwpolyline([(30, 0, 1), (50, 0, 0)], format="xyb", close=True)
    doc.modelspace().add_blockref("B", (0, 0), dxfattribs={"xscale": 3, "yscale": 1})

    areas = [part.region.area for part in read(doc, chord_mm=1e-3).parts]

    assert sorted(areas) == pytest.approx([pi * 30 * 10 / 2, pi * 30 * 10], rel=1e-3)


def test_what_lies_on_a_turned_over_plane_is_seen_from_above(read):
    """With the axis pointing down, x of the entity's own plane runs to the left."""
    doc = document()
    down = {"extrusion": (0, 0, -1)}
    doc.modelspace().add_circle((40, 10), 5, dxfattribs=down)
    corners = [(100, 0), (130, 0), (130, 10)]
    doc.modelspace().add_lwpolyline(corners, close=True, dxfattribs=down)

    circle, corner = read(doc).parts

    assert circle.region.centroid.coords[0] == pytest.approx((-40, 10), abs=1e-6)
    assert same(corner.region, Polygon([(-100, 0), (-130, 0), (-130, 10)]))


def test_closed_lines_nest_as_plate_hole_and_island(read):
    """Inside, outside, inside: each closed line turns the material over."""
    doc = document()
    for radius, layer in ((10, "ISLAND"), (20, "HOLE"), (30, "PLATE")):
        doc.modelspace().add_circle((0, 0), radius, dxfattribs={"layer": layer})

    drawing = read(doc, chord_mm=1e-4)

    areas = [part.region.area for part in drawing.parts]
    assert areas == pytest.approx([pi * 100, pi * 500], rel=1e-4)
    assert [part.group for part in drawing.parts] == ["ISLAND", "PLATE"]


# layers, units, gaps ----------------------------------------------------------------------------


def layered() -> Document:
    """Return a plate on CUT, a hole on Drill, a note on Notes that is off."""
    doc = document()
    for name in ("CUT", "Drill", "Notes"):
        doc.layers.add(name)
    doc.layers.get("Notes").off()
    doc.modelspace().add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "CUT"})
    doc.modelspace().add_circle((25, 25), 10, dxfattribs={"layer": "Drill"})
    doc.modelspace().add_circle((90, 25), 10, dxfattribs={"layer": "Notes"})
    return doc


@pytest.mark.parametrize(
    ("layers", "area"),
    [(None, 2500 - 100 * pi), (["cut"], 2500), (["CUT", "Drill"], 2500 - 100 * pi),
     (["Notes"], 100 * pi)],
)  # fmt: skip
def test_layers_are_chosen_by_name_in_any_case(read, layers, area):
    """Without a choice what is visible counts; a layer named is read even if it is off."""
    drawing = read(layered(), layers=layers, chord_mm=1e-3)

    assert area_mm2(drawing) == pytest.approx(area, rel=1e-3)


def test_layers_that_are_off_are_told(read):
    """The finding names the layer, and the part its own."""
    drawing = read(layered())

    (finding,) = drawing.findings
    assert sentence(finding) == (
        "Notes: layer Notes is frozen or off and left out. Name the layer to read it."
    )
    assert [part.group for part in drawing.parts] == ["CUT"]


def test_blocks_follow_the_layer_rules(read):
    """Content on layer 0 takes the layer of its insert; a frozen insert hides all of it."""
    doc = document()
    doc.layers.add("A")
    doc.layers.add("Frost").freeze()
    block = doc.blocks.new("B")
    block.add_circle((0, 0), 10)
    block.add_circle((50, 0), 10, dxfattribs={"layer": "A"})
    doc.modelspace().add_blockref("B", (0, 0), dxfattribs={"layer": "A"})
    doc.modelspace().add_blockref("B", (0, 100), dxfattribs={"layer": "Frost"})

    drawing = read(doc)

    assert [part.group for part in drawing.parts] == ["A", "A"]
    assert drawing.region.bounds[3] == pytest.approx(10, abs=0.01)
    assert codes(drawing) == {"drawing-hidden"}


def test_a_unit_asked_for_goes_before_the_file_and_the_conflict_is_told(read):
    """Numbers said to be inches, asked for as mm, are mm, with a caution."""
    doc = document(1)
    doc.modelspace().add_lwpolyline(SQUARE, close=True)

    drawing = read(doc, unit="millimeter")

    assert drawing.region.bounds[2] == pytest.approx(50)
    assert codes(drawing) == {"drawing-unit-conflict"}


def test_a_unit_asked_for_serves_a_file_without_one(read):
    """A unitless file in inches is 25.4 times larger, without any complaint."""
    doc = document(0)
    doc.modelspace().add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2)], close=True)

    drawing = read(doc, unit="in")

    assert drawing.region.bounds == pytest.approx((0, 0, 76.2, 50.8))
    assert not drawing.findings
    assert drawing.unit_note == "one unit of it was read as 1 inch (as asked for)"


def test_small_gaps_are_closed_and_told_with_their_place(read):
    """Four lines with a gap of 0.08 mm are a square, and the gap is a finding."""
    doc = document()
    for start, end in [((0, 0), (50, 0)), ((50, 0.08), (50, 50)), ((0, 50), (50, 50)),
                       ((0, 50), (0, 0))]:  # fmt: skip
        doc.modelspace().add_line(start, end)

    drawing = read(doc)

    (finding,) = drawing.findings
    assert (finding.code, finding.measured) == ("gap-closed", pytest.approx(0.08))
    assert finding.where_mm == pytest.approx((50, 0.04, 0))
    with pytest.raises(OutlineError, match=r"open end at x 50, y 0.*0.08 mm away"):
        read(doc, gap_mm=0.05)


def test_lines_drawn_twice_are_read_once(read):
    """Doubled circles, doubled lines and points of no length change nothing."""
    doc = document()
    space = doc.modelspace()
    corners = [*SQUARE, SQUARE[0]]
    for start, end in [*pairwise(corners)] * 2:
        space.add_line(start, end)
    space.add_line((0, 0), (0, 0))
    space.add_circle((25, 25), 10)
    space.add_circle((25, 25), 10)

    drawing = read(doc)

    assert area_mm2(drawing) == pytest.approx(2500 - 100 * pi, rel=1e-3)
    assert codes(drawing) == {"line-doubled", "line-without-length", "drawing-line-twice"}


def _text(space):
    space.add_text("slip 2")


def _dimension(space):
    space.add_linear_dim(base=(0, -10), p1=(0, 0), p2=(50, 0)).render()


def _hatch(space):
    space.add_hatch().paths.add_polyline_path(SQUARE)


def _height(space):
    space.add_circle((25, 25), 5, dxfattribs={"elevation": 3}).dxf.center = (25, 25, 3)


def _slope(space):
    space.add_polyline3d([(5, 5, 0), (9, 5, 1), (9, 9, 2)], close=True)


def _hidden(space):
    space.add_circle((25, 25), 5, dxfattribs={"invisible": 1})


def _wide(space):
    space.add_lwpolyline([(5, 5), (9, 5), (9, 9)], close=True).dxf.const_width = 2


def _crossing(space):
    space.add_lwpolyline([(40, 20), (60, 20), (60, 30), (40, 30)], close=True)


def _knot(space):
    space.add_lwpolyline([(100, 0), (120, 20), (120, 0), (100, 20)], close=True)


@pytest.mark.parametrize(
    ("add", "code"),
    [(_text, "drawing-ignored"), (_dimension, "drawing-ignored"), (_hatch, "drawing-ignored"),
     (_height, "drawing-elevation"), (_slope, "drawing-height"), (_hidden, "drawing-hidden"),
     (_wide, "drawing-line-width"), (_crossing, "drawing-lines-cross"),
     (_knot, "drawing-lines-cross")],
)  # fmt: skip
def test_whatever_is_left_out_or_odd_is_told(read, add, code):
    """Each thing that is ignored or doubtful leaves one finding that reads as a sentence."""
    doc = document()
    doc.modelspace().add_lwpolyline(SQUARE, close=True)
    add(doc.modelspace())

    drawing = read(doc)

    assert codes(drawing) == {code}
    assert all(sentence(finding).endswith(".") for finding in drawing.findings)


def test_each_kind_left_out_has_its_own_finding(read):
    """Two texts and a hatch are two findings, the first with its count."""
    doc = document()
    _square(doc.modelspace())
    for add in (_text, _hatch, _text):
        add(doc.modelspace())

    findings = read(doc).findings

    assert [(finding.subject, finding.says) for finding in findings] == [
        ("TEXT", "text is left out (2 of them)"), ("HATCH", "hatching is left out")]  # fmt: skip


def test_a_crossing_is_told_with_its_place(read):
    """The finding of a bow tie points at the knot."""
    doc = document()
    _knot(doc.modelspace())

    (finding,) = read(doc).findings

    assert finding.where_mm == pytest.approx((110, 10, 0))


@pytest.mark.parametrize(("width", "says"), [(2100, "2.1 m"), (4, "4 mm")])
def test_an_odd_size_is_told_with_the_likely_mistake(read, width, says):
    """A drawing wider than a forming table, or tiny, names its size and another unit."""
    doc = document()
    doc.modelspace().add_lwpolyline([(0, 0), (width, 0), (width, 3), (0, 3)], close=True)

    (finding,) = read(doc).findings

    assert f"the drawing is {says} on its longer side" in finding.says
    assert "If its unit is meant to be" in finding.advice


# property ---------------------------------------------------------------------------------------


@st.composite
def stars(draw):
    """Give simple polygons seen whole from their middle, about 20 to 60 mm wide."""
    radii = draw(st.lists(st.floats(10, 30), min_size=5, max_size=12))
    angles = np.linspace(0, 2 * pi, len(radii), endpoint=False)
    return Polygon([(r * cos(a), r * sin(a)) for r, a in zip(radii, angles, strict=True)])


@few
@given(stars(), st.booleans(), st.randoms(use_true_random=False))
def test_what_is_written_is_read_back(read, star, whole, random):
    """A random outline comes back, as one polyline or as single lines in any order."""
    doc = document()
    corners = list(star.exterior.coords)
    pairs = list(pairwise(corners))
    random.shuffle(pairs)
    if whole:
        doc.modelspace().add_lwpolyline(corners[:-1], close=True)
    for start, end in [] if whole else pairs:
        start, end = (end, start) if random.random() < 0.5 else (start, end)
        doc.modelspace().add_line(start, end)

    assert same(read(doc).region, star, 1e-3)


scales = st.one_of(st.floats(0.3, 3), st.floats(-3, -0.3))


@few
@given(stars(), st.floats(-180, 180), scales, scales)
def test_blocks_commute_with_reading(read, star, angle, x_scale, y_scale):
    """Reading an inserted block equals moving what was read."""
    doc = document()
    doc.blocks.new("B").add_lwpolyline(list(star.exterior.coords)[:-1], close=True)
    doc.modelspace().add_blockref(
        "B", (7, -3), dxfattribs={"xscale": x_scale, "yscale": y_scale, "rotation": angle}
    )

    expected = affinity.scale(star, x_scale, y_scale, origin=(0, 0))
    expected = affinity.translate(affinity.rotate(expected, angle, origin=(0, 0)), 7, -3)
    assert same(read(doc).region, expected, 1e-3)


@few
@given(st.floats(-3, 3), st.floats(1, 60))
def test_bulges_stay_on_their_circle(bulge, span):
    """Every point of a bulge is as far from the center as its ends."""
    points = bulge_points((0, 0), (span, 0), bulge, chord=0.01)
    if len(points) > 2:
        rise = span * (1 - bulge**2) / (4 * bulge)
        radii = np.hypot(*(points - (span / 2, rise)).T)
        assert radii == pytest.approx(hypot(span / 2, rise), rel=1e-6)
        assert abs(asin(min(1, span / 2 / radii[0]))) <= pi / 2


# bad input --------------------------------------------------------------------------------------


def _open(space):
    space.add_lwpolyline([(0, 0), (50, 0), (50, 50)])


def _flat(space):
    space.add_lwpolyline([(0, 0), (50, 0), (20, 0)], close=True)


def _square(space):
    space.add_lwpolyline(SQUARE, close=True)


def _huge(space):
    space.add_circle((0, 0), 30_000)


def _speck(space):
    space.add_circle((0, 0), 0.01)


def _vast(space):
    space.add_circle((0, 0), 1e13)


def _broken(space):
    space.add_lwpolyline([(0, 0), (float("nan"), 0), (5, 5)], close=True)


def _gone(space):
    space.add_blockref("GONE", (0, 0))


def _paper(space):
    space.doc.paperspace().add_circle((0, 0), 10)


def _weightless(space):
    controls = [(0, 0, 0), (30, 60, 0), (60, 0, 0)]
    space.add_rational_spline(controls, [1, -1, 1], degree=2)


def _loop(space):
    space.doc.blocks.new("B").add_blockref("B", (1, 0))
    space.add_blockref("B", (0, 0))


BAD: dict[str, Any] = {
    "nothing": (None, {}, "has no lines that could be an outline"),
    "only text": (_text, {}, "has no lines that could be an outline"),
    "only paper": (_paper, {}, "in its model space; move them there"),
    "open": (_open, {}, "open end at x 0, y 0 mm: the nearest other open end is 70.7 mm away"),
    "zero area": (_flat, {}, "encloses no area"),
    "huge": (_huge, {}, "is 60 m on its longer side, too big"),
    "speck": (_speck, {}, "is 0.02 mm on its longer side, too small"),
    "vast": (_vast, {}, "larger than any mold"),
    "not a number": (_broken, {}, "LWPOLYLINE with a broken number on layer 0|not a complete DXF"),
    "missing block": (_gone, {}, "uses the block GONE, which it does not hold"),
    "looping block": (_loop, {}, "blocks that hold themselves"),
    "weight": (_weightless, {}, "a spline with a weight of 0 or less"),
    "unknown layer": (_square, {"layers": ["Cut"]}, "layer 'Cut' is not in the drawing test.dxf"),
    "empty layer": (_square, {"layers": ["Defpoints"]}, "has no lines on layer Defpoints"),
    "unknown unit": (_square, {"unit": "inc"}, r"unit must be a unit of length .*inch"),
    "no gap": (_square, {"gap_mm": -1.0}, r"gap_mm must be more than 0 mm \(got -1 mm\)"),
    "no chord": (_square, {"chord_mm": float("inf")}, "chord_mm must be more than 0 mm"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD, ids=str)
def test_a_bad_drawing_is_refused_in_one_sentence(read, case):
    """Each mistake in a drawing is named with what to do."""
    add, options, says = BAD[case]
    doc = document()
    if add is not None:
        add(doc.modelspace())

    with pytest.raises(MoldgenError, match=says) as caught:
        read(doc, **options)

    assert "\n" not in str(caught.value)


def test_a_misspelt_layer_gets_the_nearest_names(read):
    """The sentence lists the layer that was meant."""
    with pytest.raises(OutlineError, match=r"Did you mean Drill\?"):
        read(layered(), layers=["Dril"])


@pytest.mark.parametrize("code", [0, 99])
def test_a_drawing_without_a_unit_asks_for_it(read, code):
    """A unitless file, or an unknown code, is an error that says what to give."""
    doc = document(code)
    _square(doc.modelspace())

    with pytest.raises(OutlineError, match=rf"does not say its unit \(\$INSUNITS is {code}\)"):
        read(doc)


BAD_FILES = {
    "empty": (b"", "is empty"),
    "text": (b"a boat shed\nby the harbor\n", "not a complete DXF file"),
    "binary": (bytes(range(256)), "some other binary file"),
    "svg": (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "not a complete DXF file"),
}


@pytest.mark.parametrize("case", BAD_FILES, ids=str)
def test_a_bad_file_is_refused_in_one_sentence(tmp_path, case):
    """Each file that is no DXF is refused by name."""
    content, says = BAD_FILES[case]
    path = tmp_path / "bad.dxf"
    path.write_bytes(content)

    with pytest.raises(FileError, match=says) as caught:
        outline_from_dxf(path)

    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("share", [0.1, 0.3, 0.6, 0.9, 0.97])
@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_a_file_cut_short_is_refused(tmp_path, share, fmt):
    """Wherever the file breaks off, it is refused and not read in part."""
    doc = document()
    _square(doc.modelspace())
    path = tmp_path / "cut.dxf"
    doc.saveas(path, fmt=fmt)
    path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])

    with pytest.raises(FileError, match="not a complete DXF file"):
        outline_from_dxf(path)


def test_a_file_without_its_last_line_is_refused(tmp_path):
    """All entities are there, but nothing says that they are all."""
    doc = document()
    _square(doc.modelspace())
    path = tmp_path / "cut.dxf"
    doc.saveas(path)
    path.write_text(path.read_text().rstrip().removesuffix("EOF").rstrip().removesuffix("0"))

    with pytest.raises(FileError, match="it does not end with EOF"):
        outline_from_dxf(path)


def test_a_missing_file_a_folder_and_a_wrong_ending_are_refused(tmp_path):
    """The sentence says which of the three it is."""
    (tmp_path / "a.dwx").write_bytes(b"x")
    with pytest.raises(FileError, match="does not exist"):
        outline_from_dxf(tmp_path / "no.dxf")
    with pytest.raises(FileError, match="is a folder"):
        outline_from_dxf(tmp_path)
    with pytest.raises(FileError, match=r"does not end in \.dxf"):
        outline_from_dxf(tmp_path / "a.dwx")


def test_an_unknown_unit_is_a_matter_of_the_option(read):
    """The error names the option, so that the command line can."""
    doc = document()
    _square(doc.modelspace())

    with pytest.raises(SpecError, match="unit must be") as caught:
        read(doc, unit="furlong")

    assert caught.value.field == "unit"


def test_a_plate_is_where_it_was_drawn(read):
    """Place and shape, not only area, and counter-clockwise outside."""
    doc = document()
    doc.modelspace().add_lwpolyline([(10, 20), (10, 50), (70, 50), (70, 20)], close=True)

    region = read(doc).region

    assert same(region, box(10, 20, 70, 50), 1e-9)
    assert region.geoms[0].exterior.is_ccw


def _bytes_of_a_plate(tmp_path) -> bytes:
    doc = document()
    block = doc.blocks.new("B")
    block.add_circle((5, 5), 2)
    space = doc.modelspace()
    _square(space)
    space.add_blockref("B", (9, 9))
    space.add_ellipse((20, 20), (5, 0), 0.5)
    space.add_open_spline([(30, 30), (40, 45), (45, 30)], degree=2)
    space.add_line((30, 30), (45, 30))
    doc.saveas(tmp_path / "whole.dxf")
    return (tmp_path / "whole.dxf").read_bytes()


@few
@given(data=st.data())
def test_no_damage_makes_the_reader_fail_otherwise(tmp_path, data):
    """Lines replaced at random give a drawing or one sentence, never another exception."""
    lines = _bytes_of_a_plate(tmp_path).split(b"\n")
    start = lines.index(b"ENTITIES")
    words = [b"0", b"-1", b"1e999", b"nan", b"oops", b"", b"SPLINE", b"INSERT", b"\xff\xfe", b"70"]
    for _ in range(3):
        lines[data.draw(st.integers(start, len(lines) - 3))] = data.draw(st.sampled_from(words))
    path = tmp_path / "damaged.dxf"
    path.write_bytes(b"\n".join(lines))

    with suppress(MoldgenError):
        assert outline_from_dxf(path).region.is_valid


EXAMPLES = ROOT / "examples" / "drawings"


def test_the_oar_plate_has_its_seats_and_holes():
    """The plate's area follows from its sizes, and only the notes are left out."""
    drawing = outline_from_dxf(EXAMPLES / "oar-plate.dxf", chord_mm=1e-4)

    # Four corners of radius 14; two seats 44 wide with lips of 6 over a half circle of 22.
    corners = (4 - pi) * 14**2
    seats = 2 * (44 * 18 + pi * 22**2 / 2 + 2 * (1 - pi / 4) * 6**2)
    holes = 3 * pi * 6**2 + 40 * 14 + pi * 7**2
    assert area_mm2(drawing) == pytest.approx(200 * 80 - corners - seats - holes, rel=1e-5)
    assert [finding.subject for finding in drawing.findings] == ["NOTES"]
