"""Fixtures of the table: closed, of known size, with the play they promise, on the printer."""

import re
from dataclasses import fields, replace
from itertools import combinations
from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from shapely import MultiPolygon
from shapely.affinity import translate

from moldgen.errors import SpecError
from moldgen.fixture import spec as say
from moldgen.fixture.drill_guide import Place, build_drill_guide, hole_mm, places_from_words
from moldgen.fixture.ejector import DEPTH_MM as BRIDGE_MM
from moldgen.fixture.ejector import build_ejector
from moldgen.fixture.frame import build_frame, frame_plan
from moldgen.fixture.handle import DEPTH_MM as HANDLE_MM
from moldgen.fixture.handle import SEAT_MM, build_handle
from moldgen.fixture.kinds import KINDS, kind_named
from moldgen.fixture.letter_foot import GROOVE_DEPTH_MM, RAIL_MM, FootRule
from moldgen.fixture.made import Bench
from moldgen.fixture.pack import pack, packed_on_plates
from moldgen.fixture.plug import TIP_SHARE, build_plugs
from moldgen.fixture.rail import build_rail
from moldgen.fixture.roller import build_roller
from moldgen.fixture.screwed import ALLOWED_MPA, bar_height_mm, screw_of
from moldgen.fixture.scribe import DEPTH_MM as SCRIBE_MM
from moldgen.fixture.scribe import build_scribe, has_groove
from moldgen.fixture.sheet_gauge import build_sheet_gauge
from moldgen.fixture.spacer import CORNER_MM, HOLE_MM, build_spacers
from moldgen.fixture.split import KEY_CLEARANCE_MM, split_region
from moldgen.fixture.standoff import build_standoffs
from moldgen.fixture.turned import n_sides, rounded_box
from moldgen.job.fixture_words import FixtureWords
from moldgen.mold.checks.outlines import section
from moldgen.pipeline.fixture import print_words
from moldgen.quantity import marks
from moldgen.solid.mesh import Body
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh
from moldgen.solid.topology import topology_of, welded
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
STATIONS = SHOP.names("station")
PRINTER = SHOP.printer("bed-220")


def bench(station="classroom-450x300", printer="bed-220", **changes):
    """Return a bench, its station changed where asked."""
    table = replace(SHOP.station(station), **changes)
    return Bench(station=table, printer=SHOP.printer(printer), shop=SHOP)


BENCH = bench()


def usual(kind):
    """Return what is usual for a fixture, with holes for the guide."""
    if kind.name == "drill-guide":
        return kind.spec(places="20,10,1; -30,5,1.5")
    return kind.spec()


def polygon_area(radius, n):
    """Area of a regular polygon whose corners lie on a circle."""
    return n / 2 * radius**2 * sin(2 * pi / n)


def frustum(low, high, height, n):
    """Volume of a cone cut off, with as many sides."""
    a, b = polygon_area(low, n), polygon_area(high, n)
    return height / 3 * (a + b + (a * b) ** 0.5)


def overlap_mm3(one, other):
    """Volume that two solids share."""
    return (one ^ other).volume()


def solid_of(fixture, number=0):
    """Return one printed body as a solid."""
    return solid_from_mesh(fixture.bodies[number].mesh, doing="testing")


def as_drawn(fixture):
    """Return the body that is shown, turned back to how it is printed, where it was drawn."""
    x, y, z = fixture.shown[0].mesh.points_mm.T
    back = replace(fixture.shown[0].mesh, points_mm=np.column_stack([x, z, -y]))
    return solid_from_mesh(back, doing="testing")


# Every fixture, on every table.


