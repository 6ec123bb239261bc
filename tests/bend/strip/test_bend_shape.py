"""Shape: exact lines and arcs, nothing lost or gained in bending, and the solid."""

from dataclasses import replace
from math import pi, radians

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from support.strips import bent, fold, strip

from moldgen.bend.heat.overbend import overbend_of, pressed_deg
from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.bend.strip.clash import overlaps_mm
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend
from moldgen.bend.strip.shape import formed
from moldgen.bend.strip.shape_checks import check_clashes, check_gaps
from moldgen.bend.strip.sheet import build_sheet, flat_region
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.solid.topology import topology_of

FEW = settings(max_examples=25, deadline=None)


@st.composite
def strips(draw):
    """Draw a strip of up to five bends, either way, that may well hit itself."""
    n = draw(st.integers(1, 5))
    angle = st.floats(3, 150) | st.floats(-150, -3)
    return strip(
        [draw(st.floats(70, 120)) for _ in range(n + 1)],
        [draw(angle) for _ in range(n)],
        radius_mm=draw(st.floats(0.5, 12)),
        thickness_mm=draw(st.floats(0.5, 6)),
        neutral=draw(st.floats(0.3, 0.6)),
        legs_by=LegsBy.FLAT,
    )


def test_an_l_has_its_outside_dimensions():
    """A right angle by outside legs measures those legs over all."""
    low, high = bent(strip([80.0, 120.0], [90.0])).bounds_mm

    assert high - low == pytest.approx([80.0, 120.0], abs=1e-9)


@pytest.mark.parametrize("angle", [150.0, -150.0])
def test_a_round_is_measured_to_its_outside_and_not_to_its_chords(angle):
    """A bend beyond a right angle reaches its outer radius past the end of the first leg."""
    shape = bent(strip([100.0, 120.0], [angle], radius_mm=20.0), chord_mm=2.0)
    first = shape.legs[0]

    assert shape.bounds_mm[1, 0] == pytest.approx(first.end_mm[0] + 23.0, abs=1e-9)
    assert shape.outline.bounds[2] < first.end_mm[0] + 22.9


def test_the_channel_of_two_right_angles_has_its_outside_dimensions():
    """A channel is as wide as its web and as tall as its taller flange."""
    low, high = bent(strip([50.0, 120.0, 60.0], [90.0, 90.0])).lying_on(2).bounds_mm

    assert high - low == pytest.approx([120.0, 60.0], abs=1e-9)


def test_arcs_are_exact():
    """Center, radii and sweep of a bend follow from the flat and the inside radius."""
    shape = bent(strip([80.0, 120.0], [-60.0]))
    (arc,) = shape.arcs
    end = shape.legs[0].length_mm

    assert arc.center_mm == pytest.approx((end, -7.5))
    assert (arc.inner_mm, arc.middle_mm, arc.outer_mm) == pytest.approx((6.0, 7.5, 9.0))
    assert (arc.from_deg, arc.sweep_deg) == pytest.approx((90.0, -60.0))


def unbent_mm(shape, points_mm):
    """Return points of a bent strip as on the flat one: along it, and over its middle. [mm]."""
    tries = [off_leg(shape, points_mm, k) for k in range(len(shape.path.headings_rad))]
    tries += [off_arc(shape, points_mm, arc) for arc in shape.arcs]
    every = np.stack(tries)
    nearest = every[..., 2].argmin(axis=0)
    return every[nearest, np.arange(len(points_mm)), :2]


def off_leg(shape, points, k):
    """Return where points would be if they were of a leg, and by how much they miss it."""
    path = shape.path
    heading = float(path.headings_rad[k])
    away = points - path.starts_mm[k]
    run = away @ np.array([np.cos(heading), np.sin(heading)])
    over = away @ np.array([-np.sin(heading), np.cos(heading)])
    length = float(path.flat.flats_mm[k])
    if k < len(path.angles_rad) and path.angles_rad[k] == 0:
        length += float(path.flat.allowances_mm[k])
    return np.column_stack([path.flat.starts_mm[k] + run, over, miss(shape, run, over, length)])


