"""Trimming: lines of known length, tools by the table, templates and cradles that fit."""

import json
from dataclasses import replace
from math import pi, radians, tan
from pathlib import Path

import numpy as np
import pytest
import shapely
from check_solids import box as box_mesh
from check_solids import lathe
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from shapely import MultiPolygon, Polygon

from moldgen.bend.prism import raised
from moldgen.cli import main
from moldgen.errors import OutlineError, SpecError
from moldgen.fixture.cradle import CradleSpec, build_cradle, hollow_of
from moldgen.fixture.made import Bench
from moldgen.fixture.template import (
    GUARD_MM,
    SET_BACK_MM,
    TemplateSpec,
    build_template,
    template_plans,
)
from moldgen.fixture.trim_line import (
    LineKind,
    LineSpec,
    Part,
    build_trim_lines,
    check_flange,
    check_trim_line,
    filled,
    is_straight,
    tight_corners,
)
from moldgen.fixture.trim_tool import Tool, trim_s, trim_tooling
from moldgen.job.fixture_words import Fixing, LineWord, TrimWords
from moldgen.mold.checks.outlines import section
from moldgen.pipeline.trim import make_trim, trimming_of
from moldgen.pipeline.trim_fixtures import roller_offset_mm
from moldgen.pipeline.trim_parts import Source, parts_of
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh
from moldgen.stock import load_shop

ROOT = Path(__file__).parent.parent
SHOP = load_shop(user_file=None)
BENCH = Bench(station=SHOP.station("classroom-450x300"), printer=SHOP.printer("bed-220"), shop=SHOP)
LINES = {row["shape"]: row for row in published("trim_perimeter")}
L_SHAPE = Polygon([(0, 0), (90, 0), (90, 30), (35, 30), (35, 70), (0, 70)])
SQUARE = shapely.box(-30, -20, 30, 20)


def drafted(width=100.0, depth=60.0, height=30.0, draft_deg=5.0):
    """Return a box whose walls lean inward, foot on z = 0, made corner by corner."""
    x, y, d = width / 2, depth / 2, height * tan(radians(draft_deg))
    foot = [(-x, -y, 0), (x, -y, 0), (x, y, 0), (-x, y, 0)]
    top = [(-x + d, -y + d, height), (x - d, -y + d, height), (x - d, y - d, height),
           (-x + d, y - d, height)]  # fmt: skip
    sides = [(k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k) for k in range(4)]
    quads = [(3, 2, 1, 0), (4, 5, 6, 7), *sides]
    triangles = [t for a, b, c, d_ in quads for t in ((a, b, c), (a, c, d_))]
    return Mesh(np.array(foot + top, float), np.array(triangles, np.int32))


def part_of(mesh, name="block"):
    """Return the part drawn over a mesh."""
    (part,) = parts_of([Body(name, mesh)])
    return part


def ell(height=24.0, draft_deg=6.0):
    """Return a part over an L-shaped mold whose walls lean inward in a dozen steps."""
    lean = height * tan(radians(draft_deg))
    solid = Manifold()
    for k in range(12):
        cut = shapely.buffer(L_SHAPE, -k / 12 * lean, join_style="mitre")
        solid = solid + raised(cut, 0.0, (k + 1) * height / 12)
    return part_of(mesh_from_solid(solid), "ell")


# Lines.


def line_of(part, kind, **spec):
    """Return the only line of one part."""
    (line,) = build_trim_lines([part], LineSpec(kind=kind, **spec))
    return line


def test_the_line_round_a_drafted_box_has_the_published_length():
    """2(L + W) - 8 h tan d, cut on the triangles."""
    printed = LINES["drafted box"]["perimeter_mm"]
    line = line_of(part_of(drafted()), LineKind.HEIGHT, height_mm=10)

    assert line.perimeter_mm == pytest.approx(float(printed), abs=half_last_digit(printed))
    assert line.height_mm == 10


@pytest.mark.parametrize("wrong", [{"draft_deg": 5.1}, {"width": 100.1}, {"depth": 59.9}])
def test_the_published_length_can_tell_another_box(wrong):
    """A tenth of a degree or of a millimeter is seen."""
    printed = LINES["drafted box"]["perimeter_mm"]
    line = line_of(part_of(drafted(**wrong)), LineKind.HEIGHT, height_mm=10)

    assert line.perimeter_mm != pytest.approx(float(printed), abs=5e-3)


