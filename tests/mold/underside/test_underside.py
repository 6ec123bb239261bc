"""Channels, pads, feet and air notches: every vent has a way, every ceiling prints."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box
from shapely.affinity import translate
from support.molds import at, disc, plate, ring, word
from support.outlines import as_multi, outlines, rectangle
from support.some import some

from moldgen.errors import SpecError
from moldgen.mold.choices import UndersideKind
from moldgen.mold.underside.props import FIN_MM, corners_apart, propped
from moldgen.mold.underside.underside import (
    BORE_WALL_MM,
    MOUTH_MM,
    PAD_MM,
    UndersideSpec,
    build_underside,
    ceiling_of,
    chamber_of,
    free_holes_mm2,
    served,
    unserved_share,
    widest_span_mm,
)
from moldgen.mold.vents.vent import LowPlace, Reason, Vent
from moldgen.solid.polygons import touching_mm

SPEC = UndersideSpec()
FEET = UndersideSpec(kind=UndersideKind.FEET)
FLAT = UndersideSpec(kind=UndersideKind.FLAT)


def vent(x, y, bore_mm=None):
    """Return a vent at a place."""
    low = LowPlace(x_mm=x, y_mm=y, z_mm=5, gap_mm=2, air_mm3=50, reason=Reason.POCKET)
    return Vent(
        name="V", x_mm=x, y_mm=y, z_mm=5, diameter_mm=1, feature="f", low=low, bore_mm=bore_mm
    )


def strewn(region, n, seed):
    """Return vents strewn over a region, with room for their bores."""
    room = shapely.buffer(region, -4.0)
    rng = np.random.default_rng(seed)
    x0, y0, x1, y1 = region.bounds
    spots = rng.uniform((x0, y0), (x1, y1), (40 * n, 2))
    return [vent(x, y) for x, y in spots if room.covers(Point(x, y))][:n]


@given(
    st.floats(20, 160), st.floats(20, 90), st.integers(0, 8), st.integers(0, 999),
    st.sampled_from([8.0, 10.0, 15.0]),
)  # fmt: skip
@settings(max_examples=20, deadline=None)
def test_plates_of_all_sizes(width, depth, n, seed, bridge):
    """Under any plate channels are one piece, every vent opens into it and no ceiling sags."""
    foot = plate(width, depth)
    spec = UndersideSpec(bridge_mm=bridge)
    vents = strewn(foot, n, seed)
    under = build_underside(foot, vents, spec)

    assert len(under.airways.geoms) == 1
    assert set(served(vents, under)) <= {0}
    assert widest_span_mm(ceiling_of(under, vents, foot)) <= bridge + 0.1
    for one in vents:
        mouth = Point(one.x_mm, one.y_mm).buffer(spec.bore_mm / 2 + MOUTH_MM / 2)
        assert under.channels.covers(mouth)


def test_crumbs_between_close_pads_are_not_cut():
    """Pads that stand close leave pinches of channel between them, which lead nowhere."""
    under = build_underside(plate(23.5, 29.0), [], UndersideSpec(bridge_mm=8.0))

    assert len(under.channels.geoms) == 1


@given(outlines(), st.integers(0, 5), st.integers(0, 999))
@settings(max_examples=20, deadline=None)
def test_any_outline(foot, n, seed):
    """Under any outline the rim stays closed but for the air notches, and every vent has a way."""
    vents = strewn(foot, n, seed)
    under = build_underside(foot, vents, SPEC)

    shell = shapely.buffer(foot, -0.9 * BORE_WALL_MM)
    assert shapely.difference(under.channels, shapely.buffer(shell, 0.05)).area < 0.1
    assert all(number >= 0 for number in served(vents, under))
    assert under.airways.is_valid


@pytest.mark.parametrize("spec", [SPEC, FEET])
@pytest.mark.parametrize("foot", [plate(120, 70), ring(50, 25), word("BOAT", 50), disc(6)])
def test_no_fins_and_no_slits(foot, spec):
    """Plastic and air under the mold are nowhere thinner than two printed lines."""
    vents = strewn(foot, 6, 3)
    under = build_underside(foot, vents, spec)
    thin = 0.45 * FIN_MM
    air = under.channels
    opened = shapely.buffer(shapely.buffer(air, -thin), thin * 1.02)
    inside = shapely.buffer(foot, -1.0)
    solid = shapely.difference(inside, air)
    thick = shapely.buffer(shapely.buffer(solid, -thin), thin * 1.02)
    crumbs = shapely.difference(solid, shapely.union(thick, shapely.buffer(inside.boundary, 1.0)))

    assert shapely.difference(air, opened).area < 0.02 * len(air.geoms) + 1e-3 * air.area
    assert crumbs.area < 0.002 * foot.area


def test_corners_are_apart():
    """No two corners of a cut region nearly coincide: the modeler gets no slivers to make."""
    foot = plate(120, 70)
    under = build_underside(foot, strewn(foot, 10, 1), SPEC)
    for part in some(under.channels.geoms):
        for line in (part.exterior, *part.interiors):
            xy = shapely.get_coordinates(line)
            assert np.hypot(*np.diff(xy, axis=0).T).min() > 0.01


def test_pads_carry_the_mold():
    """Under a plate the pads stand no farther apart than half a bridge and reach all four sides."""
    foot = plate(120, 70)
    under = build_underside(foot, [], SPEC)
    solid = shapely.difference(shapely.buffer(foot, -6), under.channels)
    pads = [p for p in shapely.get_parts(solid) if p.area > 0.9 * PAD_MM**2]

    assert len(pads) >= 20
    assert shapely.union_all(pads).envelope.area > 0.35 * foot.area


def test_reserved_places_stay_solid():
    """Neither channel nor air notch comes into what a label or an insert needs."""
    foot = plate(100, 60)
    kept = as_multi(box(-30, 10, 20, 28.5))
    under = build_underside(foot, [vent(0, -10)], SPEC, reserved=kept)

    assert shapely.intersection(under.airways, shapely.buffer(kept, -0.3)).area < 1e-6
    assert not under.air_notches.is_empty


@pytest.mark.parametrize("foot", [plate(100, 60), ring(40, 20), word("AO", 45)])
def test_gates_all_round(foot):
    """Every ring of the foot has two air notches or more, through the rim, not too far apart."""
    under = build_underside(foot, [], SPEC)
    for part in some(foot.geoms):
        for line in (part.exterior, *part.interiors):
            crossing = [g for g in under.air_notches.geoms if shapely.intersects(g, line)]
            assert len(crossing) >= 2
            spots = sorted(line.project(g.centroid) for g in crossing)
            gaps = np.diff([*spots, spots[0] + line.length])
            assert gaps.max() <= SPEC.air_notch_spacing_mm * 1.5
    for air_notch in some(under.air_notches.geoms):
        assert shapely.intersects(air_notch, under.channels)
        assert not foot.covers(air_notch)


def test_flat_is_flat():
    """A flat underside has nothing cut, and no vent has a way but the table."""
    under = build_underside(plate(60, 40), [vent(0, 0)], FLAT)

    assert under.airways.is_empty
    assert served([vent(0, 0)], under) == [-1]
    assert served([], under) == []


def test_feet_stand_and_open():
    """A plate on feet is open all round, stands on them, and no foot closes a vent."""
    foot = plate(100, 60)
    vents = [vent(x, 3) for x in (-38, -13, 4, 30)]
    under = build_underside(foot, vents, FEET)
    feet = shapely.difference(foot, under.channels)

    assert shapely.buffer(shapely.convex_hull(feet), -10).contains(foot.centroid)
    assert shapely.difference(foot.boundary, under.channels).length < 1e-6
    assert set(served(vents, under)) == {0}
    for one in vents:
        assert feet.distance(Point(one.x_mm, one.y_mm)) > FEET.bore_mm / 2


def test_a_piece_too_small_for_feet_keeps_its_rim():
    """A thin bar that would not stand on feet keeps its rim; its plate stands on feet."""
    bar = at(rectangle(40, 5.5), 0, 40).geoms[0]
    foot = MultiPolygon([plate(80, 50).geoms[0], bar])
    under = build_underside(foot, [], FEET)
    thin = MultiPolygon([foot.geoms[0], at(rectangle(40, 3), 0, 40).geoms[0]])
    thin_under = build_underside(thin, [], FEET)

    assert under.channels.covers(shapely.buffer(bar, -0.1).exterior)
    assert not shapely.intersects(thin_under.channels, at(rectangle(39, 2.5), 0, 40))


@pytest.mark.parametrize("bore_mm", [None, 3.0])
@pytest.mark.parametrize("x", [0.0, 12.0, 16.4])
def test_a_mouth_is_wider_than_its_bore(x, bore_mm):
    """Wherever a vent stands, even in the rim, its mouth leaves a margin around its bore."""
    foot = plate(40, 40)
    under = build_underside(foot, [vent(x, 0, bore_mm)], SPEC)
    bore = Point(x, 0).buffer((bore_mm or SPEC.bore_mm) / 2, quad_segs=32)

    assert shapely.buffer(under.channels, -0.1).covers(bore)


def test_narrow_strokes_get_a_thinner_rim():
    """A stroke of 4 mm still has a chamber, half a rim inside; one of 2 mm stays solid."""
    assert chamber_of(rectangle(60, 4), 2.4).area == pytest.approx(57.6 * 1.6, rel=0.01)
    assert not chamber_of(rectangle(60, 5.5), 2.4).is_empty
    assert chamber_of(rectangle(60, 2), 2.4).is_empty
    assert build_underside(rectangle(60, 2), [], SPEC).airways.is_empty


def test_span_of_known_regions():
    """A disc spans its diameter, a strip its width, nothing spans nothing."""
    assert widest_span_mm(disc(7)) == pytest.approx(14, abs=0.1)
    assert widest_span_mm(rectangle(80, 6)) == pytest.approx(6, abs=0.1)
    assert widest_span_mm(MultiPolygon()) == 0


def test_a_bore_is_no_ceiling():
    """The mouth of a bore needs no bridge."""
    foot = plate(40, 40)
    under = build_underside(foot, [vent(0, 0)], SPEC)
    ceiling = ceiling_of(under, [vent(0, 0)], foot)

    assert not ceiling.covers(Point(0, 0))
    assert shapely.buffer(foot, 1e-6).covers(ceiling)


shapes = st.sampled_from(
    [plate(30, 9), disc(8), ring(14, 9), rectangle(3, 40), at(word("L", 25), 3, 2)]
)


@given(shapes, st.sampled_from([(10.0, 1.5), (15.0, 2.0), (25.0, 3.0)]), st.integers(0, 99))
@settings(max_examples=12, deadline=None)
def test_twin_free_holes_by_moving_the_mold(region, table, seed):
    """The folded convolution gives the same free area as cutting circles at each placing."""
    pitch, hole = table
    free = free_holes_mm2(region, pitch_mm=pitch, hole_mm=hole)
    n = len(free)
    x0, y0, x1, y1 = region.bounds
    rng = np.random.default_rng(seed)
    exact, found = [], []
    for i, j in rng.integers(0, n, (12, 2)):
        # The hole's center lies at the middle of a step of the cell that starts at the corner.
        dx, dy = x0 + (j + 0.5) * pitch / n, y0 + (i + 0.5) * pitch / n
        xs = np.arange(dx - pitch, x1 + pitch, pitch)
        ys = np.arange(dy - pitch, y1 + pitch, pitch)
        grid = shapely.points(*(axis.ravel() for axis in np.meshgrid(xs, ys)))
        holes = shapely.union_all(shapely.buffer(grid, hole / 2, quad_segs=32))
        exact.append(region.intersection(holes).area)
        found.append(free[i, j])
    np.testing.assert_allclose(found, exact, atol=0.12 * hole**2 + 0.01 * max(exact))


@pytest.mark.parametrize("seed", range(4))
def test_unserved_share_by_throwing_the_mold_down(seed):
    """The share of bad placings is what comes out of putting the mold down 400 times."""
    pitch, hole = 20.0, 3.0
    region = (disc(8), rectangle(7, 26), ring(12, 8), plate(16, 12))[seed]
    rng = np.random.default_rng(seed)
    bad = 0
    for dx, dy in rng.uniform(0, pitch, (400, 2)):
        moved = translate(region, dx, dy)
        k = np.arange(-3, 5) * pitch
        grid = shapely.points(*(axis.ravel() for axis in np.meshgrid(k, k)))
        holes = shapely.union_all(shapely.buffer(grid, hole / 2))
        bad += moved.intersection(holes).area < np.pi / 16 * hole**2
    share = unserved_share(region, pitch_mm=pitch, hole_mm=hole)

    assert 0.05 < share < 0.95
    assert share == pytest.approx(bad / 400, abs=3 * np.sqrt(share * (1 - share) / 400) + 0.02)


def test_unserved_share_of_known_regions():
    """A whole grid cell is always served, nothing never; free areas average out."""
    cell = rectangle(24, 24)

    assert unserved_share(cell, pitch_mm=20, hole_mm=3) == 0
    assert unserved_share(MultiPolygon(), pitch_mm=20, hole_mm=3) == 1
    free = free_holes_mm2(cell, pitch_mm=20, hole_mm=3)
    assert free.mean() == pytest.approx(24 * 24 / 400 * np.pi / 4 * 9, rel=0.01)
    assert unserved_share(cell, pitch_mm=20, hole_mm=3, least_mm2=1e3) == 1


@pytest.mark.parametrize("move", [(3.1, 0), (0, 7.7), (-11.3, 4.9)])
def test_moving_the_mold_does_not_change_its_share(move):
    """The share of placings is of all placings: where the drawing has its origin is nothing."""
    region = ring(12, 8)
    shares = [
        unserved_share(r, pitch_mm=20, hole_mm=3) for r in (region, at(region, *move))
    ]  # fmt: skip

    assert shares[0] == pytest.approx(shares[1], abs=0.02)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("depth_mm", 0), ("rim_mm", -1), ("bridge_mm", 1), ("air_notch_mm", 4),
        ("air_notch_width_mm", 0), ("air_notch_spacing_mm", 1), ("bore_mm", 20),
        ("depth_mm", float("inf")),
    ],
)  # fmt: skip
def test_bad_input(field, value):
    """A number out of its range is refused by name."""
    with pytest.raises(SpecError, match=f"^{field} must be "):
        UndersideSpec(**{field: value})


def test_a_wide_hall_is_propped_until_every_circle_is_narrow():
    """A hall as large as four tiles: no circle wider than a bridge, in one piece as before."""
    hall = MultiPolygon([shapely.box(0, 0, 90, 70)])
    bores = shapely.buffer(shapely.Point(45, 35), 2.5)
    left = propped(hall, bores, 9.0)
    ceilings = shapely.get_parts(shapely.difference(left, bores))

    assert len(left.geoms) == 1
    assert (
        2 * shapely.length(shapely.maximum_inscribed_circle(ceilings, tolerance=0.02)).max() < 9.1
    )
    assert shapely.area(shapely.intersection(shapely.difference(hall, left), bores)) == 0.0


def test_a_prop_closes_no_channel():
    """In a corridor just wide enough to pass a thin prop, it still leads from end to end."""
    corridor = MultiPolygon([shapely.box(0, 0, 80, 9.5)])
    left = propped(corridor, MultiPolygon(), 9.0)

    assert len(left.geoms) == 1
    assert left.area < corridor.area - 1.0
    assert shapely.intersects(left, shapely.box(0, 0, 1, 9))
    assert left.bounds[2] == 80.0


def test_nothing_is_propped_where_all_is_narrow():
    """Narrow channels come back as they were, and so does nothing at all."""
    narrow = MultiPolygon([shapely.box(0, 0, 5, 60)])

    assert propped(narrow, MultiPolygon(), 7.0) is narrow
    assert propped(MultiPolygon(), MultiPolygon(), 7.0).is_empty


def test_a_region_that_touches_itself_is_opened_there():
    """Two rooms that meet in a corner become one, through a passage that the printer leaves."""
    rooms = MultiPolygon([box(0, 0, 10, 10), box(10, 10, 20, 20)])

    channels = corners_apart(rooms)

    assert (len(channels.geoms), len(touching_mm(channels))) == (1, 0)
    assert channels.covers(Point(10, 10).buffer(0.45 * FIN_MM))
    assert channels.area == pytest.approx(200 + np.pi * (FIN_MM / 2) ** 2 / 2, rel=1e-3)


def test_a_region_that_touches_itself_nowhere_stays_as_it_is():
    """Rooms apart, corner for corner."""
    rooms = MultiPolygon([box(0, 0, 10, 10), box(10.5, 10.5, 20, 20)])

    assert corners_apart(rooms) is rooms
