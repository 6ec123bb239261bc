"""The outline library: its drawings, sizes and proportions."""

import xml.etree.ElementTree as ET
from math import inf, nan, pi, sin, sqrt

import matplotlib as mpl
import numpy as np
import pytest
import shapely
from conftest import ROOT
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import scale
from support.some import some

from moldgen.errors import FileError, OutlineError, SpecError
from moldgen.outline.library import shapes
from moldgen.outline.library.formulas import FORMULAS
from moldgen.outline.library.shapes import (
    list_shapes,
    load_shape,
    outline_from_shape,
    read_drawing,
    shape_folder,
)
from moldgen.outline.library.sheet import SHEET_MM, shape_sheet
from moldgen.outline.region import mirrored, rounded_plan, size_mm

INFOS = {info.name: info for info in list_shapes()}
SVG = "{http://www.w3.org/2000/svg}"
names = st.sampled_from(sorted(INFOS))


def minimal(path: str = "M0 0 L9 0 L9 9 Z", *, title: str = "T", desc: str = "D") -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>{title}</title>'
        f'<desc>{desc}</desc><path d="{path}"/></svg>'
    )


# --- every drawing -----------------------------------------------------------------------------


def test_library_holds_at_least_six_dozen_shapes():
    """There are enough shapes, by name, and some of them have proportions to choose."""
    assert len(INFOS) >= 72
    assert list(INFOS) == sorted(INFOS)
    assert sum(bool(info.parameters) for info in INFOS.values()) >= 8


@pytest.mark.parametrize("name", INFOS)
def test_drawing_is_a_plain_svg_that_any_viewer_shows(name):
    """One filled path within the view box, in millimeters, with a title and a description."""
    root = ET.fromstring((shape_folder() / f"{name}.svg").read_text(encoding="utf-8"))
    assert [child.tag for child in root] == [f"{SVG}title", f"{SVG}desc", f"{SVG}path"]
    left, top, width, height = map(float, root.get("viewBox").split())
    assert root.get("width") == f"{width:g}mm"
    assert root.get("height") == f"{height:g}mm"
    rings = shapes._rings(load_shape(name).path, chord=0.01, name=name)
    low, span = shapes._box(rings)
    assert (low >= (left, top)).all()
    assert (low + span <= (left + width, top + height)).all()
    assert (span >= np.array([width, height]) - 6).all()


@pytest.mark.parametrize("name", INFOS)
def test_drawing_is_closed_and_does_not_cross_itself(name):
    """Each closed curve is simple, and holes lie inside without touching."""
    rings = shapes._rings(load_shape(name).path, chord=0.05, name=name)
    assert all(shapely.LinearRing(ring).is_simple for ring in rings)
    region = outline_from_shape(name, width_mm=100)
    assert len(region.geoms) == 1
    assert sum(len(part.interiors) for part in region.geoms) == len(rings) - 1


@pytest.mark.parametrize("name", INFOS)
def test_drawing_has_no_hairlines(name):
    """At 60 mm no stroke is so thin that a 1 mm corner radius tears the shape apart."""
    region = outline_from_shape(name, width_mm=SHEET_MM / max(1.0, INFOS[name].aspect))
    rounded = rounded_plan(region, 1.0)
    assert len(rounded.geoms) == 1
    assert rounded.area > 0.97 * region.area


@pytest.mark.parametrize("name", INFOS)
def test_description_is_a_sentence(name):
    """Title and description say what it is, for the picture sheet and the page."""
    info = INFOS[name]
    assert info.title[0].isupper()
    assert info.description.endswith(".")
    assert len(info.description) > len(info.title)


def test_drawings_are_curves_not_polylines_in_disguise():
    """A shape's corners are few: what looks round is drawn with curves."""
    for name in some(INFOS):
        assert sum(load_shape(name).path.count(letter) for letter in "LHV") <= 40