def test_rounded_and_offset_lines_have_the_published_lengths():
    """A rounded rectangle, and the line at one distance round it (Steiner)."""
    inner = Part(name="plate", foot=shapely.box(0, 0, 76, 36))
    rounded = line_of(inner, LineKind.ROUNDED, flange_mm=12, corner_mm=10)
    outer = line_of(Part(name="plate", foot=rounded.region), LineKind.OFFSET, flange_mm=12)

    for line, shape in ((rounded, "rounded rectangle"), (outer, "moved outward")):
        row = LINES[shape]
        assert line.perimeter_mm == pytest.approx(float(row["perimeter_mm"]), abs=1e-3)
        assert line.region.area == pytest.approx(float(row["area_mm2"]), rel=4e-6)


def test_the_published_offset_can_tell_another_distance():
    """A hundredth of a millimeter more is seen."""
    inner = Part(name="plate", foot=shapely.box(0, 0, 76, 36))
    rounded = line_of(inner, LineKind.ROUNDED, flange_mm=12, corner_mm=10)
    outer = line_of(Part(name="plate", foot=rounded.region), LineKind.OFFSET, flange_mm=12.01)

    assert outer.perimeter_mm != pytest.approx(
        float(LINES["moved outward"]["perimeter_mm"]), abs=2e-2
    )


def test_a_straight_line_is_the_box_and_its_flange():
    """Four sides, each by the flange outside the foot."""
    line = line_of(Part(name="ell", foot=L_SHAPE), LineKind.STRAIGHT, flange_mm=15)

    assert line.region.bounds == (-15, -15, 105, 85)
    assert line.perimeter_mm == pytest.approx(2 * (120 + 100))
    assert is_straight(line.region)
    oval = line_of(Part(name="e", foot=L_SHAPE), LineKind.OVAL, flange_mm=15)
    assert not is_straight(oval.region)


@given(st.floats(20, 120), st.floats(20, 120), st.floats(0, 40))
@settings(max_examples=25)
def test_an_oval_goes_round_a_rectangle_by_its_corners(width, depth, flange):
    """Its half axes are the half sides by the root of two, and the flange."""
    part = Part(name="plate", foot=shapely.box(0, 0, width, depth))
    line = line_of(part, LineKind.OVAL, flange_mm=flange)
    x0, y0, x1, y1 = line.region.bounds

    assert x1 - x0 == pytest.approx(width * 2**0.5 + 2 * flange, rel=1e-6)
    assert y1 - y0 == pytest.approx(depth * 2**0.5 + 2 * flange, rel=1e-6)
    assert shapely.buffer(line.region, 1e-3).contains(part.foot)
    assert line.region.area == pytest.approx(pi / 4 * (x1 - x0) * (y1 - y0), rel=1e-4)


def test_an_own_line_comes_on_the_middle_of_the_part():
    """Wherever it was drawn; its cut-outs stay."""
    ring = shapely.box(500, 500, 600, 580) - shapely.Point(520, 540).buffer(3)
    own = MultiPolygon([ring])
    line = line_of(Part(name="plate", foot=SQUARE), LineKind.OWN, own=own)

    assert line.region.bounds == pytest.approx((-50, -40, 50, 40))
    assert len(line.region.interiors) == 1


def test_an_own_line_through_the_part_is_refused():
    """The sentence names the part and a place."""
    own = MultiPolygon([shapely.box(0, 0, 50, 80)])
    with pytest.raises(OutlineError, match=r"The own trim line cuts into plate at x -?\d"):
        line_of(Part(name="plate", foot=SQUARE), LineKind.OWN, own=own)


def test_lines_that_would_cross_become_one():
    """Near parts stay together, distant ones do not."""
    near = Part(name="near", foot=shapely.box(70, -20, 110, 20))
    far = Part(name="far", foot=shapely.box(300, -20, 340, 20))
    own = Part(name="own", foot=SQUARE)
    lines = build_trim_lines([own, near, far], LineSpec(kind=LineKind.OFFSET, flange_mm=25))

    assert sorted(line.name for line in lines) == ["far", "own and 1 more"]


