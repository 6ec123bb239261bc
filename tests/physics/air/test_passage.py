"""Passages in a row and side by side, and how the vacuum builds behind them."""

from math import isinf, log, pi

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import SpecError
from moldgen.physics.air.airflow import (
    ROOM_K,
    ATMOSPHERE_kPa,
    GAS_J_kgK,
    choked_flow_kg_s,
    emptying_time_s,
    equalized_kPa,
    orifice_flow_kg_s,
    pump_down_s,
)
from moldgen.physics.air.passage import (
    SHUT,
    duct,
    flat_channel,
    hole,
    in_parallel,
    in_series,
    round_hole,
    stepped_bore,
)
from moldgen.physics.air.pumping import Receiver, evacuate, pushed_out_s

FEW = settings(max_examples=25, deadline=None)
SIZES = st.floats(0.3, 5)
RATIOS = st.floats(0.02, 0.995)


def _flow_kg_s(passage, before_kPa, behind_kPa):
    return choked_flow_kg_s(1.0, upstream_kPa=before_kPa) * passage.at_mm2(behind_kPa / before_kPa)


@FEW
@given(SIZES, RATIOS)
def test_a_hole_is_an_orifice(area, ratio):
    """The curve of one hole gives the formula's flow."""
    exact = orifice_flow_kg_s(area, 100.0, 100.0 * ratio, cd=0.8)
    assert _flow_kg_s(hole(area), 100.0, 100.0 * ratio) == pytest.approx(exact, rel=2e-5)


@FEW
@given(SIZES, SIZES, RATIOS)
def test_the_same_air_goes_through_both_of_a_row(a, b, ratio):
    """There is a pressure between, found by halving, at which both orifices let through as much."""
    p0, p2 = 100.0, 100.0 * ratio
    low, high = p2, p0
    for _ in range(80):
        between = (low + high) / 2
        more_in = orifice_flow_kg_s(a, p0, between) > orifice_flow_kg_s(b, between, p2)
        low, high = (between, high) if more_in else (low, between)
    exact = orifice_flow_kg_s(a, p0, low)
    both = in_series(hole(a, cd=1), hole(b, cd=1))
    # Flows of a row are kept on a grid of pressures; near choking it is off by a thousandth.
    assert _flow_kg_s(both, p0, p2) == pytest.approx(exact, rel=2e-3)


def test_two_equal_holes_in_a_row_choke_at_four_fifths():
    """The second chokes; the first passes as much at x with share(x) = x, about 0.81."""
    one = hole(1, cd=1)
    x = in_series(one, one).most_mm2
    assert one.at_mm2(x) == pytest.approx(x, abs=1e-4)
    # As water they would pass 1/sqrt(2).
    assert x > 0.8
    slow = in_series(one, one).at_mm2(0.9999) / one.at_mm2(0.9999)
    assert slow == pytest.approx(0.5**0.5, rel=1e-3)


@FEW
@given(SIZES, SIZES, SIZES, RATIOS)
def test_the_order_of_grouping_does_not_matter(a, b, c, ratio):
    """(a, b), c is a, (b, c)."""
    A, B, C = (hole(area) for area in (a, b, c))
    left, right = in_series(in_series(A, B), C), in_series(A, in_series(B, C))
    assert left.at_mm2(ratio) == pytest.approx(right.at_mm2(ratio), rel=1e-3)


@FEW
@given(SIZES, st.floats(0.2, 5), st.floats(0.5, 8), st.floats(0, 200), st.floats(0.01, 0.2), RATIOS)
def test_a_stepped_bore_is_never_faster_than_its_small_hole(
    hole_mm, land_mm, bore_mm, length_mm, roughness_mm, ratio
):
    """Whatever comes behind only holds the air up."""
    stepped = stepped_bore(hole_mm, land_mm, bore_mm, length_mm, roughness_mm=roughness_mm)
    alone = round_hole(hole_mm)
    assert stepped.at_mm2(ratio) <= alone.at_mm2(ratio) * (1 + 1e-6)
    longer = stepped_bore(hole_mm, land_mm, bore_mm, length_mm + 20, roughness_mm=roughness_mm)
    assert longer.at_mm2(ratio) <= stepped.at_mm2(ratio) * (1 + 1e-6)