@pytest.mark.parametrize("station", STATIONS)
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_fixture_is_closed_and_stands_on_the_bed(kind, station):
    """Each body is one closed solid, flat on z = 0, on its plate or told to be too large."""
    made = kind.builder()(usual(kind), bench(station))

    told = {finding.code for finding in made.findings}
    for plate in made.plates:
        boxes = []
        for one in plate:
            low, high = one.mesh.bounds_mm
            assert topology_of(welded(one.mesh)).closed
            assert len(solid_from_mesh(one.mesh, doing="testing").decompose()) == 1
            assert low[2] == pytest.approx(0.0, abs=1e-9)
            on_bed = high[0] <= PRINTER.bed_width_mm and high[1] <= PRINTER.bed_depth_mm
            assert (low[:2] >= 3.0 - 1e-6).all()
            assert on_bed or told & {"print-beyond-bed", "print-turned"}
            boxes.append(shapely.box(*low[:2], *high[:2]))
        assert shapely.union_all(boxes).area == pytest.approx(sum(box.area for box in boxes))
    assert "fixture-overhang" not in told


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_fixture_tells_its_use_and_its_dangers(kind):
    """One sentence or two each, and the fixture is found by its name."""
    assert kind.use.endswith(".")
    assert kind.safety.endswith(".")
    assert kind_named(kind.name.upper()) is kind


def test_an_unknown_fixture_is_told_the_nearest():
    """A typing error is answered with the name that was meant."""
    with pytest.raises(SpecError, match=r"got 'ejectr'\)\. Did you mean ejector\?"):
        kind_named("ejectr")


def test_a_shared_field_means_the_same_everywhere():
    """Fixtures that share a word share its unit and its limits, or the option would lie."""
    seen = {}
    for kind in KINDS:
        for name, mark in marks(kind.spec).items():
            assert seen.setdefault(name, mark) == mark, f"{kind.name}: {name}"


@pytest.mark.parametrize("name", ["frame", "spacer", "plug"])
def test_a_larger_printer_takes_more(name):
    """No more plates are needed on a larger bed, and a plate that fits is not split."""
    kind = kind_named(name)
    small = kind.builder()(kind.spec(), bench())
    large = kind.builder()(kind.spec(), bench(printer="bed-350"))

    assert len(large.plates) <= len(small.plates)
    assert len(large.bodies) <= len(small.bodies)


# Known volumes and fits.


@pytest.mark.parametrize("station", STATIONS)
def test_a_plug_has_the_volume_of_its_rounds(station):
    """Head, shaft and cone of regular polygons, to a part in a million."""
    table = bench(station)
    spec = say.PlugSpec(count=3, length_mm=5.0, thickness_mm=1.4, clearance_mm=0.2)
    made = build_plugs(spec, table)
    r = table.station.hole_diameter_mm / 2 - 0.2
    head = table.station.hole_diameter_mm / 2 + 2.0
    tip = TIP_SHARE * r
    n = n_sides(r)
    wanted = (
        polygon_area(head, n_sides(head)) * 1.4
        + polygon_area(r, n) * (5.0 - tip)
        + frustum(r, r - tip, tip, n)
    )

    assert len(made.bodies) == 3
    assert made.bodies[1].mesh.volume_mm3 == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("station", STATIONS)
@pytest.mark.parametrize("clearance", [0.1, 0.3])
def test_a_plug_has_its_play_in_the_hole(station, clearance):
    """The shaft's farthest corner keeps the play from the hole; the head does not pass."""
    table = bench(station)
    made = build_plugs(say.PlugSpec(count=1, clearance_mm=clearance), table)
    points = made.bodies[0].mesh.points_mm
    middle = (points.min(axis=0) + points.max(axis=0))[:2] / 2
    away = np.hypot(*(points[:, :2] - middle).T)
    hole = table.station.hole_diameter_mm

    assert away[points[:, 2] > 2.0].max() == pytest.approx(hole / 2 - clearance, abs=1e-9)
    assert away[points[:, 2] < 1e-6].max() > hole / 2
    assert 2 * away.max() < table.station.hole_pitch_mm


def test_a_thin_shaft_is_told():
    """A shaft under 3 mm is a caution, one over is not."""
    thin = build_plugs(say.PlugSpec(), BENCH)
    stout = build_plugs(say.PlugSpec(), bench(hole_diameter_mm=4.0))

    assert [finding.code for finding in thin.findings] == ["pin-thin"]
    assert thin.findings[0].measured == pytest.approx(1.7)
    assert stout.findings == ()