def test_every_island_gets_its_line_at_a_height():
    """Two towers on one mold are cut twice."""
    both = Manifold.cube((20, 20, 15)) + Manifold.cube((20, 20, 15)).translate((40, 0, 0))
    both = both + Manifold.cube((60, 20, 5))
    part = part_of(mesh_from_solid(both))
    lines = build_trim_lines([part], LineSpec(kind=LineKind.HEIGHT, height_mm=10))

    assert [line.perimeter_mm for line in lines] == pytest.approx([80, 80])


def test_a_height_beyond_the_wall_is_refused():
    """Neither over the top nor without a mold."""
    with pytest.raises(SpecError, match="height_mm must be more than 0 mm and less than 30 mm"):
        line_of(part_of(drafted()), LineKind.HEIGHT, height_mm=31)
    with pytest.raises(SpecError, match="height_mm must be left out on plate"):
        line_of(Part(name="plate", foot=SQUARE), LineKind.HEIGHT, height_mm=3)


def test_a_corner_larger_than_the_plate_is_refused():
    """Half the smaller side is the most, and is taken."""
    part = Part(name="plate", foot=SQUARE)
    assert line_of(part, LineKind.ROUNDED, flange_mm=5, corner_mm=25).region.area < 70 * 50
    with pytest.raises(SpecError, match="corner_mm must be at most half the smaller side, 25 mm"):
        line_of(part, LineKind.ROUNDED, flange_mm=5, corner_mm=26)


def test_slits_for_the_air_are_no_part_of_the_foot():
    """A gate cut through the thin edge of a foot does not notch the trim line."""
    mesh = box_mesh(60, 40, 10)
    gated = solid_from_mesh(mesh, doing="testing") - Manifold.cube((0.8, 8, 30)).translate(
        (30, -1, -1)
    )
    part = part_of(mesh_from_solid(gated))

    assert part.foot.area == pytest.approx(2400, rel=1e-6)


# Inside corners.


@pytest.mark.parametrize("radius", [0.0, 2.0, 4.5, 8.0, 11.0])
def test_an_inside_corner_is_measured(radius):
    """An L whose inside corner has a known radius is measured to a tenth or two."""
    shape = shapely.buffer(shapely.buffer(L_SHAPE, radius, quad_segs=64), -radius, quad_segs=64)
    corners = tight_corners(shape, 12.0)

    assert len(corners) == 1
    x, y, measured = corners[0]
    assert measured == pytest.approx(radius, abs=0.25)
    assert np.hypot(x - 35, y - 30) < 7


def test_wide_corners_are_let_pass():
    """No inside corner, or one of more than 12 mm, is nothing to tell."""
    wide = shapely.buffer(shapely.buffer(L_SHAPE, 13, quad_segs=64), -13, quad_segs=64)

    assert tight_corners(SQUARE, 12.0) == []
    assert tight_corners(wide, 12.0) == []


@pytest.mark.parametrize(
    ("radius", "tool", "severity", "limit"),
    [
        (0.0, Tool.SNIPS, "caution", 6.0),
        (4.0, Tool.SNIPS, "caution", 6.0),
        (8.0, Tool.SNIPS, "note", 12.0),
        (0.0, Tool.KNIFE, "note", 6.0),
    ],
)
def test_a_tight_corner_advises_a_hole(radius, tool, severity, limit):
    """Below 6 mm a corner hole; to 12 mm small snips; with a knife it is worth knowing."""
    shape = shapely.buffer(shapely.buffer(L_SHAPE, radius, quad_segs=64), -radius, quad_segs=64)
    line = replace(line_of(Part(name="e", foot=SQUARE), LineKind.STRAIGHT), region=shape)
    (finding,) = check_trim_line(line, tool)

    assert (finding.severity, finding.limit) == (severity, limit)
    assert ("Drill a hole of 12 mm" in finding.advice) == (limit == 6.0)
    assert finding.where_mm is not None


def test_a_narrow_flange_is_told():
    """Fillet, thickness and a blade's width must lie inside the line."""
    part = Part(name="block", foot=SQUARE, root_mm=2.0)

    assert check_flange(part, 5.0, 1.5) == ()
    (finding,) = check_flange(part, 4.9, 1.5)
    assert finding.limit == pytest.approx(5.0)


