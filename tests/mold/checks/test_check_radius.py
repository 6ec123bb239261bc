"""Radii read off triangles."""

from functools import partial
from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point
from support.check_solids import (
    box,
    case,
    codes,
    cut,
    cylinder,
    drafted,
    flipped,
    frustum,
    joined,
    lathe,
    loose,
    mesh,
    moved,
    pyramid,
)  # fmt: skip

from moldgen.finding import Severity
from moldgen.mold.build import build_raw_mold
from moldgen.mold.checks.edge_paths import tightest
from moldgen.mold.checks.radius import _turns, check_radius, measure_rounds, sharpest
from moldgen.mold.checks.sight import sight
from moldgen.mold.features import Feature, Wall
from moldgen.solid.mesh import Mesh


def rounds_of(solid, *, reach_mm, **more):
    """Return the sharpest convex and the sharpest concave radius of a mesh."""
    made = case(solid, **more)
    rounds = measure_rounds(made, sight(made), reach_mm=reach_mm)
    found = [sharpest(made, rounds, rounds.convex == convex, 1.0) for convex in (True, False)]
    return tuple(edge.radius_mm if edge else None for edge in found)


def findings_of(solid, **more):
    """Radius findings of a mesh."""
    made = case(solid, **more)
    return check_radius(made, measure_rounds(made, sight(made)))


def rounded_bar(radius, strips, *, turn_deg=80.0):
    """Return a long bar whose two upper edges are rounds of so many strips, its walls leaning."""
    arc = [radians(turn_deg) * k / strips for k in range(strips + 1)]
    half = 30.0
    top = [(half + radius * sin(a), 20 - radius * (1 - cos(a))) for a in arc]
    fall = top[-1][1]
    foot = (top[-1][0] + fall / tan(radians(turn_deg)), 0.0)
    side = [*top, foot]
    section = [(-x, z) for x, z in side][::-1] + side
    return prism(section, 60.0)


def prism(section, length):
    """Return a bar along y of a convex section of (x, z), from left over the top to right."""
    n = len(section)
    points = [(x, y, z) for y in (0.0, length) for x, z in section]
    triangles = []
    for k in range(n):
        a, b = k, (k + 1) % n
        triangles += [(a, n + a, n + b), (a, n + b, b)]
    triangles += [(0, k, k + 1) for k in range(1, n - 1)]
    triangles += [(n, n + k + 1, n + k) for k in range(1, n - 1)]
    return flipped(mesh(points, triangles))


@pytest.mark.parametrize("strips", [2, 3, 5, 12, 60])
@pytest.mark.parametrize("radius", [0.5, 3.0])
def test_radius_of_a_strip_round(radius, strips):
    """However finely a round is cut, its radius is read within 10 %."""
    solid = rounded_bar(radius, strips)
    made = case(solid)
    rounds = measure_rounds(made, sight(made), reach_mm=4.0)
    long = np.abs(rounds.middles_mm[:, 1] - 30) < 1  # not the sharp edges of the bar's ends
    edge = sharpest(made, rounds, long & rounds.convex, 1.0)

    assert edge.radius_mm == pytest.approx(radius, rel=0.1)


@pytest.mark.parametrize(("rim", "root"), [(1.0, 1.5), (2.5, 0.8), (4.0, 3.0)])
def test_rim_and_root_of_a_round_mold(rim, root):
    """On a round block raised from a plaque both its rim and its root are read within 10 %."""
    stud = Feature(
        name="stud", region=MultiPolygon([Point(0, 0).buffer(20, quad_segs=32)]),
        wall=Wall(height_mm=12, draft_deg=5, top_radius_mm=rim, base_radius_mm=root),
    )  # fmt: skip
    plaque = Feature(
        name="plaque", region=MultiPolygon([Point(0, 0).buffer(60, quad_segs=64)]),
        wall=Wall(height_mm=6, draft_deg=5, top_radius_mm=5, base_radius_mm=0), children=(stud,),
    )  # fmt: skip
    (solid,) = build_raw_mold([plaque]).meshes
    convex, concave = rounds_of(solid, reach_mm=6)

    assert convex == pytest.approx(rim, rel=0.1)
    assert concave == pytest.approx(root, rel=0.1)