def test_a_plug_needs_something_of_a_shaft():
    """Play that eats the shaft is refused with the most there may be."""
    with pytest.raises(SpecError, match=r"clearance_mm must be at most 0\.6 mm in holes of 2 mm"):
        build_plugs(say.PlugSpec(clearance_mm=0.7), BENCH)


def test_a_standoff_has_the_volume_of_its_rounds():
    """Pad and pin; the pin has its play, and its root is inside the pad."""
    table = bench(hole_diameter_mm=6.0)
    made = build_standoffs(say.StandoffSpec(height_mm=9, length_mm=11, count=1), table)
    r, tip = 2.85, 5.7 / 8
    wanted = (
        polygon_area(5.5, n_sides(5.5)) * 9
        + polygon_area(r, n_sides(r)) * (5 - tip)
        + frustum(r, r - tip, tip, n_sides(r))
    )

    assert made.volume_mm3 == pytest.approx(wanted, rel=1e-6)
    assert made.bodies[0].mesh.bounds_mm[1, 2] == pytest.approx(14.0)


def test_a_standoff_in_small_holes_has_no_pin():
    """Where a pin would not print there is none, and the sheet says what holds it."""
    made = build_standoffs(say.StandoffSpec(height_mm=9), BENCH)

    assert made.bodies[0].mesh.bounds_mm[1, 2] == pytest.approx(9.0)
    assert "tape" in dict(made.facts)["Held by"]
    with pytest.raises(SpecError, match="length_mm must be at least 40 mm for a height of 100"):
        build_standoffs(say.StandoffSpec(height_mm=100), BENCH)


def test_a_spacer_has_the_volume_of_its_plate():
    """A thin one, too thin for figures: rounded rectangle less its hole."""
    made = build_spacers(say.SpacerSpec(thickness_mm=1.0, length_mm=44, count=1), BENCH)
    hole = HOLE_MM / 2
    n = n_sides(hole)
    area = 44 * 16 - (4 - pi) * CORNER_MM**2 - polygon_area(hole / cos(pi / n), n)

    assert made.volume_mm3 == pytest.approx(area * 1.0, rel=1e-4)


def test_a_spacer_needs_a_margin():
    """A clamp that hardly holds the sheet has no room for pads."""
    with pytest.raises(SpecError, match=r"at least 12 mm for spacers \(got 11 mm"):
        build_spacers(say.SpacerSpec(), bench(clamp_margin_mm=11))


def test_a_frame_has_the_volume_of_its_plate():
    """Outer less inner rounded rectangle, less the groove of a millimeter round the sheet."""
    spec = say.FrameSpec(sheet_width_mm=300, sheet_depth_mm=200, thickness_mm=5)
    made = build_frame(spec, bench(printer="bed-350", sheet_width_mm=490))
    outer = 490 * 340 - (4 - pi) * 9
    inner = 260 * 160 - (4 - pi) * 36
    groove = 302 * 202 - 300 * 200
    wanted = (outer - inner) * 5 - groove * 0.6

    assert made.shown[0].mesh.volume_mm3 == pytest.approx(wanted, rel=1e-5)
    assert made.outline.area == pytest.approx(outer - inner, rel=1e-6)


def test_pieces_of_a_frame_are_the_whole_less_the_play_of_their_keys():
    """No gap wider than the play, no overlap, and every piece on the bed."""
    spec = say.FrameSpec()
    plan, _ = frame_plan(spec, BENCH)
    pieces = split_region(plan, PRINTER)
    whole = shapely.union_all(pieces)

    assert len(pieces) == 6
    assert whole.area == pytest.approx(sum(piece.area for piece in pieces), rel=1e-9)
    assert shapely.difference(whole, plan).area < 1e-6
    gap = shapely.difference(plan, whole)
    assert 0 < gap.area < 0.001 * plan.area
    filled = shapely.buffer(whole, KEY_CLEARANCE_MM / 2 + 1e-6)
    # At the sharp corners of a socket a little more is free.
    assert shapely.difference(gap, filled).area < 0.1
    for piece in pieces:
        x0, y0, x1, y1 = piece.bounds
        assert max(x1 - x0, y1 - y0) <= 214.0