# Tools.


@pytest.mark.parametrize("row", published("trim_tools"), ids=lambda row: "-".join(row.values()))
def test_the_tool_is_that_of_the_table(row):
    """Knife, snips, score and saw by plastic, gauge and line."""
    tooling = trim_tooling(
        SHOP.plastic(row["plastic"]), float(row["gauge_mm"]), straight=row["line"] == "straight"
    )

    assert tooling.first.value == row["tool"]


def test_the_table_of_tools_can_tell_a_wrong_plastic():
    """Taken for styrene, brittle sheet would get the wrong tool."""
    rows = [row for row in published("trim_tools") if row["plastic"].startswith("PMMA")]
    tools = [
        trim_tooling(SHOP.plastic("HIPS"), float(row["gauge_mm"]), straight=True).first
        for row in rows
    ]

    assert [tool.value for tool in tools] != [row["tool"] for row in rows]


def test_a_rough_cut_is_sanded():
    """Snips and saws leave 3 mm; then the down-going half of the disc, the burr, the edge."""
    rough = trim_tooling(SHOP.plastic("HIPS"), 2.0, straight=False)
    clean = trim_tooling(SHOP.plastic("HIPS"), 1.0, straight=False)

    assert rough.allowance_mm == 3.0
    assert [word for word, _ in rough.steps] == ["Cut", "Sand", "Burr", "Deburr"]
    assert "down-going half" in dict(rough.steps)["Sand"]
    assert [word for word, _ in clean.steps] == ["Cut", "Deburr"]


@given(st.floats(0.3, 4), st.floats(50, 2000))
@settings(max_examples=25)
def test_longer_lines_take_longer(gauge, length):
    """Time grows with the line and never falls below handling."""
    tooling = trim_tooling(SHOP.plastic("ABS"), gauge, straight=False)

    assert 120 < trim_s(tooling, length, gauge) < trim_s(tooling, 2 * length, gauge)


# Template.


def test_a_template_has_the_volume_of_edge_and_guard():
    """Plate between line and part, guard set back from it, all rectangles but four corners."""
    part = Part(name="block", foot=shapely.box(-40, -25, 40, 25))
    line = line_of(part, LineKind.STRAIGHT, flange_mm=20)
    spec = TemplateSpec(edge_mm=6, guard_mm=30, clearance_mm=0.5)
    made = build_template(line, [part], spec, BENCH, skin_mm=1.5)
    plate = 120 * 90 - (84 * 54 - (4 - pi) * 4)
    guard = 116 * 86 - 110 * 80

    assert made.volume_mm3 == pytest.approx(plate * 6 + guard * 24, rel=1e-4)
    assert made.outline.area == pytest.approx(plate, rel=1e-4)


def test_a_template_keeps_blade_part_and_fingers_apart():
    """Edge on the line, guard behind it and taller by far, opening clear of the skin."""
    part = Part(name="ell", foot=L_SHAPE)
    line = line_of(part, LineKind.OFFSET, flange_mm=18)
    spec = TemplateSpec(clearance_mm=0.6)
    plate, guard = template_plans(line, [part], spec, skin_mm=1.5)
    made = build_template(line, [part], spec, BENCH, skin_mm=1.5)
    outer = Polygon(plate.geoms[0].exterior)

    assert shapely.symmetric_difference(outer, line.region).area < 1e-6
    assert shapely.distance(guard, line.region.exterior) == pytest.approx(SET_BACK_MM, abs=0.02)
    assert shapely.distance(plate, L_SHAPE) == pytest.approx(2.1, abs=0.02)
    assert np.ptp(made.shown[0].mesh.points_mm[:, 2]) == spec.guard_mm >= 5 * spec.edge_mm
    assert guard.area == pytest.approx(GUARD_MM * guard.length / 2, rel=0.01)


def test_a_template_clears_a_sharp_tip():
    """A point of 15° keeps its play like any straight side."""
    tip = Part(name="burgee", foot=Polygon([(0, -10), (76, 0), (0, 10)]))
    line = line_of(tip, LineKind.STRAIGHT, flange_mm=20)
    plate, _ = template_plans(line, [tip], TemplateSpec(clearance_mm=0.6), skin_mm=1.5)

    assert shapely.distance(plate, tip.foot) == pytest.approx(2.1, abs=0.02)