def test_ring_of_round_section():
    """A ring of round section has the radius of its section."""
    angles = 2 * pi * (np.arange(40) + 0.5) / 40
    ring = lathe([(20 + 4 * cos(a), 4 + 4 * sin(a)) for a in angles], 120)
    convex, _ = rounds_of(ring, reach_mm=6)

    assert convex == pytest.approx(4, rel=0.1)


def test_sharp_edges_have_no_radius():
    """A frustum's rim and corners are sharp; the foot on the table is no edge of the part."""
    solid = pyramid(40, 30, 20)
    made = case(solid)
    rounds = measure_rounds(made, sight(made))

    assert (rounds.radii_mm == 0).sum() == 8
    assert rounds.middles_mm[:, 2].min() == 10
    assert rounds_of(solid, reach_mm=2)[1] is None


def test_a_hollow_sharp_edge_is_concave():
    """Where a tower meets its plaque the edge is hollow and sharp."""
    solid = lathe([(0, 0), (30, 0), (30, 5), (12, 5), (10, 20), (0, 20)], 64)
    made = case(solid)
    rounds = measure_rounds(made, sight(made))
    hollow = sharpest(made, rounds, ~rounds.convex, 1.0)

    assert hollow.radius_mm == 0
    assert hollow.where_mm[2] == 5
    assert hollow.sharper_mm == pytest.approx(2 * pi * 12, rel=1e-2)


def test_facets_of_a_round_wall_are_not_edges():
    """A drum of 48 sides is round in plan: only its rim is sharp."""
    made = case(frustum(20, 18, 15))
    rounds = measure_rounds(made, sight(made))

    assert (rounds.middles_mm[rounds.radii_mm == 0][:, 2] == 15).all()
    assert rounds_of(frustum(20, 18, 15), reach_mm=30)[0] == 0


def test_chamfer_is_read_as_the_round_that_fits_it():
    """A chamfer of two 40 deg turns is no sharp edge if narrow, and two edges if broad."""
    made = case(rounded_bar(6, 1, turn_deg=85))
    rounds = measure_rounds(made, sight(made))
    long = np.abs(rounds.middles_mm[:, 1] - 30) < 1

    assert (rounds.radii_mm[long] == 0).sum() == 4
    made = case(rounded_bar(0.2, 1, turn_deg=85))
    rounds = measure_rounds(made, sight(made))
    long = np.abs(rounds.middles_mm[:, 1] - 30) < 1
    told = rounds.radii_mm[long & (rounds.radii_mm < 1)]
    # The circle that touches the chamfer in its middle and both faces beside it.
    fits = 0.2 * sin(radians(42.5)) / tan(radians(21.25))
    assert told == pytest.approx([fits] * 4, rel=1e-2)


def test_vent_rims_are_left_out():
    """A vent makes no edge."""
    plain = rounds_of(drafted_mesh(), reach_mm=2)
    bored = rounds_of(cut(drafted(60, 50, 20), cylinder(0.5, -1, 30)), reach_mm=2)
    made = case(cut(drafted(60, 50, 20), cylinder(0.5, -1, 30)))
    rounds = measure_rounds(made, sight(made))

    assert plain == bored
    assert not (np.hypot(*rounds.middles_mm[:, :2].T) < 5).any()


def drafted_mesh():
    """Return a square frustum from the modeler."""
    return cut(drafted(60, 50, 20))


def test_uneven_triangulation_is_no_edge():
    """Small bumps of a wall, turning little and back, have no radius worth telling."""
    rng = np.random.default_rng(3)
    solid = frustum(30, 28, 40, 400)
    points = solid.points_mm + rng.normal(0, 1e-4, solid.points_mm.shape)
    made = case(Mesh(points, solid.triangles))
    rounds = measure_rounds(made, sight(made))
    wall = (rounds.middles_mm[:, 2] > 5) & (rounds.middles_mm[:, 2] < 35)

    assert np.isinf(rounds.radii_mm[wall]).all()