def test_keys_of_a_frame_hold():
    """A piece cannot be drawn straight away from its neighbor: the key is wider at its head."""
    plan, _ = frame_plan(say.FrameSpec(), BENCH)
    pieces = split_region(plan, PRINTER)
    held = 0
    for one, other in combinations(pieces, 2):
        if shapely.distance(one, other) < 1e-9:
            apart = np.subtract(other.centroid.coords[0], one.centroid.coords[0])
            way = np.sign(apart) * (np.abs(apart) == np.abs(apart).max())
            drawn = translate(other, *(2.0 * way))
            assert shapely.intersection(one, drawn).area > 0.5
            held += 1

    assert held >= 6


def test_split_pieces_of_a_solid_add_up():
    """Bodies of the split sheet gauge hold the whole's volume less the play of the keys."""
    made = build_sheet_gauge(say.SheetGaugeSpec(), BENCH)
    whole = made.shown[0].mesh.volume_mm3

    assert len(made.bodies) == 3
    assert 0.995 * whole < made.volume_mm3 < whole
    assert "fixture-in-pieces" in {finding.code for finding in made.findings}


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"sheet_width_mm": 50}, r"sheet_width_mm must be 60 to 470 mm at classroom-450x300"),
        ({"sheet_depth_mm": 330}, r"sheet_depth_mm must be 60 to 320 mm at classroom-450x300"),
    ],
)
def test_a_frame_refuses_a_sheet_without_use(changes, sentence):
    """Too small leaves no opening, nearly full size needs no frame."""
    with pytest.raises(SpecError, match=sentence):
        build_frame(say.FrameSpec(**changes), BENCH)


def test_a_frame_warns_of_the_heat():
    """A printed plate near the heater is never passed over in silence."""
    made = build_frame(say.FrameSpec(), BENCH)

    assert made.findings[0].code == "frame-softens"
    assert made.findings[0].measured == BENCH.station.heater_degC


def test_a_frame_is_printed_twice():
    """The sheet is clamped between two, the files hold one: facts, steps and plates say so."""
    made = build_frame(say.FrameSpec(), BENCH)
    words = print_words([made], BENCH, FixtureWords(fixture="frame"))

    assert made.copies == 2
    assert "print them twice" in dict(made.facts)["Frames"]
    assert dict(made.steps)["Make two"].startswith("Print all plates twice")
    assert re.search(r"if solid; print (it|them) twice$", words)


def test_a_sheet_gauge_marks_the_stations_sheet():
    """From the hook's inner face to the upright side of each notch is a side of the sheet."""
    made = build_sheet_gauge(say.SheetGaugeSpec(), bench(printer="bed-350"))
    cut = section(made.shown[0].mesh, 2.5)
    corners = shapely.get_coordinates(cut)
    deep = corners[np.isclose(corners[:, 1], 5.0)]
    hook = section(made.shown[0].mesh, 6.0)

    assert sorted(deep[:, 0].round(6)) == [340.0, 490.0]
    assert hook.bounds[2] == pytest.approx(0.0, abs=1e-9)


# The drill guide.


def test_a_drill_guide_has_its_holes_where_the_vents_are():
    """Seen from above, unmirrored, wide enough for the drill once printed."""
    places = (Place(20, 10, 1.5), Place(-30, 5, 3.0), Place(7, -22, 2.0))
    spec = say.DrillGuideSpec()
    made = build_drill_guide(spec, BENCH, places=places)
    cut = section(made.shown[0].mesh, 3.0)
    holes = [shapely.Polygon(ring) for ring in cut.geoms[0].interiors]

    assert len(holes) == 3
    for place in places:
        own = next(one for one in holes if one.contains(shapely.Point(place.x_mm, place.y_mm)))
        reach = shapely.Point(place.x_mm, place.y_mm).distance(own.exterior)
        drawn = hole_mm(place, spec, PRINTER)
        assert drawn >= place.diameter_mm + PRINTER.hole_undersize_mm
        assert 2 * reach == pytest.approx(drawn, abs=1e-6)


