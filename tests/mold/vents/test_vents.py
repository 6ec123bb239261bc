"""Vents stand where the sheet arrives last, with a whole hole on a flat."""

from functools import cache
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point
from support.molds import (
    VENTS,
    at,
    disc,
    places,
    plain,
    plate,
    ring,
    screw_tray,
    sunk,
    tide_sign,
    wall,
    word,
)
from support.some import some

from moldgen.errors import SpecError
from moldgen.mold.build import build_raw_mold
from moldgen.mold.features import Direction, Feature
from moldgen.mold.vents.by_ball import (
    HOLE_MARGIN_MM,
    ROW_MM,
    VALLEY_MM,
    floors_of,
    in_reading_order,
    place_vents,
)
from moldgen.mold.vents.low_places import LEVEL_MM, low_places, middle_of_top
from moldgen.mold.vents.vent import LowPlace, Reason, Vent, VentSpec
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.relief import relief_of

MOLDS = {
    "sign": tide_sign,
    "turned": lambda: tide_sign(25),
    "tray": screw_tray,
    "roots": lambda: Feature(name="tray", region=plate(110, 70, 8), wall=wall(20), children=(
        Feature(name="a", region=at(plate(44, 50, 1), -24, 0), direction=Direction.SUNK,
                wall=wall(15, top_radius_mm=1, base_radius_mm=6)),
        Feature(name="b", region=at(plate(36, 26, 1), 30, 14), direction=Direction.SUNK,
                wall=wall(14.5, top_radius_mm=1, base_radius_mm=6)),)),
    "ring": lambda: Feature(name="plate", region=plate(110, 110), wall=wall(4), children=(
        plain(ring(40, 25), 15),)),
    "letters": lambda: Feature(name="plate", region=plate(90, 60), wall=wall(4), children=(
        plain(word("BO", 40), 14),)),
    "thin": lambda: Feature(name="thin", region=plate(60, 40), wall=wall(3), children=(
        Feature(name="t", region=word("E", 24),
                wall=wall(3, top_radius_mm=0.8, base_radius_mm=0.8)),)),
    "tall": lambda: Feature(name="tall", region=plate(60, 50), wall=wall(60, top_radius_mm=3),
        children=(
        sunk("well", disc(15), 30),)),
}  # fmt: skip
ON_TABLE = {"free letters": lambda: plain(word("BO", 40), 14)}
"""Stands on the table without a plate: its low places are open to the table below."""


@cache
def vented(name):
    """Return raw mold, relief and vents of a named mold."""
    raw = build_raw_mold([(MOLDS | ON_TABLE)[name]()])
    relief = relief_of(raw.meshes[0], cell_mm=0.5, margin_mm=16)
    return raw, relief, place_vents(relief, raw.plans, VENTS)


@pytest.mark.parametrize("name", MOLDS)
def test_every_hole_is_whole(name):
    """The hole of every vent lies wholly on its own level region, at its level, or in a valley."""
    raw, relief, plan = vented(name)
    floors = {floor.name: floor for floor in floors_of(raw.plans, relief)}
    for vent in some(plan.vents):
        floor = floors[vent.feature]
        hole = Point(vent.x_mm, vent.y_mm).buffer(vent.diameter_mm / 2)
        if vent.z_mm == floor.z_mm:
            assert shapely.buffer(floor.region, 1e-3).covers(hole)
        else:
            room = shapely.buffer(floor.region, -(vent.diameter_mm / 2 + HOLE_MARGIN_MM))
            assert room.distance(Point(vent.low.x_mm, vent.low.y_mm)) > VALLEY_MM


@pytest.mark.parametrize("name", MOLDS)
def test_vents_belong_to_the_feature_they_open_on(name):
    """A vent lies within the outline of its own feature, near the low place that it serves."""
    raw, _, plan = vented(name)
    outer = {p.name: p.outer for p in raw.plans}
    for vent in some(plan.vents):
        assert outer[vent.feature].covers(Point(vent.x_mm, vent.y_mm))
        away = np.hypot(vent.x_mm - vent.low.x_mm, vent.y_mm - vent.low.y_mm)
        assert away <= VALLEY_MM + 0.5


@pytest.mark.parametrize("name", MOLDS)
def test_no_two_holes_run_into_each_other(name):
    """Two vents on one flat are at least two and a half diameters apart."""
    _, _, plan = vented(name)
    pairs = [(a, b) for a, b in combinations(plan.vents, 2) if a.feature == b.feature]
    for vent, other in some(pairs):
        away = np.hypot(vent.x_mm - other.x_mm, vent.y_mm - other.y_mm)
        assert away >= 2.5 * vent.diameter_mm - 1e-9