def test_needle_in_a_flat_is_no_edge():
    """A needle that rounding stands on its edge makes no sharp edge in a flat."""
    corners = [(0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0), (5, 1e-7, 3e-6), (5, -9, 0)]
    plate = mesh(corners, [(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4), (0, 5, 1)])

    assert rounds_of(plate, reach_mm=2) == (None, None)


def test_findings_name_both_kinds_against_the_gauge():
    """Sharp edges are cautions; a round of 0.7 gauges is a note; one of a gauge is in order."""
    sharp = findings_of(lathe([(0, 0), (30, 0), (29, 5), (12, 5), (10, 20), (0, 20)], 64))

    assert codes(sharp) == ["edge-convex", "edge-concave"]
    assert {f.severity for f in sharp} == {Severity.CAUTION}
    assert {(f.measured, f.limit) for f in sharp} == {(0.0, 1.0)}

    def stud(rim):
        arc = np.radians(np.linspace(0, 84, 9))
        edge = [(20 + rim * cos(a), 15 - rim + rim * sin(a)) for a in arc]
        return lathe([(0, 0), (22, 0), *edge, (0, 15)], 96)

    (note,) = findings_of(stud(0.7))
    assert note.severity is Severity.NOTE
    assert note.measured == pytest.approx(0.7, rel=0.1)
    assert findings_of(stud(1.0)) == ()


def test_a_single_nick_is_a_blemish():
    """Less than 2 mm of edge is not told."""
    nick = joined(frustum(20, 10, 3, 96), box(0.3, 0.3, 0.3, (0, 0, 2.9)))
    made = case(nick)
    rounds = measure_rounds(made, sight(made))
    only = rounds.lengths_mm < 0.31

    assert sharpest(made, rounds, only & (np.abs(rounds.middles_mm[:, 0]) < 0.2), 1.0) is None


def test_loose_triangles_have_the_same_edges():
    """Edges are found whether or not triangles share their corners."""
    solid = rounded_bar(3.0, 6)

    assert rounds_of(loose(solid), reach_mm=4) == rounds_of(solid, reach_mm=4)


@settings(max_examples=15, deadline=None)
@given(st.floats(0, 360), st.floats(-90, 90), st.floats(0.5, 4))
def test_turning_and_moving_keep_radii_and_scaling_scales(turn_deg, by, scale):
    """A radius goes with the scale and with nothing else."""
    angles = 2 * pi * (np.arange(24) + 0.5) / 24
    ring = lathe([(20 + 4 * cos(a), 4 + 4 * sin(a)) for a in angles], 60)
    before, _ = rounds_of(ring, reach_mm=6)
    after, _ = rounds_of(
        moved(ring, turn_deg=turn_deg, by=(by, -by, 0), scale=scale), reach_mm=6 * scale
    )

    assert after == pytest.approx(scale * before, rel=1e-2)


def test_many_edges_are_as_each_group_alone():
    """Paths shared out over threads tell the radii that few at a time tell."""
    angles = 2 * pi * (np.arange(24) + 0.5) / 24
    made = case(lathe([(20 + 4 * cos(a), 4 + 4 * sin(a)) for a in angles], 90))
    pairs, points = made.edges.triangles, made.edges.points
    rules = {"reach_mm": 4.0, "telling_deg": 25, "sharp_deg": 46, "alone_deg": 35, "facet_mm": 0.1}
    turns, seen = _turns(made), np.ones(len(made.normals), bool)
    walked = partial(
        tightest, made.mesh, pairs, points, turns_rad=turns, open_triangles=seen, **rules
    )
    chosen = np.arange(len(pairs))
    together = walked(chosen=chosen)

    assert len(chosen) > 4000
    parts = [walked(chosen=part) for part in np.array_split(chosen, len(chosen) // 1000)]
    np.testing.assert_array_equal(together, np.concatenate(parts))
    assert np.isfinite(together).sum() > 1000