@FEW
@given(st.lists(SIZES, min_size=1, max_size=6), SIZES, RATIOS)
def test_more_holes_never_let_through_less(areas, one_more, ratio):
    """Side by side areas add; and behind a common hole it is still more."""
    some = [hole(area) for area in areas]
    before, after = in_parallel(*some), in_parallel(*some, hole(one_more))
    whole = hole(sum(areas) + one_more)
    assert after.at_mm2(ratio) == pytest.approx(whole.at_mm2(ratio), rel=1e-9)
    common = hole(2.0)
    assert in_series(after, common).at_mm2(ratio) >= in_series(before, common).at_mm2(ratio) - 1e-9


@FEW
@given(SIZES, st.floats(0.5, 50), st.floats(0.01, 0.999))
def test_a_duct_follows_its_formula(area, heads, ratio):
    """Isothermal flow with friction where it is not choked; as much as at its greatest beyond."""
    p1, p2 = 1e5, 1e5 * ratio
    drive = (p1**2 - p2**2) / (GAS_J_kgK * ROOM_K * (heads - 2 * np.log(ratio)))
    flow = _flow_kg_s(duct(area, heads), p1 / 1e3, p2 / 1e3)
    grid = np.linspace(1e-3, 1, 4000)
    most = np.sqrt((1 - grid**2) / (heads - 2 * np.log(grid))).max()
    greatest = area * 1e-6 * p1 * most / (GAS_J_kgK * ROOM_K) ** 0.5
    assert flow <= greatest * (1 + 1e-4)
    assert flow >= area * 1e-6 * drive**0.5 * (1 - 1e-4)


def test_friction_follows_darcy_at_small_differences():
    """Ten heads and 0.01 % of the pressure: the plain pipe formula."""
    density = 1e5 / (GAS_J_kgK * ROOM_K)
    plain = 1e-6 * (2 * density * 10.0 / 10) ** 0.5
    assert _flow_kg_s(duct(1.0, 10), 100, 99.99) == pytest.approx(plain, rel=1e-3)


def test_long_channels_hold_air_up():
    """A flat channel of 1.2 x 8 mm loses by its length, a short one is its mouth."""
    mouth = hole(9.6)
    lengths = [flat_channel(8, 1.2, length, roughness_mm=0.03) for length in (0, 20, 200)]
    open_mm2 = [channel.most_mm2 for channel in lengths]
    assert open_mm2[0] == mouth.most_mm2
    assert open_mm2[0] > open_mm2[1] > open_mm2[2] > 0.2 * open_mm2[0]


def test_nothing_passes_where_one_of_a_row_is_shut():
    """Shut before or behind, or no hole at all."""
    assert in_series(hole(1), SHUT).most_mm2 == 0
    assert in_series(SHUT, hole(1)).most_mm2 == 0
    assert in_parallel().most_mm2 == 0


@pytest.mark.parametrize("tank", ["0.1", "0.2", "0.3"])
def test_a_fixed_volume_empties_as_by_quadrature(tank):
    """Into a tank so large that it holds its pressure: choked first, then not."""
    rows = [row for row in published("air_blow_down") if row["tank"] == tank]
    held = Receiver(volume_L=1e9, start_kPa=float(tank) * ATMOSPHERE_kPa)
    lowest = min(float(row["pressure_ratio"]) for row in rows) * ATMOSPHERE_kPa
    course = evacuate(hole(1, cd=1), held, swept_L=0, left_L=1, target_kPa=lowest)
    tau_s = emptying_time_s(1, 1)
    for row in some(rows):
        times = course.when_s(float(row["pressure_ratio"]) * ATMOSPHERE_kPa) / tau_s
        assert times == pytest.approx(float(row["times"]), rel=3e-4)