def off_arc(shape, points, arc):
    """Return where points would be if they were of a bend, and by how much they miss it."""
    flat, k = shape.path.flat, arc.number - 1
    away = points - np.array(arc.center_mm)
    sign = 1.0 if arc.sweep_deg > 0 else -1.0
    turned = np.arctan2(away[:, 1], away[:, 0]) - radians(arc.from_deg)
    # Half a turn of slack on either side of the arc, so that its ends are never wrapped.
    middle = abs(radians(arc.sweep_deg)) / 2
    turned = (sign * turned - middle + pi) % (2 * pi) - pi + middle
    run = turned / abs(radians(arc.sweep_deg)) * flat.allowances_mm[k]
    over = sign * (arc.middle_mm - np.hypot(*away.T))
    begin = flat.starts_mm[k] + flat.flats_mm[k]
    wrong = miss(shape, run, over, float(flat.allowances_mm[k]))
    return np.column_stack([begin + run, over, wrong])


def miss(shape, run, over, length):
    """Return by how much points miss a part: beyond its ends, or beyond its faces."""
    beyond = np.maximum(np.maximum(-run, run - length), 0.0)
    above = np.maximum(np.abs(over) - shape.strip.thickness_mm / 2, 0.0)
    return np.hypot(beyond, above)


@FEW
@given(spec=strips(), share=st.floats(0.05, 1.0), over=st.floats(-0.5, 0.5))
def test_unbending_gives_the_flat_strip_back(spec, share, over):
    """Every point of a strip bent any part of the way is led back to where it was."""
    shape = bent(spec, bent={k: share * bend.angle_deg for k, bend in enumerate(spec.bends, 1)})
    if shape.clashes():
        return
    over_mm = over * spec.thickness_mm * 0.99
    flat = unbent_mm(shape, shape.moved(0.0, (0.0, 0.0)).line_mm(over_mm))

    assert flat[:, 0] == pytest.approx(shape.stations[1], abs=1e-6)
    assert flat[:, 1] == pytest.approx(over_mm, abs=1e-6)


@FEW
@given(spec=strips(), share=st.floats(0.05, 1.0))
def test_the_neutral_line_keeps_its_length(spec, share):
    """Bent any part of the way, the line at the neutral place is as long as the flat strip."""
    layout = build_layout(spec)
    shape = formed(
        spec, layout, bent={k: share * bend.angle_deg for k, bend in enumerate(spec.bends, 1)}
    )
    from_inside = spec.neutral * spec.thickness_mm
    arcs = sum(radians(abs(arc.sweep_deg)) * (arc.inner_mm + from_inside) for arc in shape.arcs)

    assert sum(layout.flats_mm) + arcs == pytest.approx(layout.developed_mm, rel=1e-9)


@FEW
@given(spec=strips())
def test_turning_all_bends_over_mirrors_the_shape(spec):
    """All bends the other way give the mirror image, line by line."""
    other = {Turn.UP: Turn.DOWN, Turn.DOWN: Turn.UP}
    mirrored = replace(spec, bends=tuple(replace(b, turn=other[b.turn]) for b in spec.bends))
    one, two = bent(spec), bent(mirrored)

    assert two.top_mm == pytest.approx(one.bottom_mm * (1.0, -1.0), abs=1e-9)


@FEW
@given(spec=strips())
def test_the_sheet_is_closed_and_has_its_volume(spec):
    """The solid is one closed piece; its volume is legs and ring sectors times width."""
    shape = bent(spec)
    if shape.clashes():
        return
    body = build_sheet(shape)
    topology = topology_of(body.mesh)
    arcs = sum(radians(abs(arc.sweep_deg)) * arc.middle_mm for arc in shape.arcs)
    area = (sum(shape.path.flat.flats_mm) + arcs) * spec.thickness_mm

    assert topology.closed
    assert topology.n_pieces == 1
    # Chords lie inside the outer face and outside the inner one, by at most 0.02 mm.
    assert body.mesh.volume_mm3 == pytest.approx(area * spec.width_mm, rel=2e-3)
    assert shape.outline.area == pytest.approx(area, rel=2e-3)