def test_a_sharp_mold_keeps_its_tip():
    """Shutting the slits of a foot takes nothing from its points."""
    point = Polygon([(0, -10), (76, 0), (0, 10)])
    part = part_of(mesh_from_solid(raised(point, 0.0, 8.0)))

    assert part.foot.bounds == pytest.approx(point.bounds)


def test_a_template_needs_a_flange():
    """Where edge and guard have no room it is refused with the flange it needs."""
    part = Part(name="block", foot=SQUARE)
    line = line_of(part, LineKind.OFFSET, flange_mm=8)
    with pytest.raises(SpecError, match=r"flange_mm must be at least 8\.1 mm for a trim template"):
        build_template(line, [part], TemplateSpec(), BENCH, skin_mm=1.5)


# Cradle.


def turned_in(part, line, made, spec):
    """Return the mold turned over as it lies in its cradle, and the cradle."""
    top = np.ptp(made.shown[0].mesh.points_mm[:, 2])
    rim = line.kind is LineKind.HEIGHT
    low = line.height_mm if rim else 0.0
    mold = solid_from_mesh(part.mesh, doing="testing")
    mold = mold.trim_by_plane((0, 0, 1), low).translate((0, 0, -low))
    lying = mold.rotate((180, 0, 0)).translate((0, 0, top + (spec.proud_mm if rim else 0.0)))
    return lying, solid_from_mesh(made.shown[0].mesh, doing="testing")


@pytest.mark.parametrize(("kind", "spec"), [
    (LineKind.HEIGHT, {"height_mm": 6.0}), (LineKind.OFFSET, {"flange_mm": 15.0}),
])  # fmt: skip
@pytest.mark.parametrize("shape", ["ell", "box", "cone"])
def test_a_part_goes_into_its_cradle(kind, spec, shape):
    """Turned over, not mirrored; with its play all round, and not with more than it."""
    cone = lathe([(0, 0), (30, 0), (22, 25), (0, 25)], 96)
    part = {"ell": ell(), "box": part_of(drafted(70, 50)), "cone": part_of(cone)}[shape]
    line = line_of(part, kind, **spec)
    own = CradleSpec(clearance_mm=0.5)
    made = build_cradle(line, part, own, BENCH, skin_mm=1.5)
    lying, cradle = turned_in(part, line, made, own)

    assert (lying ^ cradle).volume() == pytest.approx(0.0, abs=1e-6)
    moves = [(2.1, 0, 0), (-2.1, 0, 0), (0, 2.1, 0), (0, -2.1, 0)]
    assert all((lying.translate(move) ^ cradle).volume() > 1 for move in moves)
    moves = [(1.9, 0, 0), (-1.9, 0, 0), (0, 1.9, 0), (0, -1.9, 0)]
    assert all((lying.translate(move) ^ cradle).volume() < 1e-6 for move in moves)


def test_a_cradle_tells_the_play_it_has():
    """The play measured on the triangles is the one that was asked for."""
    part = ell()
    line = line_of(part, LineKind.HEIGHT, height_mm=6.0)
    made = build_cradle(line, part, CradleSpec(clearance_mm=0.4), BENCH, skin_mm=1.5)
    measured = float(dict(made.facts)["Play"].split("measured ")[1].split()[0])

    assert 0.39 <= measured <= 0.8


def test_the_rim_stands_out_of_its_cradle():
    """The line lies outside the block by as much as asked, so that only plastic is sanded."""
    part = part_of(drafted())
    line = line_of(part, LineKind.HEIGHT, height_mm=10.0)
    spec = CradleSpec(proud_mm=1.5)
    made = build_cradle(line, part, spec, BENCH, skin_mm=1.0)
    mesh = made.shown[0].mesh
    top = mesh.points_mm[:, 2].max()
    # 20 mm of the part stand above the line; it lies 18.5 mm deep, with its play below.
    mouth = section(mesh, top - 0.01)
    hole = Polygon(mouth.geoms[0].interiors[0])

    assert hole.contains(shapely.box(-48.6, -28.6, 48.6, 28.6))
    assert filled(section(mesh, top - 18.4)).area > section(mesh, top - 18.4).area + 1000
    floor = mesh.points_mm[(mesh.points_mm[:, 2] > 1) & (mesh.points_mm[:, 2] < top - 1), 2]
    assert floor.min() == pytest.approx(top - 19.0, abs=1e-6)