def test_choked_to_the_end_would_miss_the_quadrature():
    """The logarithm alone is too quick where the hole has stopped choking."""
    row = next(r for r in published("air_blow_down") if r["tank"] == "0.2")
    assert abs(-log(float(row["pressure_ratio"])) - float(row["times"])) > 3e-3
    last = published("air_blow_down")[4]
    assert abs(-log(float(last["pressure_ratio"])) - float(last["times"])) > 0.03


def test_a_soft_sheet_comes_down_in_one_time_constant():
    """The volume is swept at atmospheric pressure through a choked hole: V over L/s."""
    held = Receiver(volume_L=1e9, start_kPa=20)
    course = evacuate(hole(16, cd=0.8), held, swept_L=1, left_L=1e-3, target_kPa=40)
    assert course.down_s == pytest.approx(emptying_time_s(1, 16, cd=0.8), rel=1e-4)
    assert course.volumes_L[0] == pytest.approx(1.001)


@FEW
@given(st.floats(0.5, 50), st.floats(0.05, 5), st.floats(1, 60), st.floats(1, 400))
def test_tank_and_cavity_share_their_air(tank_L, cavity_L, tank_kPa, area):
    """Without a pump the end is the mixed pressure, and on the way no air is lost."""
    mixed = equalized_kPa((tank_L, tank_kPa), (cavity_L, ATMOSPHERE_kPa))
    course = evacuate(
        hole(area), Receiver(volume_L=tank_L, start_kPa=tank_kPa),
        swept_L=0, left_L=cavity_L, target_kPa=mixed + 0.05,
    )  # fmt: skip
    air = course.cavity_kPa * cavity_L + course.receiver_kPa * tank_L
    np.testing.assert_allclose(air, air[0], rtol=1e-6)
    assert course.cavity_kPa[-1] == pytest.approx(mixed + 0.05, abs=1e-3)
    below = evacuate(
        hole(area), Receiver(volume_L=tank_L, start_kPa=tank_kPa),
        swept_L=0, left_L=cavity_L, target_kPa=mixed - 0.05, longest_s=1000,
    )  # fmt: skip
    assert isinf(below.reached_s)
    assert below.cavity_kPa[-1] == pytest.approx(mixed, abs=0.01)


@FEW
@given(st.floats(0.2, 5), st.floats(2, 60), st.floats(5, 60), st.floats(0.2, 3), st.floats(5, 200))
def test_swept_air_is_found_again(swept_L, tank_L, tank_kPa, pump_L_s, area):
    """What the sheet pushed out is in the tank, or went through the pump."""
    course = evacuate(
        hole(area), Receiver(volume_L=tank_L, start_kPa=tank_kPa, pump_L_s=pump_L_s),
        swept_L=swept_L, left_L=0.05, target_kPa=60,
    )  # fmt: skip
    under = np.where(course.times_s <= course.down_s, ATMOSPHERE_kPa, course.cavity_kPa)
    air = under * course.volumes_L + course.receiver_kPa * tank_L
    pumped = np.trapezoid(course.receiver_kPa, course.times_s) * pump_L_s
    assert air[0] - air[-1] == pytest.approx(pumped, rel=5e-3, abs=0.02)


def test_a_pump_alone_takes_its_own_time():
    """A passage as wide as a door: only the pump counts, as its logarithm says."""
    wide = hole(1e5)
    alone = Receiver(volume_L=2, start_kPa=ATMOSPHERE_kPa, pump_L_s=1, lowest_kPa=30)
    course = evacuate(wide, alone, swept_L=0, left_L=1, target_kPa=40)
    exact = pump_down_s(3, ATMOSPHERE_kPa, 40, pump_L_s=1, lowest_kPa=30)
    assert course.reached_s == pytest.approx(exact, rel=1e-3)
    assert len(course.times_s) < 2000


