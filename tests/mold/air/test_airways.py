"""The proof that air gets out holds for good molds and fails, in words, for each bad one."""

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box
from support.molds import (
    MACHINE,
    PRINTER,
    SHOP,
    VENTS,
    disc,
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
from support.some import some

from moldgen.finding import Severity, sentence
from moldgen.mold.air.bores import bore_room_mm, bore_top_mm, settle_bores
from moldgen.mold.air.way_out import FEW, check_airways, vent_area_mm2
from moldgen.mold.build import build_raw_mold
from moldgen.mold.choices import UndersideKind
from moldgen.mold.features import Direction, Feature, bodies_of, foot_of, roots_of
from moldgen.mold.underside.cut import BoreSpec
from moldgen.mold.underside.table_holes import _edges_of, _inside
from moldgen.mold.underside.underside import BORE_WALL_MM, Underside, UndersideSpec, served
from moldgen.mold.vents.by_ball import place_vents
from moldgen.mold.vents.vent import Vent, VentPlan, VentSpec
from moldgen.solid.height.relief import relief_of


def proof(made, *, vents=None, underside=None, machine=MACHINE, printer=PRINTER):
    """Return the proof's findings for a finished body with something changed."""
    return check_airways(
        vents or made.vents, [underside or made.underside], made.raw.plans,
        relief=made.relief, machine=machine, printer=printer, bore=made.bore,
    )  # fmt: skip


def codes(findings):
    """Names of findings."""
    return [finding.code for finding in findings]


def complete(finding):
    """Tell whether a finding says everything a person needs."""
    return bool(
        finding.says and finding.where_mm and finding.basis and finding.advice and finding.subject
    )


@pytest.mark.parametrize("body", [tide_sign(), screw_tray(), plain(ring(45, 25), 12)])
def test_good_molds_are_proven(body):
    """A sign, a tray and a ring on the finest table have nothing that stops them."""
    made = whole(body)

    assert not [f for f in made.findings if f.severity is not Severity.NOTE]
    assert all(number >= 0 for number in served(made.vents.vents, made.underside))


@given(
    st.floats(60, 140), st.floats(40, 90),
    st.lists(st.tuples(st.floats(-3, 3), st.floats(-1, 1), st.booleans()), max_size=2),
)  # fmt: skip
@settings(max_examples=10, deadline=None)
def test_random_plaques_are_proven(width, depth, studs):
    """Plates with a stud or a well in either half have all vents served and one airway."""
    children = tuple(
        Feature(
            name=f"s{k}", region=disc(6, (k - 0.5) * width / 2 + x, y * (depth / 2 - 12)),
            wall=wall(3, top_radius_mm=0.5, base_radius_mm=0.5),
            direction=Direction.SUNK if down else Direction.RAISED,
        )
        for k, (x, y, down) in enumerate(studs)
    )  # fmt: skip
    made = whole(Feature(name="p", region=plate(width, depth), wall=wall(8), children=children))

    assert len(made.underside.airways.geoms) == 1
    assert set(served(made.vents.vents, made.underside)) <= {0}
    assert not [f for f in made.findings if f.severity is Severity.STOP]
    assert made.finished.euler_measured == made.finished.euler_foretold


def test_a_vent_without_a_way_stops():
    """A vent whose mouth is left solid is found by name."""
    made = whole(screw_tray())
    first = made.vents.vents[0]
    shut = shapely.difference(made.underside.channels, Point(first.x_mm, first.y_mm).buffer(5))
    found = proof(made, underside=replace(made.underside, channels=MultiPolygon([shut])))

    assert codes(found) == ["vent-without-way"]
    assert found[0].severity is Severity.STOP
    assert first.name in found[0].says
    assert complete(found[0])


def test_vents_of_a_flat_mold_open_onto_the_table():
    """On a flat underside every vent is a caution: a hole may or may not lie under it."""
    made = whole(screw_tray(), under=UndersideSpec(kind=UndersideKind.FLAT))
    found = [f for f in made.findings if f.code == "vent-without-way"]

    assert len(found) == len(made.vents.vents) > 0
    assert all(f.severity is Severity.CAUTION for f in found)


def test_a_small_badge_may_miss_the_holes():
    """A badge of 12 mm on a table with holes every 25 mm misses them in most placings."""
    counter = Feature(
        name="o", region=word("o", 5), wall=wall(1.5, top_radius_mm=0.3, base_radius_mm=0.3)
    )  # fmt: skip
    badge = Feature(name="badge", region=disc(6), wall=wall(4), children=(counter,))
    fine = VentSpec(diameter_mm=1.0, ball_mm=4, least_gap_mm=0.3, least_air_mm3=1)
    made = whole(badge, vents=fine, cell_mm=0.2, machine=SHOP.machine("workshop-600x600"))
    (found,) = [f for f in made.findings if f.code == "airway-misses-holes"]

    assert found.severity is Severity.CAUTION
    assert 50 < found.measured < 100
    assert complete(found)
    assert "holes of 3 mm every 25 mm" in found.basis


def test_an_airway_too_small_for_any_hole_stops():
    """A mouth of 4.4 mm meets no hole of a table whose holes are far apart... at most placings."""
    made = whole(screw_tray())
    mouths = [Point(v.x_mm, v.y_mm).buffer(0.3) for v in made.vents.vents]
    found = proof(made, underside=replace(made.underside, channels=MultiPolygon(mouths)))
    missing = [f for f in found if f.code == "airway-misses-holes"]

    assert len(missing) == len(made.vents.vents)
    assert all(f.severity is Severity.STOP and f.measured == 100 for f in missing)


PITCH_AND_HOLE_MM = ((15, 0.8), (15, 0.4), (15, 0.2))


def test_few_table_holes_are_told():
    """Where some placing has a fifth of the vents' area in free holes and the worst has less."""
    made = whole(tide_sign())
    many, few, hopeless = (
        replace(MACHINE, hole_pitch_mm=pitch_mm, hole_diameter_mm=hole_mm)
        for pitch_mm, hole_mm in PITCH_AND_HOLE_MM
    )
    assert proof(made, machine=many) == ()
    assert proof(made, machine=hopeless) == ()
    (found,) = proof(made, machine=few)

    assert (found.code, found.severity) == ("table-holes-few", Severity.NOTE)
    assert found.measured < found.limit == pytest.approx(FEW * vent_area_mm2(made.vents.vents))
    assert complete(found)
    assert "Shift the mold on the table, by 7.5 mm at most either way" in found.advice


def test_area_of_vents():
    """The area is that of the circles."""
    vents = [replace(v, diameter_mm=2.0) for v in whole(screw_tray()).vents.vents[:3]]

    assert vent_area_mm2(vents) == pytest.approx(3 * pi)


def test_a_wide_ceiling_is_found():
    """Channels without pads are wider than the printer bridges, and the place is given."""
    made = whole(screw_tray())
    hollow = replace(made.underside, channels=MultiPolygon([box(-40, -25, 40, 25)]))
    found = [f for f in proof(made, underside=hollow) if f.code == "bridge-wide"]

    assert found[0].limit == PRINTER.clean_bridge_mm
    assert found[0].measured > 20
    assert complete(found[0])


@pytest.mark.parametrize(("height", "stops"), [(2.0, True), (3.0, False)])
def test_a_thin_ceiling_stops(height, stops):
    """A plate of 2 mm over channels of 1.2 mm has 0.8 mm left; one of 3 mm has enough."""
    made = whole(plain(plate(60, 40), height, top_radius_mm=0.5))
    found = [f for f in made.findings if f.code == "ceiling-thin"]

    assert bool(found) == stops
    if stops:
        assert found[0].measured == pytest.approx(0.8, abs=0.01)
        assert (found[0].limit, found[0].severity) == (1.2, Severity.STOP)
        assert "Raise the body by 0.4 mm" in sentence(found[0])


def test_a_deep_recess_over_a_channel_stops():
    """A recess that leaves 1.5 mm over the table leaves 0.3 mm over the channels."""
    tray = Feature(
        name="tray", region=plate(80, 60), wall=wall(12), children=(sunk("w", plate(50, 30), 10.5),)
    )
    found = [f for f in whole(tray).findings if f.code == "ceiling-thin"]

    assert found[0].measured == pytest.approx(0.3, abs=0.01)
    assert abs(found[0].where_mm[0]) < 25


def test_counters_have_gates_or_holes():
    """An open counter without air notch is found if the table has no hole there in some placing."""
    made = whole(plain(ring(20, 6), 12))
    shut = replace(made.underside, air_notches=MultiPolygon())
    coarse = SHOP.machine("workshop-600x600")

    assert "counter-without-way" not in codes(proof(made, machine=coarse))
    found = [f for f in proof(made, underside=shut, machine=coarse)]
    assert "counter-without-way" in codes(found)
    assert "counter-without-way" not in codes(
        proof(made, underside=shut, machine=replace(MACHINE, hole_pitch_mm=4))
    )


def test_a_foot_line_far_from_gates_is_a_note():
    """Without air notches the foot line is told of, once, and nothing more is claimed."""
    made = whole(plain(plate(80, 50), 12))
    found = proof(made, underside=replace(made.underside, air_notches=MultiPolygon()))

    assert codes(found) == ["foot-far-from-air-notch"]
    assert found[0].severity is Severity.NOTE
    assert complete(found[0])


def test_feet_are_told():
    """Feet lift the edge off the table; the note gives the height."""
    made = whole(plain(plate(80, 50), 12), under=UndersideSpec(kind=UndersideKind.FEET))

    assert [(f.code, f.measured) for f in made.findings] == [("open-foot", 1.2)]


def test_every_feature_belongs_to_a_body_and_the_bodies_make_the_foot():
    """A feature belongs to the body at the root of its tree; only bodies stand on the table."""
    raw = whole(screw_tray()).raw

    assert list(bodies_of(raw.plans).values()) == ["tray"] * 3
    assert [plan.name for plan in roots_of(raw.plans)] == ["tray"]
    assert foot_of(raw.plans).equals(raw.plans[0].outer)
    tray, well, step = raw.plans
    deeper = (tray, well, replace(step, parent=well.name))
    assert bodies_of(deeper) == {plan.name: "tray" for plan in deeper}


# Bores -------------------------------------------------------------------------------------------


@cache
def placed_on(maker, vents=VENTS):
    """Return raw mold, relief and vents as placed."""
    raw = build_raw_mold([maker()])
    relief = relief_of(raw.meshes[0], cell_mm=0.4, margin_mm=16)
    return raw, relief, place_vents(relief, raw.plans, vents)


def settled(maker, bore, *, vents=VENTS):
    """Return raw mold, relief, vents as placed and as settled, and what was said of it."""
    raw, relief, placed = placed_on(maker, vents)
    return raw, relief, placed, *settle_bores(placed, raw.plans, relief, bore)


@pytest.mark.parametrize("maker", [tide_sign, screw_tray])
@pytest.mark.parametrize("bore_mm", [4.0, 8.0, 12.0])
def test_bores_keep_their_wall(maker, bore_mm):
    """Around every bore is a wall, to the outside and to every recess, checked on the raw solid."""
    bore = BoreSpec(bore_mm=bore_mm)
    raw, relief, _, plan, _ = settled(maker, bore)
    outside = raw.plans[0].outer.boundary
    for vent in some(plan.vents):
        size = vent.bore_mm or bore_mm
        assert outside.distance(Point(vent.x_mm, vent.y_mm)) >= size / 2 + BORE_WALL_MM
        top = bore_top_mm(vent, bore)
        x, y = np.meshgrid(*(np.linspace(-1, 1, 41) * (size / 2 + BORE_WALL_MM - 0.3),) * 2)
        near = np.hypot(x, y) <= size / 2 + BORE_WALL_MM - 0.3
        spots = np.column_stack([vent.x_mm + x[near], vent.y_mm + y[near]])
        rows, columns = relief.cells(spots).T
        assert relief.on_table_mm[rows, columns].min() >= top + 0.6


def narrow_border():
    """Return a plaque whose letters leave a border of 3 mm: no room for a wide bore."""
    bar = Feature(name="bar", region=plate(60, 14, 2), wall=wall(8, 4, 0.8, 0.8))
    return Feature(name="p", region=plate(66, 20, 3), wall=wall(5, 4, 0.5), children=(bar,))


def test_a_bore_by_the_edge_gets_smaller_or_is_left_out():
    """On a narrow border bores shrink; where none fits the vent is left out and told."""
    _, _, placed, plan, said = settled(narrow_border, BoreSpec(bore_mm=4.0))
    assert placed.vents
    left_out = [f for f in said if f.code == "vent-left-out"]

    assert len(plan.vents) + len(left_out) == len(placed.vents)
    assert all((v.bore_mm or 4.0) < 4.0 for v in plan.vents)
    assert all(complete(f) and f.severity is Severity.CAUTION for f in left_out)


def knob_by_a_well():
    """Return a block with a knob close beside a deep well."""
    return Feature(
        name="p", region=plate(90, 60), wall=wall(20), children=(
            Feature(name="knob", region=plate(20, 30), wall=wall(8, 4, 1, 1)),
            sunk("w", MultiPolygon([box(13.5, -20, 36, 20)]), 14),
        ),
    )  # fmt: skip


def test_a_bore_beside_a_recess_keeps_clear():
    """Beside a well every bore ends under plastic: nowhere around it is the surface lower."""
    bore, dense = BoreSpec(bore_mm=8), replace(VENTS, spacing_mm=12.0)
    raw, relief, placed, plan, _ = settled(knob_by_a_well, bore, vents=dense)
    well = next(p for p in raw.plans if p.name == "w")
    close = [
        v for v in placed.vents
        if v.feature == "p" and well.outer.distance(Point(v.x_mm, v.y_mm)) < 4
        and bore_room_mm(v, 8, relief, bore) < 0
    ]  # fmt: skip

    assert close
    for vent in plan.vents:
        assert bore_room_mm(vent, vent.bore_mm or 8, relief, bore) >= 0.7 - 1e-9


def long_bar():
    """Return a plaque with a bar that leaves a border of a bore's width."""
    bar = Feature(name="bar", region=plate(56, 16, 2), wall=wall(8, 4, 0.8, 0.8))
    return Feature(name="p", region=plate(70, 30, 3), wall=wall(6, 4, 0.5), children=(bar,))


def test_a_moved_vent_stays_on_its_flat():
    """A vent that moves for its bore stays within its flat and near its low place."""
    wide = replace(VENTS, diameter_mm=1.5)
    raw, _, placed, plan, said = settled(
        long_bar, BoreSpec(bore_mm=9.0, least_hole_mm=1.0, land_mm=5.0), vents=wide
    )
    moved = [f for f in said if f.code == "vent-moved"]

    by_name = {v.name: v for v in placed.vents}
    for vent in plan.vents:
        before = by_name[vent.name]
        away = np.hypot(vent.x_mm - before.x_mm, vent.y_mm - before.y_mm)
        assert away <= 3.01
        assert raw.plans[0].flat.covers(Point(vent.x_mm, vent.y_mm).buffer(0.75))
    assert all(complete(f) and f.measured <= 3.01 for f in moved)


def test_plenty_of_room_changes_nothing():
    """Where bores have room, vents stay as placed and nothing is said."""
    _, _, placed, plan, said = settled(screw_tray, BoreSpec())

    assert said == ()
    assert plan.vents == placed.vents


def test_room_over_a_bore():
    """On a level plate the room over a pilot's bore is its skin, over a printed one its land."""
    raw = build_raw_mold([plain(plate(40, 40), 9)])
    relief = relief_of(raw.meshes[0], cell_mm=0.5, margin_mm=2)
    low = whole(screw_tray()).vents.vents[0].low
    vent = Vent(name="V1", x_mm=0, y_mm=0, z_mm=9, diameter_mm=1, feature="body", low=low)

    assert bore_room_mm(vent, 4, relief, BoreSpec()) == pytest.approx(0.8, abs=1e-9)
    printed = replace(vent, diameter_mm=1.6)
    assert bore_room_mm(printed, 4, relief, BoreSpec()) == pytest.approx(1.6, abs=1e-9)


def test_one_underside_for_each_body():
    """Undersides and bodies that do not match are our own mistake, and loud."""
    made = whole(screw_tray())
    with pytest.raises(ValueError, match="zip"):
        check_airways(
            VentPlan((), (), made.vents.gap), [made.underside] * 2, made.raw.plans,
            relief=made.relief, machine=MACHINE, printer=PRINTER, bore=made.bore,
        )  # fmt: skip
    assert isinstance(made.underside, Underside)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_places_under_a_region_are_those_it_contains(seed):
    """The raster of a random region with holes agrees with asking for every place."""
    rng = np.random.default_rng(seed)
    discs = [
        shapely.Point(*at).buffer(r)
        for at, r in zip(rng.random((6, 2)) * 40, 3 + 9 * rng.random(6), strict=True)
    ]
    region = shapely.union_all(discs[:4]).difference(shapely.union_all(discs[4:]).buffer(-2.5))
    x, y = 0.123 + 0.37 * np.arange(120.0), 0.071 + 0.37 * np.arange(110.0)

    asked = shapely.contains_xy(region, *np.meshgrid(x, y))

    assert (_inside(_edges_of(region), x, y) == asked).all()
