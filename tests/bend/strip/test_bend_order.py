"""Order: found whenever there is one, the best of all, true to the bench, and quick."""

from itertools import permutations
from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.count_calls import count_calls
from support.some import some
from support.strips import bent, strip

from moldgen.bend.order.order import best_order
from moldgen.bend.order.order_search import _PATIENCE, Search
from moldgen.bend.order.reach import StripAtHeater
from moldgen.bend.order.swing import Swing
from moldgen.bend.strip.choices import LegsBy
from moldgen.bend.strip.clash import clashing
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.shape import formed
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.stock.strip_heater import ElementKind, StripHeater

WIRE = StripHeater(
    name="bench wire",
    element=ElementKind.WIRE,
    element_degC=600,
    element_width_mm=2,
    gap_mm=6,
    band_mm=14,
    bed_length_mm=600,
    bed_depth_mm=300,
    least_leg_mm=20,
    power_W=500,
)
NARROW = StripHeater(
    name="narrow wire",
    element=ElementKind.WIRE,
    element_degC=600,
    element_width_mm=2,
    gap_mm=6,
    band_mm=14,
    bed_length_mm=600,
    bed_depth_mm=50,
    least_leg_mm=20,
    power_W=500,
)


def order(spec, heater=WIRE, **how):
    return best_order(spec, build_layout(spec), heater, **how)


def on_bed(spec, number, done, *, marks_down):
    """Place the strip with a line over the element, by nothing but the finished shapes."""
    shape = bent(spec, bent={k: spec.bends[k - 1].angle_deg for k in done}, chord_mm=0.2)
    flat = shape.path.flat
    middle = build_layout(spec).lines[number - 1].center_mm
    heading = float(shape.path.headings_rad[number - 1])
    turned = shape.moved((pi if marks_down else 0.0) - heading, (0.0, 0.0))
    x, z = turned.path.placed(np.array([2 * number - 1]), [middle], [0.0])[0]
    return turned.moved(0.0, (-float(x), -float(z) + flat.thickness_mm / 2))


def free_of_bed(shape, heater):
    reach = heater.bed_depth_mm / 2 - 2.0
    bed = shapely.box(-reach, -1e4, reach, -0.3)
    return shape.outline.intersection(bed).area < 0.5


def bed_cost(bench, numbers):
    """Cost of an order by trying each bend in turn; None if one cannot be made."""
    mask = turns = 0
    for place, bend in enumerate(numbers):
        faces = bench.faces(mask, bend)
        if not any(faces) or bench.swing.hits(mask, bend):
            return None
        before = numbers[place - 1] if place else bend
        signs = bench.swing.flat.angles_deg[[before, bend]] > 0
        turns += int(signs[0] != signs[1])
        mask |= 1 << bend
    return turns


@st.composite
def strips(draw, most=4):
    n = draw(st.integers(2, most))
    angle = st.sampled_from([45.0, 90.0, 110.0, -45.0, -90.0, -110.0])
    return strip(
        [draw(st.sampled_from([30.0, 45.0, 60.0, 100.0])) for _ in range(n + 1)],
        [draw(angle) for _ in range(n)],
        radius_mm=3.0,
        legs_by=LegsBy.FLAT,
        thickness_mm=2.0,
    )


@settings(max_examples=25, deadline=None)
@given(spec=strips(), heater=st.sampled_from([WIRE, NARROW]))
def test_it_is_as_good_as_trying_every_order(spec, heater):
    """An order is found exactly if one exists, and none turns the strip over less often."""
    found = order(spec, heater)
    bench = StripAtHeater(Swing(formed(spec, build_layout(spec), chord_mm=0.2)), heater)
    if bench.swing.shape.clashes():
        assert not found.found
        return
    costs = [bed_cost(bench, way) for way in permutations(range(len(spec.bends)))]
    possible = [cost for cost in costs if cost is not None]

    assert found.found == bool(possible)
    if possible:
        assert sorted(found.numbers) == list(range(1, len(spec.bends) + 1))
        assert found.n_turn_overs == min(possible)


