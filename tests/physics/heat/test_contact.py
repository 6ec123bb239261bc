"""Contact: deep bodies against their closed form, joints, and steps that repeat."""

from functools import cache
from math import erfc, inf
from typing import Any

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.heat_formulas import joint_beta, touched_share
from support.some import some

from moldgen.errors import SpecError
from moldgen.physics.heat.conduction import contact_degC, diffusivity_m2_s, effusivity
from moldgen.physics.heat.contact import modes_of, side_by_side
from moldgen.physics.heat.heating import INSULATED, Matter, SheetFace, stack
from moldgen.physics.heat.march import march

FEW = settings(max_examples=25, deadline=None)
PLA = Matter(conductivity_W_mK=0.13, density_kg_m3=1250, heat_J_kgK=1800)
HIPS = Matter(conductivity_W_mK=0.15, density_kg_m3=1050, heat_J_kgK=1600)
SECOND = published("contact_second")


def phase(body, *, duration_s, n_steps, **meets):
    """Return a phase of one body between its faces."""
    return modes_of(body, **meets).phase(duration_s, n_steps=n_steps)


def effusivity_of(matter):
    """Return a layer's effusivity."""
    return effusivity(matter.conductivity_W_mK, matter.density_kg_m3, matter.heat_J_kgK)


def diffusivity_of(matter):
    """Return a layer's diffusivity."""
    return diffusivity_m2_s(matter.conductivity_W_mK, matter.density_kg_m3, matter.heat_J_kgK)


@cache
def stepped_mold(time_s, touch_W_m2K):
    """Return depths and temperatures of the mold, stepped through deep layers."""
    layers = ((PLA, 0.006, 40), (HIPS, 0.006, 40))
    touch = {} if touch_W_m2K == inf else {0: touch_W_m2K}
    body = stack(*layers, touch_W_m2K=touch)
    start = np.where(np.arange(80) < 40, 25.0, 150.0)
    course = march(body, start, front=INSULATED, back=INSULATED, duration_s=time_s, n_steps=50)
    return (np.arange(40) + 0.5) * 0.006 / 40, course.profiles_degC[-1, 0, :40][::-1]


def stepped_degC(depth_m, time_s, touch_W_m2K):
    """Return the temperature at a depth of the mold."""
    return float(np.interp(depth_m, *stepped_mold(time_s, touch_W_m2K)))


@pytest.mark.parametrize("row", SECOND, ids=lambda row: row["body"])
def test_the_second_table_of_contact_temperatures(row):
    """Each pair of the table, to its last digit."""
    own = [float(row[k]) for k in ("conductivity_W_mK", "density_kg_m3", "specific_heat_J_kgK")]
    met = contact_degC(150, effusivity(0.17, 1040, 1400), 25, effusivity(*own))

    printed = row["contact_degC"]
    assert met == pytest.approx(float(printed), abs=1.01 * half_last_digit(printed) + 0.05)


def test_the_second_table_tells_the_sheet_of_the_first():
    """The properties that go with the first table give other temperatures."""
    row = SECOND[0]
    own = [float(row[k]) for k in ("conductivity_W_mK", "density_kg_m3", "specific_heat_J_kgK")]
    met = contact_degC(150, effusivity(0.15, 1050, 1300), 25, effusivity(*own))

    assert met != pytest.approx(float(row["contact_degC"]), abs=1)


@pytest.mark.parametrize("depth_m", [0.0003, 0.0008, 0.002])
@pytest.mark.parametrize("touch_W_m2K", [inf, 500.0])
def test_two_deep_bodies_follow_the_error_function(depth_m, touch_W_m2K):
    """Steps through both bodies and the closed form give the same temperature below the face."""
    e = effusivity_of(PLA), effusivity_of(HIPS)
    beta = inf if touch_W_m2K == inf else joint_beta(*e, touch_W_m2K, 8.0)
    met = contact_degC(25, e[0], 150, e[1])

    exact = 25 + (met - 25) * touched_share(depth_m, 8.0, diffusivity_of(PLA), beta=beta)

    assert stepped_degC(depth_m, 8.0, touch_W_m2K) == pytest.approx(exact, abs=0.25)