@pytest.mark.parametrize("name", MOLDS)
def test_vents_go_to_the_lowest_points(name):
    """Trade fact: a vent never opens on the top of a wall beside it, only at the foot of one."""
    _, relief, plan = vented(name)
    heights = relief.on_table_mm
    for vent in some(plan.vents):
        row, column = relief.cells(np.array([[vent.x_mm, vent.y_mm]]))[0]
        n = round(VENTS.ball_mm / relief.cell_mm)
        around = heights[max(0, row - n) : row + n + 1, max(0, column - n) : column + n + 1]
        assert around.max() > vent.z_mm + 1.0


def test_a_tray_has_a_vent_in_every_corner():
    """Trade fact: each bottom corner of a deep compartment gets a vent, and long edges one more."""
    raw, _, plan = vented("tray")
    deep = next(p for p in raw.plans if p.name == "deep")
    x0, y0, x1, y1 = deep.flat.bounds
    for corner in ((x0, y0), (x0, y1), (x1, y0), (x1, y1)):
        away = np.hypot(*(places(plan.vents) - corner).T)
        assert away.min() < 6


def test_counters_get_their_own():
    """Each counter of raised letters on a plaque gets a vent; those on the table are low places."""
    raw, _, plan = vented("sign")
    text = next(p for p in raw.plans if p.name == "text")
    counters = [shapely.Polygon(r) for part in text.outer.geoms for r in part.interiors]
    spots = [Point(vent.x_mm, vent.y_mm) for vent in plan.vents]

    assert counters
    assert all(any(counter.covers(spot) for spot in spots) for counter in counters)
    raw, _, letters = vented("free letters")
    low = [Point(place.x_mm, place.y_mm) for place in letters.on_table]
    rings = [shapely.Polygon(r) for part in raw.plans[0].outer.geoms for r in part.interiors]
    assert not letters.vents
    assert all(any(one.covers(spot) for spot in low) for one in rings)


@pytest.mark.parametrize("name", ["sign", "tray", "letters", "free letters"])
def test_no_low_cell_is_far_from_a_low_place(name):
    """Every cell with a gap lies within the spacing of a place that gets a vent or an air notch."""
    _, relief, plan = vented(name)
    found = low_places(plan.gap, relief, VENTS)
    rows, columns = np.nonzero(plan.gap > VENTS.least_gap_mm)
    spots = relief.places_mm(np.column_stack([rows, columns]))
    chosen = np.array([(place.x_mm, place.y_mm) for place in found])
    away = np.hypot(*(spots[:, None] - chosen[None]).T).min(axis=0)

    assert away.max() <= VENTS.spacing_mm + 1e-9


def test_closer_spacing_gives_more():
    """Halving the spacing gives more vents; a smaller ball finds less air."""
    raw, relief, plan = vented("tray")
    close = VentSpec(diameter_mm=1.0, spacing_mm=12)

    assert len(place_vents(relief, raw.plans, close).vents) > len(plan.vents)
    assert gap_under_ball(relief.on_table_mm, ball_mm=4, cell_mm=0.5).sum() < plan.gap.sum()


def test_a_flat_plate_needs_none():
    """A plain block has no vent; its foot line is on the table, all round, at the spacing."""
    raw = build_raw_mold([plain(plate(80, 50), 12)])
    relief = relief_of(raw.meshes[0], cell_mm=0.5, margin_mm=16)
    plan = place_vents(relief, raw.plans, VENTS)
    ring_line = raw.plans[0].outer.boundary

    assert plan.vents == ()
    assert len(plan.on_table) >= ring_line.length / (2 * VENTS.spacing_mm)
    assert all(ring_line.distance(Point(p.x_mm, p.y_mm)) < 1.5 for p in plan.on_table)


def test_a_narrow_valley_is_vented_in_itself():
    """Where fillets meet and no flat is near, the hole stands in the valley at its own height."""
    bars = shapely.union_all([shapely.box(-40, -12, 40, -1.9), shapely.box(-40, 1.9, 40, 12)])
    raised = Feature(
        name="bars", region=shapely.MultiPolygon(bars), wall=wall(8, 4, 1.0, 2.0)
    )  # fmt: skip
    raw = build_raw_mold(
        [Feature(name="p", region=plate(110, 60), wall=wall(6), children=(raised,))]
    )
    relief = relief_of(raw.meshes[0], cell_mm=0.25, margin_mm=16)
    valley = [v for v in place_vents(relief, raw.plans, VENTS).vents if abs(v.y_mm) < 1]

    assert len(valley) >= 3
    middle = [v for v in valley if abs(v.x_mm) < 30]
    assert middle
    assert all(v.z_mm > 6.05 and v.feature == "p" for v in middle)