@FEW
@given(st.integers(1, 60), st.floats(0.1, 3), st.floats(2, 60), st.floats(0.2, 3))
def test_more_vents_are_never_slower(n, swept_L, tank_L, pump_L_s):
    """One more hole: down as soon, and at the vacuum as soon."""
    receiver = Receiver(volume_L=tank_L, start_kPa=30, pump_L_s=pump_L_s, lowest_kPa=30)
    some, more = (
        evacuate(
            in_parallel(*[round_hole(1.0)] * k), receiver,
            swept_L=swept_L, left_L=0.05, target_kPa=38,
        )
        for k in (n, n + 1)
    )  # fmt: skip
    assert more.down_s <= some.down_s * (1 + 1e-4)
    assert more.reached_s <= some.reached_s * (1 + 1e-4)


@FEW
@given(st.floats(0.2, 5), st.floats(0.5, 60), st.floats(5, 60), st.floats(0, 3), st.floats(5, 200))
def test_a_sheet_is_down_whether_or_not_what_follows_is_asked(swept_L, tank_L, kPa, pump, area):
    """The first half of the course alone ends when it ends in the whole one."""
    receiver = Receiver(volume_L=tank_L, start_kPa=kPa, pump_L_s=pump)
    size = {"swept_L": swept_L, "left_L": 0.05, "longest_s": 60.0}
    whole = evacuate(hole(area), receiver, target_kPa=kPa + 1, **size)

    assert pushed_out_s(hole(area), receiver, **size) == whole.down_s
    assert pushed_out_s(hole(area), receiver, **size | {"swept_L": 0.0}) == 0.0


def test_the_same_air_takes_the_same_steps():
    """Two runs are equal to the last bit."""
    receiver = Receiver(volume_L=10, start_kPa=30, pump_L_s=1, lowest_kPa=30)
    runs = [
        evacuate(round_hole(4), receiver, swept_L=1, left_L=0.1, target_kPa=50) for _ in range(2)
    ]
    assert runs[0].times_s.tobytes() == runs[1].times_s.tobytes()


def test_a_sheet_that_is_never_down_says_so():
    """A tank too small and no pump: it fills, and the sheet hangs."""
    course = evacuate(
        hole(20), Receiver(volume_L=0.5, start_kPa=20),
        swept_L=2, left_L=0.1, target_kPa=50, longest_s=100,
    )  # fmt: skip
    assert isinf(course.down_s)
    assert isinf(course.reached_s)
    assert isinf(course.when_s(50))
    assert course.receiver_kPa[-1] == pytest.approx(ATMOSPHERE_kPa, rel=1e-3)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: hole(-1), r"area_mm2 must be more than 0 mm²"),
        (lambda: round_hole(0), r"diameter_mm must be more than 0 mm"),
        (lambda: duct(1, 0), r"heads must be more than 0"),
        (
            lambda: stepped_bore(1, -1, 4, 5, roughness_mm=0.03),
            r"land_mm must be at least 0 mm",
        ),
        (lambda: Receiver(volume_L=0, start_kPa=20), r"volume_L must be more than 0 L"),
        (
            lambda: evacuate(
                hole(1), Receiver(volume_L=1, start_kPa=2), swept_L=0, left_L=0, target_kPa=9
            ),
            r"left_L must be more than 0 L",
        ),
        (
            lambda: pushed_out_s(hole(1), Receiver(volume_L=1, start_kPa=2), swept_L=-1, left_L=1),
            r"swept_L must be at least 0 L",
        ),
        (
            lambda: evacuate(
                hole(1), Receiver(volume_L=1, start_kPa=2), swept_L=0, left_L=1, target_kPa=102
            ),
            r"target_kPa must be at least 0 kPa and less than 101.325 kPa",
        ),
    ],
)
def test_bad_numbers_are_refused(call, sentence):
    """One sentence with field, rule and value."""
    with pytest.raises(SpecError, match=sentence):
        call()


def test_areas_are_those_of_round_holes():
    """Pi quarter of the square, times the coefficient."""
    assert round_hole(2.0).most_mm2 == pytest.approx(0.8 * pi, rel=1e-9)