def test_a_drill_guide_fits_round_the_foot():
    """The rim keeps its play from an L-shaped foot all round."""
    foot = MultiPolygon([shapely.Polygon([(0, 0), (80, 0), (80, 30), (30, 30), (30, 70), (0, 70)])])
    spec = say.DrillGuideSpec(clearance_mm=0.35)
    made = build_drill_guide(spec, BENCH, foot=foot, places=(Place(10, 10, 3),))
    rim = section(made.shown[0].mesh, spec.thickness_mm + 2.0)

    assert shapely.distance(rim, foot) == pytest.approx(0.35, abs=1e-3)
    assert shapely.intersection(rim, foot).area == 0


def test_a_hole_at_the_edge_prints_without_support():
    """A wide hole near the foot's edge notches the rim upward; nothing hangs over."""
    spec = say.DrillGuideSpec(places="20,-28,5", bushing_mm=9)
    made = build_drill_guide(spec, BENCH)

    assert "fixture-overhang" not in {finding.code for finding in made.findings}


def test_a_loose_guide_is_told_and_a_tube_helps():
    """A drill of 0.6 mm in the smallest printed hole has play; with a tube it has none."""
    loose = build_drill_guide(say.DrillGuideSpec(places="1,2,0.6"), BENCH)
    guided = build_drill_guide(say.DrillGuideSpec(places="1,2,0.6", bushing_mm=3), BENCH)

    assert loose.findings[0].code == "guide-loose"
    assert loose.findings[0].measured == pytest.approx(0.7)
    assert guided.findings == ()


@pytest.mark.parametrize(
    ("places", "sentence"),
    [
        ("", "places must be at least one hole to drill"),
        ("1,2", r"places 1 must be x, y and diameter \(got '1,2'\)"),
        ("1,2,1; 3,x,1", "places 2 must be a number in mm"),
        ("1,2,20", r"places 1 must be 0\.3 to 12 mm in diameter \(got 20 mm\)"),
        ("60,0,1", r"places 1 must be on the foot of the mold \(got x 60, y 0 mm\)"),
    ],
)
def test_a_drill_guide_refuses_places_it_cannot_drill(places, sentence):
    """One sentence, with the number of the place."""
    with pytest.raises(SpecError, match=sentence):
        build_drill_guide(say.DrillGuideSpec(places=places), BENCH)


def test_places_take_inches():
    """Measures carry units like everywhere."""
    assert places_from_words("1in, -2 mm, 1/16 in") == (Place(25.4, -2.0, 1.5875),)


# Handle and bridge.


@pytest.mark.parametrize("thread", ["M3", "M4", "M5"])
def test_a_handle_takes_its_screw(thread):
    """Shaft and head pass with play, and a head does not turn in its pocket."""
    spec = say.HandleSpec(thread=thread)
    solid = as_drawn(build_handle(spec, BENCH))
    screw = screw_of(thread, SHOP)
    shaft = Manifold.cylinder(300, screw.hole_mm / 2, screw.hole_mm / 2, 96)
    lying = shaft.rotate((-90, 0, 0)).translate((0, -50, HANDLE_MM / 2))
    head = Manifold.cylinder(screw.head_mm, *2 * [screw.across_mm / 2 / cos(pi / 6)], 6)
    head = head.rotate((0, 0, 30)).rotate((-90, 0, 0)).translate((0, SEAT_MM, HANDLE_MM / 2))
    turned = (
        head.translate((0, 0, -HANDLE_MM / 2)).rotate((0, 15, 0)).translate((0, 0, HANDLE_MM / 2))
    )

    assert overlap_mm3(solid, lying) == pytest.approx(0.0, abs=1e-9)
    assert overlap_mm3(solid, head) == pytest.approx(0.0, abs=1e-9)
    assert overlap_mm3(solid, turned) > 0.1
    assert overlap_mm3(solid, head.translate((0, -1.0, 0))) > 1.0