def test_chords_stay_within_their_tolerance():
    """No chord strays further from the outer face than asked, and half the chord a quarter."""
    strays = []
    for chord_mm in (0.2, 0.05):
        shape = bent(strip([80.0, 120.0], [90.0]), chord_mm=chord_mm)
        (arc,) = shape.arcs
        middles = (shape.bottom_mm[1:] + shape.bottom_mm[:-1]) / 2
        near = middles[1:-1] - np.array(arc.center_mm)
        strays.append(arc.outer_mm - np.hypot(*near.T).min())
        assert 0 < strays[-1] <= chord_mm + 1e-9

    assert strays[1] < 0.4 * strays[0]


def test_holes_go_through_and_are_bent_along():
    """A hole takes its area off the volume, on a leg and across a bend alike."""
    plain = build_sheet(bent(strip([80.0, 120.0], [90.0]))).mesh.volume_mm3
    for along in (30.0, 76.9):
        holed = build_sheet(bent(strip([80.0, 120.0], [90.0], holes=((along, 30.0, 20.0),))))
        assert topology_of(holed.mesh).euler == 0
        assert plain - holed.mesh.volume_mm3 == pytest.approx(pi * 100 * 3.0, rel=0.01)


def test_a_strip_of_its_own_shape_keeps_its_area():
    """Rounded ends and a slot are bent with the rest."""
    spec = strip([80.0, 120.0], [90.0])
    length = build_layout(spec).developed_mm
    rounded = shapely.box(0, 0, length, 60).buffer(-15).buffer(15)
    slotted = rounded - shapely.box(60.0, 20.0, 100.0, 40.0)
    own = replace(spec, outline=MultiPolygon([slotted]))
    mesh = build_sheet(bent(own)).mesh

    assert topology_of(mesh).closed
    assert mesh.volume_mm3 == pytest.approx(slotted.area * 3.0, rel=2e-3)
    assert flat_region(bent(own)).area == pytest.approx(slotted.area)


@pytest.mark.parametrize("gap", [0.0, 1.0, 3.5])
def test_a_closed_fold_holds_its_gap(gap):
    """The gap measured between the folded legs is the one that was asked for."""
    shape = bent(fold(gap))

    assert shape.gap_mm(1) == pytest.approx(gap, abs=1e-9)
    assert not shape.clashes()
    assert check_gaps(shape)[0].severity is Severity.NOTE


def test_a_fold_pressed_too_far_is_told():
    """A fold whose strip lies closer than its gap is a caution."""
    spec = fold(3.0)
    shape = bent(spec)
    tight = replace(shape, strip=replace(spec, bends=(Bend(angle_deg=180, gap_mm=4.0),)))

    assert check_gaps(tight)[0].severity is Severity.CAUTION


def test_a_strip_that_comes_round_hits_itself():
    """Three right angles with equal legs end where the first leg is; longer ones go past."""
    shape = bent(strip([60.0, 60.0, 60.0, 60.0], [90.0, 90.0, 90.0]))

    assert [clash.parts for clash in shape.clashes()] == [("leg 1", "leg 4")]
    assert check_clashes(shape)[0].severity is Severity.STOP
    assert not bent(strip([60.0, 60.0, 60.0, 40.0], [90.0, 90.0, 90.0])).clashes()


def test_a_leg_laid_on_another_only_touches():
    """Folded on itself without a gap, or on edge, a strip does not count as hitting itself."""
    assert not bent(fold(0.0)).clashes()
    assert not bent(strip([80.0, 120.0], [90.0], radius_mm=0.0)).clashes()


@FEW
@given(
    a=st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=2, max_size=2),
    turn=st.floats(0, 3),
)
def test_overlap_of_boxes_agrees_with_the_polygons(a, turn):
    """Two turned boxes overlap by axes exactly when their polygons do."""
    box = np.array([(-4.0, -1.0), (4.0, -1.0), (4.0, 1.0), (-4.0, 1.0)])
    c, s = np.cos(turn), np.sin(turn)
    one, two = box + np.array(a[0]), box @ np.array([[c, s], [-s, c]]) + np.array(a[1])
    depth = overlaps_mm(one[None], two[None])[0]
    shared = shapely.Polygon(one).intersection(shapely.Polygon(two)).area

    if abs(depth) > 1e-6:
        assert (depth > 0) == (shared > 0)