def test_a_cap_stays_clear_of_the_disc():
    """With a flange the block ends inside the line; without room it is refused."""
    part = part_of(drafted())
    line = line_of(part, LineKind.OFFSET, flange_mm=15)
    made = build_cradle(line, part, CradleSpec(), BENCH, skin_mm=1.0)
    x, y = np.abs(made.shown[0].mesh.points_mm[:, :2]).max(axis=0)

    assert x <= 50 + 15 - 4 + 1e-6
    assert y <= 30 + 15 - 4 + 1e-6
    tight = line_of(part, LineKind.OFFSET, flange_mm=6)
    with pytest.raises(SpecError, match=r"flange_mm must be at least 6\.4 mm beside the part"):
        build_cradle(tight, part, CradleSpec(), BENCH, skin_mm=1.0)


def test_a_cradle_needs_a_shape():
    """An outline alone has none, and a low rest cannot be held."""
    flat = Part(name="plate", foot=SQUARE)
    with pytest.raises(SpecError, match="part must be a mold that the sheet is drawn over"):
        hollow_of(line_of(flat, LineKind.OFFSET), flat, CradleSpec(), skin_mm=1)
    part = part_of(drafted())
    line = line_of(part, LineKind.HEIGHT, height_mm=27)
    with pytest.raises(SpecError, match="height_mm must be at least 4 mm below the top of block"):
        hollow_of(line, part, CradleSpec(), skin_mm=1)


# The recipe.


def words(**said):
    """Return what is typed for a trimming job that writes little."""
    return TrimWords(**({"file": "block.stl", "formats": ("json",)} | said))


def test_the_roller_draws_the_line_from_the_part():
    """Its radius is the flange less the skin, and what the wall leans below its touch."""
    part = part_of(drafted())
    trimming = trimming_of(
        words(flange_mm=15.0, gauge_mm=1.5), Source(title="block", parts=(part,)), SHOP
    )
    lean = 1.5 * tan(radians(5.0))

    assert roller_offset_mm(trimming, 1.5) == pytest.approx(15.0 - 1.5 + lean, abs=0.02)


@pytest.mark.parametrize(("said", "flange"), [
    ({"fixing": Fixing.GLUED}, 9.0), ({"fixing": Fixing.SCREWED}, 16.0),
    ({"flange_mm": 11.0, "fixing": Fixing.GLUED}, 11.0), ({}, 50.0),
])  # fmt: skip
def test_the_flange_is_that_of_its_use(said, flange):
    """As given, else by its fixing, else by the part's height."""
    part = part_of(drafted())
    trimming = trimming_of(words(**said), Source(title="block", parts=(part,)), SHOP)

    assert trimming.spec.flange_mm == flange


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"line": LineWord.HEIGHT}, "height_mm must be given with line height"),
        ({"height_mm": 4.0}, "height_mm must be used with line height"),
        ({"line": LineWord.OWN}, "own must be given with line own"),
        ({"own": "a.svg"}, "own must be used with line own"),
        (
            {"line": LineWord.HEIGHT, "height_mm": 4.0, "flange_mm": 3.0},
            "flange_mm must be left out with line height",
        ),
    ],
)
def test_words_must_go_together(said, sentence):
    """A line at a height needs one, and no flange; an own line its drawing."""
    with pytest.raises(SpecError, match=sentence):
        words(**said)


@pytest.fixture
def stl(tmp_path, monkeypatch):
    """Work in an empty folder with the drafted box in it."""
    from moldgen.export.stl import stl_bytes

    monkeypatch.chdir(tmp_path)
    Path("block.stl").write_bytes(stl_bytes([drafted(height=20.0)], title="block"))
    return Path("block.stl")