def test_a_handle_leaves_room_for_fingers():
    """Two fingers of 24 mm go between grip and mold on either side."""
    solid = as_drawn(build_handle(say.HandleSpec(), BENCH))
    finger = Manifold.cube((20.0, 24.0, HANDLE_MM)).translate((25.0, 0.0, 0.0))

    assert overlap_mm3(solid, finger) == 0
    with pytest.raises(SpecError, match="length_mm must be at least 66 mm for a handle"):
        build_handle(say.HandleSpec(length_mm=60), BENCH)
    with pytest.raises(SpecError, match="a thread with a nut in stock"):
        build_handle(say.HandleSpec(thread="M7"), BENCH)


@given(span=st.floats(20, 600), width=st.floats(10, 40), pull=st.floats(10, 500))
@settings(max_examples=30)
def test_a_bar_stands_its_pull(span, width, pull):
    """Bending stress at the middle of a simply supported bar is just what is allowed."""
    height = bar_height_mm(span, width, pull_N=pull)
    stress = (pull * span / 4) / (width * height**2 / 6)

    assert stress == pytest.approx(ALLOWED_MPA)


@pytest.mark.parametrize("span", [40.0, 150.0])
def test_a_bridge_spans_the_mold(span):
    """A mold as wide as the span and as tall as the legs passes; a wider one does not."""
    spec = say.EjectorSpec(span_mm=span, height_mm=30)
    solid = as_drawn(build_ejector(spec, BENCH))
    mold = Manifold.cube((span, 24.9, BRIDGE_MM)).translate((-span / 2, 0, 0))
    low = Manifold.cube((span, 20.0, BRIDGE_MM)).translate((-span / 2 + 1, 0, 0))
    rod = Manifold.cylinder(200, 2.25, 2.25, 96).rotate((-90, 0, 0))

    assert overlap_mm3(solid, mold) == pytest.approx(0.0, abs=1e-6)
    assert overlap_mm3(solid, low) > 100
    assert overlap_mm3(solid, rod.translate((0, -10, BRIDGE_MM / 2))) == 0


def test_a_wider_bridge_is_stouter():
    """The bar grows with its span as the root."""
    narrow = build_ejector(say.EjectorSpec(span_mm=100), BENCH)
    wide = build_ejector(say.EjectorSpec(span_mm=200), BENCH)

    def bar(one):
        return np.ptp(one.bodies[0].mesh.points_mm[:, 1]) - 25.0

    assert bar(wide) / bar(narrow) == pytest.approx(((200 + 14) / (100 + 14)) ** 0.5, rel=1e-6)


# Scribing.


@pytest.mark.parametrize("height", [8.0, 12.0, 45.0, 120.0])
def test_a_scribing_block_carries_its_pencil_at_the_height(height):
    """A pencil at that height passes along the groove, one higher or lower does not."""
    spec = say.ScribeSpec(height_mm=height, pencil_mm=7.6)
    solid = as_drawn(build_scribe(spec, BENCH))
    pencil = Manifold.cylinder(400, 3.7, 3.7, 96).rotate((0, 90, 0))
    axis = SCRIBE_MM - 3.8
    lying = pencil.translate((-200, height, axis))

    assert overlap_mm3(solid, lying) == pytest.approx(0.0, abs=1e-9)
    assert overlap_mm3(solid, lying.translate((0, 0.4, 0))) > 0.5
    assert overlap_mm3(solid, lying.translate((0, -0.4, 0))) > 0.5


@pytest.mark.parametrize("height", [2.0, 12.0, 45.0])
def test_a_scribing_block_carries_a_blade_at_the_height(height):
    """A blade of 0.6 mm whose lower face is at the height goes in, and rests on that face."""
    solid = as_drawn(build_scribe(say.ScribeSpec(height_mm=height), BENCH))
    blade = Manifold.cube((20.0, 0.6, 9.0)).translate((-20.0, height, 9.0))

    assert overlap_mm3(solid, blade) == pytest.approx(0.0, abs=1e-6)
    assert overlap_mm3(solid, blade.translate((0, -0.1, 0))) == pytest.approx(18, rel=0.05)