def test_round_shapes_are_smooth():
    """At 200 mm no corner along a curved library shape turns by more than its arcs' step."""
    for name in ("oval-plaque", "ring", "key-tag", "kidney-tray"):
        region = outline_from_shape(name, width_mm=200)
        points = np.array(region.geoms[0].exterior.coords)[:-1]
        sides = np.roll(points, -1, axis=0) - points
        angles = np.unwrap(np.arctan2(sides[:, 1], sides[:, 0]))
        assert np.abs(np.diff(angles)).max() < 0.12, name


def test_contact_sheet_can_be_drawn(tmp_path):
    """The data for the picture sheet draws every shape once, none larger than its frame."""
    mpl.use("Agg")
    from matplotlib.figure import Figure
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path as Line

    sheet = shape_sheet()
    assert [info.name for info, _ in sheet] == list(INFOS)
    figure = Figure(figsize=(14, 14))
    for at, (info, region) in enumerate(sheet, start=1):
        axes = figure.add_subplot(9, 9, at, title=info.name, aspect="equal")
        rings = [ring for part in region.geoms for ring in (part.exterior, *part.interiors)]
        lines = [Line(np.array(ring.coords), closed=True) for ring in rings]
        axes.add_patch(PathPatch(Line.make_compound_path(*lines), facecolor="#24536b"))
        axes.set(xlim=(-32, 32), ylim=(-32, 32))
        axes.axis("off")
        assert max(size_mm(region)) == pytest.approx(SHEET_MM, rel=1e-4)
    figure.savefig(tmp_path / "sheet.png", dpi=60)
    assert (tmp_path / "sheet.png").stat().st_size > 10_000