def test_a_mesh_is_trimmed_from_the_command_line(stl, capsys):
    """Lines, roller, template and cradle; the summary tells length, tool and time."""
    assert main(["trim", str(stl), "--flange", "15", "--formats", "stl,json"]) == 0
    out = capsys.readouterr().out
    names = {path.name for path in Path("outputs/trim-block").iterdir()}

    assert names == {"roller.stl", "template.stl", "cradle.stl", "findings.json"}
    for label in ("Line", "Length", "Cut with", "Time", "To print"):
        assert label in out


def test_the_sheet_of_use_warns(stl):
    """Report and plan are there; knives and sanders are spoken of."""
    made = make_trim(
        TrimWords(file=str(stl), line=LineWord.HEIGHT, height_mm=5.0, gauge_mm=2.0,
                  formats=("html", "dxf", "stl")),
        shop=SHOP, progress=lambda stage: None,
    )  # fmt: skip
    page = made.files["report.html"].decode()

    assert set(made.files) == {"scribe.stl", "cradle.stl", "trim-block-plan.dxf", "report.html"}
    for word in ("snips", "down-going", "No gloves", "Local rules come first", "safety glasses"):
        assert word in page
    assert made.numbers["perimeters_mm"] == pytest.approx([320 - 40 * tan(radians(5))], abs=1e-3)


def test_the_same_trimming_gives_the_same_bytes(stl):
    """Nothing depends on when or how often it is made."""
    said = TrimWords(file=str(stl), flange_mm=14.0, formats=("stl", "3mf", "svg"))
    first, second = (make_trim(said, shop=SHOP, progress=lambda stage: None) for _ in range(2))

    assert first.files == second.files


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (["nix.stl"], "nix.stl does not exist"),
        (["block.stl", "--line", "zigzag"], "--line must be one of|--line must be"),
        (["block.stl", "--line", "height"], "--height must be given with line height"),
        (["block.stl", "--line", "height", "--height", "25"], "--height must be more than 0 mm"),
        (["block.stl", "--line", "own", "--own", "x.txt"], "--own must be a drawing"),
        (["block.stl", "--plastic", "wood"], "--plastic"),
    ],
)
def test_bad_words_get_one_sentence(stl, capsys, typed, sentence):
    """Exit code 2, one line on stderr, no file."""
    import re

    assert main(["trim", *typed]) == 2
    told = capsys.readouterr().err
    assert re.search(sentence, told)
    assert told.count("\n") == 1
    assert not Path("outputs").exists()


def test_a_drawing_and_an_own_line_are_trimmed(stl, capsys):
    """Outlines alone give lines, roller and template; an own line its own perimeter."""
    arrow = ROOT / "examples" / "drawings" / "slipway-arrow.svg"
    assert main(["trim", str(arrow), "--flange", "15", "--formats", "json", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)

    assert told["numbers"]["n_lines"] >= 1
    assert "fixture-left-out" in {finding["code"] for finding in told["findings"]}


def test_a_sheet_of_use_does_not_claim_what_is_left_out(stl):
    """A flange too narrow for a cradle: finding, summary and verdict say it is not made."""
    words = TrimWords(file=str(stl), flange_mm=5.0)
    made = make_trim(words, shop=SHOP, progress=lambda stage: None)
    page = made.files["report.html"].decode()

    missing = [f.subject for f in made.findings if f.code == "fixture-left-out"]
    assert "sanding cradle" in missing
    assert dict(made.summary)["Not made"] == f"{', '.join(missing)}: the findings say why"
    assert "every check passed" not in page
    assert f"Not made: {', '.join(missing)}" in page


def test_all_of_a_trimming_is_ready(stl):
    """With room for all of it, nothing is said to be missing."""
    words = TrimWords(file=str(stl), flange_mm=20.0)
    made = make_trim(words, shop=SHOP, progress=lambda stage: None)

    assert "Not made" not in dict(made.summary)
    assert "Not made" not in made.files["report.html"].decode()


def test_a_wide_line_is_told_to_lie_under_the_clamp(stl, capsys):
    """The print of the clamp stays on the flange."""
    assert main(["trim", str(stl), "--flange", "130", "--formats", "json", "--json"]) == 0
    codes = {finding["code"] for finding in json.loads(capsys.readouterr().out)["findings"]}

    assert "trim-under-clamp" in codes