def test_a_joint_matters_at_first():
    """The closed form without the joint is far off while the joint counts."""
    e = effusivity_of(PLA), effusivity_of(HIPS)
    met = contact_degC(25, e[0], 150, e[1])
    without = 25 + (met - 25) * touched_share(0.0003, 2.0, diffusivity_of(PLA))

    assert abs(stepped_degC(0.0003, 2.0, 500.0) - without) > 4


def test_without_a_joint_it_is_the_error_function():
    """Infinite and very good joints are the plain complementary error function."""
    eta = 0.0006 / (2 * (5.8e-8 * 7.0) ** 0.5)
    assert touched_share(0.0006, 7.0, 5.8e-8) == pytest.approx(erfc(eta), rel=1e-12)
    assert touched_share(0.0006, 7.0, 5.8e-8, beta=1e6) == pytest.approx(erfc(eta), rel=1e-4)


@pytest.mark.parametrize("depth_m", [0.0, 0.0004, 0.003])
def test_the_two_ways_of_reckoning_meet(depth_m):
    """Where the exponential is left for a series, the result does not jump."""
    near, far = (touched_share(depth_m, 5, 6e-8, beta=b) for b in (20 - 1e-9, 20 + 1e-9))
    assert near == pytest.approx(far, rel=2e-3, abs=1e-12)


@FEW
@given(st.floats(0, 0.004), st.floats(0.5, 60), st.floats(0.1, 100))
def test_a_body_follows_more_when_longer_nearer_and_better_touched(depth_m, time_s, beta):
    """Shares stay between nothing and all, and grow the way they must."""
    share = touched_share(depth_m, time_s, 6e-8, beta=beta)

    assert 0 <= share <= 1
    assert touched_share(depth_m + 0.0005, time_s, 6e-8, beta=beta) <= share + 1e-12
    assert touched_share(depth_m, 2 * time_s, 6e-8, beta=beta) >= share - 1e-12
    assert touched_share(depth_m, time_s, 6e-8) >= share - 1e-12


def test_a_joint_carries_what_its_conductance_says():
    """Between two held faces, resistances add up: layer, joint, layer."""
    body = stack((PLA, 0.001, 5), (HIPS, 0.002, 5), touch_W_m2K={0: 250.0})
    cold, hot = (SheetFace(air_degC=T, film_W_m2K=inf) for T in (20.0, 120.0))
    course = march(body, 60.0, front=cold, back=hot, duration_s=2000, n_steps=40)
    last = course.profiles_degC[-1, 0]

    flux = 100 / (0.001 / 0.13 + 1 / 250 + 0.002 / 0.15)

    assert (last[1] - last[0]) * 0.13 / 0.0002 == pytest.approx(flux, rel=1e-4)
    assert (last[9] - last[8]) * 0.15 / 0.0004 == pytest.approx(flux, rel=1e-4)
    # The step over the joint itself, and only there.
    over = flux * (0.0001 / 0.13 + 1 / 250 + 0.0002 / 0.15)
    assert last[5] - last[4] == pytest.approx(over, rel=1e-3)


def test_a_phase_does_what_the_march_does():
    """Steps worked out once are the steps of the march, where nothing changes with heat."""
    body = stack((PLA, 0.003, 8), (HIPS, 0.001, 5), touch_W_m2K={0: 500.0})
    start = np.append(np.full(8, 25.0), np.full(5, 150.0))
    air = SheetFace(air_degC=20, film_W_m2K=12)
    course = march(body, start, front=INSULATED, back=air, duration_s=30, n_steps=25)
    there = phase(body, front=INSULATED, back=air, duration_s=30, n_steps=25, near_degC=50)

    np.testing.assert_allclose(
        there.profiles_degC(start), course.profiles_degC[1:, 0], rtol=0, atol=1e-9
    )
    np.testing.assert_allclose(there.times_s, course.times_s[1:, 0], rtol=1e-12)