# --- sizes -------------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(names, st.floats(5, 900), st.floats(5, 900))
def test_shape_has_exactly_the_size_asked_for(name, width_mm, height_mm):
    """The box is the wanted one, about the origin, and the shape is valid."""
    region = outline_from_shape(name, width_mm=width_mm, height_mm=height_mm)
    assert region.is_valid
    half = (width_mm / 2, height_mm / 2)
    assert region.bounds == pytest.approx((-half[0], -half[1], *half), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(names, st.floats(20, 400))
def test_width_alone_keeps_the_proportions(name, width_mm):
    """Without a height the shape is the drawn one, larger or smaller."""
    region = outline_from_shape(name, width_mm=width_mm)
    twice = outline_from_shape(name, width_mm=2 * width_mm)
    assert size_mm(region)[1] == pytest.approx(width_mm * INFOS[name].aspect, rel=1e-3)
    assert twice.area == pytest.approx(4 * region.area, rel=5e-3)


@pytest.mark.parametrize(
    "name",
    [
        "anchor", "arch-plaque", "buoy", "cleat", "gull", "lifebuoy", "lighthouse", "name-board",
        "oval-plaque", "paddle", "rounded-plaque", "scallop-shell", "shield-badge", "star",
        "ticket-plaque", "kidney-tray", "octagon-tray", "hexagon-badge", "ring", "bell", "bone",
        "butterfly", "crown", "drop", "egg", "fir-tree", "flower", "gear", "guitar", "heart",
        "light-bulb", "mushroom", "snowflake", "sun", "tree", "tulip",
    ],
)  # fmt: skip
def test_symmetric_drawings_are_their_own_mirror_image(name):
    """Left and right of shapes that should be even are even to 0.02 mm at 100 mm."""
    region = outline_from_shape(name, width_mm=100)
    assert shapely.hausdorff_distance(region.boundary, mirrored(region).boundary) < 0.02


UPRIGHT = ("buoy", "lighthouse", "sailboat", "bell", "car", "fir-tree", "guitar", "pear", "rocket")


def test_drawings_stand_upright():
    """Up in the file is up on the mold: rings above, feet and tails below."""
    hole = outline_from_shape("anchor", width_mm=100).geoms[0].interiors[0]
    assert hole.centroid.y > 40
    for name in (*UPRIGHT, "speech-flag"):
        region = outline_from_shape(name, width_mm=100)
        middle = region.centroid.y
        assert (middle > 0) is (name == "speech-flag"), name


@pytest.mark.parametrize("name", ["arrow-sign", "fish", "speech-flag", "burgee", "duck", "key"])
def test_handed_drawings_are_not(name):
    """The partner: a shape that points somewhere differs from its mirror image."""
    region = outline_from_shape(name, width_mm=100)
    assert shapely.hausdorff_distance(region.boundary, mirrored(region).boundary) > 2


@pytest.mark.parametrize("height_mm", [30, 100, 300])
def test_round_ends_stay_round_when_stretched(height_mm):
    """A key tag has half circles at its ends whatever its length; its hole stays a circle."""
    region = outline_from_shape("key-tag", width_mm=4 * height_mm, height_mm=height_mm)
    stadium = pi * (height_mm / 2) ** 2 + 3 * height_mm**2
    hole = shapely.Polygon(region.geoms[0].interiors[0])
    assert region.area + hole.area == pytest.approx(stadium, rel=1e-3)
    across, up = size_mm(hole)
    assert across == pytest.approx(up, abs=0.02)


def test_corners_would_be_ovals_without_bands():
    """The partner: stretched evenly, the same tag has another area."""
    even = scale(outline_from_shape("key-tag", width_mm=120), 1, 40 / 44 * 30 / 40)
    banded = outline_from_shape("key-tag", width_mm=120, height_mm=30)
    assert abs(even.area - banded.area) > 1e-3 * banded.area


def test_hollow_corners_of_a_ticket_stay_quarter_circles():
    """A ticket twice as long has the same four quarter circles cut out."""
    drawn = outline_from_shape("ticket-plaque", width_mm=120, height_mm=75)
    long = outline_from_shape("ticket-plaque", width_mm=240, height_mm=75)
    assert drawn.area == pytest.approx(120 * 75 - pi * 14**2, rel=1e-4)
    assert long.area == pytest.approx(240 * 75 - pi * 14**2, rel=1e-4)


# --- proportions -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [name for name, info in INFOS.items() if info.parameters])
def test_file_shows_what_the_formula_draws_by_default(name):
    """The path in the file and the formula at its defaults are the same shape."""
    drawing = load_shape(name)
    rings = shapes._rings(drawing.path, chord=0.005, name=name)
    drawn = shapes._region(rings, name)
    made = outline_from_shape(name, width_mm=size_mm(drawn)[0])
    left, bottom, right, top = drawn.bounds
    there = shapely.transform(drawn, lambda xy: xy - ((left + right) / 2, (bottom + top) / 2))
    assert shapely.hausdorff_distance(there.boundary, made.boundary) < 0.03


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_proportions_within_their_limits_make_a_valid_shape(data):
    """No choice of parameters, width and height gives a broken or an empty shape."""
    name = data.draw(st.sampled_from([n for n, info in INFOS.items() if info.parameters]))
    chosen = {}
    for parameter in INFOS[name].parameters:
        low, high = parameter.quantity.at_least, parameter.quantity.at_most
        whole = parameter.default == round(parameter.default)
        kind = st.integers(int(low), int(high)) if whole else st.floats(low, high)
        chosen[parameter.name] = data.draw(kind)
    width_mm, height_mm = data.draw(st.tuples(st.floats(20, 400), st.floats(20, 400)))
    region = outline_from_shape(name, width_mm=width_mm, height_mm=height_mm, **chosen)
    assert region.is_valid
    assert size_mm(region) == pytest.approx((width_mm, height_mm), abs=1e-6)


def area(name: str, **asked: float) -> float:
    return outline_from_shape(name, **asked).area


def test_proportions_give_the_closed_form_areas():
    """Areas of the formula shapes equal what geometry says they are."""
    box = area("rounded-plaque", width_mm=100, height_mm=60, corner=0.25)
    assert box == pytest.approx(100 * 60 - (4 - pi) * 15**2, rel=2e-4)
    ring = area("ring", width_mm=100, height_mm=100, ring_width=0.2)
    assert ring == pytest.approx(pi * (50**2 - 30**2), rel=1e-3)
    arrow = area("arrow-sign", width_mm=100, height_mm=60, head=0.4, shaft=0.5)
    assert arrow == pytest.approx(60 * 30 + 40 * 60 / 2)
    flag = area("pennant", width_mm=100, height_mm=50, tip=0.2)
    assert flag == pytest.approx(100 * (50 + 10) / 2)
    tails = area("burgee", width_mm=100, height_mm=50, notch=0.3, fly=0.6)
    assert tails == pytest.approx(100 * (50 + 30) / 2 - 30 * 30 / 2)
    tray = area("octagon-tray", width_mm=100, height_mm=80, cut=0.25)
    assert tray == pytest.approx(100 * 80 - 2 * 20**2)
    ell = area("l-tray", width_mm=100, height_mm=80, arm=0.5, corner=0)
    assert ell == pytest.approx(100 * 80 - 60 * 40)
    waves = area("wave-plaque", width_mm=100, height_mm=50, waves=5, swell=0.2)
    assert waves == pytest.approx(100 * 40, rel=1e-3)
    moon = area("crescent-moon", width_mm=77.5, height_mm=100, thickness=0.45)
    assert 0.2 * 7750 < moon < 0.6 * 7750


def test_star_has_the_points_asked_for():
    """A star of n points has 2 n corners and the area of its 2 n triangles."""
    for n in (4, 5, 8):
        region = outline_from_shape("star", width_mm=100, points=n, depth=0.5)
        assert len(region.geoms[0].exterior.coords) - 1 == 2 * n
    four = outline_from_shape("star", width_mm=100, points=4, depth=0.5)
    assert four.area == pytest.approx(8 * 0.5 * 50 * 25 * sin(pi / 4))


def test_badge_is_regular_and_keeps_its_corner_radius():
    """A hexagon of unit corner radius has the area of a swollen regular hexagon."""
    sharp = outline_from_shape("hexagon-badge", width_mm=100, corner=0)
    assert sharp.area == pytest.approx(sqrt(3) / 2 * 100**2)
    r = 10
    soft = outline_from_shape("hexagon-badge", width_mm=100, corner=0.1)
    side = (100 - 2 * r) / sqrt(3)
    swollen = 1.5 * sqrt(3) * side**2 + 6 * side * r + pi * r**2
    assert soft.area == pytest.approx(swollen, rel=1e-3)


def test_moon_grows_with_its_thickness():
    """A fuller moon has more area; half a moon and more is not the same as a sickle."""
    areas = [area("crescent-moon", width_mm=50, thickness=t) for t in (0.2, 0.4, 0.6, 0.8)]
    assert areas == sorted(areas)
    assert areas[-1] > 3 * areas[0]


def test_parameters_are_told_with_default_and_limits():
    """Whoever shows the library can show every choice, with limits and meaning."""
    star = INFOS["star"]
    points = {parameter.name: parameter for parameter in star.parameters}["points"]
    assert (points.default, points.quantity.at_least, points.quantity.at_most) == (5, 3, 24)
    assert all(p.quantity.about for info in INFOS.values() for p in info.parameters)
    assert not INFOS["anchor"].parameters
    assert INFOS["ticket-plaque"].keeps_corners
    assert not INFOS["anchor"].keeps_corners


def test_every_formula_is_used_by_a_drawing():
    """No formula without a drawing, no drawing without its formula."""
    used = {load_shape(name).formula for name in INFOS} - {""}
    assert used == set(FORMULAS)


def test_same_shape_gives_the_same_bytes():
    """Asking twice gives identical coordinates."""
    first, second = (outline_from_shape("anchor", width_mm=80).wkb for _ in range(2))
    assert first == second


# --- where the library is ----------------------------------------------------------------------


def test_installed_library_comes_before_the_checkout(tmp_path, monkeypatch):
    """Inside an installed package the drawings beside the code are taken."""
    package = tmp_path / "moldgen"
    (package / "shapes_library").mkdir(parents=True)
    (tmp_path / "shapes").mkdir()
    (package / "shapes_library" / "plate.svg").write_text(minimal())
    (tmp_path / "shapes" / "other.svg").write_text(minimal())
    monkeypatch.setattr(shapes, "files", lambda _: package)
    assert [info.name for info in list_shapes()] == ["plate"]
    (package / "shapes_library" / "plate.svg").unlink()
    assert [info.name for info in list_shapes()] == ["other"]


def test_missing_library_is_told(tmp_path, monkeypatch):
    """Without drawings the error says to install again."""
    monkeypatch.setattr(shapes, "files", lambda _: tmp_path / "moldgen")
    with pytest.raises(FileError, match="outline library is missing; install moldgen again"):
        list_shapes()


def test_checkout_holds_nothing_but_drawings():
    """The folder in the repository holds SVG files only."""
    folder = ROOT / "shapes"
    assert {path.suffix for path in folder.iterdir()} == {".svg"}


# --- bad input ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "asked", "words"),
    [
        ("ancor", {}, r"shape must be a shape of the library \(got 'ancor'\). Did you mean anchor"),
        ("Wave Plaque", {}, "Did you mean wave-plaque"),
        ("zzz", {}, "Choose anchor, apple, arch-plaque"),
        ("../secrets", {}, "shape must be a shape of the library"),
        ("", {}, "shape must be a shape of the library"),
        ("anchor", {"width_mm": 0}, "width_mm must be at least 0.1 mm and at most 5000 mm"),
        ("anchor", {"width_mm": nan}, "width_mm must be at least 0.1 mm"),
        ("anchor", {"width_mm": 1e9}, "width_mm must be at least 0.1 mm and at most 5000 mm"),
        ("anchor", {"height_mm": -5}, "height_mm must be at least 0.1 mm"),
        ("anchor", {"height_mm": inf}, "height_mm must be at least 0.1 mm"),
        ("anchor", {"points": 5}, "points must be left out for the shape anchor"),
        ("star", {"sides": 5}, "sides must be points or depth for the shape star"),
        ("star", {"points": 2}, "points must be at least 3 and at most 24"),
        ("star", {"points": 5.5}, "points must be a whole number"),
        ("hexagon-badge", {"sides": 6.2}, "sides must be a whole number"),
        ("wave-plaque", {"waves": 2.5}, "waves must be a whole number"),
        ("ring", {"ring_width": 0.5}, "ring_width must be at least 0.03 and at most 0.45"),
        ("rounded-plaque", {"corner": nan}, "corner must be at least 0 and at most 0.5"),
    ],
)
def test_bad_requests_are_refused(name, asked, words):
    """Unknown names and parameters and impossible numbers are one sentence each."""
    with pytest.raises(SpecError, match=words):
        outline_from_shape(name, **{"width_mm": 100, **asked})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "plate.svg is damaged"),
        ("<svg", "plate.svg is damaged"),
        (minimal(title=""), "needs a title, a description and one path"),
        (minimal(desc=" "), "needs a title, a description and one path"),
        (minimal(path=""), "needs a title, a description and one path"),
        (minimal().replace("</svg>", '<path d="M0 0"/></svg>'), "and one path"),
    ],
)
def test_damaged_drawings_are_refused(text, words):
    """A drawing that is not of the library's kind is refused with its name."""
    with pytest.raises(FileError, match=words):
        read_drawing("plate", text)


def test_open_drawing_is_refused():
    """A path that is not closed is no outline."""
    with pytest.raises(OutlineError, match="library drawing plate is not closed"):
        shapes._rings("M0 0 L9 0 L9 9", chord=0.1, name="plate")