def test_a_low_line_has_no_groove():
    """Where a pencil would rub on the bench there is only the slot, and the sheet says so."""
    assert not has_groove(say.ScribeSpec(height_mm=5.0))
    assert has_groove(say.ScribeSpec(height_mm=5.6))
    made = build_scribe(say.ScribeSpec(height_mm=5.0), BENCH)
    assert "slot only" in dict(made.facts)["Carried by"]


def test_a_roller_has_the_volume_of_its_rounds():
    """Disc and bevel less the bore, of regular polygons; too small for figures."""
    spec = say.RollerSpec(offset_mm=7.0, pencil_mm=7.6, thickness_mm=6)
    made = build_roller(spec, BENCH, fillet_mm=1.5)
    n, bore = n_sides(7.0), 3.8
    m = n_sides(bore)
    wanted = (
        polygon_area(7.0, n) * 4.5
        + frustum(5.5, 7.0, 1.5, n)
        - polygon_area(bore / cos(pi / m), m) * 6
    )

    assert made.volume_mm3 == pytest.approx(wanted, rel=1e-6)


def test_a_roller_keeps_its_distance_above_the_fillet():
    """Its widest is its distance, and below the fillet it stays clear of it."""
    made = build_roller(say.RollerSpec(offset_mm=20), BENCH, fillet_mm=2.5)
    points = made.shown[0].mesh.points_mm
    away = np.hypot(points[:, 0], points[:, 1])

    assert away.max() == pytest.approx(20.0)
    assert away[points[:, 2] < 1e-6].max() == pytest.approx(17.5)
    with pytest.raises(SpecError, match=r"offset_mm must be at least 5\.4 mm for a roller"):
        build_roller(say.RollerSpec(offset_mm=5), BENCH)


# The rail.


def test_a_rail_is_as_long_as_its_word():
    """The sum of the feet; its marks stand where one foot ends and the next begins."""
    spec = say.RailSpec(word="TIDE", letter_height_mm=30)
    made = build_rail(spec, BENCH)
    rule = FootRule(letter_height_mm=30)
    widths = [rule.width_mm(letter) for letter in "TIDE"]
    mesh = made.shown[0].mesh
    low, high = mesh.bounds_mm
    edges = mesh.points_mm[np.isclose(mesh.points_mm[:, 2], 1.4) & (mesh.points_mm[:, 1] < -2.9)]

    assert high[0] - low[0] == pytest.approx(sum(widths))
    assert tuple(high - low)[1:] == pytest.approx(RAIL_MM)
    ticks = np.unique(edges[:, 0].round(3)).reshape(-1, 2).mean(axis=1)
    assert ticks == pytest.approx(np.cumsum(widths)[:-1], abs=2e-3)


def test_a_mirrored_rail_runs_backward():
    """The last letter stands on the left when the part is read from its other side."""
    plain = build_rail(say.RailSpec(word="IW"), BENCH)
    mirrored = build_rail(say.RailSpec(word="IW", mirrored=True), BENCH)
    rule = FootRule(letter_height_mm=40)

    def first_tick(made):
        mesh = made.shown[0].mesh
        at = np.isclose(mesh.points_mm[:, 2], 1.4) & (mesh.points_mm[:, 1] < -2.9)
        return mesh.points_mm[at, 0].mean()

    assert first_tick(plain) == pytest.approx(rule.width_mm("I"), abs=1e-3)
    assert first_tick(mirrored) == pytest.approx(rule.width_mm("W"), abs=1e-3)


@pytest.mark.parametrize(
    ("word", "sentence"),
    [
        (" ", "word must be given"),
        ("HARBOURING", "word must be at most 450 mm long on classroom-450x300"),
        ("A\nB", "word must be one line of at most 40 letters"),
    ],
)
def test_a_rail_refuses_a_word_without_room(word, sentence):
    """One sentence with the table's length."""
    with pytest.raises(SpecError, match=sentence):
        build_rail(say.RailSpec(word=word, letter_height_mm=60), BENCH)