@given(st.lists(st.tuples(st.floats(-99, 99), st.floats(-99, 99)), min_size=1, max_size=20))
@settings(max_examples=40, deadline=None)
def test_reading_order(spots):
    """Names run row by row from the top, left to right within a row, and none is lost."""
    low = LowPlace(x_mm=0, y_mm=0, z_mm=0, gap_mm=1, air_mm3=0, reason=Reason.LINE)
    vents = [
        Vent(name="", x_mm=x, y_mm=y, z_mm=1, diameter_mm=1, feature="f", low=low) for x, y in spots
    ]
    named = in_reading_order(vents)

    assert [v.name for v in named] == [f"V{k}" for k in range(1, len(spots) + 1)]
    assert sorted((v.x_mm, v.y_mm) for v in named) == sorted(spots)
    for a, b in pairwise(named):
        assert b.x_mm >= a.x_mm or b.y_mm < a.y_mm
        assert b.y_mm < a.y_mm + ROW_MM


def test_reading_order_by_hand():
    """Two rows, slightly uneven, read like a page."""
    low = LowPlace(x_mm=0, y_mm=0, z_mm=0, gap_mm=1, air_mm3=0, reason=Reason.LINE)
    spots = [(30, 1), (0, 20), (20, 22), (10, 18), (5, -2)]
    vents = [
        Vent(name="", x_mm=x, y_mm=y, z_mm=1, diameter_mm=1, feature="f", low=low) for x, y in spots
    ]

    read = [(v.x_mm, v.y_mm) for v in in_reading_order(vents)]
    assert read == [(0, 20), (10, 18), (20, 22), (5, -2), (30, 1)]


def test_a_turned_raster_gives_the_same_places():
    """Turning the field by a quarter turn turns every pocket's place with it."""
    _, relief, plan = vented("sign")
    gap = plan.gap + 1e-6 * np.random.default_rng(5).random(plan.gap.shape)  # no ties
    turned = type(relief)(
        origin_mm=(0.0, 0.0), cell_mm=relief.cell_mm,
        heights_mm=np.rot90(relief.heights_mm).copy(), triangles=np.rot90(relief.triangles).copy(),
    )  # fmt: skip
    plain_places, turned_places = (
        np.array([(p.x_mm, p.y_mm) for p in found if p.reason is Reason.POCKET])
        for found in (
            low_places(gap, relief, VENTS),
            low_places(np.rot90(gap).copy(), turned, VENTS),
        )
    )
    side = gap.shape[1] * relief.cell_mm
    x, y = turned_places.T
    back = np.column_stack([side - y + relief.origin_mm[0], x + relief.origin_mm[1]])

    # A top whose middle falls between cells may take the next one.
    np.testing.assert_allclose(back, plain_places, atol=1.01 * relief.cell_mm)


def test_a_turned_mold_gets_the_same_vents():
    """A mold built a quarter turned has as many pockets, at the same places or on the same line."""
    sets = []
    for turn in (0, 90):
        raw = build_raw_mold([tide_sign(turn)])
        relief = relief_of(raw.meshes[0], cell_mm=0.5, margin_mm=16)
        vents = place_vents(relief, raw.plans, VENTS).vents
        xy = places([v for v in vents if v.low.reason is Reason.POCKET])
        sets.append(xy if turn == 0 else np.column_stack([xy[:, 1], -xy[:, 0]]))

    assert len(sets[0]) == len(sets[1])
    away = np.hypot(*(sets[0][:, None] - sets[1][None]).T).min(axis=0)
    # Along a foot line that is level every place is as late as the next, and a hair decides.
    assert np.median(away) < 2.5
    assert away.max() < VENTS.spacing_mm / 2


def test_the_middle_of_a_level_line():
    """Of cells reached last together the middle one is taken, at the end of a lone peak itself."""
    gap = np.zeros((7, 20))
    gap[3, 4:15] = 2.0
    gap[3, 4] = 2.0 + LEVEL_MM / 2
    peak = (3, 4)

    assert middle_of_top(gap, peak) == (3, 9)
    gap[3, 4] = 2.0 + 2 * LEVEL_MM
    assert middle_of_top(gap, peak) == peak


def test_direction_decides():
    """The same outline traps air within when sunk and around when raised."""
    spots = {}
    for direction in Direction:
        child = Feature(
            name="c", region=plate(30, 24), direction=direction, wall=wall(7, 4, 1, 0.5)
        )  # fmt: skip
        raw = build_raw_mold(
            [Feature(name="p", region=plate(90, 70), wall=wall(9), children=(child,))]
        )
        relief = relief_of(raw.meshes[0], cell_mm=0.5, margin_mm=16)
        spots[direction] = place_vents(relief, raw.plans, VENTS).vents

    assert {v.feature for v in spots[Direction.SUNK]} == {"c"}
    assert {v.feature for v in spots[Direction.RAISED]} == {"p"}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("diameter_mm", 0), ("diameter_mm", 7), ("spacing_mm", 2), ("ball_mm", -1),
        ("least_gap_mm", 0), ("least_air_mm3", float("nan")),
    ],
)  # fmt: skip
def test_bad_input(field, value):
    """A vent rule out of its range is refused by name."""
    with pytest.raises(SpecError, match=f"^{field} must be "):
        VentSpec(**{"diameter_mm": 1.0} | {field: value})