def test_two_slanting_bars_side_by_side_are_apart():
    """Only the normal of their long sides tells that two slanting bars do not touch."""
    bar = np.array([(-20.0, -1.0), (20.0, -1.0), (20.0, 1.0), (-20.0, 1.0)])
    c, s = np.cos(0.5), np.sin(0.5)
    one = bar @ np.array([[c, s], [-s, c]])
    two = (bar + np.array([3.0, 2.5])) @ np.array([[c, s], [-s, c]])

    assert overlaps_mm(one[None], two[None])[0] == pytest.approx(-0.5)


def test_lying_on_a_leg_puts_it_on_the_table():
    """The leg's lower face is at z = 0, marks up or down, and nothing is stretched."""
    shape = bent(strip([50.0, 120.0, 60.0], [90.0, 90.0]))
    up, down = shape.lying_on(2), shape.lying_on(2, marks_down=True)

    assert up.bounds_mm[0, 1] == pytest.approx(0.0, abs=1e-9)
    assert down.bounds_mm[1, 1] == pytest.approx(3.0, abs=1e-9)
    assert up.outline.area == pytest.approx(down.outline.area) == shape.outline.area


def test_a_bend_that_is_still_flat_is_straight():
    """With no bend bent the strip is a bar of its developed length."""
    spec = strip([50.0, 120.0, 60.0], [90.0, -70.0])
    shape = bent(spec, bent={})

    assert np.ptp(shape.line_mm(), axis=0) == pytest.approx(
        [build_layout(spec).developed_mm, 0.0], abs=1e-9
    )
    assert shape.arcs == ()


def test_overbend_is_given_usual_or_none_in_a_fold():
    """A measured overbend goes before the usual one; a closed fold has none."""
    spec = strip([50.0, 60.0], [90.0])
    usual = overbend_of(spec)
    given_ = replace(spec, overbend_deg=2.5)

    assert 1.0 <= usual.overbend_deg <= 3.0
    assert not usual.measured
    assert overbend_of(replace(spec, plastic="PETG")).overbend_deg > usual.overbend_deg
    assert pressed_deg(given_, 1) == 92.5
    assert overbend_of(given_).measured
    assert pressed_deg(fold(), 1) == 180.0


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: bent(fold(), bent={2: 10.0}), "bent must be numbers of bends, 1 to 1"),
        (lambda: bent(fold(), bent={0: 10.0}), "bent must be numbers of bends, 1 to 1"),
        (lambda: bent(fold(), bent={1: 190.0}), "bent must be angles of 0 to 180"),
        (lambda: bent(fold(), bent={1: float("nan")}), "bent must be angles of 0 to 180"),
        (lambda: bent(fold(), chord_mm=0.0), "chord_mm must be 0.0001 to 5 mm"),
        (lambda: bent(fold()).gap_mm(2), "number must be that of a bend, 1 to 1"),
        (lambda: bent(fold()).gap_mm(0), "number must be that of a bend, 1 to 1"),
        (lambda: bent(fold()).lying_on(3), "lying must be a leg, 1 to 2"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(make, match):
    """What cannot be is refused with the field and what to do."""
    with pytest.raises(SpecError, match=match):
        make()


def test_holes_that_part_the_strip_are_refused():
    """An opening from edge to edge leaves two pieces, which is refused."""
    spec = strip([80.0, 120.0], [90.0])
    length = build_layout(spec).developed_mm
    parted = shapely.box(0, 0, length, 60) - shapely.box(40, -1, 50, 61)
    own = replace(spec, outline=MultiPolygon(parted.geoms))

    with pytest.raises(SpecError, match="holes must be within the strip, so that it stays one"):
        build_sheet(bent(own))