def test_the_groove_leaves_play_and_plastic():
    """The rail lies free in the groove, off the middle, with half the foot over it."""
    rule = FootRule(letter_height_mm=40)

    assert GROOVE_DEPTH_MM > RAIL_MM[1] + 0.2
    assert abs(rule.groove_mm) > RAIL_MM[0]
    assert rule.relief_mm == pytest.approx(6.0)
    assert rule.side_mm >= rule.relief_mm * tan(radians(8)) + 2.0


# Packing.


@given(
    sizes=st.lists(st.tuples(st.floats(1, 190), st.floats(1, 150)), min_size=1, max_size=30),
    apart=st.sampled_from([0.0, 1.6, 5.0]),
)
@settings(max_examples=40)
def test_packed_rectangles_lie_apart_on_their_plates(sizes, apart):
    """Every one is placed once, inside its plate, apart from all others, always the same."""
    room = (200.0, 160.0)
    spots = pack(sizes, room, apart_mm=apart)

    assert spots == pack(sizes, room, apart_mm=apart)
    assert len(spots) == len(sizes)
    boxes = {}
    for (width, depth), spot in zip(sizes, spots, strict=True):
        w, d = (depth, width) if spot.turned else (width, depth)
        assert spot.x_mm + w <= room[0] + 1e-5
        assert spot.y_mm + d <= room[1] + 1e-5
        box = shapely.box(spot.x_mm, spot.y_mm, spot.x_mm + w, spot.y_mm + d)
        for other in boxes.setdefault(spot.plate, []):
            assert shapely.distance(box, other) >= apart - 1e-5
            assert shapely.intersection(box, other).area < 1e-3
        boxes[spot.plate].append(box)
    assert sorted(boxes) == list(range(len(boxes)))


def test_packing_fills_a_plate_before_the_next():
    """Twelve squares of 50 on 200 x 160 lie on one plate, a thirteenth opens another."""
    assert {spot.plate for spot in pack([(50, 50)] * 12, (200, 160), apart_mm=0)} == {0}
    assert pack([(50, 50)] * 13, (200, 160), apart_mm=0)[-1].plate == 1


def test_packing_turns_what_fits_only_so():
    """A long piece is turned by a quarter, a longer one refused."""
    assert pack([(100, 190)], (200, 160))[0].turned
    with pytest.raises(SpecError, match="size must be at most 200 x 160 mm"):
        pack([(210, 20)], (200, 160))


def test_a_turned_body_keeps_its_hand():
    """A quarter turn is no mirror: volume stays positive, and the body closed."""
    solid = Manifold.cube((100, 215, 4)) - Manifold.cube((30, 30, 9))
    room = replace(PRINTER, bed_width_mm=240.0, bed_depth_mm=200.0)
    ((packed,),) = packed_on_plates([Body("plate", mesh_from_solid(solid))], room)
    low, high = packed.mesh.bounds_mm

    assert packed.mesh.volume_mm3 == pytest.approx(solid.volume())
    assert tuple(low) == (3.0, 3.0, 0.0)
    assert tuple(high - low) == pytest.approx((215, 100, 4))
    # The notch was at the lower left; after a quarter turn counter-clockwise, lower right.
    assert section(packed.mesh, 2.0).contains(shapely.Point(4, 4))
    assert not section(packed.mesh, 2.0).contains(shapely.Point(217, 4))


# What is common.


def test_a_rounded_box_is_as_large_as_asked():
    """Its bounds are its sides, its area lacks four corners."""
    box = rounded_box(50, 30, 4)

    assert box.bounds == pytest.approx((-25, -15, 25, 15))
    assert box.area == pytest.approx(1500 - (4 - pi) * 16, rel=1e-4)


def test_counts_are_whole():
    """Half a plug is refused."""
    with pytest.raises(SpecError, match=r"count must be a whole number \(got 2\.5\)"):
        say.PlugSpec(count=2.5)
    assert all(entry.kw_only for entry in fields(say.PlugSpec))
