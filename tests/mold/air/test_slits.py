"""Vents that are slits: open on every layer, with walls around them, where the air is."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon
from support.molds import PRINTER, VENTS, plate, screw_tray, sunk, tide_sign, wall, word

from moldgen.mold.air.bores import SERVED_MM, serves, settle_bores
from moldgen.mold.air.passages import air_ways
from moldgen.mold.air.slits import LENGTHS_MM, POCKETS_MM, SlitSearch
from moldgen.mold.build import build_raw_mold
from moldgen.mold.checks import Case, check_all
from moldgen.mold.features import Feature
from moldgen.mold.underside.cut import BoreSpec, Opening, finish_body, vent_tool
from moldgen.mold.underside.slit import slit_tool
from moldgen.mold.underside.underside import UndersideSpec, build_underside
from moldgen.mold.vents.by_ball import floors_of, place_vents
from moldgen.mold.vents.existing import existing_openings, spanned
from moldgen.mold.vents.low_places import low_places
from moldgen.mold.vents.vent import LowPlace, Reason, Slit, Vent
from moldgen.pipeline.mold.cutting import SLANTING
from moldgen.printing.overhang import measure_overhangs
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.relief import Relief, relief_for_ball
from moldgen.solid.slices import region_at
from moldgen.solid.sound import solid_from_mesh
from moldgen.stock import Sheet, load_shop

BORE = BoreSpec.for_printer(PRINTER)
SHOP = load_shop(user_file=None)
UNDER = UndersideSpec(bridge_mm=PRINTER.clean_bridge_mm / SLANTING)
LAYER_MM = PRINTER.layer_mm
TWO_LINES_MM = 2 * PRINTER.nozzle_mm


def low_sign():
    """Return a plaque with letters of 1.5 mm that close nine counters between them."""
    text = Feature(name="text", region=word("BOARD 86", 24), wall=wall(1.5, 4, 0.4, 0.4))
    return Feature(name="sign", region=plate(190, 50), wall=wall(6), children=(text,))


def knob_by_a_well():
    """Return a block with a knob close beside a deep well: hardly ground for a slit between."""
    return Feature(
        name="block", region=plate(90, 60), wall=wall(20), children=(
            Feature(name="knob", region=plate(20, 30), wall=wall(8, 4, 1, 1)),
            sunk("well", MultiPolygon([shapely.box(13.5, -20, 36, 20)]), 14),
        ),
    )  # fmt: skip


MAKERS = {
    "sign": tide_sign, "turned": lambda: tide_sign(25), "tray": screw_tray, "low": low_sign,
    "well": knob_by_a_well,
}  # fmt: skip


@cache
def slit_mold(name):
    """Return raw walls, vents that became slits where they fit, underside and finished solid."""
    raw = build_raw_mold([MAKERS[name]()])
    relief = relief_for_ball(raw.mesh, VENTS.ball_mm)
    placed = place_vents(relief, raw.plans, VENTS)
    settled, _ = settle_bores(placed, raw.plans, relief, BORE, slit_mm=BORE.slit_mm)
    under = build_underside(raw.plans[0].outer, settled.vents, UNDER)
    finished = finish_body(raw.plans[0], raw.meshes[0], under, vents=settled.vents, bore=BORE)
    (body,) = finished.bodies
    return raw, settled, under, finished, solid_from_mesh(body.mesh, doing="testing")


def layers(low_mm, high_mm):
    """Return the middle of every layer between two heights. [mm]."""
    middles = (np.arange(int(high_mm / LAYER_MM) + 2) + 0.5) * LAYER_MM
    return middles[(middles > low_mm) & (middles < high_mm)]


@pytest.mark.parametrize("name", MAKERS)
def test_every_slit_is_open_on_every_layer(name):
    """From the face down to the channel no layer lays plastic into a slit of its whole width."""
    _, settled, under, _, solid = slit_mold(name)
    slits = [vent for vent in settled.vents if vent.slit is not None]
    assert len(slits) > 0.9 * len(settled.vents) > 0
    # What the modeler rounds; a slit as drawn is open, no wider.
    inner = [vent.strip_mm(vent.slit.width_mm - 0.01, longer_mm=-0.01) for vent in slits]

    for z_mm in layers(0.0, max(vent.z_mm for vent in slits)):
        plastic = region_at(solid, z_mm)
        for vent, strip in zip(slits, inner, strict=True):
            if z_mm < vent.z_mm:
                assert shapely.intersection(plastic, strip).area < 1e-6
    for strip in inner:
        assert any(shapely.intersects(channel, strip) for channel in under.channels.geoms)


@pytest.mark.parametrize("name", MAKERS)
def test_a_slit_is_no_wider_than_drawn_at_its_face(name):
    """Within the land plastic stands on both sides right beside the slit."""
    _, settled, _, _, solid = slit_mold(name)
    vents = [vent for vent in settled.vents if vent.slit is not None]
    assert vents

    for vent in vents:
        plastic = region_at(solid, vent.z_mm - 0.5)
        wide = vent.strip_mm(vent.slit.width_mm + 0.1, longer_mm=0.05)
        cut = shapely.difference(wide, plastic)
        assert cut.area == pytest.approx(vent.area_mm2, rel=0.01)


@pytest.mark.parametrize("name", MAKERS)
def test_two_lines_of_wall_stand_around_every_pocket(name):
    """Above the channels nothing that is cut for a vent comes nearer to the outside than that."""
    raw, settled, under, _, solid = slit_mold(name)
    whole = solid_from_mesh(raw.meshes[0], doing="testing")
    top = max(vent.z_mm for vent in settled.vents)
    # In the uppermost millimeter the ground itself is outside.
    heights = np.arange(under.spec.depth_mm + 0.1, top - 1.0, 0.5)
    assert len(heights)

    for z_mm in heights:
        here = [vent for vent in settled.vents if vent.z_mm > z_mm + 1.0]
        section = region_at(whole, z_mm)
        cut = shapely.difference(section, region_at(solid, z_mm))
        shell = shapely.difference(section, shapely.buffer(section, -TWO_LINES_MM + 0.02))
        for vent in here:
            around = shapely.intersection(cut, shapely.buffer(vent.axis_mm, 3.0))
            assert shapely.intersection(around, shell).area < 1e-6


def test_a_pocket_beside_an_outer_wall_keeps_two_lines():
    """At a sharp edge of a block a slit turns or its pocket narrows, so that two lines stand."""
    raw = build_raw_mold([Feature(name="sign", region=plate(60, 40), wall=wall(10, 4, 0.2))])
    relief = relief_for_ball(raw.mesh, VENTS.ball_mm)
    edge = float(raw.plans[0].flat.bounds[2])
    low = replace(vent_of().low, x_mm=edge, z_mm=10.0)
    search = SlitSearch(floors_of(raw.plans, relief), relief, BORE.slit_mm)
    vent = search.fit(replace(vent_of(z_mm=10.0), slit=None, bore_mm=None, low=low), ())
    whole = solid_from_mesh(raw.meshes[0], doing="testing")
    tool = slit_tool(vent, top_mm=12.0)

    assert vent.bore_mm in POCKETS_MM
    for z_mm in np.arange(0.25, 8.6, 0.5):
        outside = region_at(whole, z_mm).boundary
        assert region_at(tool, z_mm).distance(outside) >= TWO_LINES_MM


@pytest.mark.parametrize("away_mm", [3.9, 3.15, 2.4, 1.9])
def test_a_slit_on_uneven_ground_ends_before_a_wall_that_no_cell_tells_of(away_mm):
    """Heights are those of cell middles: a wall may stand from the last low middle on."""
    heights = np.full((40, 40), 6.0)
    heights[:, 20:] = 9.0
    relief = Relief(
        origin_mm=(0.0, 0.0), cell_mm=0.5, heights_mm=heights,
        triangles=np.zeros((40, 40), np.int32),
    )  # fmt: skip
    last_low_mm = float(relief.x_mm[19])
    vent = replace(
        vent_of(), x_mm=last_low_mm - away_mm, y_mm=10.0, slit=None, bore_mm=None, feature=""
    )

    slit = SlitSearch((), relief, BORE.slit_mm).fit(vent, ())

    assert slit.strip_mm(BORE.slit_mm).bounds[2] <= last_low_mm + 1e-9


def test_ground_that_is_full_is_told_without_looking_at_walls(monkeypatch):
    """Where another vent is in the way of every slit, no height is read."""
    raw = build_raw_mold([Feature(name="sign", region=plate(60, 40), wall=wall(10, 4, 0.2))])
    relief = relief_for_ball(raw.mesh, VENTS.ball_mm)
    search = SlitSearch(floors_of(raw.plans, relief), relief, BORE.slit_mm)
    x = float(raw.plans[0].flat.bounds[2])
    low = replace(vent_of().low, x_mm=x, z_mm=10.0)
    vent = replace(vent_of(z_mm=10.0), x_mm=x, slit=None, bore_mm=None, low=low)
    looked = []
    has_walls = SlitSearch._has_walls

    def counted(self, slit):
        looked.append(slit)
        return has_walls(self, slit)

    monkeypatch.setattr(SlitSearch, "_has_walls", counted)
    first = search.fit(vent, ())
    n_looked = len(looked)

    assert first is not None
    assert search.fit(vent, [first]) is None
    assert search.fit(vent, [first, replace(first, y_mm=first.y_mm + 12)]) is None
    assert len(looked) == n_looked > 0


@pytest.mark.parametrize("name", MAKERS)
def test_pockets_print_without_support(name):
    """No ceiling is bridged farther than the printer spans, beside pockets or elsewhere."""
    _, _, _, finished, _ = slit_mold(name)
    overhangs = measure_overhangs(finished.bodies[0].mesh)

    assert overhangs.span_mm <= PRINTER.clean_bridge_mm
    assert overhangs.bridges


@pytest.mark.parametrize("name", MAKERS)
def test_slits_go_through_and_are_no_fault_of_the_mold(name):
    """The surface has a hole for every slit, and no check takes a slit for a wall or an edge."""
    _, _, _, finished, _ = slit_mold(name)
    case = Case(
        bodies=finished.bodies, sheet=Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.0),
        machine=SHOP.machine("classroom-450x300"), printer=PRINTER,
    )  # fmt: skip

    assert finished.euler_measured == finished.euler_foretold
    codes = {finding.code for finding in check_all(case).findings}
    assert not codes & {"undercut", "draft-lost", "draft-low"}


@pytest.mark.parametrize("name", MAKERS)
def test_the_check_of_a_brought_mold_knows_its_slits(name):
    """Where slits are, no vent is asked for; with the slits left out, vents are."""
    raw, settled, _, finished, _ = slit_mold(name)

    def asked(mesh):
        openings = existing_openings(mesh, above_mm=0.5)
        relief = spanned(relief_for_ball(mesh, VENTS.ball_mm), openings)
        gap = gap_under_ball(relief.on_table_mm, ball_mm=VENTS.ball_mm, cell_mm=relief.cell_mm)
        found = [place for opening in openings for place in opening.places]
        return openings, [p for p in low_places(gap, relief, VENTS, found) if p.z_mm > 0.5]

    found, places = asked(finished.bodies[0].mesh)
    assert len(found) == sum(vent.slit is not None for vent in settled.vents)
    assert len(places) <= sum(vent.slit is None for vent in settled.vents)
    found, places = asked(raw.meshes[0])
    assert not found
    assert places or name == "low"


def test_every_counter_of_a_low_relief_has_its_slit():
    """In letters of 1.5 mm each of the nine closed counters has a vent, and none is drilled."""
    raw, settled, _, _, _ = slit_mold("low")
    text = next(plan for plan in raw.plans if plan.name == "text")
    counters = [shapely.Polygon(ring) for part in text.outer.geoms for ring in part.interiors]

    assert len(counters) == 9
    for counter in counters:
        inside = [vent for vent in settled.vents if counter.covers(vent.axis_mm)]
        assert [BORE.opening(vent) for vent in inside][:1] == [Opening.SLIT]


def vent_of(length_mm=8.0, width_mm=0.4, z_mm=6.0):
    """Return a slit over the origin."""
    low = LowPlace(x_mm=0, y_mm=0, z_mm=z_mm, gap_mm=2, air_mm3=50, reason=Reason.POCKET)
    slit = Slit(width_mm=width_mm, length_mm=length_mm, turn_deg=0.0)
    return Vent(
        name="V1", x_mm=0, y_mm=0, z_mm=z_mm, diameter_mm=0.8, feature="sign", low=low,
        bore_mm=3.0, slit=slit,
    )  # fmt: skip


def through(vent):
    """Return the passage of one vent of the sign, nothing below it holding the air up."""
    raw = slit_mold("sign")[0]
    ways = air_ways([vent], (), raw.plans, machine=SHOP.machine("bench-250x250"), bore=BORE)
    return ways.through(vent).most_mm2


def test_air_through_a_slit_is_that_of_its_area_less_friction():
    """It lets through somewhat less than an orifice of its open area, in step with its length."""
    open_mm2 = (0.4 - BORE.slit_loss_mm) * 8.0

    assert 0.6 * 0.8 * open_mm2 < through(vent_of()) < 0.9 * open_mm2
    assert through(vent_of()) == pytest.approx(2 * through(vent_of(4.0)), rel=0.03)
    assert through(vent_of()) > through(replace(vent_of(), slit=None, diameter_mm=0.8))


def test_friction_counts_in_a_slit():
    """Twice as wide it lets through more than twice as much: narrow walls rub."""
    assert through(vent_of(width_mm=0.7)) > 2.0 * through(vent_of(width_mm=0.4))


@pytest.mark.parametrize("z_mm", [0.8, 1.5, 3.0, 6.0, 20.0])
def test_a_slit_of_any_height_is_cut_from_the_table_up(z_mm):
    """At every height between table and face its cutter holds the slit, and in the land no more."""
    tool = slit_tool(vent_of(z_mm=z_mm), top_mm=z_mm + 2.0)
    strip = vent_of().strip_mm(0.4)

    for height in np.linspace(0.05, z_mm + 1.9, 12):
        assert shapely.difference(strip, region_at(tool, height)).area < 1e-6
    assert region_at(tool, z_mm - 0.1).area == pytest.approx(3.2, rel=1e-6)
    assert vent_tool(vent_of(z_mm=z_mm), BORE).volume() == pytest.approx(tool.volume())


def test_without_a_width_every_vent_stays_round():
    """Only a width makes slits; the longest that are tried stay within what is told."""
    raw = slit_mold("sign")[0]
    relief = relief_for_ball(raw.mesh, VENTS.ball_mm)
    settled, _ = settle_bores(place_vents(relief, raw.plans, VENTS), raw.plans, relief, BORE)

    assert settled.vents
    assert all(vent.slit is None for vent in settled.vents)
    assert max(LENGTHS_MM) <= 12.0


def test_a_symmetric_tray_has_symmetric_evenly_spaced_slits():
    """Every slit of a tray has its mirror image; gaps along a side differ by less than a third."""
    recess = Feature(
        name="recess", region=plate(110, 70, 6), direction=screw_tray().children[0].direction,
        wall=wall(20, 4, 1.5, 2.0),
    )  # fmt: skip
    raw = build_raw_mold(
        [Feature(name="block", region=plate(130, 90, 8), wall=wall(26), children=(recess,))]
    )
    relief = relief_for_ball(raw.mesh, VENTS.ball_mm)
    placed = place_vents(relief, raw.plans, replace(VENTS, spacing_mm=18.0))
    settled, _ = settle_bores(placed, raw.plans, relief, BORE, slit_mm=BORE.slit_mm)
    places = np.array([(vent.x_mm, vent.y_mm) for vent in settled.vents])

    assert len(places) >= 12
    for mirror in ([-1.0, 1.0], [1.0, -1.0]):
        away = np.hypot(*(places[:, None] - places[None] * mirror).transpose(2, 0, 1)).min(axis=1)
        assert away.max() < 0.6
    along = np.sort(places[places[:, 1] > places[:, 1].max() - 1.0, 0])
    assert len(along) >= 3
    assert np.diff(along).max() < 1.3 * np.diff(along).min()


@pytest.mark.parametrize(
    ("along_mm", "beside_mm", "is_served"),
    [
        (0, 0, True),
        (9.9, 0, True),
        (10.1, 0, False),
        (4, 4.9, True),
        (4, 5.1, False),
        (0, 30, False),
    ],
)
def test_a_slit_serves_what_lies_near_its_line(along_mm, beside_mm, is_served):
    """Within 5 mm of the slit itself, not of its middle; here it is 10 mm long, turned by 90°."""
    slit = Vent(
        name="V1", x_mm=20.0, y_mm=-3.0, z_mm=0.0, diameter_mm=0.4, feature="",
        low=_low(20.0, -3.0), slit=Slit(width_mm=0.4, length_mm=10.0, turn_deg=90.0),
    )  # fmt: skip
    vent = replace(slit, slit=None, low=_low(20.0 + beside_mm, -3.0 + along_mm))

    assert SERVED_MM == 5
    assert serves(slit, vent) is is_served
    assert not serves(vent, vent)


def _low(x_mm: float, y_mm: float) -> LowPlace:
    return LowPlace(x_mm=x_mm, y_mm=y_mm, z_mm=0.0, gap_mm=1.0, air_mm3=0.0, reason=Reason.LINE)