def test_radiation_near_its_temperature_is_nearly_the_march_s():
    """Taken in proportion to temperature, radiation is off by little over a cooling."""
    body = stack((PLA, 0.003, 8))
    air = SheetFace(air_degC=20, film_W_m2K=8, glows=((20, 0.9),))
    course = march(body, 90.0, front=INSULATED, back=air, duration_s=300, n_steps=30)
    there = phase(body, front=INSULATED, back=air, duration_s=300, n_steps=30, near_degC=60)
    cold = phase(body, front=INSULATED, back=air, duration_s=300, n_steps=30, near_degC=-100)

    last = course.profiles_degC[-1, 0]
    assert there.profiles_degC(np.full(8, 90.0))[-1] == pytest.approx(last, abs=0.4)
    assert cold.profiles_degC(np.full(8, 90.0))[-1] != pytest.approx(last, abs=2)


def test_phases_side_by_side_are_those_alone():
    """Two bodies, each with its own duration; some of them, and their first steps."""
    air = SheetFace(air_degC=20, film_W_m2K=12, glows=((20, 0.9),))
    meets: dict[str, Any] = {"front": INSULATED, "back": air, "near_degC": 60}
    bodies = [stack((matter, 0.003, 8)) for matter in (PLA, HIPS)]
    both = side_by_side([modes_of(body, **meets) for body in bodies])
    together = both.phase([30.0, 90.0], n_steps=12)
    starts = np.array([[90.0] * 8, [40.0] * 8])
    profiles = together.profiles_degC(starts)

    for n, duration_s in ((0, 30.0), (1, 90.0)):
        alone = phase(bodies[n], duration_s=duration_s, n_steps=12, **meets)
        np.testing.assert_allclose(profiles[n], alone.profiles_degC(starts[n]), rtol=1e-12)
        np.testing.assert_allclose(together.times_s[n], alone.times_s, rtol=1e-12)
    second = together.only(np.array([1]))
    first_steps = second.profiles_degC(starts[1:], first=5)
    np.testing.assert_allclose(first_steps, profiles[1:, :5], rtol=1e-12)


@FEW
@given(st.floats(-20, 200), st.floats(-20, 200), st.floats(0.5, 300))
def test_bodies_by_themselves_keep_their_heat(first_degC, second_degC, duration_s):
    """With both outer faces insulated nothing is lost or won, joint or not."""
    body = stack((PLA, 0.002, 6), (HIPS, 0.001, 4), touch_W_m2K={0: 300.0})
    start = np.append(np.full(6, first_degC), np.full(4, second_degC))
    there = phase(
        body, front=INSULATED, back=INSULATED, duration_s=duration_s, n_steps=9, near_degC=50
    )
    masses = np.append(np.full(6, 1250 * 1800 * 0.002 / 6), np.full(4, 1050 * 1600 * 0.001 / 4))

    for row in some(there.profiles_degC(start)):
        assert row @ masses == pytest.approx(start @ masses, rel=1e-9, abs=1e-3)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: joint_beta(450, 540, 0, 4), "each value must be more than 0"),
        (lambda: touched_share(-0.001, 4, 6e-8), "depth_m must be at least 0 m"),
        (lambda: touched_share(0.001, 0, 6e-8), "time_s must be more than 0"),
        (lambda: stack((PLA, 1, 2), (PLA, 1, 2), touch_W_m2K={0: -5}), "touch_W_m2K must be more"),
        (
            lambda: phase(
                stack((PLA, 1, 2)), front=INSULATED, back=INSULATED, duration_s=0, n_steps=2,
                near_degC=20,
            ),
            "duration_s must be more than 0 s",
        ),
    ],
)  # fmt: skip
def test_impossible_contacts_are_refused(call, says):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=says):
        call()