@settings(max_examples=25, deadline=None)
@given(spec=strips(), heater=st.sampled_from([WIRE, NARROW]))
def test_the_steps_are_true_on_the_bench(spec, heater):
    """At every step the strip lies on the bed as told, by its finished shape alone."""
    steps = order(spec, heater).steps
    assume(steps)
    done: list[int] = []
    for step in some(steps):
        for marks_down, told in ((False, step.marks_up), (True, step.marks_down)):
            if told:
                assert free_of_bed(on_bed(spec, step.number, done, marks_down=marks_down), heater)
        done.append(step.number)
        shape = bent(spec, bent={k: spec.bends[k - 1].angle_deg for k in done}, chord_mm=0.2)
        assert not shape.clashes()


def test_a_leg_that_stands_on_the_bed_is_found():
    """The check of the bench can tell: a channel marks down stands on its flange."""
    spec = strip([80.0, 100.0, 60.0], [90.0, 90.0])

    assert free_of_bed(on_bed(spec, 2, [1], marks_down=False), WIRE)
    assert not free_of_bed(on_bed(spec, 2, [1], marks_down=True), WIRE)


def test_a_zed_is_bent_with_one_turning_over():
    """A bend up and a bend down need the strip turned over once."""
    found = order(strip([80.0, 120.0, 60.0], [90.0, -90.0]))

    assert found.numbers == (1, 2)
    assert found.n_turn_overs == 1
    assert found.steps[1].marks_up
    assert not found.steps[1].marks_down


def test_bends_of_one_turn_go_together():
    """Up, down, up: both bends up are made before or after the one down."""
    found = order(strip([80.0, 100.0, 100.0, 80.0], [60.0, -60.0, 60.0]))

    assert found.n_turn_overs == 1


def test_a_bend_that_must_come_first_says_why():
    """A short web leaves no room on the bed after its neighbor: the order and the reason."""
    spec = strip([60.0, 29.0, 90.0], [30.0, 120.0], radius_mm=4.0)
    found = order(spec)

    assert found.numbers == (2, 1) or found.numbers == (1, 2)
    first = found.steps[0]
    assert first.why
    assert first.why[0].startswith(f"Before bend {found.numbers[1]}: afterward leg 2 gives only")


def test_a_shallow_bed_lets_legs_hang_down():
    """On a bed no deeper than the legs are long, both faces can be heated."""
    spec = strip([80.0, 120.0, 60.0], [90.0, 90.0])

    assert [f.code for f in order(spec, WIRE, both_faces=True).findings] == ["heated-from-one-face"]
    assert order(spec, NARROW, both_faces=True).findings == ()


@pytest.mark.parametrize(("heater", "is_free"), [(WIRE, False), (NARROW, True)])
def test_a_line_that_lies_on_both_faces_costs_nothing(heater, is_free):
    """On a narrow bed a bend is heated from either side after its neighbor; on a wide from one."""
    spec = strip([80.0, 120.0, 60.0], [90.0, 90.0])
    shape = formed(spec, build_layout(spec), chord_mm=0.2)
    costs = Search(StripAtHeater(Swing(shape), heater), True).costs

    assert (costs[0] == 0).all()
    assert bool(costs[0b01, 1] == 0) is is_free


def test_a_strip_that_hits_itself_has_no_order():
    """The finished shape is looked at first."""
    found = order(strip([60.0, 60.0, 60.0, 60.0], [90.0, 90.0, 90.0]))

    assert not found.found
    assert found.findings[0].code == "strip-hits-itself"


@pytest.mark.parametrize(
    ("legs", "angles", "says"),
    [
        ([15.0, 60.0], [90.0], "bend 1 cannot be made even on the flat strip: leg 1 gives only"),
        ([40.0, 30.0, 40.0], [90.0, 90.0], "bends 1 and 2 are in each other's way: after bend 1"),
    ],
)
def test_no_order_says_which_bend_and_what_to_change(legs, angles, says):
    """Where nothing can be done it names the bends, the leg and the millimeters."""
    found = order(strip(legs, angles))

    assert found.steps == ()
    assert not found.found
    assert says in found.findings[0].says
    assert found.findings[0].severity is Severity.STOP
    assert "longer" in found.findings[0].advice


def test_a_two_sided_heater_needs_room_above_too():
    """Under a second element no leg may stand near the line."""
    twin = StripHeater(
        name="twin",
        element=ElementKind.TUBE,
        element_degC=450,
        element_width_mm=8,
        sides=2,
        gap_mm=16,
        band_mm=24,
        bed_length_mm=600,
        bed_depth_mm=300,
        least_leg_mm=20,
        power_W=500,
    )
    spec = strip([80.0, 120.0, 60.0], [90.0, 90.0])

    assert order(spec, WIRE).found
    assert not order(spec, twin).found


def test_a_leg_tucked_under_a_hook_is_folded_first():
    """A leg that ends under a hook hits it on its way in, though it is free once it is there."""
    spec = strip([50.0, 120.0, 95.0], [135.0, 175.0], radius_mm=8.0, legs_by=LegsBy.FLAT)
    swing = Swing(formed(spec, build_layout(spec), chord_mm=0.2))

    assert not swing.shape.clashes()
    assert swing.hits(0b00, 1) == ""
    assert swing.hits(0b01, 1) == "the strip itself"
    assert swing.hits(0b10, 0) == ""
    found = order(spec)
    assert found.numbers == (2, 1)
    assert found.steps[0].why == ("Before bend 1: afterward the strip would hit itself.",)


@settings(max_examples=40, deadline=None)
@given(
    spec=st.builds(
        lambda legs, angles: strip(
            [200.0, *legs], angles, radius_mm=0.5, legs_by=LegsBy.FLAT, thickness_mm=1.0
        ),
        st.lists(st.sampled_from([30.0, 90.0, 180.0, 250.0]), min_size=4, max_size=4),
        st.lists(st.sampled_from([45.0, 90.0, 150.0, -90.0, -150.0]), min_size=4, max_size=4),
    ),
    data=st.data(),
)
def test_the_quick_look_at_a_swing_misses_nothing(spec, data):
    """What is sorted out by distance and direction is never what is hit."""
    swing = Swing(formed(spec, build_layout(spec), chord_mm=0.2))
    bend = data.draw(st.integers(0, len(spec.bends) - 1))
    mask = data.draw(st.integers(0, 2 ** len(spec.bends) - 1)) & ~(1 << bend)
    left, right = swing.sides_mm(mask, bend)
    steps = swing.steps(right, bend)
    hit = clashing(left[None], swing.swung(right, bend, steps)).any()

    assert (swing.hits(mask, bend) == "the strip itself") == hit


def test_a_flange_far_out_hits_a_wall_late_in_its_swing():
    """The far flange of the moving side meets a tall wall only when it is nearly up."""
    spec = strip([250.0, 40.0, 200.0, 90.0], [90.0] * 3, radius_mm=0.5, thickness_mm=1.0)
    swing = Swing(formed(spec, build_layout(spec), chord_mm=0.2))

    assert swing.hits(0b101, 1) == "the strip itself"
    assert swing.hits(0b001, 1) == ""


SLOW = {
    "channels": [90.0 if k % 4 < 2 else -90.0 for k in range(12)],
    "stairs": [90.0 if k % 2 else -90.0 for k in range(12)],
    "arc": [30.0] * 12,
}


@pytest.mark.parametrize("name", SLOW)
@pytest.mark.parametrize("leg_mm", [30.0, 40.0, 60.0])
def test_twelve_bends_take_little_work(name, leg_mm, monkeypatch):
    """Layout, shape and order of twelve bends, found or not: few swings of 24 576 are tried."""
    tried = []
    hits = Swing.hits

    def counted(*swing):
        tried.append(swing)
        return hits(*swing)

    monkeypatch.setattr(Swing, "hits", counted)
    spec = strip([leg_mm] * 13, SLOW[name])

    n_calls = count_calls(lambda: order(spec, both_faces=True))

    assert len(tried) <= 2 * _PATIENCE
    assert n_calls < 200_000


def test_a_strip_without_bends_needs_no_order():
    """A flat strip is done."""
    found = order(strip([100.0], []))

    assert found.found
    assert found.steps == ()


def test_thirteen_bends_are_refused():
    """More bends than can be searched are refused in one sentence."""
    with pytest.raises(SpecError, match=r"bends must be at most 12 \(got 13\)"):
        order(strip([60.0] * 14, [20.0] * 13))
